"""The log: who signed in, was refused, looked at or changed what. Lines are only ever added."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book.accounts.tables import AuditLine

NOBODY = "nobody"
"""Who it was where nobody is signed in."""
COMMAND = "command line"
"""The address of what was done at the machine itself."""


@dataclass(frozen=True)
class Line:
    """One line as pages and JSON tell it."""

    number: int
    made: str
    who: str
    act: str
    subject: str
    address: str
    told: Mapping[str, Any]


def enter(
    session: Session, *, who: str, act: str, subject: str, address: str, told: Mapping[str, Any] | None = None
) -> None:
    """Write one line, in the transaction of what it tells of where there is one. No secret goes in here."""
    words = None if told is None else json.dumps(dict(told), ensure_ascii=False, sort_keys=True)
    session.add(AuditLine(who=who[:120], act=act, subject=subject[:200], address=address[:64], told=words))


def lines(
    session: Session,
    *,
    newest: int = 100,
    before: int | None = None,
    who: str | None = None,
    act: str | None = None,
) -> list[Line]:
    """The newest lines first; with ``before`` only those with a smaller number."""
    chosen = select(AuditLine).order_by(AuditLine.id.desc()).limit(newest)
    if before is not None:
        chosen = chosen.where(AuditLine.id < before)
    if who is not None:
        chosen = chosen.where(AuditLine.who == who)
    if act is not None:
        chosen = chosen.where(AuditLine.act == act)
    return [
        Line(
            number=each.id,
            made=each.made.isoformat(),
            who=each.who,
            act=each.act,
            subject=each.subject,
            address=each.address,
            told={} if each.told is None else json.loads(each.told),
        )
        for each in session.scalars(chosen)
    ]
