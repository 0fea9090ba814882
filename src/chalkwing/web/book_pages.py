"""The pages of the book: the school, its people and airplanes, lessons, the course outline."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import islice
from typing import Any

from anyio import to_thread
from sqlalchemy import func, select
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing import words
from chalkwing.airplane import load_sheet, sheet_names
from chalkwing.book import keeping, overview, people, reports
from chalkwing.book.course import PLAIN, Course, course_in_force, read_course
from chalkwing.book.sight import students_seen
from chalkwing.book.tables import Airplane, Lesson, Person
from chalkwing.maneuvers import definitions
from chalkwing.web import forms
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import viewer_of

_LATELY = 8
"""Lessons on the school's page."""
_A_PAGE = 50
"""Lessons on a page of the list."""
_DUE = 20


async def school_page(request: Request) -> Response:
    """``GET /book``: the school at a glance."""
    return page(request, "book.html", await to_thread.run_sync(_school, request))


def _school(request: Request) -> dict[str, Any]:
    one = viewer_of(request)
    seen = students_seen(one)
    with desk_of(request).book.reading() as session:
        course = course_in_force(session)
        students = overview.student_lines(session, course, students=seen)
        # What is due names every student of the school: it is the chief's to look after.
        due = keeping.due(session, keeping.retention_of(course)) if one is None or one.chief else iter(())
        return {
            "course": course,
            "in_training": [each for each in students if each.left is None],
            "gone": [each for each in students if each.left is not None],
            "lessons": reports.lesson_lines(session, newest=_LATELY, students=seen),
            "titles": unit_titles(course),
            "airplanes": session.scalar(select(func.count(Airplane.id))) or 0,
            "instructors": session.scalar(select(func.count(Person.id)).where(Person.instructor)) or 0,
            "due": list(islice(due, _DUE)),
        }


def unit_titles(course: Course | None) -> dict[str, str]:
    """Titles of the lessons of a course by their names."""
    return {} if course is None else {unit.name: unit.title for unit in course.units}


async def all_records(request: Request) -> Response:
    """``GET /book/lessons?before=``: the lessons of the book, newest first, a page at a time."""
    before = request.query_params.get("before", "")
    last = int(before) if before.isdigit() else None
    return page(request, "book_lessons.html", await to_thread.run_sync(_listed, request, last))


def _listed(request: Request, before: int | None) -> dict[str, Any]:
    seen = students_seen(viewer_of(request))
    counted = select(func.count(Lesson.id))
    if seen is not None:
        counted = counted.where(Lesson.student_id.in_(seen))
    with desk_of(request).book.reading() as session:
        lines = reports.lesson_lines(session, newest=_A_PAGE + 1, before=before, students=seen)
        return {
            "lessons": lines[:_A_PAGE],
            "more": lines[_A_PAGE - 1].lesson if len(lines) > _A_PAGE else None,
            "newest": before is None,
            "titles": unit_titles(course_in_force(session)),
            "count": session.scalar(counted) or 0,
        }


async def people_page(request: Request) -> Response:
    """``GET /book/people``: everybody of the school."""
    return page(request, "book_people.html", await to_thread.run_sync(_people, request))


def _people(request: Request) -> dict[str, Any]:
    one = viewer_of(request)
    seen = students_seen(one)
    chosen = select(Person).order_by(Person.left.is_not(None), Person.name)
    if seen is not None:
        # Colleagues are known by name; of students only one's own.
        chosen = chosen.where(Person.instructor | Person.chief | Person.id.in_(seen))
    with desk_of(request).book.reading() as session:
        found = session.scalars(chosen)
        return {
            "people": [
                {
                    "id": each.id,
                    "name": each.name,
                    "roles": each.roles,
                    "certificate": each.certificate,
                    "left": each.left,
                    "left_as": each.left_as,
                }
                for each in found
            ],
            "roles": people.ROLES,
        }


async def add_person(request: Request) -> JSONResponse:
    """``POST /book/people``: enter a person, or give one further roles or another certificate."""
    plain = await plain_body(request)
    who, name = forms.said_by(plain), forms.text(plain, "name", what="the name", most=120)
    sent = forms.several(plain, "roles", people.ROLES)
    roles = [role for role in people.ROLES if role in sent]
    certificate = forms.optional(plain, "certificate", most=60)
    recency = forms.optional(plain, "recency", most=60)

    def enroll() -> int:
        with desk_of(request).book.writing() as session:
            return people.enroll(
                session, name, roles=roles, who=who, certificate=certificate, recency=recency
            ).id  # fmt: skip

    return JSONResponse({"id": await to_thread.run_sync(enroll)}, status_code=201)


async def person_left(request: Request) -> JSONResponse:
    """``POST /book/people/{id}/left``: a student graduated, ended or moved."""
    plain = await plain_body(request)
    who, how = forms.said_by(plain), forms.chosen(plain, "how", ("graduated", "ended", "moved"))

    def leave() -> None:
        with desk_of(request).book.writing() as session:
            one = people.by_number(session, request.path_params["id"])
            people.leave(session, one, how=how, when=None, who=who)  # type: ignore[arg-type]

    await to_thread.run_sync(leave)
    return JSONResponse({"url": ""})


async def airplanes_page(request: Request) -> Response:
    """``GET /book/airplanes``: the airplanes of the school, and the sheets they are judged with."""
    return page(request, "book_airplanes.html", await to_thread.run_sync(_airplanes, request))


def _airplanes(request: Request) -> dict[str, Any]:
    titles = {name: load_sheet(name).title for name in sheet_names()}
    with desk_of(request).book.reading() as session:
        found = session.scalars(select(Airplane).order_by(Airplane.registration))
        return {
            "airplanes": [
                (one.registration, titles.get(one.sheet or "", one.sheet), one.sheet_text is not None)
                for one in found
            ],
            "sheets": list(titles.items()),
        }


async def add_airplane(request: Request) -> JSONResponse:
    """``POST /book/airplanes``: enter an airplane, or give it another built-in sheet."""
    plain = await plain_body(request)
    who = forms.said_by(plain)
    registration = forms.text(plain, "registration", what="the registration", most=20)
    sheet = forms.chosen(plain, "sheet", ["", *sheet_names()], default="") or None

    def enter() -> None:
        with desk_of(request).book.writing() as session:
            people.enter_airplane(session, registration, sheet=sheet, sheet_text=None, who=who)

    await to_thread.run_sync(enter)
    return JSONResponse({"url": "/book/airplanes"}, status_code=201)


async def course_page(request: Request) -> Response:
    """``GET /book/course``: the course outline in force, or the plain one where the school has none."""

    def found() -> Course | None:
        with desk_of(request).book.reading() as session:
            return course_in_force(session)

    own = await to_thread.run_sync(found)
    context = {
        "course": own or read_course(PLAIN),
        "own": own is not None,
        "kinds": {kind: each.title for kind, each in definitions().items()},
        "limit": _limit,
    }
    return page(request, "book_course.html", context)


def _limit(table: Mapping[str, Any]) -> str:
    """A limit of a stage in words, in the unit of what is measured."""
    definition = definitions()[table["maneuver"]]
    measure = definition.measure(table["element"])
    assert measure is not None  # the outline was refused otherwise
    low, high = table.get("between", (table.get("at_least"), table.get("at_most")))
    return f"{definition.title}, {measure.title.lower()}: {words.band((low, high), measure.unit)}"
