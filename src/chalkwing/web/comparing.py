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
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book import people
from chalkwing.book.tables import Lesson as Record
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import definitions
from chalkwing.paper.comparing import FEWEST, MOST, comparing_body
from chalkwing.views import ManeuverView
from chalkwing.views.comparing import Attempt
from chalkwing.views.table import counts
from chalkwing.web import blind
from chalkwing.web.desk import Desk
from chalkwing.web.lessons import desk_of
from chalkwing.web.outline import FLOWN_BY
from chalkwing.web.pages import page
from chalkwing.web.shelf import Lesson
from chalkwing.web.work import Told

_ASKED = re.compile(r"([0-9a-f]{16}):([1-9][0-9]{0,3})")
_LOOKED_AT = 40
"""The newest lessons among which attempts are offered."""
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
    found = []
    for each in asked:
        match = _ASKED.fullmatch(each)
        if match is None:
            raise RefusedRequest(
                f"“{each[:40]}” names no attempt.", next_step="Begin on the page of an attempt."
            )
        found.append(_Place(desk.shelf.lesson(match[1]), int(match[2])))
    return found


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
    """Attempts of a kind in the newest lessons that are worked out, perhaps one student's alone."""
    whose = _whose(desk)
    picked = {place.asked for place in chosen}
    lessons = [
        each for each in desk.shelf.lessons() if student is None or whose.get(each.id) == student["name"]
    ]
    first = [place.lesson for place in chosen]
    for lesson in list(dict.fromkeys([*first, *lessons[:_LOOKED_AT]])):
        if not desk.json_path(lesson).is_file() or (told := desk.told(lesson)) is None:
            continue
        hidden = blind.unmarked(desk, lesson, told.debrief)
        for number, report in enumerate(told.debrief.maneuvers, start=1):
            if report.kind == kind:
                place = _Place(lesson, number)
                yield Offered(
                    asked=place.asked,
                    said=f"{_when(told.story.start_utc, report.start_s, place)}"
                    f"{'' if report.direction == 'none' else f', to the {report.direction}'}"
                    f", flown by {_WHO[report.flown_by]}".replace(
                        "flown by not said", "who flew is not said"
                    ),
                    file=lesson.files[0].name,
                    student=whose.get(lesson.id),
                    tally=""
                    if number in hidden
                    else counts([e for e in report.elements if e.verdict is not None]),
                    chosen=place.asked in picked,
                    hidden=number in hidden,
                )


def _whose(desk: Desk) -> dict[str, str]:
    """The student of each lesson of the desk that is in the book."""
    with desk.book.reading() as session:
        records = session.scalars(select(Record).where(Record.desk.is_not(None)))
        return {str(record.desk): record.student.name for record in records}
