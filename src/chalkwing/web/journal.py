"""What people changed of a lesson: who, when and why, one line each, never rewritten.

Corrections are kept as the tables of a correction file; beside them stand notes, verdicts that an instructor
overrides, and lines that undo an earlier line.
"""

from __future__ import annotations

import json
import os
import threading
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chalkwing.errors import RefusedRequest
from chalkwing.web.shelf import now

CORRECTIONS = ("add", "drop", "rename", "trim", "label", "assign", "ground", "mark", "stretch")
"""Acts that change what is found and judged, or what goes into its report."""
OVERRIDE, NOTE, UNDO = "override", "note", "undo"
VERDICTS = ("met", "not_met", "cannot_tell")
_LONGEST = 2000
_MOST = 5000
_NEAR = 5.0
"""Seconds by which a note may lie outside the maneuver it was made on: its edges may have moved since."""


@dataclass(frozen=True)
class Entry:
    """One line: its number from 1, what was sent, and whether it still stands."""

    id: int
    table: Mapping[str, Any]
    stands: bool

    @property
    def act(self) -> str:
        """What kind of change it is."""
        return str(self.table["act"])


class Journal:
    """The lines of one lesson."""

    _lock = threading.Lock()

    def __init__(self, path: Path) -> None:
        self._path = path

    def entries(self) -> list[Entry]:
        """All lines, the oldest first."""
        if not self._path.is_file():
            return []
        tables = [json.loads(line) for line in self._path.read_text(encoding="utf-8").splitlines()]
        stands = _standing(tables)
        return [Entry(k, table, stands[k - 1]) for k, table in enumerate(tables, start=1)]

    def add(self, table: Mapping[str, Any]) -> int:
        """Write one line, forced to the disk, and give its number."""
        line = json.dumps(table, ensure_ascii=False)
        with self._lock:
            number = len(self.entries()) + 1
            if number > _MOST:
                raise RefusedRequest("this lesson has too many changes already.", status=409)
            with self._path.open("a", encoding="utf-8") as file:
                file.write(line + "\n")
                file.flush()
                os.fsync(file.fileno())
        return number


def _standing(tables: Sequence[Mapping[str, Any]]) -> list[bool]:
    """Which lines stand: from the last to the first, a line that stands and undoes takes its target away."""
    stands = [True] * len(tables)
    for k in range(len(tables) - 1, -1, -1):
        if stands[k] and tables[k]["act"] == UNDO:
            stands[int(tables[k]["undoes"]) - 1] = False
    return stands


def corrections(entries: Iterable[Entry]) -> list[dict[str, Any]]:
    """The tables of the corrections that stand, as a correction file has them."""
    return [dict(each.table) for each in entries if each.stands and each.act in CORRECTIONS]


def with_undone(entries: Sequence[Entry], number: int) -> list[Entry]:
    """The lines as they would be after that line is undone."""
    undo = {"act": UNDO, "undoes": number}
    stands = _standing([*(each.table for each in entries), undo])
    return [Entry(each.id, each.table, stands[k]) for k, each in enumerate(entries)]


def checked(sent: Mapping[str, Any], entries: Sequence[Entry]) -> dict[str, Any]:
    """What a page sent as a line to keep; whether a correction fits is told by whoever applies it."""
    table = {str(key): value for key, value in sent.items() if value is not None}
    table["when"] = now()
    act = table.get("act")
    if not isinstance(table.get("by"), str) or not table["by"].strip():
        raise RefusedRequest("a change is kept with who made it.", where="by", next_step="Give your name.")
    if any(isinstance(value, str) and len(value) > _LONGEST for value in table.values()):
        raise RefusedRequest(f"a text is longer than {_LONGEST} letters.")
    if act == OVERRIDE:
        _check_override(table)
    elif act == NOTE:
        _number(table, "at_s")
        _text(table, "text", "A note needs words.")
    elif act == UNDO:
        number = table.get("undoes")
        if not isinstance(number, int) or not 1 <= number <= len(entries) or not entries[number - 1].stands:
            raise RefusedRequest("there is no such change to undo.", status=409)
    elif act not in CORRECTIONS:
        raise RefusedRequest("no change is called that.", where="act")
    return table


def _check_override(table: Mapping[str, Any]) -> None:
    _number(table, "at_s")
    _text(table, "kind", "Name the maneuver.")
    _text(table, "element", "Name the element.")
    _text(table, "why", "Overriding a verdict needs a reason.")
    if table.get("verdict") not in VERDICTS:
        raise RefusedRequest("a verdict is met, not_met or cannot_tell.", where="verdict")
    if not isinstance(table.get("half"), int | None):
        raise RefusedRequest("a half is counted from 1.", where="half")


def _number(table: Mapping[str, Any], key: str) -> None:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedRequest("a time is a number of seconds.", where=key)


def _text(table: Mapping[str, Any], key: str, next_step: str) -> None:
    value = table.get(key)
    if not isinstance(value, str) or not value.strip():
        raise RefusedRequest("it is missing.", where=key, next_step=next_step)


def belongs(table: Mapping[str, Any], *, kind: str, start_s: float, end_s: float) -> bool:
    """Whether a note or an override was made on this maneuver."""
    if table.get("kind") not in (None, kind):
        return False
    return start_s - _NEAR <= float(table["at_s"]) <= end_s + _NEAR
