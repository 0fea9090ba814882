"""This flight's own ground: where it stood or rolled, known from the flight alone.

Heights above it tell a landing from an emergency descent and a takeoff from slow flight. A recording that
begins and ends in the air shows no ground, and then height is no evidence either way.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

Bools = npt.NDArray[np.bool_]

_ROLL_SECONDS = 5.0
_ROLLS = 1.0
"""Change of speed [m/s²], held for `_ROLL_SECONDS` without climb or descent, that only a runway gives:
in the air a light airplane's excess of power, or its drag, gives about so much at most."""
_TOO_SLOW = 0.55
"""And reaching less than this part of cruise: hardly anything flies so slowly."""
_EDGE_SECONDS = 6.0
_EDGE_ROLLS = 0.4
"""The same at the recording's own edge, over `_EDGE_SECONDS`: a small engine's takeoff is no stronger."""
_EDGE_SLOW = 0.6
"""And slower than this part of cruise there: hardly above the stall."""
_LEVEL = 0.8
"""Climb or sink [m/s] of an airplane on a runway, slope and altimeter lag included."""
_NEAR_LOWEST = 30.0
"""How far above the flight's lowest altitude a runway may lie to be taken for that ground [m]."""
_ROLLS_UNDER = 8.0
"""No higher above its own ground an airplane rolls, or as good as [m]: a track's altitude strays so far."""

_CLIMBS, _CLIMBS_WITHIN = 300.0, 300.0
"""A climb [m] within so many seconds of the recording's beginning, or a descent before its end, that leads
from a runway or to one: no maneuver of the course but a spiral changes height so much."""


def own_ground(motion: Motion, *, cruise: float, flying: Bools) -> float:
    """The altitude [m] of the lowest ground this flight stood or rolled on; ``nan`` if none.

    ``cruise`` is the speed [m/s] it cruises at, ``flying`` where it is faster than any taxiing, shape (n,).
    """
    altitude, speed = motion["altitude"], motion["airspeed"]
    reach = round(_ROLL_SECONDS / motion.interval)
    if len(altitude) <= reach:
        return np.nan
    slow = np.minimum(speed[reach:], speed[:-reach]) < _TOO_SLOW * cruise
    pushed = slow & (np.abs(_change(speed, reach, motion.interval)) > _ROLLS)
    level = np.abs(_change(altitude, reach, motion.interval)) < _LEVEL
    low = altitude[:-reach] < np.min(altitude) + _NEAR_LOWEST
    grounded = low & level & (pushed | ~flying[:-reach])
    found = [*altitude[:-reach][grounded], *_at_edges(motion, cruise)]
    return float(np.median(found)) if found else np.nan


def climbed_from(motion: Motion) -> float:
    """The altitude [m] of an edge of the recording from which the flight climbed, or to which it came down.

    It is the flight's lowest point, near its ground, though neither takeoff nor landing is seen; ``nan`` if
    neither edge is one.
    """
    altitude = motion["altitude"]
    reach = min(round(_CLIMBS_WITHIN / motion.interval), len(altitude))
    lowest = float(np.min(altitude))
    for near_edge in (altitude[:reach], altitude[-reach:]):
        if np.min(near_edge) < lowest + _NEAR_LOWEST and np.max(near_edge) > lowest + _CLIMBS:
            return lowest
    return np.nan


def rolling(motion: Motion, ground: float) -> Bools:
    """Where the airplane is on its own ground, or about to leave or to meet it, shape (n,)."""
    return np.asarray(motion["altitude"] < ground + _ROLLS_UNDER)  # all False where the ground is nan


def _change(values: Floats, reach: int, interval: float) -> Floats:
    """Mean rate of change from each point to that ``reach`` points later."""
    return np.asarray((values[reach:] - values[:-reach]) / (reach * interval))


def _at_edges(motion: Motion, cruise: float) -> list[float]:
    """The altitude at either edge of the recording, where it begins with a takeoff or ends with a landing."""
    altitude, speed = motion["altitude"], motion["airspeed"]
    reach = round(_EDGE_SECONDS / motion.interval)
    if len(altitude) <= reach:
        return []
    found = []
    for edge, inner in ((0, reach), (-1, -1 - reach)):
        gains = (speed[inner] - speed[edge]) / _EDGE_SECONDS > _EDGE_ROLLS
        level = abs(altitude[inner] - altitude[edge]) / _EDGE_SECONDS < _LEVEL
        low = altitude[edge] < np.min(altitude) + _NEAR_LOWEST
        if gains and level and low and speed[edge] < _EDGE_SLOW * cruise:
            found.append(float(altitude[edge]))
    return found
