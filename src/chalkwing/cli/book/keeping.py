"""Keeping the book: verify, backup, restore, export, erase, what is due."""

from __future__ import annotations

from pathlib import Path
from typing import cast

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option
from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import format_option
from chalkwing.cli.refusal import Refused


@click.command(short_help="Find out whether anything sealed was changed.")
@book_options
@format_option
def verify(place: str | None, folder: Path | None, form: str) -> None:
    """Hold every signed record, the ledger and every recording against their seals. Exit code 2 on a fault.

    Keep the last seal that is told somewhere else: with it a book that was replaced whole shows as well.
    """
    from chalkwing.book import ledger, sealing

    with opened(place, folder) as book:
        faults = list(sealing.faults(book))
        with book.reading() as session:
            seal = ledger.last_seal(session)
    if form == "json":
        tell({"faults": faults, "last_seal": seal})
    elif not faults:
        click.echo(f"Everything is as it was sealed. Last seal {seal}.")
    if faults:
        raise Refused("not as it was sealed:" + "".join(f"\n  {fault}" for fault in faults))


@click.command(short_help="Copy the whole book into one file.")
@click.argument("goal", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE")
@click.option("--overwrite", is_flag=True, help="Replace FILE if it exists.")
@book_options
def backup(goal: Path, overwrite: bool, place: str | None, folder: Path | None) -> None:
    """Write the book, records and recordings, into FILE (zip), while others may go on entering.

    \b
    Example: chalkwing book backup book-2026-05-14.zip
    """
    from chalkwing.book.keeping import backup as write

    refuse_unwritable(goal, overwrite=overwrite)
    with opened(place, folder) as book:
        seal = write(book, goal)
    click.echo(f"Written: {goal}. Last seal {seal}.")


@click.command(short_help="Bring a backup back, into a new folder.")
@click.argument("archive", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="FILE")
@click.option("--book", "place", metavar="PLACE", help="The new folder; else CHALKWING_BOOK, else your own.")
def restore(archive: Path, place: str | None) -> None:
    """Unpack the backup FILE into a new folder; nothing is ever written over.

    \b
    Example: chalkwing book restore book-2026-05-14.zip --book restored
    """
    from chalkwing.book import sealing
    from chalkwing.book.keeping import restore as unpack

    book = unpack(archive, place)
    faults = len(list(sealing.faults(book)))
    book.close()
    held = "everything is as it was sealed" if not faults else f"{faults} faults: see chalkwing book verify"
    click.echo(f"Restored to {book.place}; {held}.")


@click.command(short_help="Write the book in open forms.")
@click.argument("goal", type=click.Path(path_type=Path), metavar="FOLDER")
@click.option(
    "--as",
    "form",
    type=click.Choice(["csv", "parquet", "json"]),
    default="csv",
    show_default=True,
    help="A table a file, or everything in one JSON file.",
)
@book_options
def export(goal: Path, form: str, place: str | None, folder: Path | None) -> None:
    """Write every table of the book into FOLDER, which must be new or empty.

    \b
    Example: chalkwing book export out --as parquet
    """
    from chalkwing.book import exporting

    with opened(place, folder) as book:
        written = exporting.export(book, goal, cast("exporting.Form", form))
    click.echo(f"Written to {goal}: {', '.join(path.name for path in written)}.")


@click.command(short_help="Erase a raw recording; what was judged stays.")
@click.argument("digest")
@click.option("--why", required=True, metavar="TEXT", help="The reason, for the ledger.")
@who_option
@book_options
def erase(digest: str, why: str, who: str, place: str | None, folder: Path | None) -> None:
    """Erase the recording whose DIGEST, or the beginning of it, `chalkwing book show LESSON` tells.

    The record of what was judged, and its seals, stay. The lesson cannot be judged anew afterward.

    \b
    Example: chalkwing book erase 3f9a2c --why "the student asked for it"
    """
    from chalkwing.book.keeping import erase as remove

    with opened(place, folder) as book:
        gone = remove(book, digest, who=who, why=why)
    click.echo(f"Erased: {gone.name} ({gone.sha256[:12]}). What was judged of it stays.")


@click.command(short_help="What has been kept for as long as the rule asks.")
@click.option(
    "--record-years", type=click.FloatRange(0), default=3.0, show_default=True, help="After the end."
)
@click.option(
    "--recording-days", type=click.FloatRange(0), default=365.0, show_default=True, help="Raw files."
)
@book_options
@format_option
def due(
    record_years: float, recording_days: float, place: str | None, folder: Path | None, form: str
) -> None:
    """Tell which records and recordings have been kept for as long as the school's rule asks.

    Nothing is removed by itself. Records: three years after the training ended covers 14 CFR 61.189 and
    141.101 and ORA.ATO.120; some states ask for five.
    """
    from chalkwing.book.keeping import Retention
    from chalkwing.book.keeping import due as over

    retention = Retention(record_years=record_years, recording_days=recording_days)
    with opened(place, folder) as book, book.reading() as session:
        told = list(over(session, retention))
    if form == "json":
        tell({"due": told})
    else:
        click.echo("\n".join(told) if told else "Nothing is due.")
