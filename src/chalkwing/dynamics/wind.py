"""A wind given as components, told as pilots do: where it comes from and how fast, with its doubt."""

from __future__ import annotations

import numpy as np

from chalkwing.units import Q, wrap_compass

NO_DIRECTION = float(np.pi / np.sqrt(3.0))
"""Sd [rad] of a direction of which nothing is known: that of a uniform distribution over the circle."""


def wind_told(north: Q, east: Q, north_sd: Q, east_sd: Q) -> tuple[Q, Q, Q, Q]:
    """Direction from [rad, true], its sd, speed [m/s] and its sd.

    ``north``, ``east`` [m/s] are the velocity *of the air*. First-order propagation with the components'
    errors taken as independent; the sd of the direction ends at :data:`NO_DIRECTION` (104 degrees), which a
    wind weaker than its own doubt reaches.

    >>> told = wind_told(-10.0, 0.0, 1.0, 1.0)
    >>> [round(float(np.degrees(told[0])), 6), round(float(np.degrees(told[1])), 1), float(told[2])]
    [0.0, 5.7, 10.0]
    """
    speed = np.maximum(np.hypot(north, east), 1e-9)
    speed_sd: Q = np.hypot(north * north_sd, east * east_sd) / speed
    from_sd: Q = np.minimum(np.hypot(east * north_sd, north * east_sd) / speed**2, NO_DIRECTION)
    comes_from: Q = wrap_compass(np.arctan2(-east, -north) + 0.0)
    return comes_from, from_sd, speed, speed_sd
