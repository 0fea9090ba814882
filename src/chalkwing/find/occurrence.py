"""The Occurrence: one maneuver found in a Motion, or placed there by a person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Direction = Literal["left", "right", "none"]
Status = Literal["complete", "broken_off"]
FlownBy = Literal["student", "instructor", "shared", "unknown"]


@dataclass(frozen=True)
class Part:
    """One turn of a maneuver (a half of a lazy eight, the whole of a steep turn) [s from the earliest row].

    ``start`` is where its turn begins, ``end`` where its turn stops: wings pass level, or for the last
    part the wings-level rollout.
    """

    direction: Direction
    start: float
    end: float
    start_sd: float
    end_sd: float


@dataclass(frozen=True)
class Border:
    """Where one leg gives way to the next in a maneuver that goes by time: its event, time and sd [s]."""

    event: str
    time: float
    sd: float


@dataclass(frozen=True)
class Occurrence:
    """A maneuver with its edges, their sd [s], and the probability that it is what it is called.

    ``parts`` follow each other in time. A chain is several occurrences; ``chained`` is True for one that
    begins where the one before it ends.
    """

    kind: str
    direction: Direction
    start: float
    end: float
    start_sd: float
    end_sd: float
    probability: float
    status: Status
    parts: tuple[Part, ...]
    chained: bool = False
    flown_by: FlownBy = "unknown"
    corrected: bool = False
    borders: tuple[Border, ...] = ()
