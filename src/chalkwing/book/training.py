"""A student's training record as an authority asks for it: fields, the rules that ask, and what is missing.

What is asked is in 14 CFR 61.51, 61.189 and 141.101 (United States) and ORA.ATO.120 (Europe). The book knows
what was recorded, judged, marked and signed; everything else that they ask for is named as missing, so that
nobody takes this for the whole.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from chalkwing.book import ledger
from chalkwing.book.columns import now
from chalkwing.book.course import Course
from chalkwing.book.keeping import Retention
from chalkwing.book.lessons import in_force, signed
from chalkwing.book.tables import Judging, Lesson, Maneuver, Mark, Person, SignOff

SIGNED_BY_INSTRUCTOR = "14 CFR 61.51(h), 61.189"
LOG = "14 CFR 141.101; 14 CFR 61.51(b)"
PROGRESS = "14 CFR 141.101; ORA.ATO.120"
KEPT = "14 CFR 61.189 and ORA.ATO.120: 3 years; 14 CFR 141.101: 1 year; some states: 5 years"


@dataclass(frozen=True)
class Field:
    """One thing that is asked for: its title, what the book says, and the rule that asks."""

    title: str
    said: str
    source: str


@dataclass(frozen=True)
class Missing:
    """Something asked for that the book does not hold."""

    title: str
    source: str


MISSING = (
    Missing(
        "Flight time from block to block: a recording's length is told instead, which is not the same",
        "14 CFR 61.51(b)",
    ),
    Missing("Places of departure and arrival, conditions of flight, kind of experience", "14 CFR 61.51(b)"),
    Missing("Ground training and its subjects", "14 CFR 141.101; ORA.ATO.120"),
    Missing("Training in a simulator or training device", "ORA.ATO.120"),
    Missing("Solo endorsements with names and dates", "14 CFR 61.189"),
    Missing(
        "Knowledge, stage and practical tests: names, kinds, dates, results",
        "14 CFR 61.189, 141.101; ORA.ATO.120",
    ),
    Missing("Licenses, ratings and the medical certificate with their expiry", "ORA.ATO.120"),
    Missing("The student's own logbook; a logbook alone is not this record", "14 CFR 141.101"),
)


@dataclass(frozen=True)
class LessonEntry:
    """One lesson in the order flown. ``signature`` is None where the record as it stands is not signed."""

    lesson: int
    day: str
    time: str
    lasted: str
    unit: str
    airplane: str
    instructor: str
    flown: str
    results: str
    marks: tuple[str, ...]
    notes: tuple[str, ...]
    signature: str | None
    earlier: tuple[str, ...]
    """Signatures of versions that were changed afterward."""


@dataclass(frozen=True)
class TrainingRecord:
    """All that the book holds of a student's training, and what is asked for beside it."""

    student: str
    made: str
    seal: str
    fields: tuple[Field, ...]
    lessons: tuple[LessonEntry, ...]
    unsigned: int
    missing: tuple[Missing, ...] = MISSING


def training_record(
    session: Session, student: Person, *, course: Course | None, retention: Retention
) -> TrainingRecord:
    """The record of one student, as of this instant."""
    chosen = (
        select(Lesson)
        .where(Lesson.student_id == student.id)
        .order_by(Lesson.flown.is_(None), Lesson.flown, Lesson.id)
        .options(
            selectinload(Lesson.instructor),
            selectinload(Lesson.airplane),
            selectinload(Lesson.marks),
            selectinload(Lesson.notes),
            selectinload(Lesson.sign_offs),
            selectinload(Lesson.judgings).selectinload(Judging.maneuvers).selectinload(Maneuver.elements),
        )
    )
    found = list(session.scalars(chosen))
    titles = {} if course is None else {unit.name: unit.title for unit in course.units}
    return TrainingRecord(
        student=student.name,
        made=f"{now():%Y-%m-%d %H:%M} UTC",
        seal=ledger.last_seal(session),
        fields=_fields(student, course, retention, found),
        lessons=tuple(_entry(each, titles) for each in found),
        unsigned=sum(not signed(each) for each in found),
    )


def _fields(
    student: Person, course: Course | None, retention: Retention, found: list[Lesson]
) -> tuple[Field, ...]:
    taught = {each.instructor for each in found if each.instructor is not None}
    hours = sum(each.duration_s for each in found) / 3600.0
    return (
        Field("Student", student.name, "14 CFR 61.189, 141.101"),
        Field("Enrolled", f"{student.enrolled:%Y-%m-%d}", "14 CFR 141.101"),
        Field("Course", course.name if course else "no outline of the school's own entered", PROGRESS),
        Field("End of training", _ended(student), "14 CFR 141.101"),
        Field("Lessons", f"{len(found)}, {hours:.1f} h of recordings", LOG),
        Field("Instructors", _instructors(taught), SIGNED_BY_INSTRUCTOR),
        Field("Kept until", _kept(student, retention), KEPT),
    )


def _ended(student: Person) -> str:
    return "in training" if student.left is None else f"{student.left_as} {student.left:%Y-%m-%d}"


def _kept(student: Person, retention: Retention) -> str:
    until = retention.record_until(student)
    rule = f"{retention.record_years:g} years after the end of training, by the school's rule"
    return rule if until is None else f"{until:%Y-%m-%d}: {rule}"


def _instructors(taught: set[Person]) -> str:
    named = sorted(taught, key=lambda one: one.name)
    return "; ".join(_certified(one.name, one.certificate, one.recency) for one in named) or "none named"


def _certified(name: str, certificate: str | None, recency: str | None) -> str:
    number = f"certificate {certificate}" if certificate else "no certificate number in the book"
    return ", ".join(filter(None, (name, number, recency)))


def _entry(found: Lesson, titles: dict[str, str]) -> LessonEntry:
    flown = in_force(found).maneuvers
    return LessonEntry(
        lesson=found.id,
        day=f"{found.flown:%Y-%m-%d}" if found.flown else f"not recorded; entered {found.added:%Y-%m-%d}",
        time=f"{found.flown:%H:%M} UTC" if found.flown else "",
        lasted=f"{found.duration_s / 60.0:.0f} min",
        unit=titles.get(found.unit or "", found.unit or "not said"),
        airplane=found.airplane.registration if found.airplane else "not said",
        instructor=_taught(found.instructor),
        flown=_flown(flown),
        results=_results(flown),
        marks=tuple(f"{_marked(each)}: {each.step} ({each.instructor.name})" for each in found.marks),
        notes=tuple(
            f"{'' if each.moment_s is None else f'at {_clock(each.moment_s)}: '}{each.text} ({each.who})"
            for each in found.notes
            if each.undone is None
        ),
        signature=next((_signature(each) for each in found.sign_offs if each.version == found.version), None),
        earlier=tuple(_signature(each) for each in found.sign_offs if each.version != found.version),
    )


def _marked(mark: Mark) -> str:
    element = f", {mark.element.replace('_', ' ')}" if mark.element else ""
    return f"{mark.kind.replace('_', ' ')} at {_clock(mark.start_s)}{element}"


def _taught(instructor: Person | None) -> str:
    if instructor is None:
        return "none named (solo, or not entered)"
    return _certified(instructor.name, instructor.certificate, instructor.recency)


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _flown(flown: list[Maneuver]) -> str:
    counted = Counter((each.title, each.flown_by) for each in flown)
    return (
        "; ".join(
            f"{count} × {title.lower()}{'' if who == 'student' else f' ({_WHO.get(who, who)})'}"
            for (title, who), count in counted.items()
        )
        or "no maneuver found"
    )


_WHO = {"instructor": "flown by the instructor", "shared": "flown together", "unknown": "who flew: not said"}


def _results(flown: list[Maneuver]) -> str:
    """Verdicts on what the student flew, counted."""
    counted = Counter(
        element.verdict for each in flown if each.flown_by == "student" for element in each.elements
    )
    if not counted:
        return "nothing judged that the student is known to have flown"
    met, missed, undecided = (counted[each] for each in ("met", "not_met", "cannot_tell"))
    return f"elements: {met} met, {missed} not met, {undecided} cannot be told"


def _signature(signature: SignOff) -> str:
    said = _certified(signature.instructor.name, signature.certificate, signature.recency)
    return (
        f"{said}; signed {signature.signed:%Y-%m-%d %H:%M} UTC, version {signature.version}, "
        f"seal {signature.sha256[:16]}"
    )
