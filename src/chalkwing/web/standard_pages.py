"""The pages beside common sets: marks of every day, and airplanes that read differently."""

from __future__ import annotations

from typing import Any

from anyio import to_thread
from starlette.requests import Request
from starlette.responses import Response

from chalkwing.book.everyday import LIMITS, everyday, refuse_names
from chalkwing.book.readings import CANNOT, reading_said, readings
from chalkwing.book.tables import Person
from chalkwing.web.common_pages import asks_names, names, person_asking
from chalkwing.web.lessons import desk_of
from chalkwing.web.pages import page


async def marks_page(request: Request) -> Response:
    """``GET /book/marks?as=&names=1``: marks of every day beside what was measured."""
    return page(request, "book_marks.html", await to_thread.run_sync(_marks, request))


def _marks(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        one = person_asking(request, session)
        refuse_names(one, names=asks_names(request))
        return {
            "told": everyday(session, only=one, names=asks_names(request)),
            "one": one.name if one else None,
            "chief": one is not None and one.chief,
            "names": asks_names(request),
            "readers": names(session, Person.instructor | Person.chief),
            "limits": LIMITS,
        }


async def readings_page(request: Request) -> Response:
    """``GET /book/airplanes/readings``: airplanes whose recordings read differently."""
    return page(request, "book_readings.html", await to_thread.run_sync(_readings, request))


def _readings(request: Request) -> dict[str, Any]:
    with desk_of(request).book.reading() as session:
        told = readings(session)
    return {
        "told": [(each, [reading_said(one, each.unit) for one in each.airplanes]) for each in told],
        "cannot": CANNOT,
    }
