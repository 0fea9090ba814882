"""Who looks at a page. Where nobody has to sign in there is no viewer, and everything is shown."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.requests import Request

from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.lessons import signed
from chalkwing.book.tables import Lesson as Record
from chalkwing.errors import RefusedRequest
from chalkwing.web import forms


def viewer_of(request: Request) -> Viewer | None:
    """Who is signed in; None in a server without accounts."""
    found: Viewer | None = request.scope.get("state", {}).get("viewer")
    return found


def in_school(request: Request) -> bool:
    """Whether this server has accounts."""
    app = request.scope.get("app")
    return app is not None and getattr(app.state, "school", None) is not None


def address_of(request: Request) -> str:
    """From where a request comes."""
    return request.client.host if request.client else "unknown"


def acting_instructor(request: Request, plain: Mapping[str, Any], *, what: str) -> str:
    """The instructor who marks or signs: whoever is signed in, never a name that a form sends."""
    one = viewer_of(request)
    return forms.text(plain, "instructor", what=what, most=120) if one is None else one.name


def refuse_noting_signed(one: Viewer | None, record: Record) -> None:
    """Refuse a student's note on a signed record: it would take the signature's force away."""
    if one is not None and one.student_only and signed(record):
        raise RefusedRequest(
            "this record is signed.", status=409, next_step="Your instructor can add a note, with a reason."
        )


def refuse_beyond_notes(one: Viewer | None, act: str) -> None:
    """Refuse what students may not: only notes are theirs to make, and to take back."""
    if one is not None and one.student_only and act != "note":
        raise RefusedRequest(
            "students write notes; what was flown and how it is judged is said by an instructor.", status=403
        )
