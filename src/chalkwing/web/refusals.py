"""Refusals as they reach a browser: one shape for scripts, one page for people."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing.errors import ChalkwingError, RefusedRequest


def status_of(error: ChalkwingError) -> int:
    """The HTTP status of a refusal: 422 for input that cannot be used."""
    return error.status if isinstance(error, RefusedRequest) else 422


def told(error: ChalkwingError) -> dict[str, str | None]:
    """What was wrong, where, and what to do next."""
    return {"what": error.what, "where": error.where, "next": error.next_step}


def refusal_response(request: Request, error: ChalkwingError) -> Response:
    """A page for who asked for a page, JSON for who asked otherwise."""
    status = status_of(error)
    if request.method == "GET" and "text/html" in request.headers.get("accept", ""):
        from chalkwing.web.pages import page

        return page(request, "refused.html", {"refusal": told(error), "status": status}, status=status)
    return JSONResponse({"error": told(error)}, status_code=status)
