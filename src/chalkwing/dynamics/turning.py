"""Steady coordinated level turns: load, radius, rate, stall speed, and the altitude that holds a pylon.

Exact formulas of mechanics; pilots' arithmetic is in ``rules_of_thumb``. Scalars or arrays that broadcast,
``nan`` in is ``nan`` out. Bank counts left and right alike. True airspeed where a path is concerned,
calibrated where a stall is.
"""

from __future__ import annotations

import numpy as np

from chalkwing.units import STANDARD_GRAVITY, Floats, Q, require_within

_STEEPEST = np.nextafter(np.pi / 2, 0.0)


def _require_bank(bank: float | Floats) -> None:
    hint = "Nothing holds the airplane level at a right angle and beyond; was it in degrees?"
    require_within("bank", bank, -_STEEPEST, _STEEPEST, "rad", hint=hint)


def _require_speed(speed: float | Floats, name: str = "true airspeed") -> None:
    require_within(name, speed, 0.0, 350.0, "m/s")


def load_factor(bank: Q | float) -> Q:
    """Load factor of a level turn at a bank [rad]: 1 / cos(bank). Source: [PHAK] ch. 5.

    >>> round(float(load_factor(np.radians(60.0))), 6)
    2.0
    """
    _require_bank(bank)
    load: Q = 1.0 / np.cos(bank)
    return load


def bank_for_load_factor(load_factor: Q | float) -> Q:
    """Bank [rad, 0 to pi/2] whose level turn needs a load factor of 1 or more."""
    require_within("load factor", load_factor, 1.0, 50.0, "", hint="A level turn needs 1 or more.")
    bank: Q = np.arccos(1.0 / load_factor)
    return bank


def turn_radius(*, true_airspeed: Q | float, bank: Q | float, gravity: float = STANDARD_GRAVITY) -> Q:
    """Radius of a steady, level, coordinated turn, relative to the air.

    Parameters
    ----------
    true_airspeed : float or array
        [m/s], not negative.
    bank : float or array
        [rad]
    gravity : float
        [m/s²]

    Returns
    -------
    radius : float or array, broadcast shape
        [m]; ``inf`` with wings level.

    Raises
    ------
    OutsideModel
        Any ``|bank|`` of pi/2 or more.

    Notes
    -----
    R = V² / (g tan|bank|). With wind the path over the ground is another curve. Source: [PHAK] ch. 5.

    >>> round(float(turn_radius(true_airspeed=61.733, bank=np.radians(30))), 1)
    673.1
    """
    _require_speed(true_airspeed)
    _require_bank(bank)
    with np.errstate(divide="ignore"):
        radius: Q = np.divide(np.square(true_airspeed), gravity * np.tan(np.abs(bank)))
    return radius


def turn_rate(*, true_airspeed: Q | float, bank: Q | float) -> Q:
    """Rate of turn [rad/s] at a true airspeed [m/s] and bank [rad]; right positive when bank is.

    g tan(bank) / V. Source: [PHAK] ch. 5.
    """
    _require_speed(true_airspeed)
    _require_bank(bank)
    with np.errstate(divide="ignore", invalid="ignore"):
        rate: Q = np.divide(STANDARD_GRAVITY * np.tan(bank), true_airspeed)
    return rate


def turn_time(*, true_airspeed: Q | float, bank: Q | float, angle: Q | float = 2.0 * np.pi) -> Q:
    """Time [s] to turn through an angle [rad], a full circle unless given; ``inf`` with wings level."""
    rate: Q = turn_rate(true_airspeed=true_airspeed, bank=bank)
    with np.errstate(divide="ignore"):
        time: Q = np.divide(np.abs(angle), np.abs(rate))
    return time


def bank_for_turn_rate(*, true_airspeed: Q | float, turn_rate: Q | float) -> Q:
    """Bank [rad] that turns at a rate [rad/s] at a true airspeed [m/s]: atan(V omega / g)."""
    _require_speed(true_airspeed)
    hint = "Was it in degrees a second? Standard rate is 0.0524 rad/s."
    require_within("turn rate", turn_rate, -2.0, 2.0, "rad/s", hint=hint)
    bank: Q = np.arctan(true_airspeed * turn_rate / STANDARD_GRAVITY)
    return bank


def radius_at_turn_rate(*, speed: Q | float, turn_rate: Q | float) -> Q:
    """Radius [m] of a circle flown at a speed [m/s] and rate of turn [rad/s]: V / omega."""
    _require_speed(speed, "speed")
    with np.errstate(divide="ignore", invalid="ignore"):
        radius: Q = np.divide(speed, np.abs(turn_rate))
    return radius


def bank_for_radius(*, true_airspeed: Q | float, tailwind: Q | float = 0.0, radius: Q | float) -> Q:
    """Bank [rad] that holds a circle of this radius [m] over the ground, where wind lies along the heading.

    tan(bank) = (V + w)² / (g R) with the tailwind w [m/s, negative upwind]: exact at the points flown
    straight down and up the wind, where heading and track agree. Source: derived from mechanics.
    """
    _require_speed(true_airspeed)
    require_within("radius", radius, 1.0, 1e6, "m")
    bank: Q = np.arctan((true_airspeed + tailwind) ** 2 / (STANDARD_GRAVITY * radius))
    return bank


def stall_speed(*, level_stall_speed: Q | float, load_factor: Q | float) -> Q:
    """Stall speed [m/s] under a load factor, from that at 1 g: it goes with its root. [PHAK] ch. 5."""
    _require_speed(level_stall_speed, "stall speed")
    require_within("load factor", load_factor, 0.0, 50.0, "", hint="A wing does not stall upright below 0.")
    speed: Q = level_stall_speed * np.sqrt(load_factor)
    return speed


def stall_speed_in_turn(*, level_stall_speed: Q | float, bank: Q | float) -> Q:
    """Stall speed [m/s] in a level turn at a bank [rad], from that at 1 g: Vs / sqrt(cos(bank))."""
    load: Q = load_factor(bank)
    return stall_speed(level_stall_speed=level_stall_speed, load_factor=load)


def speed_at_weight(*, speed: Q | float, weight_ratio: Q | float) -> Q:
    """A stall or maneuvering speed brought to another weight: it goes with the root of the weight ratio.

    ``weight_ratio`` is the new weight over the weight for which ``speed`` [m/s] holds. Source: [PHAK] ch. 5.
    """
    require_within("weight ratio", weight_ratio, 0.1, 2.0, "", hint="New weight over reference weight.")
    result: Q = speed * np.sqrt(weight_ratio)
    return result


def pivotal_altitude(*, true_airspeed: Q | float, tailwind: Q | float = 0.0) -> Q:
    """Height above the pylon [m] at which the line of sight along the wing stays on it; exact, level flight.

    Parameters
    ----------
    true_airspeed : float or array
        [m/s]
    tailwind : float or array
        Wind component along the heading [m/s], from behind positive.

    Notes
    -----
    h = V (V + w) / g. Without wind it is twice the height V²/2g that the speed is worth. The handbooks' rule
    takes the square of the groundspeed; see ``rules_of_thumb``. Source: derived; the maneuver, [AFH] ch. 7.

    >>> round(float(pivotal_altitude(true_airspeed=46.3, tailwind=10.289) / 0.3048))  # 90 kt, 20 kt behind
    877
    """
    _require_speed(true_airspeed)
    height: Q = np.multiply(true_airspeed, true_airspeed + tailwind) / STANDARD_GRAVITY
    return height
