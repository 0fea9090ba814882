"""The pages of a lesson, and of all lessons."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from anyio import to_thread
from markupsafe import Markup
from sqlalchemy import select
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from chalkwing.airplane import load_sheet, sheet_names
from chalkwing.book.course import PLAIN, course_in_force, read_course
from chalkwing.book.log_settings import LONGEST_MAP
from chalkwing.book.sight import desk_lessons_seen
from chalkwing.book.tables import Person
from chalkwing.errors import RefusedRequest
from chalkwing.find import can_find
from chalkwing.maneuvers import definitions, standards
from chalkwing.paper.debrief import SHEETS
from chalkwing.paper.page import maneuver_body
from chalkwing.views.stall_speed import stall_speeds_said
from chalkwing.web import blind
from chalkwing.web.desk import Desk, Work
from chalkwing.web.giving import given_form, given_said
from chalkwing.web.journal import Entry
from chalkwing.web.outline import FLOWN_BY, notes_of, outline, overrides_of
from chalkwing.web.own_limits import LONGEST_FILE
from chalkwing.web.own_limits import said as standard_said
from chalkwing.web.pages import page
from chalkwing.web.pictures import strip_of
from chalkwing.web.records import OF_THE_BOOK
from chalkwing.web.refusals import told as refusal_told
from chalkwing.web.shelf import Lesson
from chalkwing.web.viewing import viewer_of
from chalkwing.web.work import Told


def desk_of(request: Request) -> Desk:
    """The desk that the application serves."""
    desk: Desk = request.app.state.desk
    return desk


async def all_lessons(request: Request) -> Response:
    """``GET /``: the lessons, and where to drop recordings."""
    desk = desk_of(request)
    seen = await to_thread.run_sync(_seen_lessons, request, desk)
    context = {
        **seen,
        "refused": await to_thread.run_sync(
            lambda: {each.id: desk.shelf.refusal(each) for each in seen["lessons"]}
        ),
        "airplanes": await to_thread.run_sync(_airplanes, desk),
        "standards": [(each.name, standard_said(each)) for each in standards().values()],
        "own_limits": await to_thread.run_sync(desk.limits.every),
        "longest_limits": LONGEST_FILE,
        "longest_map": LONGEST_MAP,
        "settings": desk.settings,
    }
    return page(request, "lessons.html", context)


def _airplanes(desk: Desk) -> list[tuple[str, str]]:
    """What may be chosen: the school's own airplanes first, then the generic sheets."""
    own = [
        (f"{OF_THE_BOOK}{registration}", f"{registration}, {load_sheet(sheet).title}")
        for registration, sheet in desk.records.airplanes().items()
    ]
    return own + [(name, load_sheet(name).title) for name in sheet_names()]


def _seen_lessons(request: Request, desk: Desk) -> dict[str, Any]:
    """The lessons that whoever looks may see, and those of them that they may remove."""
    lessons, one = desk.shelf.lessons(), viewer_of(request)
    if one is None or one.chief:
        return {"lessons": lessons, "removable": {each.id for each in lessons}}
    with desk.book.reading() as session:
        seen, entered = desk_lessons_seen(session, one)
    own = {each.id for each in lessons if each.by == one.person} - entered
    return {"lessons": [each for each in lessons if each.id in seen | own], "removable": own}


async def lesson_page(request: Request) -> Response:
    """``GET /lesson/{id}``: the lesson, or how far the work on it is."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    told = await to_thread.run_sync(desk.told, lesson)
    if told is None:
        again = request.query_params.get("again") == "1"
        return page(
            request, "working.html", {"lesson": lesson, "work": _said(desk.begin(lesson, again=again))}
        )
    entries = await to_thread.run_sync(desk.journal(lesson).entries)
    context = _lesson_context(lesson, told, entries)
    context["record"] = await to_thread.run_sync(desk.records.of, lesson)
    context["hidden"] = await to_thread.run_sync(
        blind.unmarked, desk, lesson, told.debrief, viewer_of(request)
    )
    return page(request, "lesson.html", context)


def _lesson_context(lesson: Lesson, told: Told, entries: Sequence[Entry]) -> dict[str, Any]:
    return {
        "lesson": lesson,
        "debrief": told.debrief,
        "outline": outline(told.debrief, told.story, entries),
        "start_utc": told.story.start_utc,
        "story": told.story,
        "stall_speeds": list(stall_speeds_said(told.debrief)),
        "strip": strip_of(told.story),
        "flown_by": FLOWN_BY,
        "flown_words": {value: said for value, said, _ in FLOWN_BY},
        "kinds": [(each.kind, each.title) for each in definitions().values() if can_find(each)],
    }


async def maneuver_page(request: Request) -> Response:
    """``GET /lesson/{id}/maneuver/{n}``: one maneuver, counted from 1."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    told = await to_thread.run_sync(desk.told, lesson)
    if told is None:
        return page(request, "working.html", {"lesson": lesson, "work": _said(desk.begin(lesson))})
    number = request.path_params["n"]
    if not 1 <= number <= len(told.views):
        raise RefusedRequest(
            f"this lesson has {len(told.views)} maneuvers.", status=404, next_step="Go back to the lesson."
        )
    view = told.views[number - 1]
    hidden = await to_thread.run_sync(blind.unmarked, desk, lesson, told.debrief, viewer_of(request))
    if number in hidden:
        context = {"number": number, "maneuver": view.report, "start_utc": told.story.start_utc}
        return page(request, "mark.html", {**context, **await to_thread.run_sync(_marking, desk, lesson)})
    standing = [each.table for each in desk.journal(lesson).entries() if each.stands]
    context = {
        "lesson": lesson,
        "number": number,
        "count": len(told.views),
        "view": view,
        "maneuver": view.report,
        "start_utc": told.story.start_utc,
        "body": await to_thread.run_sync(partial(maneuver_body, view, number=number, story=told.story)),
        "beside": _beside(lesson, told, number, standing),
    }
    return page(request, "maneuver.html", context)


def _marking(desk: Desk, lesson: Lesson) -> dict[str, Any]:
    """What a maneuver's page shows while its verdicts are hidden: the scale, and nothing measured."""
    with desk.book.reading() as session:
        course = course_in_force(session) or read_course(PLAIN)
        chosen = select(Person.name).where(Person.instructor, Person.left.is_(None)).order_by(Person.name)
        instructors = list(session.scalars(chosen))
    record = desk.records.of(lesson)
    return {"lesson": lesson, "record": record, "scale": course.scale, "instructors": instructors}


def _beside(lesson: Lesson, told: Told, number: int, standing: Sequence[Mapping[str, Any]]) -> Markup:
    """What people laid beside a maneuver, for the page's script; no text can end its element."""
    view = told.views[number - 1]
    report = view.report
    plain = {
        "lesson": lesson.id,
        "kind": report.kind,
        "at_s": round(0.5 * (report.start_s + report.end_s), 1),
        "start_s": view.start_s,
        "overrides": list(overrides_of(report, standing).values()),
        "notes": notes_of(told.debrief, number, standing, told.story.start_utc),
        "title": f"{number} {report.title}",
        "given": given_form(report),
        "given_said": given_said(report),
    }
    return Markup(json.dumps(plain, ensure_ascii=False).replace("<", "\\u003c"))


async def progress(request: Request) -> JSONResponse:
    """``GET /lesson/{id}/progress``: how far the work is; ``done`` once the page can be shown."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    if await to_thread.run_sync(desk.told, lesson) is not None:
        return JSONResponse({"state": "done", "what": "done", "fraction": 1.0, "refusal": None})
    return JSONResponse(_said(desk.begin(lesson)))


def work_said(desk: Desk, lesson: Lesson) -> dict[str, Any]:
    """How far the work on a lesson is; it is begun if it was not yet."""
    return _said(desk.begin(lesson))


def _said(work: Work) -> dict[str, Any]:
    return {
        "state": "refused" if work.refusal else "working",
        "what": work.what,
        "fraction": work.fraction,
        "refusal": refusal_told(work.refusal) if work.refusal else None,
    }


async def debrief_json(request: Request) -> Response:
    """``GET /lesson/{id}/debrief.json``: the machine-readable debrief."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    told = await to_thread.run_sync(desk.told, lesson)
    path = desk.json_path(lesson)
    if told is None or not path.is_file():
        raise RefusedRequest(
            "the lesson is not worked out yet.", status=404, next_step="Open its page first."
        )
    await to_thread.run_sync(blind.refuse_untold, desk, lesson, told.debrief, viewer_of(request))
    return FileResponse(path, media_type="application/json")


async def debrief_pdf(request: Request) -> Response:
    """``GET /lesson/{id}/debrief.pdf?paper=``: the printed debrief, on A4 or Letter."""
    paper = request.query_params.get("paper", "a4")
    if paper not in SHEETS:
        raise RefusedRequest(f"paper is {' or '.join(SHEETS)}.", status=404)
    return await _taken_along(request, paper, "application/pdf", "inline")


async def debrief_html(request: Request) -> Response:
    """``GET /lesson/{id}/debrief.html``: the lesson as one file that needs no server, to save."""
    return await _taken_along(request, "html", "text/html", "attachment")


async def _taken_along(request: Request, form: str, media_type: str, disposition: str) -> Response:
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    told = await to_thread.run_sync(desk.told, lesson)
    if told is None:
        raise RefusedRequest(
            "the lesson is not worked out yet.", status=404, next_step="Open its page first."
        )
    await to_thread.run_sync(blind.refuse_untold, desk, lesson, told.debrief, viewer_of(request))
    path = await to_thread.run_sync(desk.print_path, lesson, form)
    name = f"{Path(lesson.files[0].name).stem}-debrief{path.suffix}"
    return FileResponse(path, media_type=media_type, filename=name, content_disposition_type=disposition)


async def remove_lesson(request: Request) -> JSONResponse:
    """``DELETE /lesson/{id}``: forget a lesson, with the recordings that only it has."""
    desk = desk_of(request)
    await to_thread.run_sync(desk.remove, desk.shelf.lesson(request.path_params["id"]))
    return JSONResponse({"url": "/"})
