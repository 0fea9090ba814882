"""Attempts laid over each other: which ones, and the page and the numbers of those chosen."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from anyio import to_thread
from sqlalchemy import select
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing import words
from chalkwing.book import people
from chalkwing.book.tables import Judging, Maneuver
from chalkwing.book.tables import Lesson as Record
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import definitions
from chalkwing.paper.comparing import FEWEST, MOST, comparing_body
from chalkwing.views import ManeuverView
from chalkwing.views.comparing import Attempt
from chalkwing.views.table import counts
from chalkwing.web import blind, forms
from chalkwing.web.desk import Desk
from chalkwing.web.lessons import desk_of, work_said
from chalkwing.web.outline import FLOWN_BY
from chalkwing.web.pages import page
from chalkwing.web.shelf import Lesson
from chalkwing.web.uploads import plain_body
from chalkwing.web.work import Told

_ASKED = re.compile(r"([0-9a-f]{16}):([1-9][0-9]{0,3})")
_LOOKED_AT = 40
"""The newest lessons among which attempts are offered."""
_DESK_NAME = 16
"""Letters of a lesson's name on the desk; a record's number is shorter."""
_WHO = {value: said for value, said, _ in FLOWN_BY}


@dataclass(frozen=True)
class _Place:
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


async def comparing_page(request: Request) -> Response:
    """``GET /compare?attempt=LESSON:N&attempt=...``: those attempts over each other, or which there are.

    With ``kind`` and perhaps ``student`` instead, the attempts of that kind are offered.
    """
    desk = desk_of(request)
    for place in await to_thread.run_sync(_places, desk, request):
        if await to_thread.run_sync(desk.told, place.lesson) is None:
            return page(
                request, "working.html", {"lesson": place.lesson, "work": work_said(desk, place.lesson)}
            )
    context = await to_thread.run_sync(_page, request)
    return page(request, "comparing.html", context)


async def comparing_json(request: Request) -> JSONResponse:
    """``GET /compare.json?attempt=...``: each attempt as it stands in its lesson's debrief."""
    return JSONResponse(await to_thread.run_sync(_plain, request))


def _page(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    places = _places(desk, request)
    student = _student(desk, request)
    kind = request.query_params.get("kind")
    told = [_told(desk, place) for place in places]
    if told:
        kind = _one_kind([view for _, view in told])
    if kind is None or kind not in definitions():
        raise RefusedRequest(
            "nothing says which maneuver.", status=404, next_step="Begin on the page of an attempt."
        )
    attempts = [Attempt(name, view) for name, (_, view) in zip(_names(places, told), told, strict=True)]
    return {
        "kind": kind,
        "title": definitions()[kind].title,
        "student": student,
        "places": places,
        "names": [each.name for each in attempts],
        "body": comparing_body(attempts) if len(attempts) >= FEWEST else None,
        "offered": list(_offered(desk, kind, places, student)),
        "most": MOST,
    }


def _plain(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    places = _places(desk, request)
    told = [_told(desk, place) for place in places]
    names = _names(places, told)
    return {
        "kind": _one_kind([view for _, view in told]) if told else None,
        "attempts": [
            {
                "name": name,
                "lesson": place.lesson.id,
                "number": place.number,
                "maneuver": _maneuvers(desk.json_path(place.lesson))[place.number - 1],
            }
            for name, place in zip(names, places, strict=True)
        ],
    }


def _maneuvers(path: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))["maneuvers"]
    return found


def _places(desk: Desk, request: Request) -> list[_Place]:
    """The attempts of the address, each once, in its order."""
    asked = list(dict.fromkeys(request.query_params.getlist("attempt")))
    if len(asked) > MOST:
        raise RefusedRequest(
            f"{len(asked)} attempts are too many to see.", next_step=f"Choose {MOST} or fewer."
        )
    return [_named(desk, each) for each in asked]


def _named(desk: Desk, asked: str) -> _Place:
    match = _ASKED.fullmatch(asked)
    if match is None:
        raise RefusedRequest(
            f"“{asked[:40]}” names no attempt.", next_step="Begin on the page of an attempt."
        )
    return _Place(desk.shelf.lesson(match[1]), int(match[2]))


def _told(desk: Desk, place: _Place) -> tuple[Told, ManeuverView]:
    """What is known of an attempt, unless it may not be told yet."""
    told = desk.told(place.lesson)
    name = place.lesson.files[0].name
    if told is None:
        raise RefusedRequest(
            "this lesson is not worked out yet.", where=name, next_step="Open its page first."
        )
    if place.number > len(told.views):
        raise RefusedRequest(f"this lesson has {len(told.views)} maneuvers.", where=name, status=404)
    if place.number in blind.unmarked(desk, place.lesson, told.debrief):
        raise RefusedRequest(
            "this attempt is not marked yet, and the school marks before it sees the verdicts.",
            where=f"{name}, no. {place.number}",
            status=409,
            next_step="Mark it first.",
        )
    return told, told.views[place.number - 1]


def _one_kind(views: Sequence[ManeuverView]) -> str:
    kinds = {view.report.kind for view in views}
    if len(kinds) > 1:
        raise RefusedRequest(
            "attempts at different maneuvers do not lie over each other.", next_step="Choose one kind."
        )
    return next(iter(kinds))


def _student(desk: Desk, request: Request) -> dict[str, Any] | None:
    number = request.query_params.get("student", "")
    if not number.isdigit():
        return None
    with desk.book.reading() as session:
        one = people.by_number(session, int(number))
        return {"id": one.id, "name": one.name}


def _names(places: Sequence[_Place], told: Sequence[tuple[Told, ManeuverView]]) -> list[str]:
    """Day and time of each, and what else tells them apart: the way it turned, who flew."""
    ways = {view.directions[0] for _, view in told}
    flown = {view.report.flown_by for _, view in told}
    names = []
    for place, (each, view) in zip(places, told, strict=True):
        more = [view.directions[0]] if len(ways) > 1 and view.report.direction != "none" else []
        more += [_WHO[view.report.flown_by].removeprefix("the ")] if len(flown) > 1 else []
        when = _when(each.story.start_utc, view.report.start_s, place)
        names.append(" ".join([when, *more]))
    # Two that still read alike are told apart by their numbers.
    return [
        f"{name}, no. {place.number}" if names.count(name) > 1 else name
        for name, place in zip(names, places, strict=True)
    ]


def _when(start_utc: str | None, start_s: float, place: _Place) -> str:
    """Day and clock time; without a clock the file and the number in it.

    >>> _when("2026-05-14T14:05:00Z", 60.0, None)
    '14 May 14:06'
    """
    if start_utc is None:
        return f"{Path(place.lesson.files[0].name).stem[:16]}, no. {place.number}"
    moment = datetime.fromisoformat(start_utc.replace("Z", "+00:00")) + timedelta(seconds=start_s)
    return f"{moment.day} {moment:%b %H:%M}"


def _offered(
    desk: Desk, kind: str, chosen: Sequence[_Place], student: dict[str, Any] | None
) -> Iterator[Offered]:
    """Attempts of a kind: those of a student in the book, or those of the newest lessons on the desk."""
    picked = {place.asked for place in chosen}
    yield from _booked(desk, kind, None if student is None else student["id"], picked)
    lessons = [place.lesson for place in chosen]
    if student is None:
        lessons += desk.shelf.lessons()[:_LOOKED_AT]
    for lesson in dict.fromkeys(lessons):
        if desk.records.of(lesson) is None:
            yield from _on_desk(desk, lesson, kind, picked)


def _on_desk(desk: Desk, lesson: Lesson, kind: str, picked: set[str]) -> Iterator[Offered]:
    if not desk.json_path(lesson).is_file() or (told := desk.told(lesson)) is None:
        return
    hidden = blind.unmarked(desk, lesson, told.debrief)
    for number, report in enumerate(told.debrief.maneuvers, start=1):
        if report.kind == kind:
            place = _Place(lesson, number)
            judged = [each for each in report.elements if each.verdict is not None]
            yield Offered(
                asked=place.asked,
                said=_said(
                    _when(told.story.start_utc, report.start_s, place), report.direction, report.flown_by
                ),
                file=lesson.files[0].name,
                student=None,
                tally="" if number in hidden else counts(judged),
                chosen=place.asked in picked,
                hidden=number in hidden,
            )


def _booked(desk: Desk, kind: str, student: int | None, picked: set[str]) -> list[Offered]:
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
    who = "who flew is not said" if flown_by == "unknown" else f"flown by {_WHO[flown_by]}"
    return f"{when}{way}, {who}"


async def lay_over(request: Request) -> JSONResponse:
    """``POST /compare``: lay the records among the attempts chosen on the desk; the address of the page."""
    desk = desk_of(request)
    plain = await plain_body(request)
    who = forms.said_by(plain)
    asked = plain.get("attempt", [])
    asked = [asked] if isinstance(asked, str) else asked
    if not isinstance(asked, list) or not FEWEST <= len(asked) <= MOST:
        raise RefusedRequest(f"choose {FEWEST} to {MOST} attempts.", status=422)
    found = await to_thread.run_sync(lambda: [_laid(desk, str(each), who) for each in asked])
    return JSONResponse({"url": "/compare?" + "&".join(f"attempt={each}" for each in found)})


def _laid(desk: Desk, asked: str, who: str) -> str:
    """The attempt as it is named on the desk, its lesson laid there if it is only in the book."""
    number, _, place = asked.partition(":")
    if not (number.isdigit() and place.isdigit() and len(number) < _DESK_NAME):
        return _named(desk, asked).asked
    return f"{desk.records.on_desk(int(number), who=who).id}:{place}"
