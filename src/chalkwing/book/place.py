"""Where a book is kept: a folder with an SQLite file, or a PostgreSQL address and a folder for files."""

from __future__ import annotations

import os
import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import platformdirs
from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError

from chalkwing.errors import BookTrouble

FILE = "book.sqlite"
ENVIRONMENT = "CHALKWING_BOOK"
FILES_ENVIRONMENT = "CHALKWING_BOOK_FILES"
_PATIENCE = 30_000
"""How long a writer waits for another to finish [ms]."""


@dataclass(frozen=True)
class Place:
    """``url`` of the database, and the ``folder`` in which recordings lie."""

    url: str
    folder: Path

    @property
    def embedded(self) -> bool:
        """Whether the database is a file in the folder."""
        return self.url.startswith("sqlite")

    @property
    def database(self) -> Path:
        """The file of an embedded book."""
        return self.folder / FILE

    def __str__(self) -> str:
        if self.embedded:
            return str(self.folder)
        return make_url(self.url).render_as_string(hide_password=True)


def place_of(where: str | Path | None = None, *, files: Path | None = None) -> Place:
    """The book at ``where``: a folder or a ``postgresql://`` address; by default the user's own.

    ``CHALKWING_BOOK`` names another default; a book on PostgreSQL needs a folder for its recordings,
    ``files`` or ``CHALKWING_BOOK_FILES``.
    """
    said = str(where or os.environ.get(ENVIRONMENT) or platformdirs.user_data_path("chalkwing") / "book")
    if "://" not in said:
        folder = Path(said).expanduser().absolute()
        return Place(f"sqlite:///{folder / FILE}", folder)
    folder = files or _named_folder()
    try:
        url = make_url(said)
    except ArgumentError:
        raise BookTrouble(
            "this is no address of a database.",
            where=said,
            next_step="Write postgresql://USER@HOST/NAME, or give a folder.",
        ) from None
    if url.get_backend_name() != "postgresql":
        raise BookTrouble(
            "a book is kept on PostgreSQL or in a folder.",
            where=said.split("://")[0],
            next_step="Write postgresql://USER@HOST/NAME, or give a folder.",
        )
    address = url.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)
    return Place(address, folder.expanduser().absolute())


def _named_folder() -> Path:
    named = os.environ.get(FILES_ENVIRONMENT)
    if not named:
        raise BookTrouble(
            "a book on PostgreSQL needs a folder for its recordings.",
            next_step=f"Give --files FOLDER, or set {FILES_ENVIRONMENT}.",
        )
    return Path(named)


def engine_of(place: Place) -> Engine:
    """The database of a book. SQLite writes ahead, checks foreign keys, and one writer waits for another."""
    if not place.embedded:
        return create_engine(place.url, pool_pre_ping=True)
    engine = create_engine(place.url, connect_args={"timeout": _PATIENCE / 1000})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
    # The driver's own way of opening transactions comes too late to serialize writers: `_begin` does it.
    connection.isolation_level = None
    for pragma in (
        "journal_mode = WAL",
        "foreign_keys = ON",
        "synchronous = FULL",
        f"busy_timeout = {_PATIENCE}",
    ):
        connection.execute(f"PRAGMA {pragma}")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
