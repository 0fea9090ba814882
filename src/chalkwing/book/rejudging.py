"""Judging the archive anew when a standard, a definition or the program changes: old and new side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select

from chalkwing import __version__
from chalkwing.book import lessons
from chalkwing.book.adding import under_their_names
from chalkwing.book.book import Book
from chalkwing.book.judgings import Settings, definitions_print, judged, standard_print
from chalkwing.book.tables import Element, Judging, Maneuver
from chalkwing.errors import ChalkwingError

Progress = Callable[[str, float], None]


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
    progress: Progress | None = None,
) -> Outcome:
    """Judge lessons anew, one transaction each; without ``numbers`` those judged by something else."""
    outcome = Outcome()
    chosen = list(numbers) or _outdated(book, settings)
    for place, number in enumerate(chosen):
        if progress is not None:
            progress(f"lesson {number}", place / len(chosen))
        try:
            outcome.changes += _one(book, number, settings, who, why)
            outcome.judged += 1
        except ChalkwingError as error:
            outcome.left.append(f"lesson {number}: {error}")
    return outcome


def _outdated(book: Book, settings: Settings) -> list[int]:
    """Lessons whose judging in force came from other limits, definitions or another program."""
    same = (
        (Judging.code == __version__)
        & (Judging.standard_print == standard_print(settings))
        & (Judging.definitions_print == definitions_print(settings))
    )
    with book.reading() as session:
        return list(
            session.scalars(
                select(Judging.lesson_id).where(Judging.in_force, ~same).order_by(Judging.lesson_id)
            )
        )


def _one(book: Book, number: int, settings: Settings, who: str, why: str | None) -> list[Change]:
    with book.reading() as session:
        found = lessons.lesson(session, number)
        airplane = found.airplane
        kept = [(each.sha256, each.recording.name) for each in found.recordings]
    with under_their_names(book, kept) as paths:
        document = judged(paths, settings=settings, sheet=airplane)
    with book.writing() as session:
        found = lessons.lesson(session, number)
        before = lessons.in_force(found)
        after = lessons.judge_anew(session, found, document, settings=settings, who=who, why=why)
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
