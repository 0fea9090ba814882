"""The ground lesson's page: a maneuver planned on the screen, with what moves as its sliders move."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

from anyio import to_thread
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.airplane import sheet_names
from chalkwing.briefing import Briefing, briefable
from chalkwing.briefing import words as said
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import definitions
from chalkwing.paper.card import MARGINS, SIZES
from chalkwing.paper.page import flight_controls
from chalkwing.web.desk import Desk
from chalkwing.web.ground_lesson_asked import asked_in, controls, sheet_of
from chalkwing.web.ground_lesson_work import (
    LessonOrder,
    LessonPlan,
    lesson_card,
    plan_lesson,
    warmed_planner,
    whole_briefing,
)
from chalkwing.web.pages import page, part
from chalkwing.words import number

_FOLDED_MARGINS = ("lowest_height", "room_to_limit_load", "highest_altitude", "least_entry_altitude")
"""Margins that are one click away; the others stand in view."""


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


async def ground_lesson_page(request: Request) -> Response:
    """``GET /ground-lesson?maneuver=&airplane=...``: the page; its pictures come once they are worked out."""
    asked = asked_in(request.query_params)
    await to_thread.run_sync(_desk(request).warm_planner, warmed_planner, asked)
    defined = definitions().get(asked.kind)
    context = {
        "asked": asked,
        "kinds": [(kind, _title(kind)) for kind in briefable()],
        "airplanes": [(name, sheet_of(name).title) for name in sheet_names()],
        "title": _title(asked.kind),
        "summary": defined.summary if defined else "",
        "source": defined.source if defined else "",
        "controls": controls(asked.kind, sheet_of(asked.airplane)),
        "errors": defined.errors if defined else (),
        "wind_matters": defined is not None and defined.ground != "none",
    }
    return page(request, "ground_lesson.html", context)


def _title(kind: str) -> str:
    known = definitions().get(kind)
    return known.title if known else kind.replace("_", " ").capitalize()


async def plan(request: Request) -> JSONResponse:
    """``GET /ground-lesson/plan?...``: all that changes on the page, as pieces of it and as columns."""
    order = _order(request)
    made: LessonPlan = await to_thread.run_sync(_desk(request).plan, plan_lesson, order)
    return JSONResponse(_pieces(request, order, made))


def _order(request: Request) -> LessonOrder:
    query = dict(request.query_params)
    error = re.fullmatch(r"([a-z_0-9]+)\.(\d+)", query.get("error", ""))
    if query.get("error") and error is None:
        raise RefusedRequest("no common error is named so.", where="error", status=422)
    named = None if error is None else (error[1], int(error[2]))
    return LessonOrder(asked_in(query), named, query.get("narrow") == "1")


def _pieces(request: Request, order: LessonOrder, made: LessonPlan) -> dict[str, Any]:
    briefing = made.briefing
    context = {
        "briefing": briefing,
        "said": said,
        "made": made,
        "pictures": made.pictures,
        "speed_unit": said.speed_unit(briefing),
        "margins": _margins(briefing),
        "folded_margins": _FOLDED_MARGINS,
        "elevation_ft": order.asked.elevation_ft(),
        "markup": Markup,
        "flight_controls": flight_controls(),
    }
    names = ("pictures", "below", "places", "numbers", "steps")
    return {
        **{name: part(f"ground_lesson_{name}.html", context) for name in names},
        "flown": made.pictures.data if made.pictures else None,
        "free": _free(briefing),
        "command": order.asked.command(),
        "summary": _summary(briefing),
        "said": " ".join([_summary(briefing), *_error_said(made)]),
    }


def _margins(briefing: Briefing) -> list[tuple[str, str, str]]:
    """Name, title and value of the margins that are told in few words."""
    known = {each.name: each for each in briefing.margins}
    return [(name, title, said.fact(known[name])) for name, title in MARGINS.items() if name in known]


def _free(briefing: Briefing) -> dict[str, float]:
    """What the plan itself found or took for each control that was not set."""
    facts = {each.name: each.value for each in briefing.facts}
    settings = briefing.settings
    throttle = briefing.entry.throttle_percent
    found = {
        "mass_lb": briefing.mass_lb,
        "nose_up_deg": facts.get("nose_up"),
        "finish_margin_kt": settings.get("finish_margin_kt"),
        "max_bank_deg": settings.get("maximum_bank_deg", settings.get("bank_deg")),
        "entry_speed_kt": settings.get("entry_speed_kcas", settings.get("airspeed_kcas")),
        "throttle_percent": throttle,
    }
    return {name: round(value, 2) for name, value in found.items() if isinstance(value, float)}


def _summary(briefing: Briefing) -> str:
    """The plan in one sentence, for who hears the page."""
    entry = briefing.entry
    parts = [f"Enter at {number(entry.airspeed_kt)} {said.speed_unit(briefing)}"]
    parts.append(f"and {number(entry.altitude_ft)} ft")
    known = {each.name: each for each in briefing.margins}
    if "least_over_stall" in known:
        parts.append(f"; at least {said.fact(known['least_over_stall'])} over the stall")
    if "room_above_floor" in known:
        parts.append(f", {said.fact(known['room_above_floor'])} of room above the floor")
    return " ".join(parts).replace(" ;", ";").replace(" ,", ",") + "."


def _error_said(made: LessonPlan) -> list[str]:
    """The error that is shown, or why none is, in sentences."""
    if made.shown is not None:
        return [f"{made.shown.title}.", *made.effects]
    return [f"Not drawn: {made.unflown}"] if made.unflown else []


async def card(request: Request) -> Response:
    """``GET /ground-lesson/card.pdf?...&paper=``: the kneeboard card of the plan."""
    paper = request.query_params.get("paper", "a5")
    if paper not in SIZES:
        raise RefusedRequest(f"a card's paper is {' or '.join(SIZES)}.", status=404)
    asked = _order(request).asked
    made = await to_thread.run_sync(_desk(request).plan, lesson_card, asked, paper)
    return _file(made, "application/pdf", f"{asked.kind}-card.pdf")


async def briefing_json(request: Request) -> Response:
    """``GET /ground-lesson/briefing.json?...``: what ``chalkwing brief --format json`` says of the same."""
    asked = _order(request).asked
    text: str = await to_thread.run_sync(partial(_desk(request).plan, whole_briefing, asked))
    return _file(text.encode(), "application/json", f"{asked.kind}.json")


def _file(content: bytes, media_type: str, name: str) -> Response:
    return Response(
        content, media_type=media_type, headers={"content-disposition": f'inline; filename="{name}"'}
    )
