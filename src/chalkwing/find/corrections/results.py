"""What comes of laying corrections over what was found: every maneuver beside what it was found as."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.find.corrections.model import (
    NOTHING,
    Add,
    Asked,
    Assign,
    Correction,
    Drop,
    Ground,
    Label,
    Mark,
    Rename,
    Stretch,
    Trim,
    What,
)
from chalkwing.find.occurrence import Occurrence
from chalkwing.motion.motion import Motion


@dataclass(frozen=True)
class FoundFlight:
    """One flight and what was found in it; ``shift`` [s] takes its clock to that of the earliest row."""

    motion: Motion
    shift: float
    found: tuple[Occurrence, ...]


@dataclass(frozen=True)
class Entry:
    """A maneuver as it stands now, ``found`` as it was found (None for one that a person added).

    ``flight`` counts from 0, ``place`` is its place among what was found in that flight. ``changed_by`` are
    the places of the corrections that touched it.
    """

    flight: int
    occurrence: Occurrence
    found: Occurrence | None
    place: int | None
    asked: Asked = NOTHING
    ground: Ground | None = None
    student: str | None = None
    instructor: str | None = None
    changed_by: tuple[int, ...] = ()
    dropped: bool = False


@dataclass(frozen=True)
class Outcome:
    """What became of one correction.

    ``settled`` names its maneuver by kind and start as found, to be kept; ``fault`` and ``reason`` say why it
    was not laid over. ``entry`` is the place of its maneuver in `Overlaid.entries`.
    """

    correction: Correction
    settled: Correction
    fault: str | None = None
    reason: str | None = None
    entry: int | None = None

    @property
    def fits(self) -> bool:
        """Whether it was laid over."""
        return self.fault is None


@dataclass(frozen=True)
class PlacedMark:
    """A mark at its moment [s from the earliest row]; ``gap`` [s] is how far off its maneuver lies."""

    mark: Mark
    by: str
    time: float
    entry: int | None
    gap: float


@dataclass(frozen=True)
class PlacedStretch:
    """Whose lesson it was from ``start`` to ``end`` [s from the earliest row]."""

    stretch: Stretch
    by: str
    start: float
    end: float


@dataclass(frozen=True)
class Overlaid:
    """What was found with all corrections laid over it; entries by flight and time, dropped ones included."""

    entries: tuple[Entry, ...]
    outcomes: tuple[Outcome, ...]
    marks: tuple[PlacedMark, ...]
    stretches: tuple[PlacedStretch, ...]


def said(what: What) -> str:
    """A correction in a few words."""
    match what:
        case Add():
            return f"add {what.kind.replace('_', ' ')} {what.start} to {what.end}"
        case Drop():
            return f"drop {what.which}"
        case Rename():
            return f"rename {what.which} to {what.to.replace('_', ' ')}"
        case Trim():
            ends = [f"{word} {at}" for word, at in (("start", what.start), ("end", what.end)) if at]
            return f"trim {what.which}: {', '.join(ends)}"
        case Label():
            return f"label {what.which}: {what.flown_by}"
        case Assign():
            return f"assign {what.which or 'every maneuver'}"
        case Ground():
            return f"ground reference of {what.which}"
        case Mark():
            return f"mark {what.at} {what.text}"
        case Stretch():
            named = " ".join(word for word in (what.student, what.instructor, what.flown_by) if word)
            return f"stretch {what.start or 'start'} to {what.end or 'end'}: {named}"
