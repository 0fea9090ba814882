"""The gate of a school's server: who is it, may they, and a line in the log before it is answered."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from anyio import to_thread
from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from chalkwing.book.accounts import audit, entry
from chalkwing.book.accounts.entry import Viewer
from chalkwing.errors import ChalkwingError, RefusedRequest
from chalkwing.web import access
from chalkwing.web.desk import Desk
from chalkwing.web.refusals import refusal_response
from chalkwing.web.security import cookie_of
from chalkwing.web.settings import School
from chalkwing.web.viewing import address_of

_READS = {"GET", "HEAD"}
_OPEN = "GET /assets"
_TOUCHED = 60.0
"""A sign-in is noted as in use once in so many seconds."""
_VIEWED = 3600.0
"""Looking at one record again and again is one line of the log an hour."""
_MOST_HELD = 10_000
TELL_THEMSELVES = {"POST /sign-in", "POST /sign-out"}
"""Routes whose writes have lines of their own."""


@dataclass(frozen=True)
class _Outcome:
    viewer: Viewer | None
    allowed: bool


class Gate:
    """Middleware: every request is held against the table of `chalkwing.web.access`."""

    def __init__(self, app: ASGIApp, *, desk: Desk, school: School) -> None:
        self._app = app
        self._desk = desk
        self._school = school
        self._lately: dict[tuple[object, ...], float] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, ask to sign in, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        found = access.matched(scope["app"].routes, scope)
        name, named = found if found is not None else (None, {})
        if name == _OPEN:
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        secret = cookie_of(Headers(scope=scope), self._school.cookie)
        try:
            outcome = await to_thread.run_sync(self._decide, request, secret, name, named)
        except ChalkwingError as error:
            await refusal_response(request, error)(scope, receive, send)
            return
        scope.setdefault("state", {})["viewer"] = outcome.viewer
        if not outcome.allowed:
            await _stopped(request, outcome.viewer)(scope, receive, send)
            return
        await self._app(scope, receive, self._logging(send, request, outcome.viewer, name))

    def _decide(
        self, request: Request, secret: str | None, name: str | None, named: Mapping[str, Any]
    ) -> _Outcome:
        with self._desk.book.reading() as session:
            one = entry.viewer(session, secret, self._school.rules) if secret else None
            if name is None:
                # Nothing is at this address: whoever is signed in is told so.
                return _Outcome(one, allowed=one is not None)
            decision = access.decide(session, self._desk.shelf, one, name, named)
        if one is not None:
            self._note(request, one, name, decision)
        return _Outcome(one, decision.allowed)

    def _note(self, request: Request, one: Viewer, name: str, decision: access.Decision) -> None:
        """Keep the sign-in alive, and tell the log of a refusal or of a look at another person's record."""
        path = request.url.path
        lines = []
        if not decision.allowed:
            lines.append(("refused", f"{request.method} {path}"))
        elif request.method in _READS and _is_anothers(one, decision.subject):
            thing = "/".join(path.split("/")[:3]) if not path.startswith("/book") else path
            if self._is_due(("viewed", one.person, thing), _VIEWED):
                lines.append(("viewed", thing))
        touched = self._is_due(("seen", one.sign_in), _TOUCHED)
        if not lines and not touched:
            return
        with self._desk.book.writing() as session:
            for act, subject in lines:
                audit.enter(session, who=one.name, act=act, subject=subject, address=address_of(request))
            if touched:
                entry.touch(session, one.sign_in)

    def _is_due(self, key: tuple[object, ...], seconds: float) -> bool:
        instant = time.monotonic()
        if instant - self._lately.get(key, -seconds) < seconds:
            return False
        if len(self._lately) >= _MOST_HELD:
            self._lately.clear()
        self._lately[key] = instant
        return True

    def _logging(self, send: Send, request: Request, one: Viewer | None, name: str | None) -> Send:
        """Answers a write only once it stands in the log."""
        if request.method in _READS or one is None or name in TELL_THEMSELVES:
            return send

        async def told(message: Message) -> None:
            if message["type"] == "http.response.start" and message["status"] < 400:
                await to_thread.run_sync(self._wrote, request, one)
            await send(message)

        return told

    def _wrote(self, request: Request, one: Viewer) -> None:
        with self._desk.book.writing() as session:
            audit.enter(
                session,
                who=one.name,
                act="wrote",
                subject=f"{request.method} {request.url.path}",
                address=address_of(request),
            )


def _is_anothers(one: Viewer, subject: access.Subject) -> bool:
    whose = subject.student or subject.handed_in_by or subject.person
    return whose is not None and whose != one.person


def _stopped(request: Request, one: Viewer | None) -> Response:
    if one is not None:
        return refusal_response(
            request,
            RefusedRequest(
                "this is not yours to see or to change.",
                status=403,
                next_step="The chief instructor assigns students to instructors, and gives roles.",
            ),
        )
    if request.method == "GET" and "text/html" in request.headers.get("accept", ""):
        return RedirectResponse(f"/sign-in?then={quote(request.url.path)}", status_code=303)
    return refusal_response(
        request, RefusedRequest("nobody is signed in.", status=401, next_step="Load the page and sign in.")
    )
