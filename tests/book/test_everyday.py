"""Marks of every day beside what was measured: counted right, with intervals, by name to chiefs alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.stats import beta
from tests.book.school import CHIEF, INSTRUCTOR
from tests.book.sets import add_lessons

from chalkwing.book import Book, lessons, people
from chalkwing.book.course import PLAIN, read_course
from chalkwing.book.everyday import LEAST, Share, everyday, refuse_names
from chalkwing.errors import BookTrouble


def test_marks_that_say_otherwise_are_counted(book: Book, tmp_path: Path) -> None:
    # Twelve lessons of two maneuvers; altitudes of 30 ft a lesson, and 25: from the fourth and the fifth
    # lesson on beyond 100 ft.
    add_lessons(book, tmp_path, 12)
    scale = read_course(PLAIN).scale
    with book.writing() as session:
        one, chief = (people.person(session, name) for name in (INSTRUCTOR, CHIEF))
        for number in range(1, 13):
            found = lessons.lesson(session, number)
            lessons.mark(session, found, 1, instructor=one, scale=scale, step="shown")
            lessons.mark(session, found, 1, instructor=one, scale=scale, step="to standard", blind=True)
            step = "alone" if number <= 2 else "to standard"
            lessons.mark(session, found, 2, instructor=chief, scale=scale, step=step)
            lessons.mark(session, found, 2, instructor=chief, scale=scale, step="shown", element="altitude")
    with book.reading() as session:
        one = people.person(session, INSTRUCTOR)
        every, own = everyday(session, only=one)
        assert (every.instructor, every.marks) == (None, 24)
        assert (own.instructor, own.marks, own.blind) == (INSTRUCTOR, 12, 12)
        # The last mark counts: twelve "to standard", eight of them with an element not met.
        assert (own.missed.count, own.missed.of) == (8, 12)
        assert (own.below.count, own.below.of) == (0, 4)
        assert own.below.said == "too few to say: 0 of 4"
        by_name = {each.instructor: each for each in everyday(session, names=True)}
        assert (by_name[CHIEF].below.count, by_name[CHIEF].below.of) == (2, 5)
        refuse_names(people.person(session, CHIEF), names=True)
        with pytest.raises(BookTrouble, match="only a chief"):
            refuse_names(one, names=True)
        with pytest.raises(BookTrouble, match="only a chief"):
            refuse_names(None, names=True)


def test_an_interval_is_the_posterior_of_a_share() -> None:
    # Jeffreys's prior, Beta(1/2, 1/2); its ends by the library's distribution, turned round.
    share = Share.counted(3, 10)
    assert share.low is not None
    assert share.high is not None
    assert beta.cdf(share.low, 3.5, 7.5) == pytest.approx(0.05)
    assert beta.cdf(share.high, 3.5, 7.5) == pytest.approx(0.95)
    assert Share.counted(0, 10).low == 0.0
    assert Share.counted(10, 10).high == 1.0
    assert Share.counted(2, LEAST - 1).low is None
    assert Share.counted(0, 0).said == "no such mark"
