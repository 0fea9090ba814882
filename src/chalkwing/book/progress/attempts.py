"""The attempts that progress is told from: the students' own, complete, and judged in some element.

Arrays, not objects: a school's years are tens of thousands of attempts.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from chalkwing.book.tables import Element, Judging, Lesson, Maneuver
from chalkwing.units import Floats

Ints = npt.NDArray[np.int64]

_COUNTS = (Judging.in_force, Maneuver.flown_by == "student", Maneuver.status == "complete")


@dataclass(frozen=True)
class Attempts:
    """Tries at one kind of maneuver, in order of time within each student.

    ``student`` (n,) is the person's number, ``number`` (n,) counts the student's tries from 1, and ``met``
    (n, elements) holds the probability that each element was met, ``nan`` where it was not measured.
    """

    kind: str
    elements: tuple[str, ...]
    student: Ints
    number: Ints
    met: Floats

    def __len__(self) -> int:
        return len(self.student)

    @property
    def all_met(self) -> Floats:
        """Probability that every element measured in a try was met, shape (n,).

        Doubts of one recording are shared, so that of several doubtful elements the most doubtful decides:
        the least of their probabilities, which is exact where at most one is in doubt.
        """
        return np.asarray(np.nanmin(self.met, axis=1))

    def of(self, student: int) -> Attempts:
        """Only those of one student."""
        return self.of_all([student])

    def of_all(self, students: Collection[int]) -> Attempts:
        """Only those of some students."""
        theirs = np.isin(self.student, list(students))
        return Attempts(self.kind, self.elements, self.student[theirs], self.number[theirs], self.met[theirs])

    def and_those(self, others: Attempts) -> Attempts:
        """These and those of further students; an element that one of the two never had was not measured."""
        elements = tuple(sorted({*self.elements, *others.elements}))
        met = [np.full((len(each), len(elements)), np.nan) for each in (self, others)]
        for table, each in zip(met, (self, others), strict=True):
            table[:, [elements.index(name) for name in each.elements]] = each.met
        return Attempts(
            self.kind,
            elements,
            np.concatenate((self.student, others.student)),
            np.concatenate((self.number, others.number)),
            np.concatenate(met),
        )


def who_tried_last(session: Session) -> dict[str, list[int]]:
    """For every kind the students who have tried it, by their numbers, the last one first."""
    measured = select(Element.id).where(
        Element.maneuver_id == Maneuver.id, Element.probability_met.is_not(None)
    )
    last = func.max(Lesson.flown)
    rows = session.execute(
        select(Maneuver.kind, Lesson.student_id)
        .join(Judging, Judging.id == Maneuver.judging_id)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .where(*_COUNTS, measured.exists())
        .group_by(Maneuver.kind, Lesson.student_id)
        .order_by(last.desc(), func.max(Lesson.id).desc())
    )
    students: dict[str, list[int]] = defaultdict(list)
    for kind, student in rows:
        students[kind].append(student)
    return dict(students)


def attempts_of_school(session: Session, students: Collection[int] | None = None) -> dict[str, Attempts]:
    """Every kind's attempts in the book, by the judgings in force; with ``students`` only theirs."""
    theirs = [] if students is None else [Lesson.student_id.in_(sorted(students))]
    rows = session.execute(
        select(
            Maneuver.id,
            Maneuver.kind,
            Lesson.student_id,
            Element.name,
            Element.probability_met,
            Element.verdict,
        )
        .join(Element, Element.maneuver_id == Maneuver.id)
        .join(Judging, Judging.id == Maneuver.judging_id)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .where(*_COUNTS, *theirs)
        .order_by(Lesson.flown, Lesson.id, Maneuver.start_s, Element.id)
    )
    tries: dict[str, dict[int, tuple[int, dict[str, float]]]] = defaultdict(dict)
    for maneuver, kind, student, name, probability, verdict in rows:
        if probability is None:
            continue  # not measured: a gap, or a broken-off part
        _, met = tries[kind].setdefault(maneuver, (student, {}))
        # Of an element with several parts the one least likely met decides whether the element was.
        met[name] = min(met.get(name, 1.0), settled(probability, verdict))
    return {kind: _table(kind, list(each.values())) for kind, each in tries.items()}


def settled(probability: float, verdict: str) -> float:
    """The probability as progress counts it: a verdict given is taken as given, a doubt as it stands."""
    return {"met": 1.0, "not_met": 0.0}.get(verdict, probability)


def _table(kind: str, tries: list[tuple[int, dict[str, float]]]) -> Attempts:
    elements = tuple(sorted({name for _, met in tries for name in met}))
    students = np.array([student for student, _ in tries], dtype=np.int64)
    met = np.array([[each.get(name, np.nan) for name in elements] for _, each in tries])
    count: dict[int, int] = defaultdict(int)
    number = np.empty(len(tries), dtype=np.int64)
    for place, student in enumerate(students):
        count[int(student)] += 1
        number[place] = count[int(student)]
    return Attempts(kind, elements, students, number, met)
