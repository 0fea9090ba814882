"""Writes to a lesson: every change of a person goes through one address and into one journal."""

from __future__ import annotations

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse

from chalkwing.web.lessons import desk_of
from chalkwing.web.uploads import plain_body


async def add_change(request: Request) -> JSONResponse:
    """``POST /lesson/{id}/changes``: one change; judged with it before it is kept."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    number = await to_thread.run_sync(desk.change, lesson, await plain_body(request))
    return JSONResponse({"id": number}, status_code=201)


async def all_changes(request: Request) -> JSONResponse:
    """``GET /lesson/{id}/changes``: the journal, the oldest line first."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    entries = await to_thread.run_sync(desk.journal(lesson).entries)
    return JSONResponse(
        {"changes": [{"id": each.id, "stands": each.stands, **each.table} for each in entries]}
    )
