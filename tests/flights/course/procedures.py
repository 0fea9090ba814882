"""What a procedure is: a generator of aims that is told what is seen, and a log of what it did when."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from typing import Any

from tests.flights.airplanes import Airplane
from tests.flights.course.aims import Aim, Seen

Aims = Generator[Aim, Seen, None]


@dataclass
class Log:
    """The pilot's own account: times of their acts [s], the ground they went by, whether they gave up."""

    kind: str
    start: float
    directions: list[int] = field(default_factory=list)
    marks: dict[str, float] = field(default_factory=dict)
    ground: dict[str, Any] = field(default_factory=dict)
    status: str = "complete"
    stop: float = 0.0

    def mark(self, event: str, seen: Seen) -> None:
        """Keep the first time of an event."""
        self.marks.setdefault(event, seen.time)


@dataclass
class Procedure:
    """One maneuver about to be flown."""

    aims: Aims
    log: Log


@dataclass(frozen=True)
class Setting:
    """What every procedure may know when it begins: the airplane and the wind."""

    airplane: Airplane
    wind_toward: float
    wind_speed: float


def gave_up(log: Log, seen: Seen) -> None:
    """Note that the maneuver was broken off here."""
    log.status = "broken_off"
    log.mark("gave_up", seen)


def straight(seconds: float, seen: Seen, aim: Aim) -> Generator[Aim, Seen, Seen]:
    """Keep an aim for a while; returns the last look."""
    until = seen.time + seconds
    while seen.time < until:
        seen = yield aim
    return seen


def wings_level(seen: Seen, heading: float, aim: Aim, *, most: float = 8.0) -> Generator[Aim, Seen, Seen]:
    """Turn to a heading that is nearly reached until the wings are level."""
    until = seen.time + most
    rolling = replace(aim, heading=heading, bank=None, circle=None, line=None)
    while seen.time < until and abs(seen.bank) > 0.025:
        seen = yield rolling
    return seen
