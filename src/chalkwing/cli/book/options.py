"""Options that all commands of the book share, and how they open it."""

from __future__ import annotations

import getpass
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from chalkwing.cli.options import F

if TYPE_CHECKING:
    from chalkwing.book import Book


def book_options(command: F) -> F:
    """``--book`` and ``--files``: which book."""
    for decorate in (
        click.option(
            "--files",
            "folder",
            type=click.Path(file_okay=False, path_type=Path),
            metavar="FOLDER",
            help="Where the recordings of a book on PostgreSQL lie; else CHALKWING_BOOK_FILES.",
        ),
        click.option(
            "--book",
            "place",
            metavar="PLACE",
            help="The book: a folder, or postgresql://USER@HOST/NAME; else CHALKWING_BOOK, else your own.",
        ),
    ):
        command = decorate(command)
    return command


def who_option(command: F) -> F:
    """``--who``: whose doing it is."""
    return click.option(
        "--who",
        default=_login,
        metavar="NAME",
        envvar="CHALKWING_WHO",
        help="Who does this, for the ledger; else the name you are logged in by.",
    )(command)


def why_option(command: F) -> F:
    """``--why``: needed once a lesson is signed."""
    return click.option("--why", metavar="TEXT", help="Why; needed where a signed record is changed.")(
        command
    )


def _login() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return "unknown"


@contextmanager
def opened(place: str | None, files: Path | None, *, create: bool = False) -> Iterator[Book]:
    """The book, let go of afterward."""
    from chalkwing.book import open_book

    book = open_book(place, files=files, create=create)
    try:
        yield book
    finally:
        book.close()


def tell(thing: Any) -> None:
    """A result as JSON."""
    click.echo(json.dumps(thing, ensure_ascii=False, indent=2, allow_nan=False))
