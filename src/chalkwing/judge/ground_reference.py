"""What a maneuver is flown by on the ground: as the user gives it, and as the judge found it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PlaceOnGround = tuple[float, float]
"""Latitude and longitude [rad]."""
GroundWhat = Literal["point", "pylon", "line", "side", "center", "runway"]


@dataclass(frozen=True)
class GroundReference:
    """Places known from elsewhere: from a chart, from marks made in flight, from the instructor.

    Parameters
    ----------
    points : tuple of (latitude, longitude)
        [rad] A point to go round, or pylons: each part takes the one that its own path goes round.
    line : two (latitude, longitude)
        [rad] Two places on a straight line: a road of S-turns, a runway.
    corners : tuple of (latitude, longitude)
        [rad] The corners of a field in order, three at least.
    elevation : float
        Of the points above mean sea level [m]; the terrain's, where given, stands in.
    touchdown_beyond : float
        How far beyond the chosen point the wheels touched, as the instructor saw it [m], short negative.
    """

    points: tuple[PlaceOnGround, ...] = ()
    line: tuple[PlaceOnGround, PlaceOnGround] | None = None
    corners: tuple[PlaceOnGround, ...] = ()
    elevation: float | None = None
    touchdown_beyond: float | None = None


@dataclass(frozen=True)
class GroundPlace:
    """A place or line that an occurrence was judged by [rad, m]; ``parts`` count from 1.

    ``sd`` is that of the place along its less certain axis; of a line, across it. ``azimuth`` is a line's
    direction, ``length`` its extent from the place given. ``elevation`` is above the datum of the geometric
    altitude. ``given`` tells that a user gave it.
    """

    what: GroundWhat
    parts: tuple[int, ...]
    latitude: float
    longitude: float
    sd: float
    given: bool
    azimuth: float | None = None
    azimuth_sd: float | None = None
    length: float | None = None
    elevation: float | None = None
    elevation_sd: float | None = None
