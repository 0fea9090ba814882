"""What the altimeter shows at a height, and how high one is at what it shows, on a day that is not standard.

Set to the field's altimeter setting, an altimeter shows the field's elevation on the field. Above it the air
is stretched where it is warm and squeezed where it is cold: on a cold day one is lower than the altimeter
shows, and a floor above the ground needs more altitude on the dial.
"""

from __future__ import annotations

import math

from chalkwing import air
from chalkwing.conditions import Conditions

_LAPSE = 0.0065
"""Of the standard atmosphere up to 11 km [K/m], [ICAO7488]."""


def height_at(conditions: Conditions, indicated: float) -> float:
    """Height above mean sea level [m] where the altimeter shows ``indicated`` [m].

    dz = (T / T_standard) dH with H the pressure altitude, integrated from the field: the hydrostatic equation
    with the gas law. Geopotential and geometric height are taken as equal (0.05 % at 10,000 ft).
    """
    field = float(conditions.pressure_altitude(conditions.elevation))
    level = float(conditions.pressure_altitude(indicated))
    ratio = air.standard_temperature(field) / air.standard_temperature(level)
    stretch = conditions.isa_deviation / _LAPSE * math.log(ratio)
    return float(conditions.elevation + (level - field) + stretch)


def indicated_at(conditions: Conditions, height: float) -> float:
    """What the altimeter shows [m] at a height above mean sea level [m]; undoes :func:`height_at`."""
    indicated = height
    for _ in range(8):
        # The map is within 30 % of the identity and all but straight, so that each round gains two digits.
        level = float(conditions.pressure_altitude(indicated))
        slope = 1.0 + conditions.isa_deviation / air.standard_temperature(level)
        indicated += (height - height_at(conditions, indicated)) / slope
    return float(indicated)
