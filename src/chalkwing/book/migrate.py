"""Bringing a book's tables up to date, step by step, in one transaction."""

from __future__ import annotations

from importlib.resources import as_file, files

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, text

from chalkwing.errors import BookTrouble

_LOCK = 0x63776D67
"""The number of the lock by which two programs that open a book on PostgreSQL for the first time wait."""


def bring_up_to_date(engine: Engine) -> None:
    """Apply the steps that this book has not seen; nothing if it has seen all.

    Raises `BookTrouble` for a book written by a newer chalkwing: its tables mean what this one cannot know.
    """
    with as_file(files("chalkwing.book") / "migrations") as folder:
        config = Config()
        config.set_main_option("script_location", str(folder).replace("%", "%%"))
        newest = ScriptDirectory.from_config(config).get_current_head()
        with engine.connect() as connection:
            if MigrationContext.configure(connection).get_current_revision() == newest:
                return
        with engine.connect().execution_options(writes=True) as connection, connection.begin():
            _alone(connection)
            config.attributes["connection"] = connection
            try:
                command.upgrade(config, "head")
            except CommandError as error:
                raise BookTrouble(
                    "it was written by a newer chalkwing.", next_step="Bring chalkwing up to date."
                ) from error


def _alone(connection: Connection) -> None:
    """Wait until no other program changes the tables; on SQLite the transaction itself sees to it."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
