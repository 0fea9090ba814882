"""Attempts laid over each other: which ones, and the page and the numbers of those chosen."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book import people
from chalkwing.book.accounts.entry import Viewer
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import definitions
from chalkwing.paper.comparing import FEWEST, MOST, comparing_body
from chalkwing.paper.comparing_print import comparing_pdf
from chalkwing.paper.debrief import SHEETS
from chalkwing.views import ManeuverView
from chalkwing.views.comparing import Attempt, names_of
from chalkwing.web import blind, forms
from chalkwing.web.access import refuse_unseen
from chalkwing.web.desk import Desk
from chalkwing.web.lessons import desk_of, work_said
from chalkwing.web.offering import Place, offered, when_of
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import viewer_of
from chalkwing.web.work import Told

_ASKED = re.compile(r"([0-9a-f]{16}):([1-9][0-9]{0,3})")
_DESK_NAME = 16
"""Letters of a lesson's name on the desk; a record's number is shorter."""


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


async def comparing_print(request: Request) -> Response:
    """``GET /compare.pdf?attempt=...&paper=``: the same on paper, A4 or Letter."""
    paper = request.query_params.get("paper", "a4")
    if paper not in SHEETS:
        raise RefusedRequest(f"paper is {' or '.join(SHEETS)}.", status=404)
    made = await to_thread.run_sync(_printed, request, paper)
    said = {"content-disposition": 'inline; filename="attempts.pdf"'}
    return Response(made, media_type="application/pdf", headers=said)


def _printed(request: Request, paper: str) -> bytes:
    desk = desk_of(request)
    places, student = _places(desk, request), _student(desk, request)
    told = [_told(desk, place, viewer_of(request)) for place in places]
    attempts = [Attempt(name, view) for name, (_, view) in zip(_names(places, told), told, strict=True)]
    files = dict.fromkeys(place.lesson.files[0].name for place in places)
    about = [student["name"]] if student else []
    return comparing_pdf(attempts, paper=paper, about=" · ".join([*about, *files]))


def _page(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    places = _places(desk, request)
    student = _student(desk, request)
    kind = request.query_params.get("kind")
    told = [_told(desk, place, viewer_of(request)) for place in places]
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
        "offered": list(offered(desk, kind, places, student, viewer_of(request))),
        "most": MOST,
        "asked": "&".join(f"attempt={place.asked}" for place in places)
        + (f"&student={student['id']}" if student else ""),
    }


def _plain(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    places = _places(desk, request)
    told = [_told(desk, place, viewer_of(request)) for place in places]
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


def _places(desk: Desk, request: Request) -> list[Place]:
    """The attempts of the address, each once, in its order."""
    asked = list(dict.fromkeys(request.query_params.getlist("attempt")))
    if len(asked) > MOST:
        raise RefusedRequest(
            f"{len(asked)} attempts are too many to see.", next_step=f"Choose {MOST} or fewer."
        )
    return [_seen(desk, request, _named(desk, each)) for each in asked]


def _seen(desk: Desk, request: Request, place: Place) -> Place:
    """The same, unless its lesson is not theirs who look."""
    refuse_unseen(desk.book, desk.shelf, viewer_of(request), "GET /lesson/{id}", id=place.lesson.id)
    return place


def _named(desk: Desk, asked: str) -> Place:
    match = _ASKED.fullmatch(asked)
    if match is None:
        raise RefusedRequest(
            f"“{asked[:40]}” names no attempt.", next_step="Begin on the page of an attempt."
        )
    return Place(desk.shelf.lesson(match[1]), int(match[2]))


def _told(desk: Desk, place: Place, viewer: Viewer | None) -> tuple[Told, ManeuverView]:
    """What is known of an attempt, unless it may not be told yet."""
    told = desk.told(place.lesson)
    name = place.lesson.files[0].name
    if told is None:
        raise RefusedRequest(
            "this lesson is not worked out yet.", where=name, next_step="Open its page first."
        )
    if place.number > len(told.views):
        raise RefusedRequest(f"this lesson has {len(told.views)} maneuvers.", where=name, status=404)
    if place.number in blind.unmarked(desk, place.lesson, told.debrief, viewer):
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
    refuse_unseen(desk.book, desk.shelf, viewer_of(request), "GET /student/{id:int}", id=int(number))
    with desk.book.reading() as session:
        one = people.by_number(session, int(number))
        return {"id": one.id, "name": one.name}


def _names(places: Sequence[Place], told: Sequence[tuple[Told, ManeuverView]]) -> list[str]:
    """Day and time of each, and what else tells them apart."""
    whens = [
        when_of(each.story.start_utc, view.report.start_s, place)
        for place, (each, view) in zip(places, told, strict=True)
    ]
    return names_of([view for _, view in told], whens, [place.number for place in places])


async def lay_over(request: Request) -> JSONResponse:
    """``POST /compare``: lay the records among the attempts chosen on the desk; the address of the page."""
    desk = desk_of(request)
    plain = await plain_body(request)
    one = viewer_of(request)
    who = forms.said_by(plain) if one is None else one.name
    asked = plain.get("attempt", [])
    asked = [asked] if isinstance(asked, str) else asked
    if not isinstance(asked, list) or not FEWEST <= len(asked) <= MOST:
        raise RefusedRequest(f"choose {FEWEST} to {MOST} attempts.", status=422)
    found = await to_thread.run_sync(lambda: [_laid(desk, request, str(each), who) for each in asked])
    return JSONResponse({"url": "/compare?" + "&".join(f"attempt={each}" for each in found)})


def _laid(desk: Desk, request: Request, asked: str, who: str) -> str:
    """The attempt as it is named on the desk, its lesson laid there if it is only in the book."""
    number, _, place = asked.partition(":")
    if not (number.isdigit() and place.isdigit() and len(number) < _DESK_NAME):
        return _seen(desk, request, _named(desk, asked)).asked
    refuse_unseen(desk.book, desk.shelf, viewer_of(request), "POST /record/{n:int}/desk", n=int(number))
    return f"{desk.records.on_desk(int(number), who=who).id}:{place}"
