"""The only unit conversions in chalkwing, and the constants that define them.

Inside, everything is SI with angles in radians; these functions are called at the edges, where a file, a
command line or a page speaks of knots, feet and degrees. All take scalars or arrays and are exact by
definition: the international foot (0.3048 m) and nautical mile (1852 m), the standard acceleration of free
fall (9.80665 m/s², BIPM SI Brochure, 9th ed., and ICAO Doc 7488), the inch of mercury as 3386.389 Pa
(NIST SP 811, App. B.8, conventional, 0 °C).

``require_within`` refuses a number that can only be in the wrong unit. The many ways in which people write a
unit are read in `chalkwing.unit_text`.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from chalkwing.errors import OutsideModel

Floats = npt.NDArray[np.float64]
"""An array of 64-bit floats of any shape."""

Q = TypeVar("Q", float, Floats)
"""A quantity: one number or an array of them; what goes in as one comes out as one."""

FOOT = 0.3048
NAUTICAL_MILE = 1852.0
KNOT = NAUTICAL_MILE / 3600.0
FOOT_PER_MINUTE = FOOT / 60.0
POUND = 0.45359237
STANDARD_GRAVITY = 9.80665
INCH_OF_MERCURY = 3386.389
HECTOPASCAL = 100.0
HORSEPOWER = 550.0 * FOOT * POUND * STANDARD_GRAVITY
STANDARD_SEA_LEVEL_PRESSURE = 101325.0
ZERO_CELSIUS = 273.15
DEGREE = np.pi / 180.0
MILE = 1609.344
US_GALLON = 231.0 * (FOOT / 12.0) ** 3
IMPERIAL_GALLON = 4.54609e-3
LITER = 1e-3
REVOLUTION = 2.0 * np.pi
POUND_PER_SQUARE_INCH = POUND * STANDARD_GRAVITY / (FOOT / 12.0) ** 2
MILLIMETER_OF_MERCURY = INCH_OF_MERCURY / 25.4
FAHRENHEIT_SCALE = 5.0 / 9.0
FAHRENHEIT_OFFSET = 459.67 * FAHRENHEIT_SCALE


def ft_to_m(feet: Q) -> Q:
    """Feet to meters.

    >>> ft_to_m(1000.0)
    304.8
    """
    return feet * FOOT


def m_to_ft(meters: Q) -> Q:
    """Meters to feet."""
    return meters / FOOT


def kt_to_mps(knots: Q) -> Q:
    """Knots to meters per second.

    >>> round(kt_to_mps(100.0), 4)
    51.4444
    """
    return knots * KNOT


def mps_to_kt(meters_per_second: Q) -> Q:
    """Meters per second to knots."""
    return meters_per_second / KNOT


def deg_to_rad(degrees: Q) -> Q:
    """Degrees to radians."""
    return degrees * DEGREE


def rad_to_deg(radians: Q) -> Q:
    """Radians to degrees."""
    return radians / DEGREE


def celsius_to_kelvin(celsius: Q) -> Q:
    """Degrees Celsius to kelvins."""
    return celsius + ZERO_CELSIUS


def kelvin_to_celsius(kelvin: Q) -> Q:
    """Kelvins to degrees Celsius."""
    return kelvin - ZERO_CELSIUS


def wrap_angle(angle: Q) -> Q:
    """The same angle in (-pi, pi].

    >>> round(wrap_angle(1.5 * np.pi), 6)
    -1.570796
    """
    turn: Q = np.pi - (np.pi - angle) % (2.0 * np.pi)
    return turn


def wrap_compass(angle: Q) -> Q:
    """The same angle in [0, 2 pi), as a compass card shows it."""
    turn: Q = angle % (2.0 * np.pi)
    return turn


def require_within(
    name: str, value: float | Floats, low: float, high: float, unit: str, *, hint: str | None = None
) -> None:
    """Refuse a quantity with any element outside [low, high]; ``nan`` passes.

    Raises
    ------
    OutsideModel
        Names the quantity, the first such value, the range and the ``hint``: what to do next.

    >>> require_within("bank", 45.0, -1.57, 1.57, "rad", hint="Was it in degrees?")
    Traceback (most recent call last):
    chalkwing.errors.OutsideModel: bank of 45 rad lies outside -1.57 to 1.57 rad. Was it in degrees?
    """
    outside = np.less(value, low) | np.greater(value, high)
    if np.any(outside):
        first = float(np.asarray(value)[outside].flat[0])
        raise OutsideModel(
            f"{name} of {first:.6g} {unit} lies outside {low:.6g} to {high:.6g} {unit}.", next_step=hint
        )
