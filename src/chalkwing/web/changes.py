"""Writes to a lesson: every change of a person goes through one address and into one journal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse

from chalkwing.book.lessons import lesson as lesson_of
from chalkwing.web.lessons import desk_of
from chalkwing.web.shelf import Lesson
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import refuse_beyond_notes, refuse_noting_signed, viewer_of


async def add_change(request: Request) -> JSONResponse:
    """``POST /lesson/{id}/changes``: one change; judged with it before it is kept."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    plain = await plain_body(request)
    await to_thread.run_sync(_refuse_a_students, request, lesson, plain)
    number = await to_thread.run_sync(desk.change, lesson, plain)
    return JSONResponse({"id": number}, status_code=201)


def _refuse_a_students(request: Request, lesson: Lesson, plain: Mapping[str, Any]) -> None:
    """Of students only notes are kept, and they take back no line but their own notes."""
    one = viewer_of(request)
    if one is None or not one.student_only:
        return
    act, desk = str(plain.get("act")), desk_of(request)
    if act == "undo":
        lines = {each.id: each for each in desk.journal(lesson).entries()}
        line = lines.get(plain["undoes"]) if isinstance(plain.get("undoes"), int) else None
        act = line.act if line is not None and line.table.get("by") == one.name else "undo"
    refuse_beyond_notes(one, act)
    record = desk.records.of(lesson)
    if record is not None:
        with desk.book.reading() as session:
            refuse_noting_signed(one, lesson_of(session, record))


async def all_changes(request: Request) -> JSONResponse:
    """``GET /lesson/{id}/changes``: the journal, the oldest line first."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    entries = await to_thread.run_sync(desk.journal(lesson).entries)
    return JSONResponse(
        {"changes": [{"id": each.id, "stands": each.stands, **each.table} for each in entries]}
    )
