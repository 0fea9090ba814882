"""The pages of a lesson, and of all lessons."""

from __future__ import annotations

from functools import partial
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response

from chalkwing.airplane import load_sheet, sheet_names
from chalkwing.errors import RefusedRequest
from chalkwing.maneuvers import standards
from chalkwing.paper.page import maneuver_body
from chalkwing.web.desk import Desk, Work
from chalkwing.web.pages import page
from chalkwing.web.pictures import strip_of
from chalkwing.web.refusals import told as refusal_told
from chalkwing.web.shelf import Lesson
from chalkwing.web.work import Told


def desk_of(request: Request) -> Desk:
    """The desk that the application serves."""
    desk: Desk = request.app.state.desk
    return desk


async def all_lessons(request: Request) -> Response:
    """``GET /``: the lessons, and where to drop recordings."""
    desk = desk_of(request)
    context = {
        "lessons": await to_thread.run_sync(desk.shelf.lessons),
        "airplanes": [(name, load_sheet(name).title) for name in sheet_names()],
        "standards": [(each.name, each.title) for each in standards().values()],
        "settings": desk.settings,
    }
    return page(request, "lessons.html", context)


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
    return page(request, "lesson.html", _lesson_context(lesson, told))


def _lesson_context(lesson: Lesson, told: Told) -> dict[str, Any]:
    return {"lesson": lesson, "debrief": told.debrief, "strip": strip_of(told.story)}


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
    context = {
        "lesson": lesson,
        "number": number,
        "count": len(told.views),
        "view": view,
        "maneuver": view.report,
        "start_utc": told.story.start_utc,
        "body": await to_thread.run_sync(partial(maneuver_body, view, number=number, story=told.story)),
    }
    return page(request, "maneuver.html", context)


async def progress(request: Request) -> JSONResponse:
    """``GET /lesson/{id}/progress``: how far the work is; ``done`` once the page can be shown."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    if await to_thread.run_sync(desk.told, lesson) is not None:
        return JSONResponse({"state": "done", "what": "done", "fraction": 1.0, "refusal": None})
    return JSONResponse(_said(desk.begin(lesson)))


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
    path = desk.json_path(lesson)
    if not path.is_file():
        raise RefusedRequest(
            "the lesson is not worked out yet.", status=404, next_step="Open its page first."
        )
    return FileResponse(path, media_type="application/json")


async def remove_lesson(request: Request) -> JSONResponse:
    """``DELETE /lesson/{id}``: forget a lesson, with the recordings that only it has."""
    desk = desk_of(request)
    await to_thread.run_sync(desk.shelf.remove, desk.shelf.lesson(request.path_params["id"]))
    return JSONResponse({"url": "/"})
