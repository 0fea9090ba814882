"""What pictures are drawn from: the parts of a maneuver, planned or flown, in pilot units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from chalkwing.units import Floats

Role = Literal["plan", "flown"]
Against = Literal["heading", "time"]
"""What profiles run along: heading change, or time where a maneuver does not turn one way."""
_ALIKE = 0.03
"""Parts whose lines differ by less than this share of the picture's range are drawn once."""


@dataclass(frozen=True)
class Mark:
    """A named point on a trace: ``values`` by name with unit, and whether its numbers are written."""

    name: str
    heading_change_deg: float
    values: Mapping[str, float]
    told: bool = True
    time_s: float = 0.0

    @property
    def nominal_deg(self) -> float:
        """What a point named by its degrees stands for; else where it is."""
        return float(self.name) if self.name.isdigit() else self.heading_change_deg


@dataclass(frozen=True)
class Trace:
    """One part of a maneuver, as planned or as flown; every array has shape (n,).

    ``heading_change_deg`` counts from where the part began, in its direction of turn. On the nose path the
    part starts at ``start_deg`` and runs with ``sense`` +1 or -1: the second half of a lazy eight runs back
    from 180. ``values`` by name with unit: ``pitch_from_level_deg``, ``bank_into_turn_deg``, ``airspeed_kt``,
    ``altitude_change_ft``, ``ground_north_ft``, ... ``sds`` are their standard deviations and ``samples`` the
    raw rows (heading change, value), where there are any.
    """

    part: int
    role: Role
    time_s: Floats
    heading_change_deg: Floats
    values: Mapping[str, Floats]
    marks: tuple[Mark, ...] = ()
    start_deg: float = 0.0
    sense: int = 1
    sds: Mapping[str, Floats] = field(default_factory=dict)
    samples: Mapping[str, tuple[Floats, Floats]] = field(default_factory=dict)

    @property
    def nose_deg(self) -> Floats:
        """Where the nose is along the horizon, from the entry [deg]."""
        along: Floats = self.start_deg + self.sense * self.heading_change_deg
        return along

    def nose_of(self, heading_change_deg: float) -> float:
        """The same for one heading change of this part."""
        return self.start_deg + self.sense * heading_change_deg

    def along(self, against: Against) -> Floats:
        """Heading change [deg], or time [s]."""
        return self.heading_change_deg if against == "heading" else self.time_s

    def beads(self, every_s: float) -> list[int]:
        """The rows nearest to each multiple of ``every_s`` after the part's start."""
        since = self.time_s - self.time_s[0]
        return [int(np.argmin(np.abs(since - t))) for t in np.arange(every_s, since[-1], every_s)]


def distinct(traces: Sequence[Trace], quantity: str) -> list[Trace]:
    """The traces, each plan left out whose ``quantity`` lies on an earlier plan's over heading change."""
    kept: list[Trace] = []
    for trace in traces:
        earlier = [other for other in kept if trace.role == other.role == "plan"]
        if not any(_alike(trace, other, quantity) for other in earlier):
            kept.append(trace)
    return kept


def _alike(one: Trace, other: Trace, quantity: str) -> bool:
    place = np.linspace(0.0, float(min(one.heading_change_deg.max(), other.heading_change_deg.max())), 60)
    a, b = (_at(trace, quantity, place) for trace in (one, other))
    return bool(np.max(np.abs(a - b)) <= _ALIKE * max(float(np.ptp(a)), 1.0))


def _at(trace: Trace, quantity: str, heading_change_deg: Floats) -> Floats:
    """Values over heading change, which need not rise everywhere: a running maximum makes it."""
    rising = np.maximum.accumulate(trace.heading_change_deg)
    values: Floats = np.interp(heading_change_deg, rising, trace.values[quantity])
    return values
