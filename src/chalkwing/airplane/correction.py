"""The indicated-to-calibrated table of a sheet, applied either way."""

from __future__ import annotations

import numpy as np

from chalkwing.units import Floats, Q

Table = tuple[tuple[float, ...], tuple[float, ...]]
"""Indicated airspeeds [m/s, rising] and the calibrated ones that belong to them."""


def corrected(speed: Q | float, given: Floats, wanted: Floats) -> Q:
    """Add the correction, interpolated within the table and held constant beyond its ends."""
    result: Q = np.add(speed, np.interp(speed, given, wanted - given))
    return result


def calibrated_from_indicated(indicated: Q | float, table: Table) -> Q:
    """Calibrated airspeed [m/s] from indicated [m/s]."""
    speed: Q = corrected(indicated, np.array(table[0]), np.array(table[1]))
    return speed


def indicated_from_calibrated(calibrated: Q | float, table: Table) -> Q:
    """Indicated airspeed [m/s] from calibrated [m/s]; undoes :func:`calibrated_from_indicated`."""
    speed: Q = corrected(calibrated, np.array(table[1]), np.array(table[0]))
    return speed
