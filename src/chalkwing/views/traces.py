"""What pictures are drawn from: the parts of a maneuver, planned or flown, in pilot units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from chalkwing.units import Floats

Role = Literal["plan", "flown"]
Against = Literal["heading", "time"]
"""What profiles run along: heading change, or time where a maneuver does not turn one way."""


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

    @property
    def said(self) -> str:
        """The name as it stands beside the point."""
        return f"{self.name}°" if self.name.isdigit() else self.name.replace("_", " ")


@dataclass(frozen=True)
class Samples:
    """Raw recorded rows, shape (n,): times [s from the maneuver's start], heading changes [deg], values."""

    time_s: Floats
    heading_change_deg: Floats
    values: Floats

    def along(self, against: Against) -> Floats:
        """Heading change [deg], or time [s]."""
        return self.heading_change_deg if against == "heading" else self.time_s


@dataclass(frozen=True)
class Trace:
    """One part of a maneuver, as planned or as flown; every array has shape (n,).

    ``heading_change_deg`` counts from where the part began, in its direction of turn. On the nose path the
    part starts at ``start_deg`` and runs with ``sense`` +1 or -1: the second half of a lazy eight runs back
    from 180. ``values`` by name with unit: ``pitch_from_level_deg``, ``bank_into_turn_deg``, ``airspeed_kt``,
    ``altitude_change_ft``, ``ground_north_ft``, ... ``sds`` are their standard deviations and ``samples`` the
    raw rows, where there are any. Altitudes, places and energy count from the maneuver's entry. Where several
    attempts are laid over each other each is called by its ``name`` and takes one of the two chalks (1 or 2)
    whole; with 0 each part takes its own.
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
    samples: Mapping[str, Samples] = field(default_factory=dict)
    chalk: int = 0
    name: str = ""

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
