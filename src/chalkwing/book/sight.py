"""Who sees whose record: the chief all, an instructor those of their students, a student their own."""

from __future__ import annotations

from sqlalchemy import Select, select, union
from sqlalchemy.orm import Session

from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.assignments import students_of
from chalkwing.book.tables import Lesson, Person


def students_seen(one: Viewer | None) -> Select[int] | None:
    """The numbers of the students whose records ``one`` may see; None for all of them.

    Where nobody has to sign in (None), everything is seen.
    """
    if one is None or one.chief:
        return None
    own = select(Person.id).where(Person.id == one.person)
    if not one.instructor:
        return own
    both = union(students_of(one.person), own).subquery()
    return select(both.c[0])


def teaches(session: Session, instructor: int, student: int) -> bool:
    """Whether a student is one of an instructor's."""
    chosen = select(Person.id).where(Person.id == student, Person.id.in_(students_of(instructor)))
    return session.scalars(chosen).first() is not None


def desk_lessons_seen(session: Session, one: Viewer) -> tuple[set[str], set[str]]:
    """Lessons of the pages that are in the book: those that ``one`` may see, and all of them."""
    entered = select(Lesson.desk).where(Lesson.desk.is_not(None))
    everything = {each for each in session.scalars(entered) if each is not None}
    seen = students_seen(one)
    if seen is None:
        return everything, everything
    mine = session.scalars(entered.where(Lesson.student_id.in_(seen)))
    return {each for each in mine if each is not None}, everything
