"""What guards the server: who may call it, by what name, how much they may send, and what a page may load."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections.abc import Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from chalkwing.errors import RefusedRequest
from chalkwing.web.refusals import refusal_response
from chalkwing.web.settings import School

COOKIE = "chalkwing-session"
TOKEN_HEADER = "x-chalkwing-token"
_READS = {"GET", "HEAD", "OPTIONS"}

_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; "
        "img-src 'self' blob: data:; connect-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


class Tokens:
    """Tokens that a page must send with every write: bound to the browser's session by a secret key."""

    def __init__(self, folder: Path) -> None:
        self._key = _secret(folder / "key")

    def of(self, session: str) -> str:
        """The token that belongs to a session."""
        return hmac.new(self._key, session.encode(), hashlib.sha256).hexdigest()

    def fits(self, session: str, token: str) -> bool:
        """Whether a token belongs to a session."""
        return hmac.compare_digest(self.of(session).encode(), token.encode())


def _secret(path: Path) -> bytes:
    """The key, made once and readable by its owner alone, so that open pages outlive a restart."""
    if not path.is_file():
        path.touch(mode=0o600)
        path.write_bytes(secrets.token_bytes(32))
    return path.read_bytes()


class Guard:
    """Middleware: refuses foreign names, foreign origins, writes without their token and bodies too large.

    ``roomy`` are paths (their beginnings) that bound their own bodies.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        hosts: Iterable[str],
        tokens: Tokens,
        body_bytes: int,
        roomy: tuple[str, ...],
        school: School | None = None,
    ) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._tokens = tokens
        self._most = body_bytes
        self._roomy = roomy
        self._school = school

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        session, fresh = _session(Headers(scope=scope))
        bound = session + self._signed_in(scope)
        scope.setdefault("state", {}).update(session=session, token=self._tokens.of(bound))

        async def guarded_send(message: Message) -> None:
            if message["type"] == "http.response.start":
                _dress(message, session if fresh else None, self._school)
            await send(message)

        try:
            self._check(scope, bound, fresh=fresh)
        except RefusedRequest as error:
            await refusal_response(Request(scope), error)(scope, receive, guarded_send)
            return
        bounded = receive if self._is_roomy(scope) else self._bounded(receive)
        await self._app(scope, bounded, guarded_send)

    def _signed_in(self, scope: Scope) -> str:
        """The cookie of whoever is signed in: a page that another person had open writes nothing."""
        if self._school is None:
            return ""
        return cookie_of(Headers(scope=scope), self._school.cookie) or ""

    def _check(self, scope: Scope, session: str, *, fresh: bool) -> None:
        headers = Headers(scope=scope)
        # A page elsewhere can point a name of its own at this machine; it cannot choose the name sent here.
        if _without_port(headers.get("host", "")) not in self._hosts:
            raise RefusedRequest(
                "this server is not called by that name.",
                status=421,
                next_step="Open the address that it printed when it started.",
            )
        if scope["method"] in _READS:
            return
        self._check_origin(headers)
        if fresh or not self._tokens.fits(session, headers.get(TOKEN_HEADER, "")):
            raise RefusedRequest(
                "the page that sent this is out of date.", status=403, next_step="Load the page again."
            )
        length = headers.get("content-length", "")
        if not self._is_roomy(scope) and length.isdigit() and int(length) > self._most:
            raise _too_large(self._most)

    def _check_origin(self, headers: Headers) -> None:
        origin, site = headers.get("origin"), headers.get("sec-fetch-site", "same-origin")
        same = origin is None or urlsplit(origin).netloc == headers.get("host")
        if not same or site not in ("same-origin", "none"):
            raise RefusedRequest("a page from elsewhere may not write here.", status=403)

    def _is_roomy(self, scope: Scope) -> bool:
        return str(scope["path"]).startswith(self._roomy)

    def _bounded(self, receive: Receive) -> Receive:
        seen = 0

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > self._most:
                raise _too_large(self._most)
            return message

        return counted


def _too_large(most: int) -> RefusedRequest:
    return RefusedRequest(f"more was sent than the {most // 1024} kB that are read.", status=413)


def _session(headers: Headers) -> tuple[str, bool]:
    """The browser's session, and whether it is a new one."""
    known = cookie_of(headers, COOKIE)
    if known is not None and len(known) == 32:
        return known, False
    return secrets.token_hex(16), True


def cookie_of(headers: Headers, name: str) -> str | None:
    """The value of a cookie; None where it was not sent."""
    cookies: SimpleCookie = SimpleCookie()
    try:
        cookies.load(headers.get("cookie", ""))
    except CookieError:
        return None
    return cookies[name].value if name in cookies else None


def _dress(message: MutableMapping[str, Any], session: str | None, school: School | None) -> None:
    headers = MutableHeaders(scope=message)
    for name, value in _HEADERS.items():
        headers[name] = value
    headers.setdefault("cache-control", "private, no-cache")
    if session is not None:
        # Lax in a school: whoever follows a link from a letter would else be given a new session, and the
        # pages that are open would be out of date. Writes need the token in any case.
        site = "Strict" if school is None else "Lax"
        tls = "; Secure" if school is not None and school.secure else ""
        headers.append(
            "set-cookie", f"{COOKIE}={session}; Path=/; HttpOnly; SameSite={site}; Max-Age=31536000{tls}"
        )


def _without_port(host: str) -> str:
    """A host header's name.

    >>> _without_port("localhost:8000"), _without_port("[::1]:8000"), _without_port("[::1]")
    ('localhost', '[::1]', '[::1]')
    """
    name, colon, port = host.rpartition(":")
    return name if colon and port.isdigit() else host
