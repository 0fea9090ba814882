"""Judging the archive anew when a standard, a definition or the program changes: old and new side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from sqlalchemy import select

from chalkwing import __version__
from chalkwing.book import lessons
from chalkwing.book.adding import under_their_names
from chalkwing.book.book import Book
from chalkwing.book.course import Course, course_in_force
from chalkwing.book.following import standing_corrections
from chalkwing.book.judgings import Progress, Settings, judged, log_of
from chalkwing.book.log_settings import AS_WRITTEN, LogSettings
from chalkwing.book.tables import Element, Judging, Lesson, Maneuver
from chalkwing.errors import ChalkwingError


@dataclass(frozen=True)
class Change:
    """What a new judging of a lesson says differently, in words."""

    lesson: int
    said: str


@dataclass
class Outcome:
    """How many lessons were judged anew, what changed, and which were left alone and why."""

    judged: int = 0
    changes: list[Change] = field(default_factory=list)
    left: list[str] = field(default_factory=list)


def judge_again(
    book: Book,
    numbers: Sequence[int] = (),
    *,
    settings: Settings,
    who: str,
    why: str | None,
    log: LogSettings | None = None,
    progress: Progress | None = None,
) -> Outcome:
    """Judge lessons anew, one transaction each; without ``numbers`` those judged by something else.

    Their files are read as they were, but for what ``log`` says otherwise; that is kept from then on.
    """
    outcome = Outcome()
    chosen = list(numbers) or _outdated(book, settings)
    for place, number in enumerate(chosen):
        if progress is not None:
            progress(f"lesson {number}", place / len(chosen))
        try:
            outcome.changes += _one(book, number, settings, log or AS_WRITTEN, who, why)
            outcome.judged += 1
        except ChalkwingError as error:
            outcome.left.append(f"lesson {number}: {error}")
    return outcome


def _outdated(book: Book, settings: Settings) -> list[int]:
    """Lessons whose judging in force came from other limits, definitions or another program."""
    with book.reading() as session:
        course = course_in_force(session)
        rows = session.execute(
            select(Lesson.id, Lesson.unit, Judging.code, Judging.standard_print, Judging.definitions_print)
            .join(Judging, Judging.lesson_id == Lesson.id)
            .where(Judging.in_force)
            .order_by(Lesson.id)
        ).all()
    basis = {unit: settings.basis(_known(unit, course), course) for unit in {row.unit for row in rows}}
    return [
        row.id
        for row in rows
        if (row.code, row.standard_print, row.definitions_print)
        != (__version__, basis[row.unit].standard_print, basis[row.unit].definitions_print)
    ]


def _known(unit: str | None, course: Course | None) -> str | None:
    """The lesson's name if the course in force has such a lesson: an older course may have named others."""
    return unit if course is not None and any(each.name == unit for each in course.units) else None


def _one(
    book: Book, number: int, settings: Settings, log: LogSettings, who: str, why: str | None
) -> list[Change]:
    with book.reading() as session:
        found = lessons.lesson(session, number)
        lessons.allow(found, why)
        airplane = found.airplane
        kept = [(each.sha256, each.recording.name) for each in found.recordings]
        course = course_in_force(session)
        read_by = log.over(log_of(lessons.in_force(found)))
        basis = settings.basis(_known(found.unit, course), course, log=read_by)
        made = standing_corrections(found)
    with under_their_names(book, kept) as paths:
        document = judged(paths, basis=basis, sheet=airplane, corrections=made)
    with book.writing() as session:
        found = lessons.lesson(session, number)
        before = lessons.in_force(found)
        after = lessons.judge_anew(session, found, document, basis=basis, who=who, why=why)
        return [Change(number, said) for said in differences(before, after)]


def differences(before: Judging, after: Judging) -> list[str]:
    """What two judgings of a lesson say differently: maneuvers come or gone, verdicts changed."""
    said = []
    for old in before.maneuvers:
        new = next((each for each in after.maneuvers if lessons.same_maneuver(old, each)), None)
        if new is None:
            said.append(f"{old.title} at {old.start_s:.0f} s is no longer found")
        else:
            said += _verdicts(old, new)
    for new in after.maneuvers:
        if not any(lessons.same_maneuver(old, new) for old in before.maneuvers):
            said.append(f"{new.title} at {new.start_s:.0f} s is new")
    return said


def _verdicts(old: Maneuver, new: Maneuver) -> list[str]:
    now = {_key(each): each for each in new.elements}
    return [
        f"{new.title} at {new.start_s:.0f} s, {was.title.lower()}: "
        f"{_words(was.verdict)} becomes {_words(now[_key(was)].verdict)}"
        for was in old.elements
        if _key(was) in now and now[_key(was)].verdict != was.verdict
    ]


def _key(element: Element) -> tuple[str, int | None]:
    return element.name, element.part


def _words(verdict: str) -> str:
    return verdict.replace("_", " ")
