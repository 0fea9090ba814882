"""The ledger: every change of the record on a line of its own, each line sealed by the one before it.

    seal = SHA-256(before | number | made | who | act | subject | content)

Whoever changes, drops or slips in a line breaks every seal after it. Whoever rewrites the whole ledger must
also rewrite every copy of the last seal: it is printed on backups and exports for that reason.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import select, text
from sqlalchemy.orm import Session

from chalkwing.book.columns import now
from chalkwing.book.tables import LedgerLine

BEGINNING = "0" * 64
_LOCK = 0x63776C67
"""The number of the lock by which writers of one ledger on PostgreSQL wait for each other."""


def canonical(thing: Any) -> str:
    """JSON of which there is one wording only: sorted keys, no spaces, no numbers that are none."""
    return json.dumps(thing, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest(words: str) -> str:
    """SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(words.encode()).hexdigest()


def enter(session: Session, *, who: str, act: str, subject: str, content: Mapping[str, Any]) -> LedgerLine:
    """Write the next line, in the transaction of the change it tells of: both happen or neither."""
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
    last = session.scalars(select(LedgerLine).order_by(LedgerLine.number.desc()).limit(1)).first()
    number, before = (last.number + 1, last.seal) if last else (1, BEGINNING)
    made, words = now(), canonical(content)
    line = LedgerLine(
        number=number,
        made=made,
        who=who,
        act=act,
        subject=subject,
        content=words,
        before=before,
        seal=_seal(before, number, made, who, act, subject, words),
    )
    session.add(line)
    session.flush()
    return line


def _seal(before: str, number: int, made: datetime, who: str, act: str, subject: str, content: str) -> str:
    return digest(canonical([before, number, made.isoformat(), who, act, subject, content]))


def broken_lines(session: Session) -> Iterator[str]:
    """Everything about the ledger that does not hold, in words; nothing if it is whole."""
    before, expected = BEGINNING, 1
    for line in session.scalars(select(LedgerLine).order_by(LedgerLine.number)):
        if line.number != expected:
            yield f"ledger: line {expected} is missing"
        elif line.before != before:
            yield f"ledger: line {line.number} does not follow from the line before it"
        made = _seal(line.before, line.number, line.made, line.who, line.act, line.subject, line.content)
        if made != line.seal:
            yield f"ledger: line {line.number} ({line.act}, {line.subject}) is not what was sealed"
        before, expected = line.seal, line.number + 1


def last_seal(session: Session) -> str:
    """The seal of the newest line: whoever keeps a copy can prove that nothing before it was changed."""
    return (
        session.scalars(select(LedgerLine.seal).order_by(LedgerLine.number.desc()).limit(1)).first()
        or BEGINNING
    )
