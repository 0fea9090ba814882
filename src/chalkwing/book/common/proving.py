"""Whether the marks of common sets are those that the ledger tells of."""

from __future__ import annotations

import json
from collections.abc import Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book.common.tables import WHOLE, CommonManeuver, CommonMark
from chalkwing.book.tables import LedgerLine

MARKED = "common set marked"
SUBJECT = "common set "
_Key = tuple[int, int, int, str]
"""Set, maneuver of it, instructor and element."""


def mark_faults(session: Session) -> Iterator[str]:
    """Every mark that is gone, changed or slipped in since it was given, in words."""
    told, kept = _told(session), _kept(session)
    for key in sorted(told.keys() | kept.keys()):
        if told.get(key) != kept.get(key):
            number, place, _, element = key
            what = f"common set {number}, maneuver {place}{f', {element}' if element else ''}"
            if key not in kept:
                yield f"{what}: the ledger tells of a mark, but it is gone"
            elif key not in told:
                yield f"{what}: there is a mark of which the ledger does not tell"
            else:
                yield f"{what}: a mark is not what was given"


def _told(session: Session) -> dict[_Key, str]:
    found: dict[_Key, str] = {}
    for line in session.scalars(select(LedgerLine).where(LedgerLine.act == MARKED)):
        content = json.loads(line.content)
        number = int(line.subject.removeprefix(SUBJECT))
        for element, step in {WHOLE: content["step"], **content["elements"]}.items():
            found[number, content["maneuver"], content["instructor"], element] = step
    return found


def _kept(session: Session) -> dict[_Key, str]:
    rows = session.execute(
        select(
            CommonManeuver.set_id,
            CommonManeuver.place,
            CommonMark.instructor_id,
            CommonMark.element,
            CommonMark.step,
        ).join(CommonMark, CommonMark.maneuver_id == CommonManeuver.id)
    )
    return {(number, place, who, element): step for number, place, who, element, step in rows}
