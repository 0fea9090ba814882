"""Which attempts are offered to be laid over each other: those of book and desk that one may see."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing import words
from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.sight import students_seen
from chalkwing.book.tables import Judging, Maneuver
from chalkwing.book.tables import Lesson as Record
from chalkwing.views.table import counts
from chalkwing.web import blind
from chalkwing.web.desk import Desk
from chalkwing.web.outline import FLOWN_BY
from chalkwing.web.shelf import Lesson

_LOOKED_AT = 40
"""The newest lessons among which attempts are offered."""
WHO = {value: said for value, said, _ in FLOWN_BY}


@dataclass(frozen=True)
class Place:
    """An attempt by its lesson and its number there."""

    lesson: Lesson
    number: int

    @property
    def asked(self) -> str:
        """As it stands in an address."""
        return f"{self.lesson.id}:{self.number}"


@dataclass(frozen=True)
class Offered:
    """An attempt that can be chosen; ``hidden``: it waits for its mark, and nothing is told of it."""

    asked: str
    said: str
    file: str
    student: str | None
    tally: str
    chosen: bool
    hidden: bool


def when_of(start_utc: str | None, start_s: float, place: Place) -> str:
    """Day and clock time; without a clock the file and the number in it.

    >>> when_of("2026-05-14T14:05:00Z", 60.0, None)
    '14 May 14:06'
    """
    if start_utc is None:
        return f"{Path(place.lesson.files[0].name).stem[:16]}, no. {place.number}"
    moment = datetime.fromisoformat(start_utc.replace("Z", "+00:00")) + timedelta(seconds=start_s)
    return f"{moment.day} {moment:%b %H:%M}"


def offered(
    desk: Desk, kind: str, chosen: Sequence[Place], student: dict[str, Any] | None, viewer: Viewer | None
) -> Iterator[Offered]:
    """Attempts of a kind: those of a student in the book, or those of the newest lessons on the desk."""
    picked = {place.asked for place in chosen}
    yield from _booked(desk, kind, None if student is None else student["id"], picked, viewer)
    lessons = [place.lesson for place in chosen]
    if student is None:
        lessons += desk.shelf.lessons()[:_LOOKED_AT]
    for lesson in dict.fromkeys(lessons):
        if desk.records.of(lesson) is None and _is_shown(lesson, viewer):
            yield from _on_desk(desk, lesson, kind, picked, viewer)


def _is_shown(lesson: Lesson, viewer: Viewer | None) -> bool:
    """Before it is entered, a lesson is seen by whoever handed it in, and by the chief."""
    return viewer is None or viewer.chief or lesson.by == viewer.person


def _on_desk(
    desk: Desk, lesson: Lesson, kind: str, picked: set[str], viewer: Viewer | None
) -> Iterator[Offered]:
    if not desk.json_path(lesson).is_file() or (told := desk.told(lesson)) is None:
        return
    hidden = blind.unmarked(desk, lesson, told.debrief, viewer)
    for number, report in enumerate(told.debrief.maneuvers, start=1):
        if report.kind == kind:
            place = Place(lesson, number)
            judged = [each for each in report.elements if each.verdict is not None]
            yield Offered(
                asked=place.asked,
                said=_said(
                    when_of(told.story.start_utc, report.start_s, place), report.direction, report.flown_by
                ),
                file=lesson.files[0].name,
                student=None,
                tally="" if number in hidden else counts(judged),
                chosen=place.asked in picked,
                hidden=number in hidden,
            )


def _booked(
    desk: Desk, kind: str, student: int | None, picked: set[str], viewer: Viewer | None
) -> list[Offered]:
    """The newest attempts of a kind in the book, on the desk or not; those of a student where named."""
    rows = (
        select(Record, Maneuver)
        .join(Judging, Judging.lesson_id == Record.id)
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .where(Judging.in_force, Maneuver.kind == kind)
        .order_by(Record.flown.desc(), Maneuver.place)
        .limit(_LOOKED_AT)
    )
    if student is not None:
        rows = rows.where(Record.student_id == student)
    seen = students_seen(viewer)
    if seen is not None:
        rows = rows.where(Record.student_id.in_(seen))
    with desk.book.reading() as session:
        return [_of_book(session, record, flown, picked) for record, flown in session.execute(rows)]


def _of_book(session: Session, record: Record, flown: Maneuver, picked: set[str]) -> Offered:
    # By the record's number: its lesson may have been taken off the desk since.
    asked = f"{record.id}:{flown.place}"
    hidden = blind.hides(session, record, flown.start_s, flown.kind)
    when = "a day not recorded"
    if record.flown is not None:
        moment = record.flown + timedelta(seconds=flown.start_s)
        when = f"{moment.day} {moment:%b %H:%M}"
    return Offered(
        asked=asked,
        said=_said(when, flown.direction, flown.flown_by),
        file=f"lesson {record.id}",
        student=record.student.name,
        tally="" if hidden else _tally(flown),
        chosen=f"{record.desk}:{flown.place}" in picked,
        hidden=hidden,
    )


def _tally(flown: Maneuver) -> str:
    verdicts = [each.verdict for each in flown.elements]
    numbers = {word: verdicts.count(verdict) for verdict, word in words.WORDS.items()}
    return ", ".join(f"{number} {word}" for word, number in numbers.items() if number)


def _said(when: str, direction: str, flown_by: str) -> str:
    way = "" if direction == "none" else f", to the {direction}"
    who = "who flew is not said" if flown_by == "unknown" else f"flown by {WHO[flown_by]}"
    return f"{when}{way}, {who}"
