"""``chalkwing demo``: an invented school in a throw-away book, opened in the pages."""

from __future__ import annotations

import contextlib
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from rich.console import Console

    from chalkwing.book import Book


def show_school(*, keep: Path | None, browser: bool, port: int, form: str) -> None:
    """Build the school, say what is in it, and serve it while somebody watches."""
    from chalkwing.book import open_book
    from chalkwing.book.invented import build_school

    with _room(keep) as room:
        (room / "recordings").mkdir(parents=True)
        book = open_book(room / "book", create=True)
        with shown_progress() as progress:
            build_school(book, room / "recordings", progress=progress)
        told = _told(book)
        book.close()
        if form == "json":
            click.echo(_as_json(told))
            return
        _print(told, keep)
        if sys.stdout.isatty():
            _serve(room, browser=browser, port=port)


@contextlib.contextmanager
def _room(keep: Path | None) -> Iterator[Path]:
    """A folder that goes away in the end, or one to keep."""
    if keep is None:
        with tempfile.TemporaryDirectory(prefix="chalkwing-", ignore_cleanup_errors=True) as folder:
            yield Path(folder)
        return
    if keep.exists() and any(keep.iterdir()):
        raise Refused(f"{keep} is not empty. Name a new folder.")
    keep.mkdir(parents=True, exist_ok=True)
    yield keep


def _told(book: Book) -> dict[str, Any]:
    """What the school looks like from the chief's desk: students with their lessons, elements and chance."""
    from chalkwing.book import people, reports
    from chalkwing.book.invented import CHIEF, INSTRUCTOR, SCHOOL, STUDENTS
    from chalkwing.book.progress.chance import chances

    rows = []
    with book.reading() as session:
        for student in STUDENTS:
            one = people.person(session, student.name)
            report = reports.student_report(session, one)
            rows.append(
                {
                    "student": one.name,
                    "lessons": len(report.lessons),
                    "maneuvers": sum(len(each.maneuvers) for each in _judgings(session, one)),
                    "chances": [
                        {"kind": each.title, "tries": each.tries, "met": each.met, "chance": each.chance}
                        for each in chances(session, one)
                    ],
                }
            )
    return {"school": SCHOOL, "chief": CHIEF, "instructor": INSTRUCTOR, "students": rows}


def _judgings(session: Any, student: Any) -> Iterator[Any]:
    from sqlalchemy import select

    from chalkwing.book import lessons
    from chalkwing.book.tables import Lesson

    for each in session.scalars(select(Lesson).where(Lesson.student_id == student.id)):
        yield lessons.in_force(each)


def _as_json(told: dict[str, Any]) -> str:
    import json

    return json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False)


def _print(told: dict[str, Any], keep: Path | None) -> None:
    from chalkwing.cli.console import page_console
    from chalkwing.debriefs import CAUTION

    console = page_console()
    count = sum(row["lessons"] for row in told["students"])
    console.print(
        f"{told['school']}: all invented. {len(told['students'])} students with {told['chief']} (chief) and "
        f"{told['instructor']}; {count} lessons flown by our own equations, recorded with a panel's errors, "
        "read, found and judged as any recording is. Five instructors marked a common set of them, each on "
        "their own: the marks are drawn, one of them stricter than the others.\n"
    )
    _table(console, told)
    console.print(f"\n{CAUTION}")
    if keep is not None:
        console.print(f"The book is kept: chalkwing serve --book {keep / 'book'} --open", soft_wrap=True)
    elif not sys.stdout.isatty():
        console.print("At a terminal its pages open; `chalkwing demo lesson` shows one debrief.")


def _table(console: Console, told: dict[str, Any]) -> None:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="")
    table.add_column("student")
    table.add_column("lessons", justify="right")
    table.add_column("chance that the next try meets every element measured")
    for row in told["students"]:
        said = [
            f"{each['kind'].lower()}: {_chance(each['chance'])} ({each['met']} of {each['tries']} did)"
            for each in row["chances"]
        ]
        table.add_row(row["student"], str(row["lessons"]), "\n".join(said))
    console.print(table)


def _chance(chance: float | None) -> str:
    return "too little to say" if chance is None else f"{100.0 * chance:.0f} %"


def _serve(room: Path, *, browser: bool, port: int) -> None:
    from chalkwing.web.serving import run
    from chalkwing.web.settings import Settings

    settings = Settings(folder=room / "desk", book=room / "book")
    run(
        settings,
        host="127.0.0.1",
        port=port,
        show=browser,
        say=lambda text: click.echo(text, err=True),
        path="/book",
    )
