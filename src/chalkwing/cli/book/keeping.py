"""Keeping the book: verify, backup, restore, export, erase, what is due."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

import click

from chalkwing.cli.book.options import book_options, opened, tell, who_option
from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import format_option
from chalkwing.cli.progress import shown_progress
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from chalkwing.book import Book


@click.command(short_help="Find out whether anything sealed was changed.")
@book_options
@format_option
def verify(place: str | None, folder: Path | None, form: str) -> None:
    """Hold every signed record, the ledger and every recording against their seals. Exit code 2 on a fault.

    Keep the last seal that is told somewhere else: with it a book that was replaced whole shows as well.
    """
    from chalkwing.book import ledger, sealing

    with opened(place, folder) as book:
        with shown_progress() as progress:
            faults = list(sealing.faults(book, progress=progress))
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
@format_option
def backup(goal: Path, overwrite: bool, place: str | None, folder: Path | None, form: str) -> None:
    """Write the book, records and recordings, into FILE (zip), while others may go on entering.

    \b
    Example: chalkwing book backup book-2026-05-14.zip
    """
    from chalkwing.book.keeping import backup as write

    refuse_unwritable(goal, overwrite=overwrite)
    with opened(place, folder) as book, shown_progress() as progress:
        seal = write(book, goal, progress=progress)
    if form == "json":
        tell({"file": str(goal), "last_seal": seal})
    else:
        click.echo(f"Written: {goal}. Last seal {seal}.")


@click.command(short_help="Bring a backup back, into a new folder.")
@click.argument("archive", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="FILE")
@click.option("--book", "place", metavar="PLACE", help="The new folder; else CHALKWING_BOOK, else your own.")
@format_option
def restore(archive: Path, place: str | None, form: str) -> None:
    """Unpack the backup FILE into a new folder; nothing is ever written over.

    \b
    Example: chalkwing book restore book-2026-05-14.zip --book restored
    """
    from chalkwing.book import sealing
    from chalkwing.book.keeping import restore as unpack

    book = unpack(archive, place)
    with shown_progress() as progress:
        faults = len(list(sealing.faults(book, progress=progress)))
    book.close()
    if form == "json":
        tell({"book": str(book.place), "faults": faults})
        return
    held = "everything is as it was sealed" if not faults else f"{faults} faults: see chalkwing book verify"
    click.echo(f"Restored to {book.place}; {held}.")


@click.command(short_help="Write the book in open forms, or training records as PDF.")
@click.argument("goal", type=click.Path(path_type=Path), metavar="FOLDER")
@click.option(
    "--as",
    "kind",
    type=click.Choice(["csv", "parquet", "json", "pdf"]),
    default="csv",
    show_default=True,
    help="A table a file, everything in one JSON file, or a training record for each student.",
)
@click.option("--student", metavar="NAME", help="With --as pdf: the training record of this student alone.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Sheet of the training records.",
)
@book_options
@format_option
def export(
    goal: Path,
    kind: str,
    student: str | None,
    paper: str,
    place: str | None,
    folder: Path | None,
    form: str,
) -> None:
    """Write every table of the book into FOLDER, which must be new or empty.

    With --as pdf it is a training record for each student instead: what 14 CFR 61.51, 61.189 and 141.101 and
    ORA.ATO.120 ask for, each field with its source, and what the book does not hold.

    \b
    Examples: chalkwing book export out --as parquet
              chalkwing book export records --as pdf
              chalkwing book export mina --as pdf --student "Mina Orlo"
    """
    from chalkwing.book import exporting

    if student is not None and kind != "pdf":
        raise Refused("--student is for training records: give --as pdf too.")
    with opened(place, folder) as book:
        if kind == "pdf":
            written = _training_records(book, goal, student, paper)
        else:
            written = exporting.export(book, goal, cast("exporting.Form", kind))
    if form == "json":
        tell({"folder": str(goal), "files": [path.name for path in written]})
    elif kind == "pdf":
        count = f"{len(written)} training record{'' if len(written) == 1 else 's'}"
        click.echo(f"Written to {goal}: {count}.")
    else:
        click.echo(f"Written to {goal}: {', '.join(path.name for path in written)}.")


def _training_records(book: Book, goal: Path, student: str | None, paper: str) -> list[Path]:
    """A PDF for each student, or for one, each whole or not at all."""
    from sqlalchemy import select

    from chalkwing.book import exporting, keeping, people
    from chalkwing.book.course import course_in_force
    from chalkwing.book.tables import Person
    from chalkwing.book.training import training_record
    from chalkwing.files import whole_file
    from chalkwing.paper.record import file_name, record_pdf

    written = []
    with book.reading() as session, shown_progress() as progress:
        course = course_in_force(session)
        retention = keeping.retention_of(course)
        if student is not None:
            chosen = [people.person(session, student, role="student")]
        else:
            chosen = list(session.scalars(select(Person).where(Person.student).order_by(Person.id)))
        exporting.fresh_folder(goal)
        for place, one in enumerate(chosen):
            progress(one.name, place / len(chosen))
            told = training_record(session, one, course=course, retention=retention)
            path = goal / file_name(one.id, one.name)
            with whole_file(path) as part:
                part.write_bytes(record_pdf(told, paper=paper))
            written.append(path)
            session.expunge_all()
    return written


@click.command(short_help="Erase a raw recording; what was judged stays.")
@click.argument("digest")
@click.option("--why", required=True, metavar="TEXT", help="The reason, for the ledger.")
@who_option
@book_options
@format_option
def erase(digest: str, why: str, who: str, place: str | None, folder: Path | None, form: str) -> None:
    """Erase the recording whose DIGEST, or the beginning of it, `chalkwing book show LESSON` tells.

    The record of what was judged, and its seals, stay. The lesson cannot be judged anew afterward.

    \b
    Example: chalkwing book erase 3f9a2c --why "the student asked for it"
    """
    from chalkwing.book.keeping import erase as remove

    with opened(place, folder) as book:
        gone = remove(book, digest, who=who, why=why)
    if form == "json":
        tell({"erased": gone.name, "sha256": gone.sha256})
        return
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
