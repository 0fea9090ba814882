"""The application: routes, what guards them, and the desk they serve."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from chalkwing.book.accounts.passwords import Hasher
from chalkwing.errors import ChalkwingError, RefusedRequest
from chalkwing.web import (
    account_pages,
    book_pages,
    changes,
    common_pages,
    comparing,
    door,
    ground_lesson,
    lessons,
    person_pages,
    record_pages,
    school_files,
    standard_pages,
    student_pages,
    uploads,
)
from chalkwing.web.assets import Assets, built_assets
from chalkwing.web.desk import Desk
from chalkwing.web.gate import Gate
from chalkwing.web.refusals import refusal_response
from chalkwing.web.security import Guard, Tokens
from chalkwing.web.settings import Settings

_FOREVER = "public, max-age=31536000, immutable"


class _Immutable(StaticFiles):
    """Built files: their names hold a digest of their content, so a browser may keep them."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        response.headers["cache-control"] = _FOREVER
        return response


def create_app(settings: Settings | None = None, *, assets: Assets | None = None) -> Starlette:
    """The pages over the folder of ``settings``."""
    chosen = settings or Settings()
    built = assets or built_assets()
    desk = Desk(chosen)
    guard = Middleware(
        Guard,
        hosts=chosen.hosts,
        tokens=Tokens(chosen.folder),
        body_bytes=chosen.write_bytes,
        roomy=("/uploads",),
        school=chosen.school,
    )
    routes = _routes(built, school=chosen.school is not None)
    gate = [] if chosen.school is None else [Middleware(Gate, desk=desk, school=chosen.school)]
    app = Starlette(
        routes=routes,
        middleware=[guard, *gate, Middleware(GZipMiddleware, minimum_size=1000)],
        exception_handlers={
            ChalkwingError: _refused,
            HTTPException: _http_refused,
            Exception: _failed,
        },
        lifespan=_lifespan,
    )
    app.state.desk, app.state.assets = desk, built
    app.state.school = chosen.school
    if chosen.school is not None:
        app.state.hasher = Hasher(chosen.school.rules.cost)
    return app


def _routes(assets: Assets, *, school: bool) -> list[Route | Mount]:
    return [
        Route("/", lessons.all_lessons),
        Route("/uploads", uploads.take_file, methods=["PUT"]),
        Route("/lessons", uploads.open_lesson, methods=["POST"]),
        Route("/lesson/{id}", lessons.lesson_page),
        Route("/lesson/{id}", lessons.remove_lesson, methods=["DELETE"]),
        Route("/lesson/{id}/progress", lessons.progress),
        Route("/lesson/{id}/changes", changes.all_changes),
        Route("/lesson/{id}/changes", changes.add_change, methods=["POST"]),
        Route("/lesson/{id}/debrief.json", lessons.debrief_json),
        Route("/lesson/{id}/debrief.pdf", lessons.debrief_pdf),
        Route("/lesson/{id}/debrief.html", lessons.debrief_html),
        Route("/lesson/{id}/maneuver/{n:int}", lessons.maneuver_page),
        Route("/compare", comparing.comparing_page),
        Route("/compare", comparing.lay_over, methods=["POST"]),
        Route("/compare.json", comparing.comparing_json),
        Route("/compare.pdf", comparing.comparing_print),
        Route("/ground-lesson", ground_lesson.ground_lesson_page),
        Route("/ground-lesson/plan", ground_lesson.plan),
        Route("/ground-lesson/card.pdf", ground_lesson.card),
        Route("/ground-lesson/briefing.json", ground_lesson.briefing_json),
        *_book_routes(),
        *(_school_routes() if school else ()),
        Mount("/assets", _Immutable(directory=assets.folder)),
    ]


def _book_routes() -> list[Route]:
    return [
        Route("/book", book_pages.school_page),
        Route("/book/lessons", book_pages.all_records),
        Route("/book/people", book_pages.people_page),
        Route("/book/people", book_pages.add_person, methods=["POST"]),
        Route("/book/people/{id:int}", person_pages.person_page),
        Route("/book/people/{id:int}", person_pages.change_person, methods=["POST"]),
        Route("/book/people/{id:int}/back", person_pages.back_in_training, methods=["POST"]),
        Route("/book/people/{id:int}/left", book_pages.person_left, methods=["POST"]),
        Route("/book/airplanes", book_pages.airplanes_page),
        Route("/book/airplanes", book_pages.add_airplane, methods=["POST"]),
        Route("/book/airplanes/sheet", school_files.enter_sheet, methods=["POST"]),
        Route("/book/course", book_pages.course_page),
        Route("/book/course", school_files.enter_outline, methods=["POST"]),
        Route("/book/course/new", school_files.course_form),
        Route("/book/course/file", school_files.course_file),
        Route("/book/marks", standard_pages.marks_page),
        Route("/book/airplanes/readings", standard_pages.readings_page),
        Route("/book/common", common_pages.sets_page),
        Route("/book/common", common_pages.make_set, methods=["POST"]),
        Route("/book/common/making", common_pages.making_progress),
        Route("/book/common/{n:int}", common_pages.set_page),
        Route("/book/common/{n:int}/closed", common_pages.close_set, methods=["POST"]),
        Route("/book/common/{n:int}/mark", common_pages.mark_page),
        Route("/book/common/{n:int}/marks", common_pages.keep_mark, methods=["POST"]),
        Route("/book/common/{n:int}/result", common_pages.result_page),
        Route("/book/common/{n:int}/pack.pdf", common_pages.pack),
        Route("/book/common/{n:int}/maneuver/{place:int}", common_pages.maneuver_page),
        Route("/student/{id:int}", student_pages.student_page),
        Route("/student/{id:int}/chance", student_pages.chance_json),
        Route("/student/{id:int}/handover", student_pages.handover_page),
        Route("/student/{id:int}/record.pdf", student_pages.training_record_pdf),
        Route("/lesson/{id}/record", record_pages.entering_page),
        Route("/lesson/{id}/record", record_pages.enter_lesson, methods=["POST"]),
        Route("/record/{n:int}", record_pages.record_page),
        Route("/record/{n:int}/desk", record_pages.open_on_desk, methods=["POST"]),
        Route("/record/{n:int}/marks", record_pages.add_mark, methods=["POST"]),
        Route("/record/{n:int}/notes", record_pages.add_note, methods=["POST"]),
        Route("/record/{n:int}/signature", record_pages.sign, methods=["POST"]),
        Route("/record/{n:int}/judging", record_pages.judge_again, methods=["POST"]),
    ]


def _school_routes() -> list[Route]:
    """What only a server with accounts has."""
    return [
        Route("/sign-in", door.sign_in_page),
        Route("/sign-in", door.sign_in, methods=["POST"]),
        Route("/sign-out", door.sign_out, methods=["POST"]),
        Route("/account", account_pages.account_page),
        Route("/account/password", account_pages.change_password, methods=["POST"]),
        Route("/invitation", account_pages.invitation_page),
        Route("/invitation", account_pages.accept_invitation, methods=["POST"]),
        Route("/accounts", account_pages.accounts_page),
        Route("/accounts", account_pages.invite_person, methods=["POST"]),
        Route("/accounts/{id:int}", account_pages.change_account, methods=["POST"]),
        Route("/assignments", account_pages.change_assignment, methods=["POST"]),
        Route("/audit", account_pages.audit_page),
    ]


@asynccontextmanager
async def _lifespan(app: Starlette) -> AsyncIterator[None]:
    app.state.desk.open()
    yield
    app.state.desk.close()


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, ChalkwingError)
    return refusal_response(request, error)


async def _http_refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    what = "there is nothing at this address." if error.status_code == 404 else str(error.detail)
    return refusal_response(request, RefusedRequest(what, status=error.status_code))


async def _failed(request: Request, error: Exception) -> Response:
    return refusal_response(
        request,
        RefusedRequest(
            f"something went wrong inside chalkwing ({type(error).__name__}).",
            status=500,
            next_step="This is a fault of the program: please report it.",
        ),
    )
