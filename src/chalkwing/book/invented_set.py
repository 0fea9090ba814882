"""A common set of the invented school: recorded maneuvers that five instructors marked, each on their own.

What is shown comes out of the recordings as it does in any school; the marks are drawn from how much was
missed, with a leniency and a hand of each instructor's own, so that there is an agreement to be seen and
somebody stricter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future

import numpy as np

from chalkwing.book import people
from chalkwing.book.book import Book
from chalkwing.book.common.choosing import Candidate, candidates, spread
from chalkwing.book.common.making import common_set, make, order_of, scale_of
from chalkwing.book.common.marking import close, mark
from chalkwing.book.common.marking import order_of as order_for
from chalkwing.book.common.shown import Order

NAME = "Before the season"
_LENIENCY = (0.0, 0.7, -0.5, 0.1, 0.0)
"""Steps by which each of the instructors marks above the others."""
_NOISE = 0.45
_MANEUVERS = 15
_SEED = 7

Drawer = Callable[[Order], "Future[list[bytes | None]]"]
"""Begins to work out what is shown of the maneuvers of one lesson."""


def mark_together(book: Book, instructors: Sequence[str], *, who: str, draw: Drawer) -> int:
    """Make a set, have every instructor mark it, and close it; its number."""
    with book.reading() as session:
        found = candidates(book, session)
    chosen = spread(found, count=min(_MANEUVERS, len(found)), seed=_SEED)
    lessons = sorted({each.lesson for each in chosen})
    # All begun before the first is waited for: the set itself is made lesson by lesson.
    begun = {
        lesson: draw(order_of(book, lesson, [each for each in _sorted(chosen) if each.lesson == lesson]))
        for lesson in lessons
    }
    made = make(
        book, chosen, name=NAME, who=who, seed=_SEED, draw=lambda order, _tell: begun[order.lesson].result()
    )
    missed = {each.maneuver_id: each.missed / each.elements for each in chosen}
    random = np.random.default_rng(_SEED)
    with book.writing() as session:
        common = common_set(session, made.number)
        steps = [step.word for step in scale_of(common).steps]
        for name, lenient in zip(instructors, _LENIENCY, strict=False):
            instructor = people.person(session, name, role="instructor")
            for shown in order_for(common, instructor):
                level = (len(steps) - 1) * (1.0 - missed[shown.maneuver_id])
                seen = level + lenient + _NOISE * random.normal()
                step = steps[int(np.clip(round(seen), 0, len(steps) - 1))]
                mark(session, common, shown.place, instructor=instructor, step=step)
        close(session, common, who=who)
    return made.number


def _sorted(chosen: Sequence[Candidate]) -> list[Candidate]:
    return sorted(chosen, key=lambda each: (each.lesson, each.number))
