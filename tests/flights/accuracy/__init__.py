"""How accurate the trunk is on simulated lessons with known truth: ``python -m tests.flights.accuracy``.

    lessons --measure (a flight and recorder each)--> results as JSON --measures--> tables in docs/accuracy.md

What is measured, and why so, is in ``docs/decisions/0006-how-accuracy-is-measured.md``.
"""
