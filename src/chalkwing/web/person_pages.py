"""The page of one person: roles, the certificate that signatures show, and whether training has ended."""

from __future__ import annotations

from typing import Any

from anyio import to_thread
from sqlalchemy import func, select
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book import people
from chalkwing.book.tables import Lesson
from chalkwing.web import forms
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body


async def person_page(request: Request) -> Response:
    """``GET /book/people/{id}``: what the book holds of a person, to be corrected."""
    return page(request, "book_person.html", await to_thread.run_sync(_person, request))


def _person(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        one = people.by_number(session, request.path_params["id"])
        taken, taught = (
            session.scalar(select(func.count(Lesson.id)).where(column == one.id)) or 0
            for column in (Lesson.student_id, Lesson.instructor_id)
        )
        return {
            "one": one,
            "had": one.roles,
            "roles": people.ROLES,
            "taken": taken,
            "taught": taught,
            "endings": ENDINGS,
        }


ENDINGS = (("graduated", "graduated"), ("ended", "ended it"), ("moved", "moved to another school"))
"""How a training ends, and the words for it."""


async def change_person(request: Request) -> JSONResponse:
    """``POST /book/people/{id}``: the roles and the certificate as they shall be from now on."""
    plain = await plain_body(request)
    who, sent = forms.said_by(plain), forms.several(plain, "roles", people.ROLES)
    certificate = forms.optional(plain, "certificate", most=60)
    recency = forms.optional(plain, "recency", most=60)

    def change() -> None:
        with desk_of(request).book.writing() as session:
            one = people.by_number(session, request.path_params["id"])
            roles = [role for role in people.ROLES if role in sent]
            people.correct(session, one, roles=roles, certificate=certificate, recency=recency, who=who)

    await to_thread.run_sync(change)
    return JSONResponse({"url": ""})


async def back_in_training(request: Request) -> JSONResponse:
    """``POST /book/people/{id}/back``: a student trains again, or never ended."""
    who = forms.said_by(await plain_body(request))

    def resume() -> None:
        with desk_of(request).book.writing() as session:
            people.resume(session, people.by_number(session, request.path_params["id"]), who=who)

    await to_thread.run_sync(resume)
    return JSONResponse({"url": ""})
