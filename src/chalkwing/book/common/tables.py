"""The tables of common sets: a set, its maneuvers as they are shown, and the marks given.

    common_set --- common_maneuver --- common_mark

A maneuver of a set names the judged maneuver that it was taken from; what is shown of it is kept here whole,
so that everybody marks the same pictures for as long as the set is open, whatever becomes of the program or
the recording.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from chalkwing.book.columns import Table, Utc, now
from chalkwing.book.tables import Maneuver, Person

WHOLE = ""
"""The element of a mark that is for the maneuver as a whole."""


class CommonSet(Table):
    """A common set. ``scale`` is the school's scale on the day, as JSON; ``seed`` makes everybody's order."""

    __tablename__ = "common_set"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    scale: Mapped[str] = mapped_column(Text)
    seed: Mapped[int]
    made: Mapped[datetime] = mapped_column(Utc, default=now)
    made_by: Mapped[str] = mapped_column(String(120))
    closed: Mapped[datetime | None] = mapped_column(Utc, default=None)
    closed_by: Mapped[str | None] = mapped_column(String(120), default=None)

    maneuvers: Mapped[list[CommonManeuver]] = relationship(order_by="CommonManeuver.place")


class CommonManeuver(Table):
    """One maneuver of a set: ``place`` counts from 1, ``shown`` is what its pictures are drawn from."""

    __tablename__ = "common_maneuver"

    id: Mapped[int] = mapped_column(primary_key=True)
    set_id: Mapped[int] = mapped_column(ForeignKey("common_set.id"), index=True)
    place: Mapped[int]
    maneuver_id: Mapped[int] = mapped_column(ForeignKey("maneuver.id"), index=True)
    shown: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)

    flown: Mapped[Maneuver] = relationship()
    marks: Mapped[list[CommonMark]] = relationship(order_by="CommonMark.id")

    __table_args__ = (UniqueConstraint("set_id", "place"),)


class CommonMark(Table):
    """One instructor's mark for a maneuver of a set, as a whole (``element`` empty) or for one element."""

    __tablename__ = "common_mark"

    id: Mapped[int] = mapped_column(primary_key=True)
    maneuver_id: Mapped[int] = mapped_column(ForeignKey("common_maneuver.id"), index=True)
    instructor_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    element: Mapped[str] = mapped_column(String(60), default=WHOLE)
    step: Mapped[str] = mapped_column(String(60))
    made: Mapped[datetime] = mapped_column(Utc, default=now)

    instructor: Mapped[Person] = relationship()

    __table_args__ = (UniqueConstraint("maneuver_id", "instructor_id", "element"),)
