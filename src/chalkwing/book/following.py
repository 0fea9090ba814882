"""Keeping a record up with its lesson on the desk, where recordings are corrected and talked over.

Each line of the desk's journal becomes a row of the record: a note, or a correction with its table as JSON;
an instructor's own verdict is kept as one too. Undoing a line marks its row; nothing is taken out.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger, lessons
from chalkwing.book.columns import now
from chalkwing.book.judgings import Basis, Document
from chalkwing.book.tables import Correction, Lesson, Note

OVERRIDE, NOTE, UNDO = "override", "note", "undo"
_SAID_BESIDE = ("by", "when", "why")
"""What a line says that has columns of its own."""


@dataclass(frozen=True)
class Line:
    """One line of the desk's journal: its number, its table, and whether it stands."""

    number: int
    table: Mapping[str, Any]
    stands: bool


def record_at(session: Session, desk: str) -> Lesson | None:
    """The record that goes along with a lesson of the desk."""
    return session.scalars(select(Lesson).where(Lesson.desk == desk).order_by(Lesson.id)).first()


def join(session: Session, found: Lesson, desk: str, lines: Sequence[Line], *, who: str) -> None:
    """Let a record go along with a lesson of the desk from now on, with all that was said there so far."""
    found.desk = desk
    _keep(session, found, lines)
    ledger.enter(
        session,
        who=who,
        act="joined",
        subject=f"lesson {found.id}",
        content={"desk": desk, "lines": [dict(line.table) for line in lines]},
    )


def follow(
    session: Session,
    found: Lesson,
    lines: Sequence[Line],
    *,
    document: Document | None,
    basis: Basis | None,
) -> None:
    """Enter the newest of ``lines``; ``document`` is the lesson judged with it where that says anything else.

    Raises `BookTrouble` where the record is signed and the line does not say why it is changed.
    """
    newest = lines[-1].table
    why = newest.get("why")
    lessons.allow(found, why)
    _keep(session, found, lines)
    if document is not None and basis is not None:
        judging = lessons.put_in_force(session, found, document, basis=basis)
        _unsay(judging.maneuvers, newest)
    lessons.change(
        session, found, who=str(newest["by"]), act=f"desk: {newest['act']}", content=dict(newest), why=why
    )


def _unsay(maneuvers: Sequence[Any], table: Mapping[str, Any]) -> None:
    """Where the line says that it is not known who flew, nothing is carried over."""
    if table.get("act") != "label" or table.get("flown_by") != "unknown":
        return
    for each in maneuvers:
        if (
            each.kind == table.get("kind")
            and abs(each.start_s - float(table.get("at_s", -1e9))) <= lessons.NEAR
        ):
            each.flown_by = "unknown"


def _keep(session: Session, found: Lesson, lines: Sequence[Line]) -> None:
    """A row for every line that has none yet, and the rows of lines that stand no longer marked."""
    known: dict[int | None, Correction | Note] = {each.line: each for each in found.corrections}
    known |= {each.line: each for each in found.notes}
    for line in lines:
        if line.table["act"] == UNDO:
            continue
        if line.number not in known:
            known[line.number] = _row(found, line)
        row = known[line.number]
        row.undone = None if line.stands else row.undone or now()
    session.flush()


def _row(found: Lesson, line: Line) -> Correction | Note:
    who = str(line.table["by"])
    if line.table["act"] == NOTE:
        note = Note(
            lesson_id=found.id,
            moment_s=line.table["at_s"],
            text=line.table["text"],
            who=who,
            line=line.number,
        )
        found.notes.append(note)
        return note
    said = {key: value for key, value in line.table.items() if key not in _SAID_BESIDE}
    correction = Correction(
        lesson_id=found.id, text=ledger.canonical(said), who=who, why=line.table.get("why"), line=line.number
    )
    found.corrections.append(correction)
    return correction


def standing_corrections(found: Lesson) -> list[dict[str, Any]]:
    """The tables of the corrections that stand, as a correction file has them."""
    tables = []
    for each in found.corrections:
        table = json.loads(each.text)
        if each.undone is None and table.get("act") != OVERRIDE:
            tables.append({**table, "by": each.who, **({"why": each.why} if each.why else {})})
    return tables


def own_verdicts(found: Lesson) -> list[dict[str, Any]]:
    """The verdicts that an instructor set beside the computed ones, each with who and why."""
    return [
        {**table, "by": each.who, "why": each.why}
        for each in found.corrections
        if each.undone is None and (table := json.loads(each.text)).get("act") == OVERRIDE
    ]
