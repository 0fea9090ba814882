"""The base of every table, and column types that mean the same on SQLite and PostgreSQL."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, Dialect, MetaData
from sqlalchemy.orm import DeclarativeBase
from sqlalchemy.types import TypeDecorator


class Utc(TypeDecorator[datetime]):
    """An instant in UTC. SQLite forgets the zone on the way; a local time is refused, never guessed at."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To the database: only instants that know their zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value.isoformat()} has no time zone: an instant in the book is in UTC")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:
        """From the database: always with its zone."""
        if value is None:
            return None
        instant: datetime = value
        return instant.replace(tzinfo=UTC) if instant.tzinfo is None else instant.astimezone(UTC)


class Table(DeclarativeBase):
    """The base of every table; constraints have names that a migration can speak of."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_label)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


def now() -> datetime:
    """This instant, to the second: what people write in a record."""
    return datetime.now(UTC).replace(microsecond=0)
