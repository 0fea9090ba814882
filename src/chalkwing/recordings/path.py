"""What positions alone say about speed and turning, for checks of units and signs."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.cleaning import apart
from chalkwing.units import Floats


def path_speed(time: Floats, latitude: Floats, longitude: Floats) -> Floats:
    """Ground speed between the fixes before and after each row [m/s], ``nan`` where it cannot be told.

    Rows may come in any order and repeat; only rows with a fix count.
    """
    speed = np.full(len(time), np.nan)
    fixed = np.flatnonzero(np.isfinite(time) & np.isfinite(latitude) & np.isfinite(longitude))
    if len(fixed) < 3:
        return speed
    when = time[fixed]
    elapsed = when[2:] - when[:-2]
    way = apart(latitude[fixed[:-2]], longitude[fixed[:-2]], latitude[fixed[2:]], longitude[fixed[2:]])
    with np.errstate(divide="ignore", invalid="ignore"):
        speed[fixed[1:-1]] = np.where(elapsed > 0, way / elapsed, np.nan)
    return speed


def path_turn_rate(time: Floats, latitude: Floats, longitude: Floats) -> Floats:
    """Rate of turn of the ground track at each row [rad/s], right positive, ``nan`` where unknown."""
    rate = np.full(len(time), np.nan)
    fixed = np.flatnonzero(np.isfinite(time) & np.isfinite(latitude) & np.isfinite(longitude))
    if len(fixed) < 3:
        return rate
    north, east = np.diff(latitude[fixed]), np.diff(longitude[fixed]) * np.cos(latitude[fixed][1:])
    turned = np.arctan2(
        north[:-1] * east[1:] - east[:-1] * north[1:], north[:-1] * north[1:] + east[:-1] * east[1:]
    )
    elapsed = (time[fixed][2:] - time[fixed][:-2]) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        rate[fixed[1:-1]] = np.where(elapsed > 0, turned / elapsed, np.nan)
    return rate
