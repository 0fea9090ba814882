"""Files of the school's own, given through the pages: its course outline, and sheets of its airplanes."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any

from anyio import to_thread
from sqlalchemy import func, select
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.airplane import load_sheet
from chalkwing.book import people
from chalkwing.book.course import PLAIN, Course, course_from, course_in_force, enter_course
from chalkwing.book.tables import CourseText, Lesson
from chalkwing.web import forms
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body

_LONGEST_FILE = 60_000
"""Letters of an outline or a sheet; a write may have 64 KiB in all."""


async def course_file(request: Request) -> Response:
    """``GET /book/course/file``: the outline in force as its file, or the plain one to begin with."""

    def found() -> str:
        with desk_of(request).book.reading() as session:
            return _words(session)

    said = {"content-disposition": 'attachment; filename="course.toml"'}
    return Response(await to_thread.run_sync(found), media_type="text/plain; charset=utf-8", headers=said)


def _words(session: Session) -> str:
    course = course_in_force(session)
    return PLAIN.read_text(encoding="utf-8") if course is None else course.text


async def course_form(request: Request) -> Response:
    """``GET /book/course/new``: the form by which an outline is put in force, and those before it."""
    return page(request, "book_course_new.html", await to_thread.run_sync(_outlines, request))


def _outlines(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        rows = session.execute(select(CourseText.name, CourseText.entered).order_by(CourseText.id.desc()))
        return {
            "text": _words(session),
            "outlines": [(row.name, row.entered) for row in rows],
            "most": _LONGEST_FILE,
        }


async def enter_outline(request: Request) -> JSONResponse:
    """``POST /book/course``: put an outline in force, or only look at it where ``act`` is ``check``.

    The answer says in words what the outline holds, and which lessons of the book it would leave unnamed.
    """
    plain = await plain_body(request)
    act = forms.chosen(plain, "act", ("enter", "check"), default="enter")
    who = forms.said_by(plain)
    text = forms.text(plain, "text", what="the outline", most=_LONGEST_FILE)

    def enter() -> dict[str, Any]:
        course = course_from(text, where="the outline")
        if act == "check":
            with desk_of(request).book.reading() as session:
                return {"said": _held(course, _unnamed(session, course))}
        with desk_of(request).book.writing() as session:
            enter_course(session, course, who=who)
        return {"url": "/book/course"}

    return JSONResponse(await to_thread.run_sync(enter), status_code=200 if act == "check" else 201)


def _unnamed(session: Session, course: Course) -> list[tuple[str, int]]:
    """Names of lessons that records were entered under and the outline does not have, with how many."""
    rows = session.execute(
        select(Lesson.unit, func.count(Lesson.id))
        .where(Lesson.unit.is_not(None), Lesson.unit.not_in([unit.name for unit in course.units]))
        .group_by(Lesson.unit)
        .order_by(Lesson.unit)
    )
    return [(str(unit), count) for unit, count in rows]


def _held(course: Course, unnamed: list[tuple[str, int]]) -> str:
    lessons, limits = len(course.units), sum(len(unit.limits) for unit in course.units)
    said = (
        f"No fault found. {course.name}: {lessons} {'lesson' if lessons == 1 else 'lessons'} "
        f"with {limits} limits of their own; marks: {', '.join(step.word for step in course.scale.steps)}."
    )
    for name, count in unnamed:
        said += (
            f"\nIt has no lesson {name!r}, which {count} {'record was' if count == 1 else 'records were'} "
            "entered under: judged again, they are held to the standard's own limits."
        )
    return said


async def enter_sheet(request: Request) -> JSONResponse:
    """``POST /book/airplanes/sheet``: enter an airplane with a sheet of the school's own, or give it one."""
    plain = await plain_body(request)
    who = forms.said_by(plain)
    registration = forms.text(plain, "registration", what="the registration", most=20)
    text = forms.text(plain, "text", what="the sheet", most=_LONGEST_FILE)

    def enter() -> None:
        name = _sheet_name(text, registration)
        with desk_of(request).book.writing() as session:
            people.enter_airplane(session, registration, sheet=name, sheet_text=text, who=who)

    await to_thread.run_sync(enter)
    return JSONResponse({"url": "/book/airplanes"}, status_code=201)


def _sheet_name(text: str, registration: str) -> str:
    """The name that a sheet gives itself, else its airplane's; all faults of it are told at once."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{re.sub(r'[^0-9A-Za-z-]', '-', registration)}.toml"
        path.write_text(text, encoding="utf-8")
        return load_sheet(path).name
