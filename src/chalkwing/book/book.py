"""Opening a book: its database brought up to date, its transactions, its files."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from chalkwing.book.migrate import bring_up_to_date
from chalkwing.book.place import Place, engine_of, place_of
from chalkwing.book.vault import Vault
from chalkwing.errors import BookTrouble


@dataclass(frozen=True)
class Book:
    """An open book: where it is kept, its database, and its recordings."""

    place: Place
    engine: Engine
    vault: Vault

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A session to read in; what it holds is as of one instant."""
        with _plain_errors(self.place), Session(self.engine) as session:
            if not self.place.embedded:
                session.connection(execution_options={"isolation_level": "REPEATABLE READ"})
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """A session whose changes all happen when the block ends well, or none of them."""
        with _plain_errors(self.place), Session(self.engine, expire_on_commit=False) as session:
            session.connection(execution_options={"writes": True})
            yield session
            session.commit()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


@contextmanager
def _plain_errors(place: Place) -> Iterator[None]:
    """A full disk, a locked or damaged file, a server that is away: said in words, with what to do."""
    try:
        yield
    except OperationalError as error:
        what, next_step = _trouble(str(error.orig))
        raise BookTrouble(what, where=str(place), next_step=next_step) from error
    except DatabaseError as error:
        if "malformed" in str(error) or "not a database" in str(error):
            raise BookTrouble(
                "this file is no database, or it is damaged.",
                where=str(place),
                next_step="Restore the last backup: chalkwing book restore.",
            ) from error
        raise


def _trouble(said: str) -> tuple[str, str]:
    """What is wrong and what to do, from what a database said of itself."""
    if "full" in said:
        return "the disk is full; nothing was entered.", "Make room, and do it again."
    if "readonly" in said or "unable to open" in said:
        return "the book cannot be written here.", "Check the folder and who may write in it."
    if "locked" in said:
        return "another program has held the book for half a minute.", "Try again when it is done."
    return f"the database does not answer ({said.splitlines()[0]}).", "Check that it runs."


def open_book(where: str | Path | None = None, *, files: Path | None = None, create: bool = True) -> Book:
    """Open the book at ``where`` (a folder or a ``postgresql://`` address), made and brought up to date.

    Raises
    ------
    BookTrouble
        There is no book and ``create`` is False, it was written by a newer chalkwing, or it cannot be
        reached.
    """
    place = place_of(where, files=files)
    if place.embedded and not place.database.exists():
        if not create:
            raise BookTrouble(
                "there is no book here.",
                where=str(place),
                next_step="Add a lesson (chalkwing book add), or name the book with --book.",
            )
        _make_folder(place)
    engine = engine_of(place)
    with _plain_errors(place):
        bring_up_to_date(engine)
    return Book(place, engine, Vault(place.folder))


def _make_folder(place: Place) -> None:
    try:
        place.folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BookTrouble(
            f"its folder cannot be made ({(error.strerror or 'no reason given').lower()}).",
            where=str(place),
            next_step="Name another with --book.",
        ) from error
