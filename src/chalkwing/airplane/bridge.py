"""From a sheet's numbers to the point mass that the equations of motion take."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.dynamics import PointMass
from chalkwing.dynamics.forces import SLIPSTREAM


@dataclass(frozen=True)
class Frame:
    """What of an airplane is measured rather than fitted.

    ``power`` [W] is rated power at sea level of all engines; ``reference_airspeed`` [m/s, true] is where
    ``propeller_efficiency`` holds.
    """

    wing_area: float
    wing_span: float
    power: float
    governed: bool
    reference_airspeed: float

    @property
    def aspect_ratio(self) -> float:
        """Span squared over wing area."""
        return self.wing_span**2 / self.wing_area


def static_thrust(frame: Frame, *, propeller_efficiency: float, propeller_drag_open: float) -> float:
    """The ``torque_thrust`` [N] of a fixed-pitch propeller that gives so much useful power.

    ``propeller_efficiency`` times rated power is thrust times the reference airspeed, at sea level with the
    throttle full open; the model is :func:`chalkwing.dynamics.thrust`.
    """
    pull = propeller_efficiency * frame.power / frame.reference_airspeed
    return pull + propeller_drag_open * SEA_LEVEL_DENSITY * frame.reference_airspeed**2


def governed_power(frame: Frame, *, propeller_efficiency: float) -> float:
    """The ``thrust_power`` [W] of a constant-speed propeller that gives so much useful power."""
    speed = frame.reference_airspeed
    return propeller_efficiency * frame.power * (speed + SLIPSTREAM) / speed


def point_mass(frame: Frame, numbers: Mapping[str, float], *, mass: float) -> PointMass:
    """The airplane at ``mass`` [kg], clean, for the formulas of ``chalkwing.dynamics``.

    ``numbers`` holds zero_lift_drag, span_efficiency, lift_slope, zero_lift_angle, lift_max,
    propeller_efficiency, propeller_drag_area, propeller_drag_open and power_dropoff. ``mass`` may be an
    optimizer's symbol; so may any field that the caller replaces (``PointMass._replace``).
    """
    efficiency = numbers["propeller_efficiency"]
    closed, opened = numbers["propeller_drag_area"], numbers["propeller_drag_open"]
    return PointMass(
        mass=mass,
        wing_area=frame.wing_area,
        zero_lift_drag=numbers["zero_lift_drag"],
        induced_drag=1.0 / (np.pi * frame.aspect_ratio * numbers["span_efficiency"]),
        lift_slope=numbers["lift_slope"],
        zero_lift_angle=numbers["zero_lift_angle"],
        max_lift=numbers["lift_max"],
        torque_thrust=0.0
        if frame.governed
        else static_thrust(frame, propeller_efficiency=efficiency, propeller_drag_open=opened),
        propeller_drag_area=closed,
        dropoff=numbers["power_dropoff"],
        thrust_power=governed_power(frame, propeller_efficiency=efficiency) if frame.governed else 0.0,
        governed=1.0 - opened / closed,
    )
