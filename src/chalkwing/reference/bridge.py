"""From an airplane sheet to the point mass that the equations of motion fly."""

from __future__ import annotations

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane import AirplaneSheet
from chalkwing.dynamics import PointMass

_FALL = {"fixed_pitch": 0.40, "constant_speed": 0.45}
"""The share of static thrust lost at the fastest level speed. Common practice, no source."""


def point_mass(sheet: AirplaneSheet, mass: float) -> PointMass:
    """The airplane of ``sheet`` at ``mass`` [kg], clean.

    Thrust is anchored at the fastest level speed, where the propeller is to have its stated efficiency.
    """
    fastest = _fastest_level_speed(sheet)
    there = sheet.propeller_efficiency * sheet.power / fastest
    static = there / (1.0 - _FALL[sheet.propeller])
    return PointMass(
        mass=mass,
        wing_area=sheet.wing_area,
        zero_lift_drag=sheet.zero_lift_drag,
        induced_drag=sheet.induced_drag,
        lift_slope=sheet.lift_slope,
        zero_lift_angle=sheet.zero_lift_angle,
        max_lift=sheet.lift_max,
        torque_thrust=static,
        propeller_drag_area=(static - there) / (SEA_LEVEL_DENSITY * fastest**2),
    )


def _fastest_level_speed(sheet: AirplaneSheet) -> float:
    """True airspeed [m/s] at which drag takes the useful power, sea level, standard air."""
    speed = np.linspace(sheet.stall_speed, 150.0, 2000)
    pressure = 0.5 * SEA_LEVEL_DENSITY * speed**2
    lift = sheet.wing_loading / pressure
    drag = (sheet.zero_lift_drag + sheet.induced_drag * lift**2) * pressure * sheet.wing_area
    enough = drag * speed <= sheet.propeller_efficiency * sheet.power
    return float(speed[np.flatnonzero(enough)[-1]])
