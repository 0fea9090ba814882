"""Blind first: where the school wants it, verdicts stay hidden until an instructor has marked.

What is hidden is hidden by the server: neither pages nor JSON nor print of the lesson tell it before.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.course import Course, course_in_force
from chalkwing.book.following import record_at
from chalkwing.book.lessons import NEAR
from chalkwing.book.tables import Lesson as Record
from chalkwing.debriefs import Debrief, ManeuverReport
from chalkwing.errors import RefusedRequest
from chalkwing.web.desk import Desk
from chalkwing.web.shelf import Lesson


def unmarked(desk: Desk, lesson: Lesson, debrief: Debrief, viewer: Viewer | None = None) -> frozenset[int]:
    """Numbers of the maneuvers whose verdicts are hidden as yet.

    A student's own recording that is not in the book hides nothing from the student: nobody is to mark it.
    """
    with desk.book.reading() as session:
        course = course_in_force(session)
        if course is None or not course.rules.blind_first:
            return frozenset()
        record = record_at(session, lesson.id)
        if record is None and viewer is not None and viewer.student_only:
            return frozenset()
        return waiting(course, record, debrief.maneuvers)


def waiting(course: Course, record: Record | None, maneuvers: Sequence[ManeuverReport]) -> frozenset[int]:
    """Those that a student may have flown and nobody has marked as a whole yet."""
    if not course.rules.blind_first:
        return frozenset()
    marks = [] if record is None else [each for each in record.marks if each.element is None]
    return frozenset(
        number
        for number, each in enumerate(maneuvers, start=1)
        if each.flown_by in ("student", "unknown", "shared")
        and not any(mark.kind == each.kind and abs(mark.start_s - each.start_s) <= NEAR for mark in marks)
    )


def refuse_untold(desk: Desk, lesson: Lesson, debrief: Debrief, viewer: Viewer | None = None) -> None:
    """Refuse what would tell verdicts that are still hidden."""
    hidden = unmarked(desk, lesson, debrief, viewer)
    if hidden:
        raise RefusedRequest(
            f"{len(hidden)} maneuvers are not marked yet, and the school marks before it sees the verdicts.",
            status=409,
            next_step="Enter the lesson in the book and mark them; then it is told.",
        )


def hides(session: Session, record: Record, start_s: float, kind: str) -> bool:
    """Whether the verdicts of one maneuver of a record are hidden."""
    course = course_in_force(session)
    if course is None or not course.rules.blind_first:
        return False
    return not any(
        mark.element is None and mark.kind == kind and abs(mark.start_s - start_s) <= NEAR
        for mark in record.marks
    )
