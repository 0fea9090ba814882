"""A student's training record on paper, with the rule that asks for each field."""

from __future__ import annotations

from chalkwing.book.sealing import STATEMENT
from chalkwing.book.training import LOG, PROGRESS, SIGNED_BY_INSTRUCTOR, TrainingRecord
from chalkwing.debriefs import CAUTION, as_plain
from chalkwing.paper.debrief import SHEETS
from chalkwing.paper.printing import printed


def record_pdf(told: TrainingRecord, *, paper: str = "a4") -> bytes:
    """The record as PDF; ``paper`` is a key of `chalkwing.paper.debrief.SHEETS`."""
    sheet = SHEETS[paper]
    data = {
        "paper": sheet.plain(),
        "record": as_plain(told),
        "sources": {"log": LOG, "progress": PROGRESS, "signatures": SIGNED_BY_INSTRUCTOR},
        "statement": STATEMENT,
        "caution": CAUTION,
    }
    return printed("record.typ", data)


def file_name(number: int, name: str) -> str:
    """What the file of a person is called: two of one name differ by their number in the book."""
    plain = "-".join("".join(c if c.isalnum() else " " for c in name.lower()).split())
    return f"{number}-{plain[:60]}.pdf"
