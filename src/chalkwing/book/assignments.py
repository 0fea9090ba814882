"""Which instructor teaches which student: assigned by the chief; whom one has flown with counts as well."""

from __future__ import annotations

from sqlalchemy import ColumnElement, Select, select, union
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.accounts.tables import Assignment
from chalkwing.book.columns import now
from chalkwing.book.tables import Lesson, Person
from chalkwing.errors import BookTrouble


def students_of(instructor: int) -> Select[int]:
    """Numbers of an instructor's students: assigned ones, and those of lessons that the instructor gave."""
    assigned = select(Assignment.student_id).where(
        Assignment.instructor_id == instructor, Assignment.ended.is_(None)
    )
    flown = select(Lesson.student_id).where(Lesson.instructor_id == instructor)
    both = union(assigned, flown).subquery()
    return select(both.c.student_id)


def _standing(student: int, instructor: int) -> ColumnElement[bool]:
    return (
        (Assignment.student_id == student)
        & (Assignment.instructor_id == instructor)
        & Assignment.ended.is_(None)
    )


def assign(session: Session, student: Person, instructor: Person, *, who: str) -> None:
    """Assign an instructor to a student."""
    _refuse_roles(student, instructor)
    if session.scalars(select(Assignment.id).where(_standing(student.id, instructor.id))).first():
        raise BookTrouble(f"{instructor.name} teaches {student.name} already.")
    session.add(Assignment(student_id=student.id, instructor_id=instructor.id))
    _tell(session, "assigned", student, instructor, who)


def end(session: Session, student: Person, instructor: Person, *, who: str) -> None:
    """End an assignment; lessons that the instructor gave stay in sight."""
    found = session.scalars(select(Assignment).where(_standing(student.id, instructor.id))).first()
    if found is None:
        raise BookTrouble(f"{instructor.name} is not assigned to {student.name}.")
    found.ended = now()
    _tell(session, "assignment ended", student, instructor, who)


def _refuse_roles(student: Person, instructor: Person) -> None:
    for person, role in ((student, "student"), (instructor, "instructor")):
        if role not in person.roles:
            raise BookTrouble(f"{person.name} is no {role} of the book.")


def _tell(session: Session, act: str, student: Person, instructor: Person, who: str) -> None:
    content = {"student": student.name, "instructor": instructor.name}
    ledger.enter(session, who=who, act=act, subject=f"person {student.id}", content=content)
