"""Simulated instructors of known leniency and noise, who mark a common set."""
