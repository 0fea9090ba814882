"""What a point mass would have printed in its flight manual: the numbers that the fit compares.

All flight is steady, unbanked and on a shallow path; one engine or several are together. The forces are those
of ``chalkwing.dynamics``.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane.bridge import Frame
from chalkwing.airplane.handbook import Climb, LevelAttitude, LevelFlight
from chalkwing.dynamics import PointMass, angle_of_attack, drag, lift_coefficient, power_dropoff, thrust
from chalkwing.dynamics.forces import stall_speed as true_stall_speed
from chalkwing.units import STANDARD_GRAVITY

_NEWTON_STEPS = 8


def stall_speed(airplane: PointMass, *, load_factor: float = 1.0) -> float:
    """Calibrated stall speed [m/s]; it equals the equivalent one within 0.1 kt at these speeds."""
    return float(true_stall_speed(airplane, load_factor, SEA_LEVEL_DENSITY))


def throttle_for(
    row: LevelFlight, airplane: PointMass, frame: Frame, rated_engine_speed: float | None
) -> float:
    """The throttle (share of full-throttle torque at this density) that a power setting stands for.

    Power is torque times engine speed. A constant-speed propeller keeps its rated speed here; a fixed-pitch
    one turns as the manual says, else as power at one advance ratio goes: with density times the cube.
    """
    if row.power_share is None:
        return 1.0
    lapse = power_dropoff(row.density / SEA_LEVEL_DENSITY, airplane.dropoff)
    if frame.governed:
        return row.power_share / lapse
    if row.engine_speed is not None and rated_engine_speed is not None:
        turning = row.engine_speed / rated_engine_speed
    else:
        turning = float(np.cbrt(row.power_share * SEA_LEVEL_DENSITY / row.density))
    return row.power_share / turning / lapse


def level_airspeed(airplane: PointMass, *, throttle: float, density: float, near: float) -> float:
    """The faster true airspeed [m/s] at which thrust and drag balance; ``near`` is where to look.

    Never further than half as fast or half as fast again as ``near``: a throttle that holds no level flight
    gives an end of that range, which no manual's number will match.
    """

    def excess(speed: float) -> float:
        return thrust(airplane, throttle, density, speed) - drag(airplane, 1.0, density, speed)

    speed = near
    for _ in range(_NEWTON_STEPS):
        slope = _slope(excess, speed)
        # On the back side of the curve the slope has the wrong sign; a step of fixed size leads off it.
        step = excess(speed) / -slope if slope < 0.0 else 0.1 * near
        speed = min(max(speed + step, 0.5 * near), 1.5 * near)
    return speed


def _slope(function: Callable[[float], float], at: float) -> float:
    return (function(at + 0.05) - function(at - 0.05)) / 0.1


def climb_rate(airplane: PointMass, row: Climb) -> float:
    """Rate of climb [m/s] at full throttle, at the airspeed and density of ``row``."""
    left = thrust(airplane, 1.0, row.density, row.true_airspeed)
    left = left - drag(airplane, 1.0, row.density, row.true_airspeed)
    return float(left / (airplane.mass * STANDARD_GRAVITY) * row.true_airspeed)


def best_glide(airplane: PointMass) -> tuple[float, float]:
    """Calibrated airspeed [m/s] and ratio of best glide, propeller windmilling.

    With the throttle closed the propeller's drag is zero-lift drag like any other, and the best glide is
    that of the parabola: half its drag zero-lift, half induced.
    """
    zero = airplane.zero_lift_drag + 2.0 * airplane.propeller_drag_area / airplane.wing_area
    lift = np.sqrt(zero / airplane.induced_drag)
    loading = airplane.mass * STANDARD_GRAVITY / airplane.wing_area
    speed = np.sqrt(2.0 * loading / (SEA_LEVEL_DENSITY * lift))
    return float(speed), float(0.5 / np.sqrt(zero * airplane.induced_drag))


def glide_ratio(airplane: PointMass, *, calibrated_airspeed: float, load_factor: float = 1.0) -> float:
    """Lift over drag at an airspeed [m/s], throttle closed and propeller windmilling."""
    resisting = drag(airplane, load_factor, SEA_LEVEL_DENSITY, calibrated_airspeed)
    resisting = resisting - thrust(airplane, 0.0, SEA_LEVEL_DENSITY, calibrated_airspeed)
    return float(load_factor * airplane.mass * STANDARD_GRAVITY / resisting)


def level_pitch(airplane: PointMass, row: LevelAttitude) -> float:
    """Pitch attitude [rad] in level flight: the angle of attack, since the path is level."""
    lift = lift_coefficient(airplane, 1.0, SEA_LEVEL_DENSITY, row.speed)
    return float(angle_of_attack(airplane, lift))
