"""Reading the book: lessons, one lesson, a student, people."""

from __future__ import annotations

from pathlib import Path

import click

from chalkwing.cli.book.options import book_options, opened, tell
from chalkwing.cli.options import format_option


@click.command(short_help="The newest lessons, or one of them.")
@click.argument("lesson", type=int, required=False)
@click.option(
    "--newest", type=click.IntRange(1), default=20, show_default=True, help="How many lessons to list."
)
@book_options
@format_option
def show(lesson: int | None, newest: int, place: str | None, folder: Path | None, form: str) -> None:
    """List the newest lessons, or show all that stands in the record of LESSON.

    With --format json a lesson comes with its whole debrief.

    \b
    Examples: chalkwing book show
              chalkwing book show 12
    """
    from chalkwing.book import lessons, reports
    from chalkwing.book.judgings import unpacked
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import book as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        if lesson is None:
            lines = reports.lesson_lines(session, newest=newest)
            if form == "json":
                tell(as_plain(lines))
            else:
                text.print_lessons(page_console(), lines)
            return
        found = lessons.lesson(session, lesson)
        report = reports.lesson_report(session, found)
        if form == "json":
            tell({**as_plain(report), "debrief": unpacked(lessons.in_force(found))})
        else:
            text.print_lesson(page_console(), report)


@click.command(short_help="A student's lessons, and each element over the attempts.")
@click.argument("name")
@book_options
@format_option
def student(name: str, place: str | None, folder: Path | None, form: str) -> None:
    """Show the lessons of the student called NAME, and every element over the attempts the student flew.

    \b
    Example: chalkwing book student "Mina Orlo"
    """
    from chalkwing.book import people as folk
    from chalkwing.book import reports
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import book as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        report = reports.student_report(session, folk.person(session, name, role="student"))
    if form == "json":
        tell(as_plain(report))
    else:
        text.print_student(page_console(), report)


@click.command(short_help="A student's chance on the next try, and what to fly next.")
@click.argument("name")
@book_options
@format_option
def progress(name: str, place: str | None, folder: Path | None, form: str) -> None:
    """Tell the chance that the next try of the student called NAME meets every element that is measured.

    Told for each kind of maneuver once the tries bear it, pooled with those of the school's other students,
    with the elements that limit it and what may help. For instructors; it replaces no endorsement.

    \b
    Example: chalkwing book progress "Mina Orlo"
    """
    from chalkwing.book import people as folk
    from chalkwing.book.progress.chance import UNSEEN, chances
    from chalkwing.cli.console import page_console
    from chalkwing.cli.progress import shown_progress
    from chalkwing.cli.text import progress as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session, shown_progress() as watched:
        one = folk.person(session, name, role="student")
        told = chances(session, one, progress=watched)
    if form == "json":
        tell({"student": one.name, "chances": as_plain(told), "unseen": UNSEEN})
    else:
        text.print_chances(page_console(), one.name, told)


@click.command(short_help="Everybody in the book.")
@book_options
@format_option
def people(place: str | None, folder: Path | None, form: str) -> None:
    """List the people of the school with their roles."""
    from sqlalchemy import select

    from chalkwing.book.tables import Person

    with opened(place, folder) as book, book.reading() as session:
        everybody = [(one.name, one.roles) for one in session.scalars(select(Person).order_by(Person.name))]
    if form == "json":
        tell([{"name": name, "roles": list(roles)} for name, roles in everybody])
    else:
        for name, roles in everybody:
            click.echo(f"{name}: {', '.join(roles)}")
