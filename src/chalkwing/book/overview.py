"""The school at a glance: its students, each with where the training stands, by a few questions for all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Result, Select, func, select
from sqlalchemy.orm import Session

from chalkwing.book.course import Course
from chalkwing.book.tables import Judging, Lesson, Maneuver, Person, SignOff


@dataclass(frozen=True)
class StudentLine:
    """One student: how many lessons, the latest of them, how many records wait for a signature."""

    id: int
    name: str
    enrolled: datetime
    left: datetime | None
    left_as: str | None
    lessons: int
    last_lesson: int | None
    last_flown: datetime | None
    instructor: str | None
    stage: str | None
    unsigned: int
    unlabeled: int
    """Maneuvers of which nobody has said who flew: they count for nobody yet."""


def student_lines(
    session: Session, course: Course | None = None, *, students: list[int] | Select[int] | None = None
) -> list[StudentLine]:
    """All students (or those of ``students``), those in training first, by name; five questions in all."""
    chosen = select(Person).where(Person.student).order_by(Person.left.is_not(None), Person.name)
    if students is not None:
        chosen = chosen.where(Person.id.in_(students))
    people = list(session.scalars(chosen))
    counted = _numbers(
        session.execute(select(Lesson.student_id, func.count(Lesson.id)).group_by(Lesson.student_id))
    )
    latest = _latest(session)
    unsigned, unlabeled = _unsigned(session), _unlabeled(session)
    titles = {} if course is None else {unit.name: unit.title for unit in course.units}
    lines = []
    for one in people:
        last = latest.get(one.id)
        unit = last.unit if last else None
        lines.append(
            StudentLine(
                id=one.id,
                name=one.name,
                enrolled=one.enrolled,
                left=one.left,
                left_as=one.left_as,
                lessons=counted.get(one.id, 0),
                last_lesson=last.id if last else None,
                last_flown=(last.flown or last.added) if last else None,
                instructor=last.instructor.name if last and last.instructor else None,
                stage=None if unit is None else titles.get(unit, unit),
                unsigned=unsigned.get(one.id, 0),
                unlabeled=unlabeled.get(one.id, 0),
            )
        )
    return lines


def _numbers(rows: Result[int, int]) -> dict[int, int]:
    return dict(rows.all())


def _latest(session: Session) -> dict[int, Lesson]:
    """Each student's latest lesson: by when it was flown, else by when it was added."""
    when = func.coalesce(Lesson.flown, Lesson.added)
    order = func.row_number().over(partition_by=Lesson.student_id, order_by=(when.desc(), Lesson.id.desc()))
    ranked = select(Lesson.id, order.label("place")).subquery()
    found = session.scalars(select(Lesson).join(ranked, ranked.c.id == Lesson.id).where(ranked.c.place == 1))
    return {each.student_id: each for each in found}


def _unsigned(session: Session) -> dict[int, int]:
    """How many lessons of each student no signature covers as they now stand."""
    signed = select(SignOff.id).where(SignOff.lesson_id == Lesson.id, SignOff.version == Lesson.version)
    rows = session.execute(
        select(Lesson.student_id, func.count(Lesson.id)).where(~signed.exists()).group_by(Lesson.student_id)
    )
    return _numbers(rows)


def _unlabeled(session: Session) -> dict[int, int]:
    rows = session.execute(
        select(Lesson.student_id, func.count(Maneuver.id))
        .join(Judging, Judging.lesson_id == Lesson.id)
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .where(Judging.in_force, Maneuver.flown_by == "unknown")
        .group_by(Lesson.student_id)
    )
    return _numbers(rows)
