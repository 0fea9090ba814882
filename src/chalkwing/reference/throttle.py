"""The throttle that gives a wanted excess of thrust over drag."""

from __future__ import annotations

import numpy as np

from chalkwing.dynamics import PointMass, specific_excess_thrust
from chalkwing.units import Q


def throttle_for_excess(airplane: PointMass, *, excess: Q, load: Q, density: Q, speed: Q) -> Q:
    """The throttle at which (thrust - drag) / mass is ``excess`` [m/s²]; below 0 or above 1 where none does.

    Thrust is a parabola in the throttle (a governed propeller windmills with the square of what is closed),
    so that three values give it exactly; outside 0 to 1 it goes on along its tangent, as power would.
    """
    none: Q = 0.0 * speed
    idle: Q = specific_excess_thrust(airplane, none, load, density, speed)
    half: Q = specific_excess_thrust(airplane, 0.5 + none, load, density, speed)
    full: Q = specific_excess_thrust(airplane, 1.0 + none, load, density, speed)
    bend = 2.0 * (idle + full - 2.0 * half)
    slope = full - idle - bend
    missing = np.subtract(excess, idle)
    within = np.sqrt(np.maximum(slope * slope + 4.0 * bend * missing, 1e-12))
    throttle = np.where(
        missing > full - idle,
        1.0 + (missing - (full - idle)) / (slope + 2.0 * bend),
        np.where(missing < 0.0, missing / slope, 2.0 * missing / (slope + within)),
    )
    result: Q = throttle + none
    return result
