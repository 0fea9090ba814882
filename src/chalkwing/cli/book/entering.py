"""Entering people, airplanes and lessons."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import cast

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option
from chalkwing.cli.options import format_option, log_options, standard_options
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(short_help="Enter a lesson: its files are judged and kept.")
@click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE...")
@click.option("--student", required=True, metavar="NAME", help="Who was taught.")
@click.option("--instructor", metavar="NAME", help="Who taught; left out for a solo flight.")
@click.option("--airplane", metavar="REGISTRATION", help="The airplane, as it is in the book.")
@click.option("--lesson", "unit", metavar="NAME", help="Which lesson of the course it was.")
@click.option(
    "--flown-by",
    type=click.Choice(["student", "instructor", "shared", "unknown"]),
    default="unknown",
    show_default=True,
    help="Who flew the maneuvers; `chalkwing book label` says it one by one.",
)
@log_options
@standard_options
@who_option
@book_options
@format_option
def add(
    files: tuple[Path, ...],
    student: str,
    instructor: str | None,
    airplane: str | None,
    unit: str | None,
    flown_by: str,
    column_map: Path | None,
    zone: str | None,
    standard: str,
    overlay: Path | None,
    who: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Enter one lesson, flown as recorded in FILE...

    The files are copied into the book, each under its content: the same file twice is one recording, and the
    same files of the same student are one lesson. Stopped at any moment, a lesson is in the book whole or not
    at all. --columns and --zone are kept with the lesson: judging it anew reads its files so again.

    \b
    Examples: chalkwing book add lesson.csv --student "Mina Orlo" --instructor "Per Askell"
              chalkwing book add log.csv --student "Mina Orlo" --columns ours.toml --zone +02:00
    """
    from chalkwing.book.adding import Entry
    from chalkwing.book.adding import add as enter
    from chalkwing.book.judgings import Settings
    from chalkwing.book.lessons import in_force, lesson
    from chalkwing.book.log_settings import log_settings

    entry = Entry(student=student, instructor=instructor, airplane=airplane, unit=unit, flown_by=flown_by)
    log = log_settings(column_map=column_map, zone=zone)
    with opened(place, folder, create=True) as book, shown_progress() as progress:
        added = enter(
            book,
            files,
            entry,
            who=who,
            settings=Settings(standard=standard, overlay=overlay),
            log=log,
            progress=progress,
        )
        with book.reading() as session:
            count = len(in_force(lesson(session, added.number)).maneuvers)
    if form == "json":
        tell({"lesson": added.number, "known": added.known})
    elif added.known:
        click.echo(f"It is in the book already, as lesson {added.number}.")
    else:
        found = "1 maneuver" if count == 1 else f"{count or 'no'} maneuvers"
        click.echo(f"Entered as lesson {added.number}: {found}. Read it: chalkwing book show {added.number}")


@click.command(short_help="Enter a person, or what is new about one.")
@click.argument("name")
@click.option("--student", is_flag=True, help="Is taught.")
@click.option("--instructor", is_flag=True, help="Teaches and signs.")
@click.option("--chief", is_flag=True, help="Answers for how the school teaches.")
@click.option("--certificate", metavar="NUMBER", help="An instructor's certificate, as signatures show it.")
@click.option("--recency", metavar="TEXT", help="The certificate's expiry, or recent experience.")
@click.option(
    "--left",
    type=click.Choice(["graduated", "ended", "moved"]),
    help="The training is over; retention counts.",
)
@click.option("--on", metavar="DATE", help="When it ended, YYYY-MM-DD; else today.")
@who_option
@book_options
@format_option
def person(
    name: str,
    student: bool,
    instructor: bool,
    chief: bool,
    certificate: str | None,
    recency: str | None,
    left: str | None,
    on: str | None,
    who: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Enter the person called NAME, or add to what the book holds of one: roles, certificate, end of
    training.

    \b
    Example: chalkwing book person "Mina Orlo" --student
    """
    from chalkwing.book import people as folk

    given = {"student": student, "instructor": instructor, "chief": chief}
    roles = [role for role in folk.ROLES if given[role]]
    when = _date(on) if on else None
    with opened(place, folder, create=True) as book, book.writing() as session:
        if left is None or roles or certificate or recency:
            if not roles and left is None and not folk.is_known(session, name):
                raise Refused(f"{name}: say what they are: --student, --instructor or --chief.")
            one = folk.enroll(session, name, roles=roles, who=who, certificate=certificate, recency=recency)
        else:
            one = folk.person(session, name)
        if left is not None:
            folk.leave(session, one, how=cast("folk.Ending", left), when=when, who=who)
        said = f"{one.name}: {', '.join(one.roles)}"
        ended = f"; {one.left_as} {one.left:%Y-%m-%d}" if one.left else ""
        plain = {
            "name": one.name,
            "roles": list(one.roles),
            "certificate": one.certificate,
            "recency": one.recency,
            "left": one.left.isoformat() if one.left else None,
            "left_as": one.left_as,
        }
    if form == "json":
        tell(plain)
    else:
        click.echo(f"{said}{ended}.")


def _date(said: str) -> datetime:
    try:
        return datetime.fromisoformat(said).replace(tzinfo=UTC)
    except ValueError:
        raise Refused(f"--on {said}: a date is written YYYY-MM-DD.") from None


@click.command(short_help="Enter an airplane and its sheet.")
@click.argument("registration")
@click.option("--sheet", metavar="SHEET", help="A built-in sheet's name or a TOML file, kept in the book.")
@who_option
@book_options
@format_option
def airplane(
    registration: str, sheet: str | None, who: str, place: str | None, folder: Path | None, form: str
) -> None:
    """Enter the airplane with this REGISTRATION, or give it another sheet.

    \b
    Example: chalkwing book airplane X-HOLL --sheet four-seat-160
    """
    from chalkwing.airplane import load_sheet
    from chalkwing.book import people as folk

    text = None
    name = sheet
    if sheet is not None:
        name = load_sheet(sheet).name
        text = Path(sheet).read_text(encoding="utf-8") if sheet.endswith(".toml") else None
    with opened(place, folder, create=True) as book, book.writing() as session:
        folk.enter_airplane(session, registration, sheet=name, sheet_text=text, who=who)
    if form == "json":
        tell({"registration": registration, "sheet": name})
        return
    click.echo(
        f"{registration}: {f'sheet {name}' if name else 'no sheet; a broad light airplane stands in'}."
    )
