"""What a maneuver was flown by on the ground, on the picture's map: feet from the entry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.earth import line_between
from chalkwing.judge import GroundPlace
from chalkwing.units import FOOT


@dataclass(frozen=True)
class GroundMark:
    """A point, a pylon or a line: ``ends`` are one place, or the two ends of a line, (north, east) [ft].

    ``parts`` count from 1: those flown by it.
    """

    what: str
    parts: tuple[int, ...]
    ends: tuple[tuple[float, float], ...]


def ground_marks(
    places: Sequence[GroundPlace], *, latitude: float, longitude: float
) -> tuple[GroundMark, ...]:
    """The places on a map whose origin is the entry's ``latitude`` and ``longitude`` [rad]."""
    found = []
    for place in places:
        line = line_between(
            latitude=latitude, longitude=longitude, to_latitude=place.latitude, to_longitude=place.longitude
        )
        at = _step((0.0, 0.0), float(line.azimuth), float(line.distance))
        ends: tuple[tuple[float, float], ...] = (at,)
        if place.azimuth is not None and place.length:
            ends = (at, _step(at, place.azimuth, place.length))
        found.append(GroundMark(place.what, place.parts, ends))
    return tuple(found)


def _step(start: tuple[float, float], azimuth: float, distance: float) -> tuple[float, float]:
    """From a place [ft] along an azimuth [rad] by a distance [m]."""
    reach = distance / FOOT
    return start[0] + reach * math.cos(azimuth), start[1] + reach * math.sin(azimuth)
