"""The estimator: its algebra, its derivatives, and what it makes of flights whose truth is known."""
