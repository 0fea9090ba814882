"""The forces on the airplane: a lift line, a parabolic drag polar and a propeller, fixed or governed.

All formulas take numbers or arrays (broadcast together), and compiled kernels call the same code.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chalkwing.compiled import compilable
from chalkwing.units import STANDARD_GRAVITY, Q

DROPOFF = 0.12
"""The share of sea-level indicated power that friction takes, whatever the density [Gagg-Ferrar]."""

SLIPSTREAM = 10.0
"""A constant-speed propeller's speed lost in the slipstream [m/s]: see :func:`thrust`. Own figure."""


class PointMass(NamedTuple):
    """What the equations of motion must know of one airplane in one configuration.

    ``mass`` [kg], ``wing_area`` [m2], ``zero_lift_drag`` and ``induced_drag`` (C_D = zero_lift_drag +
    induced_drag C_L**2), ``lift_slope`` [1/rad], ``zero_lift_angle`` [rad], ``max_lift`` (largest C_L),
    ``torque_thrust`` [N], ``propeller_drag_area`` [m2], ``thrust_power`` [W] and ``governed`` of
    :func:`thrust`, ``dropoff`` of :func:`power_dropoff`.
    """

    mass: float
    wing_area: float
    zero_lift_drag: float
    induced_drag: float
    lift_slope: float
    zero_lift_angle: float
    max_lift: float
    torque_thrust: float
    propeller_drag_area: float
    dropoff: float = DROPOFF
    thrust_power: float = 0.0
    governed: float = 0.0


@compilable
def dynamic_pressure(density: Q, true_airspeed: Q) -> Q:
    """Dynamic pressure [Pa] of incompressible flow, from density [kg/m3] and true airspeed [m/s].

    >>> round(dynamic_pressure(1.225, 50.0), 6)
    1531.25
    """
    return 0.5 * density * true_airspeed * true_airspeed


@compilable
def lift_coefficient(airplane: PointMass, load_factor: Q, density: Q, true_airspeed: Q) -> Q:
    """The lift coefficient that gives ``load_factor`` (lift over weight)."""
    weight = airplane.mass * STANDARD_GRAVITY
    return load_factor * weight / (dynamic_pressure(density, true_airspeed) * airplane.wing_area)


@compilable
def angle_of_attack(airplane: PointMass, lift: Q) -> Q:
    """The angle of attack [rad, of the body axis that pitch is measured from] for a lift coefficient."""
    return airplane.zero_lift_angle + lift / airplane.lift_slope


@compilable
def load_factor(airplane: PointMass, angle_of_attack: Q, density: Q, true_airspeed: Q) -> Q:
    """The load factor that an angle of attack [rad] gives: the inverse of the two functions above."""
    lift = airplane.lift_slope * (angle_of_attack - airplane.zero_lift_angle)
    weight = airplane.mass * STANDARD_GRAVITY
    return lift * dynamic_pressure(density, true_airspeed) * airplane.wing_area / weight


@compilable
def drag(airplane: PointMass, load_factor: Q, density: Q, true_airspeed: Q) -> Q:
    """Drag [N] of the parabolic polar at a load factor."""
    lift = lift_coefficient(airplane, load_factor, density, true_airspeed)
    coefficient = airplane.zero_lift_drag + airplane.induced_drag * lift * lift
    return coefficient * dynamic_pressure(density, true_airspeed) * airplane.wing_area


@compilable
def power_dropoff(density_ratio: Q, dropoff: float = DROPOFF) -> Q:
    """Full-throttle power of an unsupercharged piston engine over its sea-level power.

    phi = (sigma - C) / (1 - C); C is ``dropoff``, 0.12 unless an engine's own is known. Source:
    [Gagg-Ferrar], from memory; [Lowry] uses the same form. At sigma = 0.7385 (10,000 ft) it gives 0.703.

    >>> round(power_dropoff(0.7385), 3)
    0.703
    """
    return (density_ratio - dropoff) / (1.0 - dropoff)


@compilable
def thrust(airplane: PointMass, throttle: Q, density: Q, true_airspeed: Q) -> Q:
    """Thrust [N] of the propellers, along the path.

    ``throttle`` is the share of full-throttle torque, 0 to 1. Plain arithmetic, so that an optimizer's
    symbols pass as well.

    Notes
    -----
    T = throttle phi(sigma) (torque_thrust + thrust_power / (V + slipstream)) - w propeller_drag_area rho V**2

    *Fixed pitch* (thrust_power = governed = 0, w = 1): thrust falls with the square of airspeed. It follows
    from torque that depends on throttle and density alone, and a propeller polar that is a straight line in
    C_T/J**2 over C_P/J**2; with the throttle closed what remains is the drag of the windmilling propeller.
    Source: [Lowry], the "bootstrap" propeller polar, from memory.

    *Constant speed* (torque_thrust = 0, governed = 1): power is what the throttle sets, and an efficiency
    proportional to V / (V + slipstream) makes thrust of it; the slipstream's speed stands for the loss that
    momentum theory gives. w = (1 - throttle)**2: as power comes on, the governor coarsens the blades and the
    windmilling drag goes. Source: derived; the slipstream and the square are our own.
    """
    power = throttle * power_dropoff(density / 1.225, airplane.dropoff)
    pull = power * (airplane.torque_thrust + airplane.thrust_power / (true_airspeed + SLIPSTREAM))
    windmilling = 1.0 - airplane.governed * throttle * (2.0 - throttle)
    return pull - windmilling * airplane.propeller_drag_area * density * true_airspeed * true_airspeed


@compilable
def specific_excess_thrust(
    airplane: PointMass, throttle: Q, load_factor: Q, density: Q, true_airspeed: Q
) -> Q:
    """(Thrust - drag) / mass [m/s2]: what is left to climb or to speed up with."""
    pull = thrust(airplane, throttle, density, true_airspeed)
    return (pull - drag(airplane, load_factor, density, true_airspeed)) / airplane.mass


def stall_speed(airplane: PointMass, load_factor: Q, density: Q) -> Q:
    """True airspeed [m/s] at which the wing gives ``load_factor`` at its largest lift coefficient."""
    loading = airplane.mass * STANDARD_GRAVITY / airplane.wing_area
    speed: Q = np.sqrt(2.0 * load_factor * loading / (density * airplane.max_lift))
    return speed
