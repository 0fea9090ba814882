"""How long the server works for the pages of a book that a school has filled for years.

Run: python -m benchmarks.book_size [--database postgresql] [--lessons 10000] [--each 50]. Targets, warm, with
10,000 lessons: a student's page 300 ms, the school's page 1 s.
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import func, select
from starlette.testclient import TestClient

from benchmarks.full_book import fill, fresh_book
from chalkwing.book import lessons
from chalkwing.book.book import Book
from chalkwing.book.tables import Element, Lesson, Maneuver, Person
from chalkwing.web.app import create_app
from chalkwing.web.settings import Settings

RUNS = 7
TARGETS = {"student": 300.0, "school": 1000.0}


def milliseconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return 1000.0 * (time.perf_counter() - start)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    asked.add_argument("--lessons", type=int, default=10_000)
    asked.add_argument("--each", type=int, default=50, help="lessons of a student")
    asked.add_argument("--profile", action="store_true", help="where the time of the student's page goes")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as room, fresh_book(told.database, Path(room)) as (where, files, book):
        taken = milliseconds(lambda: fill(book, lessons=told.lessons, each=told.each))
        student = _tell(book, taken, told.database)
        settings = Settings(folder=Path(room) / "desk", book=where, book_files=files)
        with TestClient(create_app(settings), base_url="http://127.0.0.1:8765") as client:
            measure(client, student)
            anew(client, book, student)
            if told.profile:
                profile = cProfile.Profile()
                profile.runcall(_work, book, student)
                pstats.Stats(profile).sort_stats("cumulative").print_stats(25)


def _tell(book: Book, taken: float, database: str) -> int:
    with book.reading() as session:
        counts = [session.scalar(select(func.count(table.id))) for table in (Lesson, Maneuver, Element)]
        student = session.scalar(select(Lesson.student_id).order_by(Lesson.id.desc()).limit(1))
        people = session.scalar(select(func.count(Person.id)).where(Person.student))
    print(
        f"{database}: {counts[0]} lessons of {people} students, {counts[1]} maneuvers, {counts[2]} elements; "
        f"filled in {taken / 1000.0:.0f} s",
        flush=True,
    )
    assert student is not None
    return student


def measure(client: TestClient, student: int) -> None:
    """Each page once cold, then warm."""
    for name, url in (
        ("student", f"/student/{student}"),
        ("handover", f"/student/{student}/handover"),
        ("school", "/book"),
        ("lessons", "/book/lessons"),
        ("marks", "/book/marks"),
        ("readings", "/book/airplanes/readings"),
    ):

        def ask(url: str = url) -> None:
            answer = client.get(url)
            assert answer.status_code == 200, answer.text[:500]

        cold = milliseconds(ask)
        warm = [milliseconds(ask) for _ in range(RUNS if cold < 5000.0 else 1)]
        target = f" (target {TARGETS[name]:.0f})" if name in TARGETS else ""
        if name == "student":
            worked_out(client, student)
            warm = [milliseconds(ask) for _ in range(RUNS)]
        print(
            f"{name} page: first {cold:.0f} ms, then median {statistics.median(warm):.0f} ms{target}, "
            f"longest {max(warm):.0f}",
            flush=True,
        )


def worked_out(client: TestClient, student: int) -> float:
    """Wait until the chance on the next try is worked out beside the pages [ms], and say how long it took."""

    def wait() -> None:
        while not (told := client.get(f"/student/{student}/chance").json())["current"]:
            assert told["refusal"] is None, told
            time.sleep(0.05)

    taken = milliseconds(wait)
    print(f"  the chance on the next try was there {taken / 1000.0:.1f} s after the page", flush=True)
    return taken


def anew(client: TestClient, book: Book, student: int) -> None:
    """The same page after a try was taken from the student and after it was given back."""
    with book.reading() as session:
        chosen = select(Lesson.id).where(Lesson.student_id == student).order_by(Lesson.id.desc())
        lesson = session.scalars(chosen.limit(1)).one()
    for flown_by in ("instructor", "student"):
        with book.writing() as session:
            lessons.label(session, lessons.lesson(session, lesson), [1], flown_by, who="the benchmark")
        taken = milliseconds(lambda: client.get(f"/student/{student}"))
        print(f"student page after a try was changed: {taken:.0f} ms (target {TARGETS['student']:.0f})")
        worked_out(client, student)


def _work(book: Book, student: int) -> None:
    from chalkwing.book import people, reports
    from chalkwing.book.progress.chance import chances

    with book.reading() as session:
        one = people.by_number(session, student)
        reports.student_report(session, one)
        chances(session, one)


if __name__ == "__main__":
    main()
