"""Signing in and out by the pages."""

from __future__ import annotations

import re

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book.accounts import entry
from chalkwing.web import forms
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.settings import School
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import address_of, viewer_of

_PLACE = re.compile(r"/(?![/\\])[\w/.\-]*", re.ASCII)
"""A place on this server: where a link may lead after signing in."""


def school_of(request: Request) -> School:
    """The school whose server this is."""
    school: School = request.app.state.school
    return school


async def sign_in_page(request: Request) -> Response:
    """``GET /sign-in?then=``: name and password."""
    return page(request, "sign_in.html", {"then": _place(request.query_params.get("then", ""))})


def _place(said: str) -> str:
    """Where to go after signing in: a path of this server, never an address elsewhere.

    >>> _place("/record/5"), _place("//elsewhere.example"), _place("https://elsewhere.example"), _place("")
    ('/record/5', '/', '/', '/')
    """
    return said if _PLACE.fullmatch(said) and said != "/sign-in" else "/"


async def sign_in(request: Request) -> Response:
    """``POST /sign-in``: name and password for a cookie."""
    plain = await plain_body(request)
    name = forms.text(plain, "name", what="your name", most=120)
    password = plain.get("password")
    school = school_of(request)
    book, hasher = desk_of(request).book, request.app.state.hasher

    def enter() -> str:
        secret, _ = entry.sign_in(
            book,
            name=name,
            password=password if isinstance(password, str) else "",
            address=address_of(request),
            rules=school.rules,
            hasher=hasher,
        )
        return secret

    secret = await to_thread.run_sync(enter)
    return with_cookie(JSONResponse({"url": _place(str(plain.get("then") or ""))}), school, secret)


def with_cookie(answer: Response, school: School, secret: str) -> Response:
    """The answer, with the cookie by which the browser is known from now on."""
    answer.set_cookie(
        school.cookie,
        secret,
        max_age=int(school.rules.lasts.total_seconds()),
        path="/",
        httponly=True,
        secure=school.secure,
        samesite="lax",
    )
    return answer


async def sign_out(request: Request) -> Response:
    """``POST /sign-out``: this browser is signed out."""
    one, school = viewer_of(request), school_of(request)

    def leave() -> None:
        if one is None:
            return
        with desk_of(request).book.writing() as session:
            entry.sign_out(session, one, address=address_of(request))

    await to_thread.run_sync(leave)
    answer = JSONResponse({"url": "/sign-in"})
    answer.delete_cookie(school.cookie, path="/", httponly=True, secure=school.secure, samesite="lax")
    return answer
