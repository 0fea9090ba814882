"""Simulated schools whose students' skill is known, and how often chances foretold come true.

    python -m tests.book.cohorts [--cohorts 500] [--write docs/accuracy.md]

Students are simulated by another law than the one that is fitted: each element is a deviation from its
target, normal with a bias and a spread of its own that shrink with practice by a power law, and a form of the
day common to all elements of a try. A try succeeds if every deviation lies within its limit.
"""
