"""Templates, and what each of them may use: numbers, times and verdicts said as everywhere else."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse

from chalkwing import words
from chalkwing.debriefs import CAUTION
from chalkwing.web import access
from chalkwing.web.viewing import in_school, viewer_of

THEME_COOKIE = "chalkwing-ground"
_THEMES = ("paper", "slate")


@cache
def _environment() -> jinja2.Environment:
    found = jinja2.Environment(
        loader=jinja2.PackageLoader("chalkwing.web"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals.update(words=words, caution=CAUTION)
    return found


def page(request: Request, template: str, context: Mapping[str, Any], *, status: int = 200) -> HTMLResponse:
    """A page from a template; every one knows the token for its writes and the ground to stand on."""
    theme = request.cookies.get(THEME_COOKIE, "")
    one, school = viewer_of(request), in_school(request)
    text = (
        _environment()
        .get_template(template)
        .render(
            {
                "token": request.scope.get("state", {}).get("token", ""),
                "ground": theme if theme in _THEMES else "",
                "asset": _asset(request),
                "school": school,
                "viewer": one,
                "notes_only": one is not None and one.student_only,
                "may": (lambda name: access.may_ever(one, name)) if school else (lambda name: True),
                **context,
            }
        )
    )
    return HTMLResponse(text, status_code=status)


def part(template: str, context: Mapping[str, Any]) -> str:
    """A piece of a page, for a script to put in the place of an older one."""
    return _environment().get_template(template).render(context)


def _asset(request: Request) -> Any:
    """Finds built files; a refusal before the application is reached has none."""
    app = request.scope.get("app")
    return app.state.assets.url if app is not None else (lambda entry: None)
