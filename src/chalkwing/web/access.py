"""Who may do what in a school: one row for every route. A route without a row is refused to everybody.

Read a row as: may somebody who is not signed in, a student, an instructor, a chief instructor call this
route? ``NO``; ``YES`` (of lists: with what one may see in them); ``OWN``: only where what the address names
is theirs, which is told for each kind of thing at `Of`. Who has several roles may do what any of them may.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from sqlalchemy.orm import Session
from starlette.routing import BaseRoute, Match, Mount, Route
from starlette.types import Scope

from chalkwing.book import Book, sight
from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.following import record_at
from chalkwing.book.tables import Lesson as Record
from chalkwing.errors import RefusedRequest
from chalkwing.web.shelf import Shelf


class May(Enum):
    """Whether a role may call a route."""

    NO = "no"
    OWN = "own"
    YES = "yes"


class Of(Enum):
    """What the address of a route names, and whose it is."""

    NOTHING = "nothing of anybody's"
    STUDENT = "a student: their own; an instructor's where assigned or flown with"
    RECORD = "a record: as its student"
    DESK = "a lesson of the pages: as its record's student; before it is entered, whoever handed it in"
    HANDED_IN = "a lesson of the pages that is not in the book yet: whoever handed it in"
    TAUGHT = "a record: the instructor who gave the lesson; of a solo flight an instructor of the student"
    PERSON = "a person of the book: themselves; an instructor's students"


NO, OWN, YES = May.NO, May.OWN, May.YES


@dataclass(frozen=True)
class Row:
    """What each role may, in the order of the table."""

    nobody: May
    student: May
    instructor: May
    chief: May
    of: Of = Of.NOTHING

    def of_role(self, role: str) -> May:
        """What a role of the book may."""
        found: May = getattr(self, role)
        return found


#   route                                    nobody student instructor chief
TABLE: Mapping[str, Row] = {
    "GET /assets": Row(YES, YES, YES, YES),
    # signing in, and one's own account
    "GET /sign-in": Row(YES, YES, YES, YES),
    "POST /sign-in": Row(YES, YES, YES, YES),
    "POST /sign-out": Row(NO, YES, YES, YES),
    "GET /account": Row(NO, YES, YES, YES),
    "POST /account/password": Row(NO, YES, YES, YES),
    "GET /invitation": Row(YES, YES, YES, YES),
    "POST /invitation": Row(YES, YES, YES, YES),
    # the chief's: accounts, who teaches whom, the log
    "GET /accounts": Row(NO, NO, NO, YES),
    "POST /accounts": Row(NO, NO, NO, YES),
    "POST /accounts/{id:int}": Row(NO, NO, NO, YES),
    "POST /assignments": Row(NO, NO, NO, YES),
    "GET /audit": Row(NO, NO, NO, YES),
    # the desk: recordings handed in, lessons looked at and corrected
    "GET /": Row(NO, YES, YES, YES),
    "PUT /uploads": Row(NO, YES, YES, YES),
    "POST /lessons": Row(NO, YES, YES, YES),
    "GET /lesson/{id}": Row(NO, OWN, OWN, YES, Of.DESK),
    "DELETE /lesson/{id}": Row(NO, OWN, OWN, YES, Of.HANDED_IN),
    "GET /lesson/{id}/progress": Row(NO, OWN, OWN, YES, Of.DESK),
    "GET /lesson/{id}/changes": Row(NO, OWN, OWN, YES, Of.DESK),
    "POST /lesson/{id}/changes": Row(NO, OWN, OWN, YES, Of.DESK),  # a student's: notes alone
    "GET /lesson/{id}/debrief.json": Row(NO, OWN, OWN, YES, Of.DESK),
    "GET /lesson/{id}/debrief.pdf": Row(NO, OWN, OWN, YES, Of.DESK),
    "GET /lesson/{id}/debrief.html": Row(NO, OWN, OWN, YES, Of.DESK),
    "GET /lesson/{id}/maneuver/{n:int}": Row(NO, OWN, OWN, YES, Of.DESK),
    "GET /lesson/{id}/record": Row(NO, NO, OWN, YES, Of.DESK),
    "POST /lesson/{id}/record": Row(NO, NO, OWN, YES, Of.HANDED_IN),
    # the ground lesson: nobody's data
    "GET /ground-lesson": Row(NO, YES, YES, YES),
    "GET /ground-lesson/plan": Row(NO, YES, YES, YES),
    "GET /ground-lesson/card.pdf": Row(NO, YES, YES, YES),
    "GET /ground-lesson/briefing.json": Row(NO, YES, YES, YES),
    # the book: lists show what one may see
    "GET /book": Row(NO, NO, YES, YES),
    "GET /book/lessons": Row(NO, YES, YES, YES),
    "GET /book/people": Row(NO, NO, YES, YES),
    "POST /book/people": Row(NO, NO, NO, YES),
    "GET /book/people/{id:int}": Row(NO, NO, OWN, YES, Of.PERSON),
    "POST /book/people/{id:int}": Row(NO, NO, NO, YES, Of.PERSON),
    "POST /book/people/{id:int}/back": Row(NO, NO, NO, YES, Of.PERSON),
    "POST /book/people/{id:int}/left": Row(NO, NO, NO, YES, Of.PERSON),
    "GET /book/airplanes": Row(NO, YES, YES, YES),
    "POST /book/airplanes": Row(NO, NO, NO, YES),
    "POST /book/airplanes/sheet": Row(NO, NO, NO, YES),
    "GET /book/course": Row(NO, YES, YES, YES),
    "POST /book/course": Row(NO, NO, NO, YES),
    "GET /book/course/new": Row(NO, NO, NO, YES),
    "GET /book/course/file": Row(NO, YES, YES, YES),
    "GET /book/marks": Row(NO, NO, YES, YES),
    "GET /book/airplanes/readings": Row(NO, NO, YES, YES),
    # common sets: no student is named in them; who may read what of them is told by the pages themselves
    "GET /book/common": Row(NO, NO, YES, YES),
    "POST /book/common": Row(NO, NO, NO, YES),
    "GET /book/common/making": Row(NO, NO, NO, YES),
    "GET /book/common/{n:int}": Row(NO, NO, YES, YES),
    "POST /book/common/{n:int}/closed": Row(NO, NO, NO, YES),
    "GET /book/common/{n:int}/mark": Row(NO, NO, YES, YES),
    "POST /book/common/{n:int}/marks": Row(NO, NO, YES, YES),
    "GET /book/common/{n:int}/result": Row(NO, NO, YES, YES),
    "GET /book/common/{n:int}/pack.pdf": Row(NO, NO, NO, YES),
    "GET /book/common/{n:int}/maneuver/{place:int}": Row(NO, NO, YES, YES),
    # attempts of several lessons at once: their addresses name many things, each held against its own row
    "GET /compare": Row(NO, YES, YES, YES),  # the pages refuse what is not theirs
    "POST /compare": Row(NO, YES, YES, YES),
    "GET /compare.json": Row(NO, YES, YES, YES),
    "GET /compare.pdf": Row(NO, YES, YES, YES),
    "GET /student/{id:int}": Row(NO, OWN, OWN, YES, Of.STUDENT),
    "GET /student/{id:int}/chance": Row(NO, OWN, OWN, YES, Of.STUDENT),  # empty where students see no chance
    "GET /student/{id:int}/handover": Row(NO, NO, OWN, YES, Of.STUDENT),
    "GET /student/{id:int}/record.pdf": Row(
        NO, OWN, OWN, YES, Of.STUDENT
    ),  # 14 CFR 141.101: a copy on request
    "GET /record/{n:int}": Row(NO, OWN, OWN, YES, Of.RECORD),
    "POST /record/{n:int}/desk": Row(NO, OWN, OWN, YES, Of.RECORD),
    "POST /record/{n:int}/marks": Row(NO, NO, OWN, YES, Of.RECORD),
    "POST /record/{n:int}/notes": Row(NO, OWN, OWN, YES, Of.RECORD),
    "POST /record/{n:int}/signature": Row(NO, NO, OWN, OWN, Of.TAUGHT),
    "POST /record/{n:int}/judging": Row(NO, NO, OWN, YES, Of.RECORD),
}


def name_of(route: BaseRoute, method: str) -> str:
    """How the table calls a route."""
    path = route.path if isinstance(route, Route | Mount) else "?"
    return f"{'GET' if method == 'HEAD' else method} {path}"


def names_of(routes: Iterable[BaseRoute]) -> set[str]:
    """What the table must have rows for."""
    names = set()
    for route in routes:
        methods = (route.methods or {"?"}) - {"HEAD"} if isinstance(route, Route) else {"GET"}
        names |= {name_of(route, method) for method in methods}
    return names


def matched(routes: Iterable[BaseRoute], scope: Scope) -> tuple[str, Mapping[str, Any]] | None:
    """The name of the route that a request asks for, and what its address names; None where there is none."""
    for route in routes:
        match, child = route.matches(scope)
        if match is Match.FULL:
            return name_of(route, scope["method"]), child.get("path_params", {})
    return None


def may_ever(one: Viewer | None, name: str) -> bool:
    """Whether a route may be called for anything at all: what pages ask before they show a button."""
    row = TABLE.get(name)
    if row is None:
        return False
    if one is None:
        return row.nobody is not NO
    return any(row.of_role(role) is not NO for role in one.roles)


@dataclass(frozen=True)
class Subject:
    """What an address names: whose record it is, who taught it, who handed it in, which person it is of."""

    student: int | None = None
    instructor: int | None = None
    handed_in_by: int | None = None
    person: int | None = None


@dataclass(frozen=True)
class Decision:
    """Whether a request goes on, and what it is about."""

    allowed: bool
    subject: Subject


def decide(
    session: Session, shelf: Shelf, one: Viewer | None, name: str, named: Mapping[str, Any]
) -> Decision:
    """Whether ``one`` may call the route ``name`` for what its address ``named``."""
    row = TABLE.get(name)
    if row is None:
        return Decision(allowed=False, subject=Subject())
    if one is None:
        return Decision(row.nobody is YES, Subject())
    subject = _subject(session, shelf, row.of, named)
    allowed = any(
        (may := row.of_role(role)) is YES or (may is OWN and _is_theirs(session, one, role, row.of, subject))
        for role in sorted(one.roles)
    )
    return Decision(allowed, subject)


def refuse_unseen(book: Book, shelf: Shelf, one: Viewer | None, name: str, **named: Any) -> None:
    """Refuse what ``one`` may not call ``name`` for: of pages that show several things at once."""
    if one is None:
        return  # nobody has to sign in here
    with book.reading() as session:
        allowed = decide(session, shelf, one, name, named).allowed
    if not allowed:
        raise RefusedRequest("this is not yours to see or to change.", status=403)


def _subject(session: Session, shelf: Shelf, of: Of, named: Mapping[str, Any]) -> Subject:
    if of in (Of.RECORD, Of.TAUGHT):
        return _of_record(session.get(Record, named["n"]))
    if of is Of.STUDENT:
        return Subject(student=named["id"])
    if of is Of.PERSON:
        return Subject(person=named["id"])
    if of in (Of.DESK, Of.HANDED_IN):
        record = record_at(session, named["id"])
        return _of_record(record) if record is not None else Subject(handed_in_by=_taker(shelf, named["id"]))
    return Subject()


def _of_record(record: Record | None) -> Subject:
    if record is None:
        return Subject()
    return Subject(student=record.student_id, instructor=record.instructor_id)


def _taker(shelf: Shelf, lesson: str) -> int | None:
    try:
        return shelf.lesson(lesson).by
    except RefusedRequest:
        return None


def _is_theirs(session: Session, one: Viewer, role: str, of: Of, subject: Subject) -> bool:
    if subject.handed_in_by is not None:
        return subject.handed_in_by == one.person
    if of is Of.HANDED_IN:
        return False
    if of is Of.PERSON:
        return subject.person is not None and (
            subject.person == one.person or sight.teaches(session, one.person, subject.person)
        )
    if subject.student is None:
        return False
    if of is Of.TAUGHT and subject.instructor is not None:
        return subject.instructor == one.person
    if role == "student":
        return subject.student == one.person
    return role == "chief" or sight.teaches(session, one.person, subject.student)
