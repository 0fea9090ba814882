"""The course outline, marks, and the handover to the next instructor."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option, why_option
from chalkwing.cli.options import format_option
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from chalkwing.book.course import Course


def course_of(session: Session) -> Course:
    """The course in force; the plain one that comes with chalkwing where the school entered none."""
    from chalkwing.book.course import PLAIN, course_in_force, read_course

    return course_in_force(session) or read_course(PLAIN)


@click.command(short_help="The course outline: show it, enter it, begin one.")
@click.argument("file", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--plain", is_flag=True, help="Print the plain course, to write your own from.")
@who_option
@book_options
@format_option
def course(
    file: Path | None, plain: bool, who: str, place: str | None, folder: Path | None, form: str
) -> None:
    """Show the course in force, or put that of FILE in force: lessons, limits by stage, scale, rules.

    Every fault of a file is told at once, with its place. Lessons entered with --lesson are then judged by
    the limits of their stage.

    \b
    Examples: chalkwing book course --plain > ours.toml
              chalkwing book course ours.toml
    """
    from chalkwing.book import course as outlines
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import book as text

    if plain:
        click.echo(outlines.PLAIN.read_text(encoding="utf-8"), nl=False)
        return
    if file is not None:
        read = outlines.read_course(file)
        with opened(place, folder, create=True) as book, book.writing() as session:
            outlines.enter_course(session, read, who=who)
        if form == "json":
            tell(_plain(read))
            return
        click.echo(f"In force: {read.name}, {len(read.units)} lessons.")
        return
    with opened(place, folder) as book, book.reading() as session:
        found = course_of(session)
    if form == "json":
        tell(_plain(found))
    else:
        text.print_course(page_console(), found)


def _plain(found: Course) -> dict[str, object]:
    from chalkwing.debriefs import as_plain

    return {
        "course": found.name,
        "scale": as_plain(found.scale),
        "rules": as_plain(found.rules),
        "lessons": [as_plain(unit) for unit in found.units],
    }


@click.command(short_help="Mark a maneuver on the school's scale.")
@click.argument("lesson", type=int)
@click.argument("maneuver", type=int)
@click.argument("step")
@click.option("--instructor", required=True, metavar="NAME", help="Who marks.")
@click.option("--element", metavar="ID", help="One element of it, as the debrief's JSON names it.")
@click.option("--blind", is_flag=True, help="Given before the computed verdict was seen.")
@why_option
@book_options
@format_option
def mark(
    lesson: int,
    maneuver: int,
    step: str,
    instructor: str,
    element: str | None,
    blind: bool,
    why: str | None,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Mark MANEUVER of LESSON with STEP, a word of the school's scale.

    \b
    Example: chalkwing book mark 12 3 alone --instructor "Per Askell"
    """
    from chalkwing.book import lessons, people

    with opened(place, folder) as book, book.writing() as session:
        found = lessons.lesson(session, lesson)
        by = people.person(session, instructor, role="instructor")
        scale = course_of(session).scale
        flown = lessons.maneuver(found, maneuver)
        known = {each.name for each in flown.elements}
        if element is not None and element not in known:
            raise Refused(
                f"{flown.title} has no judged element {element!r}. Known: {', '.join(sorted(known))}."
            )
        lessons.mark(
            session,
            found,
            maneuver,
            instructor=by,
            scale=scale,
            step=step,
            element=element,
            blind=blind,
            why=why,
        )
        title = flown.title
    if form == "json":
        tell({"lesson": lesson, "maneuver": maneuver, "element": element, "step": step, "blind": blind})
        return
    click.echo(f"Lesson {lesson}, {title.lower()}: {step}.")


@click.command(short_help="Half a page for whoever flies with the student next.")
@click.argument("name")
@book_options
@format_option
def handover(name: str, place: str | None, folder: Path | None, form: str) -> None:
    """Tell where the student called NAME stands in the course, what is carried over and what to watch.

    \b
    Example: chalkwing book handover "Mina Orlo"
    """
    from chalkwing.book import people
    from chalkwing.book.handover import handover as make
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import book as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        told = make(session, people.person(session, name, role="student"), course_of(session))
    if form == "json":
        tell(as_plain(told))
    else:
        text.print_handover(page_console(), told)
