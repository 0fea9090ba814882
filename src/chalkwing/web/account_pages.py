"""The pages of accounts: one's own, the chief's list of all, invitations, and the log."""

from __future__ import annotations

from typing import Any

from anyio import to_thread
from sqlalchemy import select
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.book import assignments, people
from chalkwing.book.accounts import audit, entry, store
from chalkwing.book.accounts.store import Doer
from chalkwing.book.accounts.tables import Account, Assignment
from chalkwing.book.tables import Person
from chalkwing.errors import RefusedRequest
from chalkwing.web import forms
from chalkwing.web.door import school_of, with_cookie
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import address_of, viewer_of

_A_PAGE = 100
"""Lines of the log on a page."""


def _viewer(request: Request) -> entry.Viewer:
    """Who is signed in; the table of routes lets nobody else come here."""
    one = viewer_of(request)
    assert one is not None
    return one


def _doer(request: Request) -> Doer:
    return Doer(_viewer(request).name, address_of(request))


def _secret(plain: dict[str, Any], key: str) -> str:
    """A password as it was typed: nothing is cut off it, not even a space."""
    value = plain.get(key)
    if not isinstance(value, str) or not value:
        raise RefusedRequest("it is missing.", where="password", next_step="Fill it in.")
    return value


async def account_page(request: Request) -> Response:
    """``GET /account``: who is signed in, and the form for another password."""
    return page(request, "account.html", {"roles": sorted(_viewer(request).roles)})


async def change_password(request: Request) -> Response:
    """``POST /account/password``: another password; every other browser is signed out."""
    plain, one, school = await plain_body(request), _viewer(request), school_of(request)
    hasher, book = request.app.state.hasher, desk_of(request).book
    now_is, then_is = _secret(plain, "password"), _secret(plain, "new_password")

    def change() -> str:
        # The old password is asked with the same counting as at the door: an open browser is no way round it.
        entry.sign_in(
            book,
            name=one.name,
            password=now_is,
            address=address_of(request),
            rules=school.rules,
            hasher=hasher,
        )
        with book.writing() as session:
            account = store.by_number(session, one.account)
            store.set_password(session, account, then_is, hasher=hasher, by=_doer(request))
            secret, _ = entry.begin(session, account, address=address_of(request))
            return secret

    secret = await to_thread.run_sync(change)
    return with_cookie(JSONResponse({"url": "/"}), school, secret)


async def invitation_page(request: Request) -> Response:
    """``GET /invitation``: the form of whoever was invited. Its secret stands behind the #, unsent."""
    return page(request, "invitation.html", {})


async def accept_invitation(request: Request) -> Response:
    """``POST /invitation``: set a password by a link that works once, and be signed in."""
    plain, school = await plain_body(request), school_of(request)
    hasher, book = request.app.state.hasher, desk_of(request).book
    link = forms.text(plain, "link", what="the secret of the link", most=100)
    password = _secret(plain, "new_password")

    def accept() -> str:
        with book.writing() as session:
            account = store.accept(session, link, password, hasher=hasher, address=address_of(request))
            secret, _ = entry.begin(session, account, address=address_of(request))
            return secret

    secret = await to_thread.run_sync(accept)
    return with_cookie(JSONResponse({"url": "/"}), school, secret)


async def accounts_page(request: Request) -> Response:
    """``GET /accounts``: everybody's account, and which instructor teaches whom."""
    return page(request, "accounts.html", await to_thread.run_sync(_accounts, request))


def _accounts(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        without = select(Person.name).where(Person.id.not_in(select(Account.person_id)))
        standing = session.scalars(select(Assignment).where(Assignment.ended.is_(None)))
        return {
            "accounts": store.account_lines(session),
            "without": list(session.scalars(without.order_by(Person.name))),
            "assignments": sorted((each.student.name, each.instructor.name) for each in standing),
            "students": _named(session, Person.student),
            "instructors": _named(session, Person.instructor),
            "days": school_of(request).rules.invitation.days,
        }


def _named(session: Session, role: Any) -> list[str]:
    return list(session.scalars(select(Person.name).where(role, Person.left.is_(None)).order_by(Person.name)))


async def invite_person(request: Request) -> JSONResponse:
    """``POST /accounts``: a link for a person of the book, who sets a password by it."""
    plain = await plain_body(request)
    name = forms.text(plain, "name", what="the name", most=120)

    def invite() -> str:
        with desk_of(request).book.writing() as session:
            account = store.made_for(session, people.person(session, name), by=_doer(request))
            return _invited(request, session, account)

    return JSONResponse({"link": await to_thread.run_sync(invite)}, status_code=201)


def _invited(request: Request, session: Session, account: Account) -> str:
    school = school_of(request)
    secret = store.invite(session, account, lasts=school.rules.invitation, by=_doer(request))
    base = school.address or str(request.base_url)
    return f"{base.rstrip('/')}/invitation#{secret}"


async def change_account(request: Request) -> JSONResponse:
    """``POST /accounts/{id}``: close an account, open it again, or give a link for a new password."""
    plain = await plain_body(request)
    act = forms.chosen(plain, "act", ("close", "reopen", "link"))
    number = request.path_params["id"]

    def change() -> str | None:
        with desk_of(request).book.writing() as session:
            account = store.by_number(session, number)
            if act == "link":
                return _invited(request, session, account)
            if act == "close":
                store.close(session, account, by=_doer(request))
            else:
                store.reopen(session, account, by=_doer(request))
            return None

    link = await to_thread.run_sync(change)
    return JSONResponse({"url": ""} if link is None else {"link": link})


async def change_assignment(request: Request) -> JSONResponse:
    """``POST /assignments``: an instructor is assigned to a student, or no more."""
    plain = await plain_body(request)
    act = forms.chosen(plain, "act", ("assign", "end"), default="assign")
    student = forms.text(plain, "student", what="the student", most=120)
    instructor = forms.text(plain, "instructor", what="the instructor", most=120)

    def change() -> None:
        with desk_of(request).book.writing() as session:
            pair = (
                people.person(session, student, role="student"),
                people.person(session, instructor, role="instructor"),
            )
            done = assignments.assign if act == "assign" else assignments.end
            done(session, *pair, who=_viewer(request).name)

    await to_thread.run_sync(change)
    return JSONResponse({"url": ""})


async def audit_page(request: Request) -> Response:
    """``GET /audit?before=``: the log, newest first, a page at a time."""
    before = request.query_params.get("before", "")

    def found() -> list[audit.Line]:
        with desk_of(request).book.reading() as session:
            last = int(before) if before.isdigit() else None
            return audit.lines(session, newest=_A_PAGE + 1, before=last)

    lines = await to_thread.run_sync(found)
    more = lines[_A_PAGE - 1].number if len(lines) > _A_PAGE else None
    return page(request, "audit.html", {"lines": lines[:_A_PAGE], "more": more})
