"""The pages of a student: lessons, elements over the attempts, the chance on the next try, the handover."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from anyio import to_thread
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book import keeping, people, reports
from chalkwing.book.course import PLAIN, Course, course_in_force, read_course
from chalkwing.book.handover import handover
from chalkwing.book.progress.chance import NEXT, UNSEEN, Chance
from chalkwing.book.reports import ElementLine
from chalkwing.book.tables import Person
from chalkwing.book.training import training_record
from chalkwing.debriefs import as_plain
from chalkwing.drawing.attempts import Attempted, attempts_picture
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.maneuvers import definitions
from chalkwing.paper.record import file_name, record_pdf
from chalkwing.web.book_pages import unit_titles
from chalkwing.web.foretelling import Standing
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.viewing import viewer_of

_PICTURE = (460.0, 150.0)
NOT_SHOWN = Standing((), current=True)
"""What students see of chances where the school shows none."""
_LESSONS = 12
"""Lessons of a student that are listed at first."""


async def student_page(request: Request) -> Response:
    """``GET /student/{id}``: where a student stands."""
    return page(request, "student.html", await to_thread.run_sync(_student, request))


def _student(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    with desk.book.reading() as session:
        one = people.by_number(session, request.path_params["id"])
        course = course_in_force(session)
        report = reports.student_report(session, one)
        # Whether students see it is the school's to say: a number read too early does harm.
        told = desk.foretold.of(session, one.id) if _sees_chance(request, course) else NOT_SHOWN
        return {
            "id": one.id,
            "report": report,
            "left_as": one.left_as,
            "lessons": report.lessons[:_LESSONS],
            "earlier": report.lessons[_LESSONS:],
            "titles": unit_titles(course),
            "kinds": _by_kind(report.elements, told.chances or ()),
            "standing": told,
            "unseen": UNSEEN,
            "next": NEXT,
        }


async def chance_json(request: Request) -> JSONResponse:
    """``GET /student/{id}/chance``: the chances as far as they are worked out; asked by a page that waits."""
    return JSONResponse(await to_thread.run_sync(_chance_json, request))


def _chance_json(request: Request) -> dict[str, Any]:
    desk = desk_of(request)
    with desk.book.reading() as session:
        one = people.by_number(session, request.path_params["id"])
        if not _sees_chance(request, course_in_force(session)):
            return {"student": one.name, **as_plain(NOT_SHOWN), "unseen": UNSEEN}
        standing = desk.foretold.of(session, one.id)
    return {"student": one.name, **as_plain(standing), "unseen": UNSEEN}


def _sees_chance(request: Request, course: Course | None) -> bool:
    viewer = viewer_of(request)
    return (
        viewer is None or not viewer.student_only or (course is not None and course.rules.students_see_chance)
    )


def _by_kind(elements: Sequence[ElementLine], told: Sequence[Chance]) -> list[dict[str, Any]]:
    """Each maneuver with its chance, how many of the next tries succeed, and its elements with pictures."""
    chance_of = {each.kind: each for each in told}
    kinds: dict[str, list[ElementLine]] = {}
    for element in elements:
        kinds.setdefault(element.kind, []).append(element)
    return [
        {
            "kind": kind,
            "title": lines[0].maneuver,
            "chance": chance_of.get(kind),
            "at_least": _at_least(chance_of.get(kind)),
            "elements": [{"line": line, "picture": picture_of(line)} for line in lines],
        }
        for kind, lines in kinds.items()
    ]


def _at_least(chance: Chance | None) -> list[tuple[int, float]]:
    """The probability that at least k of the next tries meet everything, for each k."""
    if chance is None or chance.chance is None:
        return []
    counts = chance.of_next
    return [(k, sum(counts[k:])) for k in range(1, len(counts))]


def picture_of(line: ElementLine) -> Markup | None:
    """An element over the attempts; None where no value was ever measured."""
    columns = (line.values, line.sds, line.verdicts, line.limits, line.lessons)
    tried = [Attempted(*each) for each in zip(*columns, strict=True)]
    if not any(each.value is not None for each in tried):
        return None
    return Markup(attempts_picture(tried, title=line.title, unit=line.unit, size=_PICTURE, style=ON_PAGE))


async def handover_page(request: Request) -> Response:
    """``GET /student/{id}/handover``: half a page for whoever flies with the student next."""
    return page(request, "handover.html", await to_thread.run_sync(_handover, request))


def _handover(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        one: Person = people.by_number(session, request.path_params["id"])
        course = course_in_force(session) or read_course(PLAIN)
        kinds = {kind: each.title for kind, each in definitions().items()}
        return {"id": one.id, "handover": handover(session, one, course), "kinds": kinds}


async def training_record_pdf(request: Request) -> Response:
    """``GET /student/{id}/record.pdf``: the training record, to hand out or to show to an authority."""
    name, made = await to_thread.run_sync(_training_record, request)
    headers = {"content-disposition": f"inline; filename*=UTF-8''{quote(name)}"}
    return Response(made, media_type="application/pdf", headers=headers)


def _training_record(request: Request) -> tuple[str, bytes]:
    with desk_of(request).book.reading() as session:
        one = people.by_number(session, request.path_params["id"])
        course = course_in_force(session)
        told = training_record(session, one, course=course, retention=keeping.retention_of(course))
    return file_name(one.id, told.student), record_pdf(told)
