"""The pages of common sets: making one, marking it, closing it, and what it tells."""

from __future__ import annotations

import secrets
from collections import Counter
from typing import Any
from urllib.parse import urlencode

from anyio import to_thread
from sqlalchemy import select
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from chalkwing.book.common import choosing, making, marking, over_time, results, saying
from chalkwing.book.tables import Person
from chalkwing.errors import RefusedRequest
from chalkwing.paper.debrief import SHEETS
from chalkwing.paper.pack import MOST, pack_pdf
from chalkwing.web import forms
from chalkwing.web.common_making import Making
from chalkwing.web.common_pictures import pictures_of, spread_of
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.refusals import told as refusal_told
from chalkwing.web.uploads import plain_body

_USUAL = 20
"""Maneuvers that a new set has unless asked otherwise."""


async def sets_page(request: Request) -> Response:
    """``GET /book/common``: the common sets, and making a new one."""
    return page(request, "common.html", await to_thread.run_sync(_sets, request))


def _sets(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    with desk.book.reading() as session:
        there = choosing.candidates(desk.book, session)
        counted = Counter((each.kind, each.title) for each in there)
        return {
            "sets": results.set_lines(session),
            "kinds": [(kind, title, count) for (kind, title), count in sorted(counted.items())],
            "candidates": there,
            "usual": min(_USUAL, len(there)),
            "most": min(choosing.MOST, len(there)),
            "chiefs": names(session, Person.chief),
            "making": _said(desk.sets.state),
            **_then(session, person_asking(request, session)),
        }


def _then(session: Session, one: Person | None) -> dict[str, Any]:
    """Change over months, as far as the reader may read it."""
    told = over_time.over_time(session, results.Reader(one))
    return {
        "one": one.name if one else None,
        "query": _query(one, names=False),
        "readers": names(session, Person.instructor | Person.chief),
        "then": told,
        "change": over_time.change_said(told),
        "compare": over_time.COMPARE,
    }


def names(session: Session, role: Any) -> list[str]:
    """Everybody who has a role and has not left."""
    return list(session.scalars(select(Person.name).where(role, Person.left.is_(None)).order_by(Person.name)))


async def make_set(request: Request) -> JSONResponse:
    """``POST /book/common``: make a set of maneuvers picked one by one, or of a number of some kinds."""
    desk = desk_of(request)
    plain = await plain_body(request)
    who = forms.said_by(plain)
    name = forms.text(plain, "name", what="the name of the set", most=120)
    picks = _picks(plain)
    count = forms.optional(plain, "count", most=3) or str(_USUAL)

    def begin() -> None:
        with desk.book.reading() as session:
            there = choosing.candidates(desk.book, session)
        seed = secrets.randbelow(2**31)
        if picks:
            chosen = choosing.picked(there, picks)
        else:
            kinds = forms.several(plain, "kinds", {each.kind for each in there})
            if not count.isdigit():
                raise RefusedRequest("how many must be a number.", where="count")
            chosen = choosing.spread(there, count=int(count), kinds=kinds, seed=seed)
        desk.sets.begin(chosen, name=name, who=who, seed=seed)

    await to_thread.run_sync(begin)
    return JSONResponse({"url": ""}, status_code=202)


def _picks(plain: dict[str, Any]) -> list[tuple[int, int]]:
    found = []
    given = plain.get("picks") or []
    for each in given if isinstance(given, list) else [given]:
        lesson, _, number = str(each).partition(":")
        if not (lesson.isdigit() and number.isdigit()):
            raise RefusedRequest("a maneuver is picked as LESSON:NUMBER.", where="picks")
        found.append((int(lesson), int(number)))
    return found


async def making_progress(request: Request) -> JSONResponse:
    """``GET /book/common/making``: how far the set is that is being made."""
    return JSONResponse(_said(desk_of(request).sets.state))


def _said(state: Making | None) -> dict[str, Any] | None:
    if state is None:
        return None
    return {
        "name": state.name,
        "what": state.what,
        "fraction": state.fraction,
        "number": state.number,
        "left": list(state.left),
        "refusal": refusal_told(state.refusal) if state.refusal else None,
        "under_way": state.under_way,
    }


async def set_page(request: Request) -> Response:
    """``GET /book/common/{n}``: one set: who has how much to do, marking, closing."""
    return page(request, "common_set.html", await to_thread.run_sync(_set, request))


def _set(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        found = making.common_set(session, request.path_params["n"])
        line = next(each for each in results.set_lines(session) if each.number == found.id)
        return {
            "line": line,
            "kinds": Counter(each.flown.title for each in found.maneuvers),
            "scale": making.scale_of(found),
            "instructors": names(session, Person.instructor),
            "readers": names(session, Person.instructor | Person.chief),
            "chiefs": names(session, Person.chief),
        }


async def close_set(request: Request) -> JSONResponse:
    """``POST /book/common/{n}/closed``: no more marks; what was measured may be read by all."""
    plain = await plain_body(request)
    who = forms.said_by(plain)

    def close() -> None:
        with desk_of(request).book.writing() as session:
            marking.close(session, making.common_set(session, request.path_params["n"]), who=who)

    await to_thread.run_sync(close)
    return JSONResponse({"url": f"/book/common/{request.path_params['n']}"}, status_code=201)


# --- Marking ------------------------------------------------------------------------------------------------


async def mark_page(request: Request) -> Response:
    """``GET /book/common/{n}/mark?as=&at=``: a maneuver to mark, the first unmarked one unless asked."""
    context = await to_thread.run_sync(_marking, request)
    if context is None:
        said = urlencode({"as": request.query_params.get("as", "")})
        return RedirectResponse(f"/book/common/{request.path_params['n']}/result?{said}", status_code=303)
    return page(request, "common_mark.html", context)


def _marking(request: Request) -> dict[str, Any] | None:
    with desk_of(request).book.reading() as session:
        found = making.common_set(session, request.path_params["n"])
        one = instructor_of(request, session)
        order = marking.order_of(found, one)
        given = marking.marks_by(session, found, one)
        open_places = [at for at, each in enumerate(order, start=1) if each.place not in given]
        asked = request.query_params.get("at", "")
        if not asked and (not open_places or found.closed is not None):
            return None
        at = int(asked) if asked.isdigit() else open_places[0]
        if not 1 <= at <= len(order):
            raise RefusedRequest(f"the set has maneuvers 1 to {len(order)}.", status=404)
        shown = order[at - 1]
        return {
            "number": found.id,
            "name": found.name,
            "closed": found.closed is not None,
            "one": one.name,
            "at": at,
            "count": len(order),
            "left": len(open_places),
            "place": shown.place,
            "title": shown.flown.title,
            "given": given.get(shown.place),
            "elements": marking.asked_of(shown),
            "scale": making.scale_of(found),
            "pictures": pictures_of(shown.shown),
            "next": _next(at, open_places, len(order)),
        }


def _next(at: int, open_places: list[int], count: int) -> int | None:
    """The next unmarked one after this, else the first unmarked one; None where no other is left."""
    rest = [each for each in open_places if each != at]
    return next((each for each in rest if each > at), rest[0] if rest else None)


def instructor_of(request: Request, session: Session) -> Person:
    """The instructor who marks, by the name that the address gives."""
    one = person_asking(request, session)
    if one is None:
        raise RefusedRequest("nobody is said to mark.", status=400, next_step="Choose who on the set's page.")
    if not one.instructor:
        raise RefusedRequest(f"{one.name} is no instructor.", status=403)
    return one


def person_asking(request: Request, session: Session) -> Person | None:
    """Who reads or marks: whoever is signed in; on a machine of one's own, whoever the page was told."""
    signed_in = request.scope.get("state", {}).get("viewer")
    name = request.query_params.get("as", "") if signed_in is None else signed_in.name
    if not name:
        return None
    found = session.scalars(select(Person).where(Person.name == name)).first()
    if found is None:
        raise RefusedRequest(f"nobody called {name} is in the book.", status=404)
    return found


async def keep_mark(request: Request) -> JSONResponse:
    """``POST /book/common/{n}/marks?as=``: an instructor's mark for one maneuver, with its elements."""
    plain = await plain_body(request)
    step = forms.text(plain, "step", what="the mark", most=60)
    place = plain.get("place")
    if not isinstance(place, str) or not place.isdigit():
        raise RefusedRequest("which maneuver is marked must be said by its number.", where="place")
    given = {
        key.removeprefix("element:"): value
        for key in plain
        if key.startswith("element:") and (value := forms.optional(plain, key, most=60))
    }

    def keep() -> str:
        with desk_of(request).book.writing() as session:
            found = making.common_set(session, request.path_params["n"])
            one = instructor_of(request, session)
            marking.mark(session, found, int(place), instructor=one, step=step, elements=given)
            return one.name

    await to_thread.run_sync(keep)
    return JSONResponse({"url": str(plain.get("then") or "")}, status_code=201)


# --- What it tells ------------------------------------------------------------------------------------------


async def result_page(request: Request) -> Response:
    """``GET /book/common/{n}/result?as=&names=1``: how alike the set was marked."""
    return page(request, "common_result.html", await to_thread.run_sync(_result, request))


def _result(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        found = making.common_set(session, request.path_params["n"])
        one = person_asking(request, session)
        told = results.result(session, found, results.Reader(one, names=asks_names(request)))
        own = told.own_beside
        return {
            "told": told,
            "one": one.name if one else None,
            "chief": one is not None and one.chief,
            "names": asks_names(request),
            "query": _query(one, names=asks_names(request)),
            "other": _query(one, names=not asks_names(request)),
            "most": saying.most_different_said(told.most_different),
            "alpha": saying.alpha_said(told.agreement),
            "how": saying.HOW_TO_READ,
            "elements_said": [saying.element_said(each) for each in told.elements],
            "beside": saying.beside_said(told.beside, told.scale),
            "own_beside": saying.beside_said(own, told.scale) if own and own.of_met + own.of_missed else [],
            "spread": spread_of(told),
        }


def _query(one: Person | None, *, names: bool) -> str:
    """Who reads, and whether names were asked for, as addresses carry it on."""
    return urlencode(({"as": one.name} if one else {}) | ({"names": "1"} if names else {}))


async def maneuver_page(request: Request) -> Response:
    """``GET /book/common/{n}/maneuver/{place}?as=``: one maneuver, its marks and what was measured."""
    return page(request, "common_maneuver.html", await to_thread.run_sync(_maneuver, request))


def _maneuver(request: Request) -> dict[str, Any]:
    place = request.path_params["place"]
    with desk_of(request).book.reading() as session:
        found = making.common_set(session, request.path_params["n"])
        one = person_asking(request, session)
        told = results.result(session, found, results.Reader(one, names=asks_names(request)))
        if not 1 <= place <= len(told.maneuvers):
            raise RefusedRequest(f"the set has maneuvers 1 to {len(told.maneuvers)}.", status=404)
        shown = told.maneuvers[place - 1]
        return {
            "told": told,
            "m": shown,
            "marked": {each.element: saying.counts_said(each.counts, told.scale) for each in shown.elements},
            "questions": saying.questions(shown, told.scale) if shown.difference else [],
            "pictures": pictures_of(found.maneuvers[place - 1].shown),
            "query": _query(one, names=asks_names(request)),
        }


async def pack(request: Request) -> Response:
    """``GET /book/common/{n}/pack.pdf?as=&names=1&paper=``: the pack for the meeting, on A4 or Letter."""
    paper = request.query_params.get("paper", "a4")
    if paper not in SHEETS:
        raise RefusedRequest(f"paper is {' or '.join(SHEETS)}.", status=404)
    made = await to_thread.run_sync(_packed, request, paper)
    name = f"common-set-{request.path_params['n']}.pdf"
    return Response(
        made,
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name}"'},
    )


def _packed(request: Request, paper: str) -> bytes:
    with desk_of(request).book.reading() as session:
        found = making.common_set(session, request.path_params["n"])
        reader = results.Reader(person_asking(request, session), names=asks_names(request))
        told = results.result(session, found, reader)
        chosen = {each.number for each in told.most_different[:MOST]}
        shown = {each.place: each.shown for each in found.maneuvers if each.place in chosen}
    return pack_pdf(told, shown, paper=paper)


def asks_names(request: Request) -> bool:
    """Whether names were asked for."""
    return request.query_params.get("names") == "1"
