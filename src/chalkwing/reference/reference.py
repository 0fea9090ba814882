"""The Reference: one maneuver as this airplane would fly it on this day, the plan and later the yardstick."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from chalkwing.airplane import AirplaneSheet
from chalkwing.conditions import Conditions
from chalkwing.errors import UnknownName
from chalkwing.units import Floats

Direction = Literal["left", "right"]

VALUES = (
    "part",
    "heading_change",
    "heading_true",
    "bank_into_turn",
    "pitch",
    "path_angle",
    "true_airspeed",
    "calibrated_airspeed",
    "altitude_change",
    "height_change",
    "load_factor",
    "throttle",
    "angle_of_attack",
    "roll_rate",
    "pitch_rate",
    "air_north",
    "air_east",
    "ground_north",
    "ground_east",
    "specific_energy",
)
"""What ``Reference.values`` holds for a maneuver flown along a path; see :class:`Reference`."""


@dataclass(frozen=True)
class ReferencePoint:
    """What to expect at one named point of one part of a maneuver.

    ``part`` counts from 1 (the halves of a lazy eight); ``time`` [s] from the maneuver's start;
    ``heading_change`` [rad] of the nose through the air from where the part began, in its direction of turn;
    ``altitude_change`` [m] as the altimeter shows it, from the maneuver's entry. ``stall_margin`` [m/s] is
    calibrated airspeed above the 1 g stall at this mass, ``accelerated_stall_margin`` above the stall at the
    load factor carried there.
    """

    part: int
    name: str
    time: float
    heading_change: float
    bank_into_turn: float
    pitch: float
    true_airspeed: float
    calibrated_airspeed: float
    altitude_change: float
    load_factor: float
    stall_margin: float
    accelerated_stall_margin: float


@dataclass(frozen=True)
class ReferenceLeg:
    """A named stretch of time [s] of one part, between two points."""

    part: int
    name: str
    start: float
    end: float


@dataclass(frozen=True)
class Fact:
    """A named number of the solution: SI in ``value``; ``unit`` is m, m/s, rad, rad/s, s, kg, 1 or so.

    ``title`` says in words what it is.
    """

    name: str
    value: float
    unit: str
    title: str


@dataclass(frozen=True)
class Reference:
    """One maneuver solved: SI and radians; wind counts in the ground path only.

    ``time`` [s], shape (n,), does not fall; where one part joins the next the instant stands twice, as the
    end of one and the start of the other. ``values[name]`` has the same shape, names as in :data:`VALUES`:

    - ``part`` counts from 1; ``heading_change`` [rad] of the nose, from where its part began, in the
      direction that part turns; ``heading_true`` [rad] continuous; ``bank_into_turn`` positive toward the
      part's turn;
    - ``altitude_change`` [m] as the altimeter shows it and ``height_change`` [m] geometric, from the entry;
    - ``air_north``, ``air_east`` [m] in the moving air mass, ``ground_north``, ``ground_east`` [m] over the
      ground, all from the entry; ``specific_energy`` [m]: height plus V²/2g, less its value at entry;
    - ``roll_rate``, ``pitch_rate`` [rad/s]: rates of change of ``bank_into_turn`` and ``pitch``.

    A maneuver of no path (slow flight, stalls) has ``time`` and ``values`` empty and says what it has to say
    in points, facts and notes. ``settings`` is what was asked, defaults filled in.
    """

    kind: str
    direction: Direction
    sheet: AirplaneSheet
    mass: float
    conditions: Conditions
    entry_altitude: float
    settings: Mapping[str, object]
    time: Floats
    values: Mapping[str, Floats]
    points: tuple[ReferencePoint, ...]
    legs: tuple[ReferenceLeg, ...] = ()
    facts: tuple[Fact, ...] = ()
    notes: tuple[str, ...] = ()
    schedule: object | None = field(default=None, compare=False, repr=False)
    """What re-flying needs (see :mod:`chalkwing.reference.what_if`); None where nothing can be re-flown."""

    def __getitem__(self, name: str) -> Floats:
        return self.values[name]

    def point(self, name: str, *, part: int = 1) -> ReferencePoint:
        """The point of that name; raises UnknownName."""
        for point in self.points:
            if point.name == name and point.part == part:
                return point
        known = (point.name for point in self.points if point.part == part)
        raise UnknownName(kind=f"point of part {part} of the {self.kind}", name=name, known=known)

    def fact(self, name: str) -> float:
        """The value [SI] of the fact of that name; raises UnknownName."""
        for fact in self.facts:
            if fact.name == name:
                return fact.value
        raise UnknownName(kind=f"fact of the {self.kind}", name=name, known=(f.name for f in self.facts))
