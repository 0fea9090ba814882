"""Adding a lesson: its files are taken in, judged, and entered whole in one transaction.

The order makes a kill at any moment harmless. First the files are copied into the vault, each whole or not at
all; a file that no lesson names yet does no harm and is used when the lesson is added again. Then they are
judged, which changes nothing. Last, everything is entered at once.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger, people
from chalkwing.book.book import Book
from chalkwing.book.course import course_in_force
from chalkwing.book.judgings import (
    Basis,
    Document,
    Progress,
    Settings,
    began,
    judged,
    lasted,
    log_of,
    rows_of,
)
from chalkwing.book.lessons import in_force
from chalkwing.book.lessons import lesson as lesson_of
from chalkwing.book.log_settings import LogSettings
from chalkwing.book.tables import Airplane, Lesson, LessonRecording, Recording
from chalkwing.book.vault import Kept
from chalkwing.errors import BookTrouble


class Judge(Protocol):
    """Whatever makes a debrief of a lesson's files: `chalkwing.book.judgings.judged`."""

    def __call__(
        self,
        paths: Sequence[Path],
        *,
        basis: Basis,
        sheet: Airplane | None,
        progress: Progress | None = None,
    ) -> Document:
        """The debrief, as its JSON."""
        ...


@dataclass(frozen=True)
class Added:
    """The lesson's number, and whether it was in the book before."""

    number: int
    known: bool


@dataclass(frozen=True)
class Entry:
    """What is said of a lesson beside its files: names as they are in the book."""

    student: str
    instructor: str | None = None
    airplane: str | None = None
    unit: str | None = None
    flown_by: str = "unknown"


def add(
    book: Book,
    files: Sequence[Path],
    entry: Entry,
    *,
    who: str,
    settings: Settings | None = None,
    log: LogSettings | None = None,
    judge: Judge = judged,
    progress: Progress | None = None,
) -> Added:
    """Add one lesson, flown as recorded in ``files``.

    Names are checked before any work is done. The same files of the same student are the same lesson: its
    number is given back and nothing is entered a second time. ``log`` says how the files are read where they
    do not say it themselves; it is kept, and judging anew reads them so.

    Raises
    ------
    BookTrouble
        A name is not in the book, the lesson is there already and was read otherwise than ``log`` says, or
        the book cannot be written.
    ChalkwingError
        The files cannot be read or judged; nothing is entered.
    """
    tell = progress or _silent
    with book.reading() as session:
        sheet = checked(session, entry)
        course = course_in_force(session)
    basis = (settings or Settings()).basis(entry.unit, course, log=log)
    tell("taking in the files", 0.0)
    kept = [(book.vault.take(path), path.name) for path in files]
    key = _key(entry.student, [each.sha256 for each, _ in kept])
    known = _known(book, key)
    if known is not None:
        _refuse_otherwise(book, known, basis.log)
        return Added(known, known=True)
    with under_their_names(book, [(each.sha256, name) for each, name in kept]) as paths:
        document = judge(
            paths, basis=basis, sheet=sheet, progress=lambda what, done: tell(what, 0.05 + 0.9 * done)
        )
    tell("entering", 0.96)
    added = enter(book, kept, entry, document=document, basis=basis, who=who)
    tell("done", 1.0)
    return added


def enter(
    book: Book,
    kept: Sequence[tuple[Kept, str]],
    entry: Entry,
    *,
    document: Document,
    basis: Basis,
    who: str,
) -> Added:
    """Enter a lesson that is judged already; ``kept``: recordings of the vault, and what they are called."""
    key = _key(entry.student, [each.sha256 for each, _ in kept])
    known = _known(book, key)
    if known is not None:
        _refuse_otherwise(book, known, basis.log)
        return Added(known, known=True)
    with book.writing() as session:
        return Added(_enter(session, entry, key, kept, document, basis, who), known=False)


def _silent(what: str, done: float) -> None:
    """Progress that nobody watches."""


def checked(session: Session, entry: Entry) -> Airplane | None:
    """The airplane of an entry, once every name in it is known to be in the book."""
    people.person(session, entry.student, role="student")
    if entry.instructor is not None:
        people.person(session, entry.instructor, role="instructor")
    return people.airplane(session, entry.airplane) if entry.airplane is not None else None


def _key(student: str, digests: Sequence[str]) -> str:
    return ledger.digest(ledger.canonical([student, sorted(set(digests))]))


def _known(book: Book, key: str) -> int | None:
    with book.reading() as session:
        return session.scalars(select(Lesson.id).where(Lesson.key == key)).first()


def _refuse_otherwise(book: Book, number: int, log: LogSettings) -> None:
    """Refuse to leave out in silence how a lesson that is in the book already should have been read."""
    with book.reading() as session:
        kept = log_of(in_force(lesson_of(session, number)))
    if log.over(kept) != kept:
        raise BookTrouble(
            f"these files are in the book already, as lesson {number}, {kept.said or 'read as they are'}.",
            next_step=f"To read them otherwise: chalkwing book judge-again {number} --columns ... --zone ...",
        )


@contextmanager
def under_their_names(book: Book, kept: Sequence[tuple[str, str]]) -> Iterator[list[Path]]:
    """Recordings of the vault under the names they came with, so that messages name what people know.

    Raises `BookTrouble` where a recording's bytes were erased: what was judged stays, judging anew cannot be.
    """
    with tempfile.TemporaryDirectory(prefix="chalkwing-") as folder:
        paths = []
        for place, (digest, name) in enumerate(kept):
            if not book.vault.holds(digest):
                raise BookTrouble(
                    "its recording is no longer kept.",
                    where=name,
                    next_step="What was judged of it stays in the book; it cannot be judged anew.",
                )
            path = Path(folder) / str(place) / Path(name).name
            path.parent.mkdir()
            path.symlink_to(book.vault.path(digest))
            paths.append(path)
        yield paths


def _enter(
    session: Session,
    entry: Entry,
    key: str,
    kept: Sequence[tuple[Kept, str]],
    document: Document,
    basis: Basis,
    who: str,
) -> int:
    again = session.scalars(select(Lesson.id).where(Lesson.key == key)).first()
    if again is not None:
        return again  # another process was quicker with the same lesson
    student = people.person(session, entry.student, role="student")
    instructor = people.person(session, entry.instructor, role="instructor") if entry.instructor else None
    airplane = people.airplane(session, entry.airplane) if entry.airplane else None
    lesson = Lesson(
        student=student,
        instructor=instructor,
        airplane=airplane,
        unit=entry.unit,
        flown=began(document),
        duration_s=lasted(document),
        key=key,
    )
    session.add(lesson)
    for place, (each, name) in enumerate({each.sha256: (each, name) for each, name in kept}.values()):
        if session.get(Recording, each.sha256) is None:
            session.add(Recording(sha256=each.sha256, name=name, size=each.size))
        lesson.recordings.append(LessonRecording(sha256=each.sha256, place=place))
    session.flush()
    judging = rows_of(document, lesson_id=lesson.id, basis=basis, airplane=airplane, flown_by=entry.flown_by)
    session.add(judging)
    session.flush()
    ledger.enter(
        session,
        who=who,
        act="added",
        subject=f"lesson {lesson.id}",
        content={
            "student": student.name,
            "instructor": instructor.name if instructor else None,
            "airplane": airplane.registration if airplane else None,
            "unit": entry.unit,
            "recordings": [each.sha256 for each, _ in kept],
            **basis.log.told,
            "judging": judging.id,
        },
    )
    return lesson.id
