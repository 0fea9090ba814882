"""Change over months: what the sets of a school told one after the other, and a reader's own leniency."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book.agreement import Leniency
from chalkwing.book.common.results import Reader, result
from chalkwing.book.common.tables import CommonSet
from chalkwing.errors import BookTrouble

COMPARE = (
    "Sets differ in how hard their maneuvers are to tell apart, and alpha with them: it is the maneuvers "
    "talked over that change how one judges."
)


@dataclass(frozen=True)
class SetThen:
    """One set of the past: what it told, alpha with its interval, and the reader's own leniency in it."""

    number: int
    name: str
    made: str
    said: str
    alpha: float | None
    low: float | None
    high: float | None
    own: Leniency | None


def over_time(session: Session, reader: Reader) -> list[SetThen]:
    """The sets that this reader may read, the oldest first."""
    told = []
    for found in session.scalars(select(CommonSet).order_by(CommonSet.made, CommonSet.id)):
        try:
            one = result(session, found, Reader(reader.person))
        except BookTrouble:
            continue  # not finished by this reader, and not closed
        agreed = one.agreement
        told.append(
            SetThen(
                one.number, one.name, one.made, agreed.said, agreed.alpha, agreed.low, agreed.high, one.own
            )
        )
    return told


def change_said(told: list[SetThen]) -> str:
    """What can be said of the first and the last set that have an alpha."""
    borne = [
        (each.name, each.alpha, each.low, each.high)
        for each in told
        if each.alpha is not None and each.low is not None and each.high is not None
    ]
    if len(borne) < 2:
        return "Too few sets to tell a change: two that bear an alpha with an interval are needed."
    (first, was, was_low, was_high), (last, now, now_low, now_high) = borne[0], borne[-1]
    said = f"From “{first}” to “{last}” alpha went from {was:.2f} to {now:.2f}"
    if now_low > was_high:
        return f"{said}: they judge more alike than before."
    if now_high < was_low:
        return f"{said}: they judge less alike than before."
    return f"{said}; the intervals lie over each other, so this may be no change."
