"""From a sheet's numbers to the point mass that the equations of motion take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.dynamics import PointMass
from chalkwing.dynamics.forces import SLIPSTREAM

if TYPE_CHECKING:
    from chalkwing.airplane.sheet import AirplaneSheet


def torque_thrust(
    *, power: float, propeller_efficiency: float, propeller_drag_area: float, true_airspeed: float
) -> float:
    """The ``torque_thrust`` [N] of a fixed-pitch propeller that gives so much useful power.

    ``propeller_efficiency`` times ``power`` [W] is thrust times ``true_airspeed`` [m/s] at sea level with the
    throttle full open; the model is :func:`chalkwing.dynamics.thrust`.
    """
    pull = propeller_efficiency * power / true_airspeed
    return pull + propeller_drag_area * SEA_LEVEL_DENSITY * true_airspeed**2


def thrust_power(*, power: float, propeller_efficiency: float, true_airspeed: float) -> float:
    """The ``thrust_power`` [W] of a constant-speed propeller with this efficiency at this airspeed [m/s]."""
    return propeller_efficiency * power * (true_airspeed + SLIPSTREAM) / true_airspeed


def point_mass(sheet: AirplaneSheet, mass: float) -> PointMass:
    """The airplane of ``sheet`` at ``mass`` [kg], clean, for the formulas of ``chalkwing.dynamics``.

    Plain arithmetic without branches: ``mass`` may be an optimizer's symbol, and so may any field be that
    the caller replaces (``PointMass._replace``).
    """
    return PointMass(
        mass=mass,
        wing_area=sheet.wing_area,
        zero_lift_drag=sheet.zero_lift_drag,
        induced_drag=sheet.induced_drag,
        lift_slope=sheet.lift_slope,
        zero_lift_angle=sheet.zero_lift_angle,
        max_lift=sheet.lift_max,
        torque_thrust=sheet.torque_thrust,
        propeller_drag_area=sheet.propeller_drag_area,
        dropoff=sheet.power_dropoff,
        thrust_power=sheet.thrust_power,
        governed=1.0 if sheet.propeller == "constant_speed" else 0.0,
    )
