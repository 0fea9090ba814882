"""Marks of every day beside what was measured, and airplanes that read differently."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from chalkwing.cli.book.options import book_options, opened, tell
from chalkwing.cli.options import format_option

if TYPE_CHECKING:
    from pathlib import Path


@click.command(short_help="Marks of every day beside what was measured.")
@click.option("--as", "reader", metavar="NAME", help="Whose own marks are told beside those of all.")
@click.option("--names", is_flag=True, help="Everybody's by name; for a chief, who says so with --as.")
@book_options
@format_option
def marks(reader: str | None, names: bool, place: str | None, folder: Path | None, form: str) -> None:
    """Tell how often marks for whole maneuvers say something else than what was measured.

    It shows no leniency, for instructors fly with different students: that takes a common set.

    \b
    Examples: chalkwing book marks
              chalkwing book marks --as "Per Askell"
    """
    from chalkwing.book import people
    from chalkwing.book.everyday import LIMITS, everyday, refuse_names
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import common as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        one = None if reader is None else people.person(session, reader)
        refuse_names(one, names=names)
        told = everyday(session, only=one, names=names)
    if form == "json":
        tell({"marks": as_plain(told), "limits": LIMITS})
    else:
        text.print_everyday(page_console(), told)


@click.command(short_help="Airplanes whose recordings read differently.")
@book_options
@format_option
def readings(place: str | None, folder: Path | None, form: str) -> None:
    """Compare the airplanes of the book: recorded bank and pitch, and stall speeds beside the sheet.

    Airplanes with few lessons say "too few". What cannot be told this way is said below.
    """
    from chalkwing.book.readings import CANNOT
    from chalkwing.book.readings import readings as compare
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text import common as text
    from chalkwing.debriefs import as_plain

    with opened(place, folder) as book, book.reading() as session:
        told = compare(session)
    if form == "json":
        tell({"compared": as_plain(told), "cannot_tell": CANNOT})
    else:
        text.print_readings(page_console(), told)
