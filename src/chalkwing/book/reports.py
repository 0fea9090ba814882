"""What people read of the book, in plain values: the list of lessons, one lesson, one student.

Field names are the keys of the JSON that the commands and pages give.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, cast

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, selectinload

from chalkwing.book.judgings import log_of
from chalkwing.book.lessons import in_force, signed
from chalkwing.book.tables import Element, Judging, Lesson, Maneuver, Person
from chalkwing.debriefs import Verdict


@dataclass(frozen=True)
class Tally:
    """How many elements were met, missed and undecided."""

    met: int
    not_met: int
    cannot_tell: int


@dataclass(frozen=True)
class LessonLine:
    """One lesson in a list."""

    lesson: int
    flown: str | None
    student: str
    instructor: str | None
    airplane: str | None
    unit: str | None
    maneuvers: int
    elements: Tally
    signed: bool


@dataclass(frozen=True)
class ManeuverLine:
    """One maneuver of a lesson; ``number`` is what commands name it by."""

    number: int
    kind: str
    title: str
    direction: str
    start_s: float
    end_s: float
    status: str
    flown_by: str
    elements: Tally


@dataclass(frozen=True)
class SignatureLine:
    """One signature of a lesson."""

    version: int
    instructor: str
    certificate: str
    signed: str
    sha256: str


@dataclass(frozen=True)
class LessonReport:
    """One lesson with all that stands in its record."""

    line: LessonLine
    version: int
    duration_s: float
    standard: str
    logs_read: str
    """How its files were read, in words; empty where they were read by their own word alone."""
    judged: str
    judgings: int
    recordings: tuple[str, ...]
    maneuvers: tuple[ManeuverLine, ...]
    notes: tuple[str, ...]
    signatures: tuple[SignatureLine, ...]


@dataclass(frozen=True)
class ElementLine:
    """One element over a student's own attempts, newest last: values, sds and limits in ``unit``.

    A limit may differ from attempt to attempt: early lessons are held to wider ones. ``lessons`` are those
    that the attempts were flown in.
    """

    kind: str
    maneuver: str
    element: str
    title: str
    unit: str
    elements: Tally
    values: tuple[float | None, ...]
    verdicts: tuple[Verdict, ...]
    sds: tuple[float | None, ...]
    limits: tuple[tuple[float | None, float | None], ...]
    lessons: tuple[int, ...]


@dataclass(frozen=True)
class StudentReport:
    """A student's lessons, and every element over the attempts that the student flew."""

    student: str
    enrolled: str
    left: str | None
    lessons: tuple[LessonLine, ...]
    elements: tuple[ElementLine, ...]
    unlabeled: int
    """Maneuvers of which nobody has said who flew: they count for nobody."""


def lesson_lines(
    session: Session,
    *,
    student: Person | None = None,
    newest: int | None = None,
    before: int | None = None,
    students: Select[int] | None = None,
) -> list[LessonLine]:
    """Lessons, newest first: with ``before`` those with a smaller number, with ``students`` only theirs."""
    chosen = select(Lesson).order_by(Lesson.id.desc())
    if students is not None:
        chosen = chosen.where(Lesson.student_id.in_(students))
    if before is not None:
        chosen = chosen.where(Lesson.id < before)
    if student is not None:
        chosen = chosen.where(Lesson.student_id == student.id)
    if newest is not None:
        chosen = chosen.limit(newest)
    loaded = chosen.options(
        selectinload(Lesson.student),
        selectinload(Lesson.instructor),
        selectinload(Lesson.airplane),
        selectinload(Lesson.sign_offs),
    )
    found = list(session.scalars(loaded))
    counted = _counts(session, [each.id for each in found])
    return [_line(each, *counted.get(each.id, (0, Tally(0, 0, 0)))) for each in found]


def _line(found: Lesson, maneuvers: int, tally: Tally) -> LessonLine:
    return LessonLine(
        lesson=found.id,
        flown=found.flown.isoformat() if found.flown else None,
        student=found.student.name,
        instructor=found.instructor.name if found.instructor else None,
        airplane=found.airplane.registration if found.airplane else None,
        unit=found.unit,
        maneuvers=maneuvers,
        elements=tally,
        signed=signed(found),
    )


def _counts(session: Session, lessons: Sequence[int]) -> dict[int, tuple[int, Tally]]:
    """Maneuvers and verdicts of many lessons, counted by the database: a page of lessons is two questions."""
    in_question = Judging.in_force & Judging.lesson_id.in_(lessons)
    flown = session.execute(
        select(Judging.lesson_id, func.count(Maneuver.id))
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .where(in_question)
        .group_by(Judging.lesson_id)
    )
    maneuvers: dict[int, int] = {row[0]: row[1] for row in flown}
    verdicts: dict[int, dict[str, int]] = defaultdict(dict)
    rows = session.execute(
        select(Judging.lesson_id, Element.verdict, func.count(Element.id))
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .join(Element, Element.maneuver_id == Maneuver.id)
        .where(in_question)
        .group_by(Judging.lesson_id, Element.verdict)
    )
    for lesson, verdict, count in rows:
        verdicts[lesson][verdict] = count
    return {lesson: (count, _tally(verdicts[lesson])) for lesson, count in maneuvers.items()}


def _tally(verdicts: Mapping[str, int]) -> Tally:
    return Tally(*(verdicts.get(each, 0) for each in ("met", "not_met", "cannot_tell")))


def lesson_report(session: Session, found: Lesson) -> LessonReport:
    """All that stands in the record of one lesson."""
    judging = in_force(found)
    maneuvers = tuple(_maneuver(each) for each in judging.maneuvers)
    verdicts = [element.verdict for each in judging.maneuvers for element in each.elements]
    return LessonReport(
        line=_line(found, len(maneuvers), _tally(Counter(verdicts))),
        version=found.version,
        duration_s=found.duration_s,
        standard=judging.standard_title,
        logs_read=log_of(judging).said,
        judged=judging.made.isoformat(),
        judgings=len(found.judgings),
        recordings=tuple(
            _recording_words(each.recording.name, each.sha256, each.recording.erased is not None)
            for each in found.recordings
        ),
        maneuvers=maneuvers,
        notes=tuple(
            _note_words(each.text, each.who, each.moment_s) for each in found.notes if each.undone is None
        ),
        signatures=tuple(
            SignatureLine(
                each.version, each.instructor.name, each.certificate, each.signed.isoformat(), each.sha256
            )
            for each in found.sign_offs
        ),
    )


def _recording_words(name: str, sha256: str, erased: bool) -> str:
    return f"{name} ({sha256[:12]}{', erased' if erased else ''})"


def _note_words(text: str, who: str, moment: float | None) -> str:
    at = "" if moment is None else f"at {int(moment) // 60}:{int(moment) % 60:02d}: "
    return f"{at}{text} ({who})"


def _maneuver(flown: Maneuver) -> ManeuverLine:
    return ManeuverLine(
        number=flown.place,
        kind=flown.kind,
        title=flown.title,
        direction=flown.direction,
        start_s=flown.start_s,
        end_s=flown.end_s,
        status=flown.status,
        flown_by=flown.flown_by,
        elements=_tally(Counter(each.verdict for each in flown.elements)),
    )


def student_report(session: Session, student: Person) -> StudentReport:
    """A student's lessons and elements; only what the student flew counts toward the elements."""
    return StudentReport(
        student=student.name,
        enrolled=student.enrolled.isoformat(),
        left=student.left.isoformat() if student.left else None,
        lessons=tuple(lesson_lines(session, student=student)),
        elements=tuple(_elements(session, student)),
        unlabeled=_unlabeled(session, student),
    )


class _Tried(NamedTuple):
    value: float | None
    verdict: str
    sd: float | None
    low: float | None
    high: float | None
    lesson: int


def _elements(session: Session, student: Person) -> list[ElementLine]:
    rows = session.execute(
        select(
            Maneuver.kind,
            Maneuver.title,
            Element.name,
            Element.title,
            Element.unit,
            Element.value,
            Element.verdict,
            Element.sd,
            Element.low,
            Element.high,
            Lesson.id,
        )
        .join(Element, Element.maneuver_id == Maneuver.id)
        .join(Judging, Judging.id == Maneuver.judging_id)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .where(Lesson.student_id == student.id, Judging.in_force, Maneuver.flown_by == "student")
        .order_by(Lesson.flown, Lesson.id, Maneuver.start_s, Element.id)
    )
    attempts: dict[tuple[str, str, str, str, str], list[_Tried]] = defaultdict(list)
    for kind, maneuver, name, title, unit, *tried in rows:
        attempts[kind, maneuver, name, title, unit].append(_Tried(*tried))
    return [
        ElementLine(
            kind=kind,
            maneuver=maneuver,
            element=name,
            title=title,
            unit=unit,
            elements=_tally(Counter(each.verdict for each in tried)),
            values=tuple(each.value for each in tried),
            verdicts=tuple(cast("Verdict", each.verdict) for each in tried),
            sds=tuple(each.sd for each in tried),
            limits=tuple((each.low, each.high) for each in tried),
            lessons=tuple(each.lesson for each in tried),
        )
        for (kind, maneuver, name, title, unit), tried in attempts.items()
    ]


def _unlabeled(session: Session, student: Person) -> int:
    count = session.scalar(
        select(func.count(Maneuver.id))
        .join(Judging, Judging.id == Maneuver.judging_id)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .where(Lesson.student_id == student.id, Judging.in_force, Maneuver.flown_by == "unknown")
    )
    return count or 0
