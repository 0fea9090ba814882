"""The speed a maneuver is entered at, unless the school or the manual says another."""

from __future__ import annotations

import numpy as np

from chalkwing.dynamics import power_dropoff
from chalkwing.errors import OutsideModel
from chalkwing.reference.situation import Situation
from chalkwing.units import POUND

CRUISE_TORQUE = 0.75
"""Cruise is flown at this share of the engine's sea-level torque, or full throttle. Common practice."""


def entry_airspeed(situation: Situation) -> float:
    """The lesser of maneuvering and cruise speed, calibrated [m/s], at this mass and altitude.

    Source: [AFH] ch. 10, fig. 10-4: "the lesser of maneuvering and cruise speed, or the manual's figure".
    """
    return min(situation.sheet.maneuvering_speed_at(situation.mass), cruise_airspeed(situation))


def cruise_airspeed(situation: Situation) -> float:
    """Calibrated airspeed [m/s] of level flight at cruise power here.

    Raises
    ------
    OutsideModel
        No speed can be held there, even with the throttle full open.
    """
    density = float(situation.density())
    share = float(power_dropoff(density / 1.225, situation.airplane.dropoff))
    throttle = min(1.0, CRUISE_TORQUE / max(share, 1e-6))
    stalling = situation.stall_true_airspeed()
    speeds = np.linspace(stalling, 4.0 * stalling, 601)
    held = np.flatnonzero(situation.level_throttle(speeds) <= throttle)
    if len(held) == 0:
        raise OutsideModel(
            f"the {situation.sheet.name} cannot hold level flight here at {situation.mass / POUND:,.0f} lb.",
            next_step="Choose a lower altitude or a smaller mass.",
        )
    return float(situation.calibrated_from_true(float(speeds[held[-1]])))
