"""The page of a record: entering a lesson into the book, marks, notes, signatures, judging anew."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from anyio import to_thread
from sqlalchemy import Select, select
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from chalkwing import words
from chalkwing.book import lessons, people, rejudging, reports, sealing
from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.adding import Entry as Entering
from chalkwing.book.course import PLAIN, Course, course_in_force, read_course
from chalkwing.book.following import own_verdicts
from chalkwing.book.judgings import Settings as Limits
from chalkwing.book.sight import students_seen, teaches
from chalkwing.book.tables import Airplane, Person
from chalkwing.book.tables import Lesson as Record
from chalkwing.errors import RefusedRequest
from chalkwing.web import blind, forms
from chalkwing.web.book_pages import unit_titles
from chalkwing.web.lessons import desk_of
from chalkwing.web.outline import FLOWN_BY
from chalkwing.web.pages import page
from chalkwing.web.uploads import plain_body
from chalkwing.web.viewing import acting_instructor, refuse_noting_signed, viewer_of

_SOLO = "solo"


async def entering_page(request: Request) -> Response:
    """``GET /lesson/{id}/record``: the form by which a lesson goes into the book, or on to its record."""
    return page(request, "enter.html", await to_thread.run_sync(_entering, request))


def _entering(request: Request) -> dict[str, Any]:
    desk, one = desk_of(request), viewer_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    with desk.book.reading() as session:
        course = course_in_force(session)
        return {
            "lesson": lesson,
            "record": desk.records.of(lesson),
            "students": _names(session, Person.student, students_seen(one)),
            "instructors": _instructors(session, one),
            "airplanes": list(session.scalars(select(Airplane.registration).order_by(Airplane.registration))),
            "units": [] if course is None else [(unit.name, unit.title) for unit in course.units],
        }


def _names(session: Session, role: Any, among: Select[int] | None = None) -> list[str]:
    chosen = select(Person.name).where(role, Person.left.is_(None)).order_by(Person.name)
    if among is not None:
        chosen = chosen.where(Person.id.in_(among))
    return list(session.scalars(chosen))


def _instructors(session: Session, one: Viewer | None) -> list[str]:
    """Whose name may stand as the instructor's: the chief enters anybody's lessons, others their own."""
    if one is None or one.chief:
        return _names(session, Person.instructor)
    return [one.name] if one.instructor else []


async def enter_lesson(request: Request) -> JSONResponse:
    """``POST /lesson/{id}/record``: enter a lesson into the book, as it is judged now."""
    desk = desk_of(request)
    lesson = desk.shelf.lesson(request.path_params["id"])
    plain = await plain_body(request)
    entry = Entering(
        student=forms.text(plain, "student", what="the student", most=120),
        instructor=forms.optional(plain, "instructor", most=120),
        airplane=forms.optional(plain, "airplane", most=20),
        unit=forms.optional(plain, "unit", most=80),
        flown_by=forms.chosen(plain, "flown_by", [value for value, _, _ in FLOWN_BY], default="unknown"),
    )
    who = forms.said_by(plain)
    await to_thread.run_sync(_refuse_others_lessons, request, entry)
    number = await to_thread.run_sync(lambda: desk.enter(lesson, entry, who=who))
    return JSONResponse({"record": number, "url": f"/record/{number}"}, status_code=201)


def _refuse_others_lessons(request: Request, entry: Entering) -> None:
    """Instructors enter lessons of their own students, given by themselves: else anybody would come to see
    any record by entering a lesson of it.
    """
    one = viewer_of(request)
    if one is None or one.chief:
        return
    with desk_of(request).book.reading() as session:
        student = people.person(session, entry.student, role="student")
        if not teaches(session, one.person, student.id):
            raise RefusedRequest(
                f"{student.name} is not assigned to you.",
                status=403,
                where="student",
                next_step="The chief instructor assigns students.",
            )
    if entry.instructor not in (None, one.name):
        raise RefusedRequest(
            "a lesson is entered by the instructor who gave it, or by the chief.",
            status=403,
            where="instructor",
        )


async def record_page(request: Request) -> Response:
    """``GET /record/{n}``: all that stands in the record of one lesson."""
    return page(request, "record.html", await to_thread.run_sync(_record, request))


def _record(request: Request) -> dict[str, Any]:
    one = viewer_of(request)
    with desk_of(request).book.reading() as session:
        found = lessons.lesson(session, request.path_params["n"])
        course = course_in_force(session) or read_course(PLAIN)
        report = reports.lesson_report(session, found)
        hidden = frozenset(
            each.number
            for each in report.maneuvers
            if each.flown_by != "instructor" and blind.hides(session, found, each.start_s, each.kind)
        )
        return {
            "report": report,
            "student": found.student_id,
            "title": unit_titles(course).get(report.line.unit or "", report.line.unit),
            "clock": _clock(found),
            "hidden": hidden,
            "scale": course.scale,
            "marks": _marks(found, _shown_until(found, course, one)),
            "own": own_verdicts(found),
            "corrections": _corrections(found),
            "signed": lessons.signed(found),
            "instructors": _names(session, Person.instructor),
            "signs": one is None or _may_sign(session, one, found),
            "judgings": _judgings(found),
            "flown_words": {value: said for value, said, _ in FLOWN_BY},
            "kept": all(each.recording.erased is None for each in found.recordings),
        }


def _clock(found: Record) -> Any:
    start = None if found.flown is None else found.flown.isoformat()
    return lambda seconds: words.clock(start, seconds)


def _may_sign(session: Session, one: Viewer, found: Record) -> bool:
    """Whether ``one`` gave the lesson; a solo flight is signed by an instructor of the student."""
    if found.instructor_id is not None or not one.instructor:
        return found.instructor_id == one.person
    return one.chief or teaches(session, one.person, found.student_id)


def _shown_until(found: Record, course: Course, one: Viewer | None) -> datetime | None:
    """Until when given marks are shown; None for all. Where the school marks first, students see marks once
    they are signed.
    """
    if one is None or not one.student_only or not course.rules.blind_first:
        return None
    return max((each.signed for each in found.sign_offs), default=datetime.min.replace(tzinfo=UTC))


def _marks(found: Record, until: datetime | None) -> dict[int, list[dict[str, Any]]]:
    """The marks of each maneuver of the judging in force, by its number."""
    return {
        flown.place: [
            {
                "step": mark.step,
                "element": mark.element,
                "by": mark.instructor.name,
                "blind": mark.blind,
            }
            for mark in found.marks
            if mark.kind == flown.kind
            and abs(mark.start_s - flown.start_s) <= lessons.NEAR
            and (until is None or mark.made <= until)
        ]
        for flown in lessons.in_force(found).maneuvers
    }


def _corrections(found: Record) -> int:
    return sum(each.undone is None for each in found.corrections)


def _judgings(found: Record) -> list[dict[str, Any]]:
    """Every judging, the newest first, each with what it said otherwise than the one before."""
    told: list[dict[str, Any]] = []
    before = None
    for each in found.judgings:
        told.append(
            {
                "made": each.made,
                "standard": each.standard_title,
                "code": each.code,
                "in_force": each.in_force,
                "changes": [] if before is None else rejudging.differences(before, each),
            }
        )
        before = each
    return told[::-1]


async def open_on_desk(request: Request) -> JSONResponse:
    """``POST /record/{n}/desk``: lay the lesson of a record on the desk, to look at it and correct it."""
    desk = desk_of(request)
    who = forms.said_by(await plain_body(request))
    lesson = await to_thread.run_sync(lambda: desk.records.on_desk(request.path_params["n"], who=who))
    desk.begin(lesson)
    return JSONResponse({"url": f"/lesson/{lesson.id}"})


async def add_mark(request: Request) -> JSONResponse:
    """``POST /record/{n}/marks``: an instructor's mark for a maneuver, or for one element of it."""
    plain = await plain_body(request)
    place = plain.get("maneuver")
    if isinstance(place, str) and place.isdigit():
        place = int(place)
    if not isinstance(place, int):
        raise RefusedRequest("a maneuver is named by its number.", where="maneuver")
    by = acting_instructor(request, plain, what="the instructor")
    step = forms.text(plain, "step", what="the mark", most=60)
    element = forms.optional(plain, "element", most=60)
    why = forms.optional(plain, "why")

    def give() -> None:
        with desk_of(request).book.writing() as session:
            found = lessons.lesson(session, request.path_params["n"])
            course: Course = course_in_force(session) or read_course(PLAIN)
            flown = lessons.maneuver(found, place)
            lessons.mark(
                session,
                found,
                place,
                instructor=people.person(session, by, role="instructor"),
                scale=course.scale,
                step=step,
                element=element,
                blind=blind.hides(session, found, flown.start_s, flown.kind),
                why=why,
            )

    await to_thread.run_sync(give)
    return JSONResponse({"url": str(plain.get("then") or "")}, status_code=201)


async def add_note(request: Request) -> JSONResponse:
    """``POST /record/{n}/notes``: words on a lesson as a whole."""
    plain = await plain_body(request)
    who, said = forms.said_by(plain), forms.text(plain, "text", what="the note")
    why = forms.optional(plain, "why")

    def write() -> None:
        with desk_of(request).book.writing() as session:
            found = lessons.lesson(session, request.path_params["n"])
            refuse_noting_signed(viewer_of(request), found)
            lessons.note(session, found, said, who=who, why=why)

    await to_thread.run_sync(write)
    return JSONResponse({"url": ""}, status_code=201)


async def sign(request: Request) -> JSONResponse:
    """``POST /record/{n}/signature``: an instructor signs the record as it now stands."""
    plain = await plain_body(request)
    by = acting_instructor(request, plain, what="who signs")

    def write() -> None:
        with desk_of(request).book.writing() as session:
            found = lessons.lesson(session, request.path_params["n"])
            sealing.sign(session, found, people.person(session, by, role="instructor"))

    await to_thread.run_sync(write)
    return JSONResponse({"url": ""}, status_code=201)


async def judge_again(request: Request) -> JSONResponse:
    """``POST /record/{n}/judging``: judge the kept recordings anew; the old judging stays beside it."""
    plain = await plain_body(request)
    who, why = forms.said_by(plain), forms.optional(plain, "why")
    number = request.path_params["n"]
    desk = desk_of(request)

    def judge() -> list[str]:
        outcome = rejudging.judge_again(desk.book, [number], settings=Limits(), who=who, why=why)
        if outcome.left:
            raise RefusedRequest(outcome.left[0], status=409)
        return [each.said for each in outcome.changes]

    return JSONResponse({"url": "", "changes": await to_thread.run_sync(judge)}, status_code=201)
