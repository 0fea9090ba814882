"""What a pilot sees and what they are after from moment to moment; shared by both hands. SI, radians."""

from __future__ import annotations

import math
from dataclasses import dataclass

from chalkwing.units import STANDARD_GRAVITY

G = STANDARD_GRAVITY


@dataclass(slots=True)
class Seen:
    """The flight as it looks now; ``north``, ``east`` [m] from where it began, ``height`` above ground.

    ``horn`` sounds before the stall, ``buffet`` is felt beyond the wing's critical angle.
    """

    time: float
    north: float
    east: float
    velocity_north: float
    velocity_east: float
    heading: float
    bank: float
    pitch: float
    altitude: float
    height: float
    airspeed: float
    true_airspeed: float
    climb: float
    horn: bool
    buffet: bool
    on_ground: bool

    @property
    def ground_speed(self) -> float:
        return math.hypot(self.velocity_north, self.velocity_east)

    @property
    def track(self) -> float:
        """Direction over the ground, as near to the (unwrapped) heading as it can be named."""
        track = math.atan2(self.velocity_east, self.velocity_north)
        return self.heading + math.remainder(track - self.heading, 2 * math.pi)

    @property
    def turn_rate(self) -> float:
        return G * math.tan(self.bank) / max(self.true_airspeed, 15.0)


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle over the ground; ``side`` +1 turns right; ``skill`` 1 allows fully for wind, 0 not at all."""

    north: float
    east: float
    radius: float
    side: int
    skill: float = 1.0

    def outside(self, seen: Seen) -> float:
        """How far outside the circle [m]."""
        return math.hypot(seen.north - self.north, seen.east - self.east) - self.radius

    def opening(self, seen: Seen) -> float:
        """How fast the distance to the center grows [m/s]."""
        north, east = seen.north - self.north, seen.east - self.east
        far = max(math.hypot(north, east), 1.0)
        return (north * seen.velocity_north + east * seen.velocity_east) / far

    def tangent(self, seen: Seen) -> float:
        """Track along the circle from here, named near the present heading."""
        bearing = math.atan2(seen.east - self.east, seen.north - self.north)
        along = bearing + self.side * math.pi / 2
        return seen.heading + math.remainder(along - seen.heading, 2 * math.pi)


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line over the ground through a place, along ``track``."""

    north: float
    east: float
    track: float

    def right_of(self, seen: Seen) -> float:
        """How far to the right of the line [m]."""
        north, east = seen.north - self.north, seen.east - self.east
        return east * math.cos(self.track) - north * math.sin(self.track)

    def along(self, seen: Seen) -> float:
        """How far along the line [m]."""
        north, east = seen.north - self.north, seen.east - self.east
        return north * math.cos(self.track) + east * math.sin(self.track)


@dataclass(frozen=True, slots=True)
class Aim:
    """One lateral, one vertical and one power wish; what is None is left to the others.

    Lateral: ``bank``, ``heading``, ``circle`` or ``line``. Vertical: ``pitch``, ``climb`` [m/s],
    ``altitude``, else ``airspeed`` by pitch. Power: ``throttle``, else ``airspeed`` by power.
    """

    bank: float | None = None
    heading: float | None = None
    circle: Circle | None = None
    line: Line | None = None
    bank_limit: float = 0.35
    roll_rate: float = 0.14
    pitch: float | None = None
    pitch_rate: float = 0.05
    climb: float | None = None
    altitude: float | None = None
    airspeed: float = 50.0
    throttle: float | None = None
    flaps: float = 0.0
    heed_horn: bool = True
