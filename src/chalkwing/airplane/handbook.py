"""What a flight manual prints of an airplane, row by row; SI, calibrated airspeeds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

Configuration = Literal["clean", "landing"]


@dataclass(frozen=True)
class Stall:
    """A stall speed [m/s] at a mass [kg]; ``center_of_gravity`` as the manual puts it."""

    configuration: Configuration
    speed: float
    mass: float
    center_of_gravity: str
    source: str
    path: str


@dataclass(frozen=True)
class SpeedAtMass:
    """A maneuvering speed [m/s] for a mass [kg]."""

    speed: float
    mass: float
    source: str
    path: str


@dataclass(frozen=True)
class LevelFlight:
    """A true airspeed [m/s] held level at a share of rated power; None is full throttle.

    ``engine_speed`` [rad/s] tells the torque behind a fixed-pitch propeller's power; None where not given.
    """

    density: float
    true_airspeed: float
    power_share: float | None
    engine_speed: float | None
    mass: float
    source: str
    path: str


@dataclass(frozen=True)
class Climb:
    """A rate of climb [m/s] at full throttle and a true airspeed [m/s]."""

    density: float
    true_airspeed: float
    rate: float
    mass: float
    source: str
    path: str


@dataclass(frozen=True)
class Glide:
    """Best glide, throttle closed: airspeed [m/s] and ratio; None was not given."""

    speed: float | None
    ratio: float | None
    mass: float
    source: str
    path: str


@dataclass(frozen=True)
class LevelAttitude:
    """Pitch attitude [rad] read in level unaccelerated flight at an airspeed [m/s]."""

    speed: float
    pitch: float
    mass: float
    source: str
    path: str


@dataclass(frozen=True)
class CenterOfGravityLimit:
    """Forward and aft limit [m from the manual's datum] at a mass [kg]."""

    mass: float
    forward: float
    aft: float


@dataclass(frozen=True)
class Handbook:
    """All rows of one sheet; each ``path`` says where in the file a row stands."""

    stalls: tuple[Stall, ...] = ()
    maneuvering: tuple[SpeedAtMass, ...] = ()
    level_flights: tuple[LevelFlight, ...] = ()
    climbs: tuple[Climb, ...] = ()
    glides: tuple[Glide, ...] = ()
    level_attitudes: tuple[LevelAttitude, ...] = ()
    center_of_gravity_limits: tuple[CenterOfGravityLimit, ...] = ()
    recommended_entries: tuple[tuple[str, float], ...] = ()


def maneuvering_speed(rows: Sequence[SpeedAtMass], mass: float) -> float:
    """VA or VO [m/s] at a mass [kg]: between the manual's masses linear, else with the root of mass.

    Beyond the table the nearest row is scaled. Source of the root: [PHAK] ch. 5.
    """
    ordered = sorted(rows, key=lambda row: row.mass)
    nearest = ordered[0] if mass <= ordered[0].mass else ordered[-1]
    if ordered[0].mass <= mass <= ordered[-1].mass:
        return float(np.interp(mass, [row.mass for row in ordered], [row.speed for row in ordered]))
    return float(nearest.speed * np.sqrt(mass / nearest.mass))
