"""Gliding and trading: distance from height, height lost in a spiral, height for speed.

Scalars or arrays that broadcast, ``nan`` in is ``nan`` out.
"""

from __future__ import annotations

import numpy as np

from chalkwing.dynamics.turning import turn_time
from chalkwing.units import STANDARD_GRAVITY, Q, require_within


def glide_distance(
    *, height: Q | float, glide_ratio: Q | float, true_airspeed: Q | float = 1.0, headwind: Q | float = 0.0
) -> Q:
    """Distance over the ground [m] from a height [m], gliding straight.

    Still-air distance times groundspeed over airspeed; shallow path. ``headwind`` [m/s] is negative from
    behind. Source: derived.

    Raises
    ------
    OutsideModel
        A headwind stronger than the airspeed.
    """
    require_within("glide ratio", glide_ratio, 0.5, 80.0, "")
    kept: Q = 1.0 - np.divide(headwind, true_airspeed)
    require_within(
        "groundspeed over airspeed", kept, 0.0, 10.0, "", hint="The headwind exceeds the airspeed."
    )
    distance: Q = height * glide_ratio * kept
    return distance


def spiral_sink_rate(*, true_airspeed: Q | float, bank: Q | float, lift_to_drag: Q | float) -> Q:
    """Rate of descent [m/s, down positive] gliding in a turn at a bank [rad]: V / ((L/D) cos(bank)).

    ``lift_to_drag`` is that of the lift coefficient then flown. Shallow path: lift carries the weight over
    cos(bank). At a path of 10° the error is about 1.5 %. Source: derived.
    """
    require_within("lift over drag", lift_to_drag, 0.5, 80.0, "")
    require_within("bank", bank, -1.5, 1.5, "rad", hint="Was it in degrees?")
    sink: Q = np.divide(true_airspeed, lift_to_drag * np.cos(bank))
    return sink


def spiral_height_loss(
    *, true_airspeed: Q | float, bank: Q | float, lift_to_drag: Q | float, angle: Q | float = 2.0 * np.pi
) -> Q:
    """Height lost [m] gliding through an angle of turn [rad], a full circle unless given.

    2 pi V² / ((L/D) g sin(bank)) for a circle; limits as in :func:`spiral_sink_rate`. ``inf`` wings level.

    >>> loss = spiral_height_loss(true_airspeed=41.156, bank=np.radians(45), lift_to_drag=9.0)
    >>> round(float(loss) / 0.3048)
    559
    """
    sink: Q = spiral_sink_rate(true_airspeed=true_airspeed, bank=bank, lift_to_drag=lift_to_drag)
    time: Q = turn_time(true_airspeed=true_airspeed, bank=bank, angle=angle)
    return sink * time


def spiral_entry_altitude(
    *, terrain: Q | float, floor: Q | float, turns: float, loss_per_turn: Q | float
) -> Q:
    """Altitude [m] from which ``turns`` circles end at ``floor`` [m] above ``terrain`` [m]."""
    altitude: Q = terrain + floor + np.multiply(turns, loss_per_turn)
    return altitude


def energy_height(*, altitude: Q | float, true_airspeed: Q | float) -> Q:
    """Specific energy [m]: altitude plus V²/2g, what the altitude would be with all speed traded in."""
    height: Q = altitude + np.square(true_airspeed) / (2.0 * STANDARD_GRAVITY)
    return height


def height_for_speed_change(*, from_airspeed: Q | float, to_airspeed: Q | float) -> Q:
    """Height gained [m] by slowing from one true airspeed to another [m/s], thrust equal to drag.

    >>> gained = height_for_speed_change(from_airspeed=51.444, to_airspeed=30.867)  # 100 to 60 kt
    >>> round(float(gained) / 0.3048)
    283
    """
    gained: Q = (np.square(from_airspeed) - np.square(to_airspeed)) / (2.0 * STANDARD_GRAVITY)
    return gained


def height_per_speed(true_airspeed: Q | float) -> Q:
    """How many meters of energy height one m/s is worth at a true airspeed [m/s]: V/g."""
    worth: Q = np.multiply(true_airspeed, 1.0 / STANDARD_GRAVITY)
    return worth
