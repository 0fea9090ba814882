"""The wind triangle, and the wind along and across a direction.

Directions in radians clockwise from north, all true or all magnetic; the wind is told by where it comes FROM.
Scalars or arrays that broadcast, ``nan`` in is ``nan`` out.
"""

from __future__ import annotations

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.units import Floats, Q, require_within, wrap_compass


def _require_direction(direction: float | Floats, name: str) -> None:
    require_within(name, direction, -2 * np.pi, 2 * np.pi, "rad", hint="Was it in degrees?")


def wind_components(*, wind_from: Q | float, wind_speed: Q | float) -> tuple[Q, Q]:
    """Velocity of the air [m/s] toward north and toward east, from where the wind comes and its speed."""
    _require_direction(wind_from, "wind direction")
    north: Q = np.multiply(wind_speed, -np.cos(wind_from))
    east: Q = np.multiply(wind_speed, -np.sin(wind_from))
    return north, east


def wind_of_components(*, wind_north: Q | float, wind_east: Q | float) -> tuple[Q, Q]:
    """Where the wind comes from [rad, 0 to 2 pi) and its speed [m/s]; undoes :func:`wind_components`."""
    wind_from: Q = wrap_compass(np.arctan2(np.negative(wind_east), np.negative(wind_north)))
    speed: Q = np.hypot(wind_north, wind_east)
    return wind_from, speed


def headwind_and_crosswind(
    *, direction: Q | float, wind_from: Q | float, wind_speed: Q | float
) -> tuple[Q, Q]:
    """Wind against a direction of flight or runway, and across it from the right [same unit as the speed].

    A negative headwind blows from behind, a negative crosswind from the left. Source: [PHAK] ch. 11 chart.
    """
    _require_direction(direction, "direction")
    _require_direction(wind_from, "wind direction")
    angle = np.subtract(wind_from, direction)
    headwind: Q = np.multiply(wind_speed, np.cos(angle))
    crosswind: Q = np.multiply(wind_speed, np.sin(angle))
    return headwind, crosswind


def wind_speed_for_crosswind(*, direction: float, wind_from: float, crosswind: float) -> float:
    """Wind speed at which a wind from ``wind_from`` [rad] gives this crosswind; ``inf`` down the runway."""
    _require_direction(direction, "direction")
    _require_direction(wind_from, "wind direction")
    across = abs(np.sin(wind_from - direction))
    return float(crosswind / across) if across > 1e-12 else np.inf


def heading_for_course(
    *, course: Q | float, true_airspeed: Q | float, wind_from: Q | float, wind_speed: Q | float
) -> tuple[Q, Q]:
    """Wind correction angle [rad, right of course positive] and groundspeed [m/s] that hold a course [rad].

    WCA = asin(W sin(D) / V), GS = V cos(WCA) - W cos(D), D the wind's direction less the course. Source:
    derived; the flight computer's wind side solves the same triangle.

    Raises
    ------
    OutsideModel
        The wind across exceeds the airspeed: no heading holds the course.
    """
    headwind: Q
    crosswind: Q
    headwind, crosswind = headwind_and_crosswind(direction=course, wind_from=wind_from, wind_speed=wind_speed)
    sine = np.divide(crosswind, true_airspeed)
    if np.any(np.abs(sine) > 1.0):
        raise OutsideModel(
            "no heading holds this course: the wind across it exceeds the airspeed.",
            next_step="Fly faster or choose another course.",
        )
    correction: Q = np.arcsin(sine)
    groundspeed: Q = np.multiply(true_airspeed, np.cos(correction)) - headwind
    return correction, groundspeed


def track_of_heading(
    *, heading: Q | float, true_airspeed: Q | float, wind_from: Q | float, wind_speed: Q | float
) -> tuple[Q, Q]:
    """Track [rad, 0 to 2 pi) and groundspeed [m/s] that come of a heading [rad] in a wind."""
    _require_direction(heading, "heading")
    _require_direction(wind_from, "wind direction")
    north = true_airspeed * np.cos(heading) - wind_speed * np.cos(wind_from)
    east = true_airspeed * np.sin(heading) - wind_speed * np.sin(wind_from)
    track: Q = wrap_compass(np.arctan2(east, north))
    groundspeed: Q = np.hypot(north, east)
    return track, groundspeed
