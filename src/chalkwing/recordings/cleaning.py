"""What recorders write that is no new measurement: impossible values, repeats of old ones, stray fixes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from chalkwing.recordings.channels import KINDS
from chalkwing.units import Floats, wrap_angle, wrap_compass

Mask = npt.NDArray[np.bool_]

EARTH_RADIUS = 6371008.8
"""Mean radius [m]: distances here only sort fixes into likely and impossible."""
FASTEST = 350.0
"""No airplane this is for moves faster over the ground [m/s]."""
STRAY = 250.0
"""A fix may be this far off the possible path before it is called stray [m]."""
MOST_STRAY = 10
"""More fixes than this in one piece are not called stray."""
MOVING = 5.0
"""Speed above which a repeated position cannot be a new one [m/s]."""


def apart(latitude: Floats, longitude: Floats, to_latitude: Floats, to_longitude: Floats) -> Floats:
    """Distance between fixes [m] from angles [rad] (haversine on the mean sphere)."""
    half_lat, half_lon = (to_latitude - latitude) / 2, (to_longitude - longitude) / 2
    chord = np.sin(half_lat) ** 2 + np.cos(latitude) * np.cos(to_latitude) * np.sin(half_lon) ** 2
    return np.asarray(2 * EARTH_RADIUS * np.arcsin(np.sqrt(np.clip(chord, 0, 1))))


def distances(latitude: Floats, longitude: Floats) -> Floats:
    """Distances between successive fixes [m], shape (n - 1,)."""
    return apart(latitude[:-1], longitude[:-1], latitude[1:], longitude[1:])


def within_range(name: str, values: Floats) -> tuple[Floats, int]:
    """Values wrapped into their circle if they have one, ``nan`` where unbelievable; how many those are."""
    kind = KINDS[name]
    finite = np.isfinite(values)
    values = np.where(finite, values, np.nan)
    if kind.circular or name == "longitude":
        # Beyond two turns it is not an angle written another way but something else altogether.
        believable = np.abs(values) <= 4 * np.pi + 1e-9
        wrapped = wrap_angle(values) if name == "longitude" else wrap_compass(values)
        return np.where(believable, wrapped, np.nan), int(np.sum(finite & ~believable))
    outside = finite & ((values < kind.low - 1e-9) | (values > kind.high + 1e-9))
    return np.where(outside, np.nan, values), int(outside.sum())


def unfixed(latitude: Floats, longitude: Floats) -> Mask:
    """Where a receiver without a fix wrote zeros for its position."""
    return np.asarray((latitude == 0) & (longitude == 0))


def stray_fixes(time: Floats, latitude: Floats, longitude: Floats) -> Mask:
    """Fixes that no airplane could have reached from the rest of the path.

    The path is cut where it jumps impossibly. From its longest piece outward, a short piece that cannot be
    reached from what is kept is stray; a long one is kept, because then it cannot be told which is wrong.
    """
    stray = np.zeros(len(time), dtype=bool)
    fixed = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    if len(fixed) < 3:
        return stray
    when, north, east = time[fixed], latitude[fixed], longitude[fixed]
    cuts = np.flatnonzero(distances(north, east) > FASTEST * np.diff(when) + STRAY) + 1
    pieces = list(zip([0, *cuts.tolist()], [*cuts.tolist(), len(fixed)], strict=True))
    longest = max(range(len(pieces)), key=lambda k: pieces[k][1] - pieces[k][0])

    def reachable(i: int, j: int) -> bool:
        way = apart(north[i : i + 1], east[i : i + 1], north[j : j + 1], east[j : j + 1])[0]
        return bool(way <= FASTEST * abs(when[i] - when[j]) + STRAY)

    for outward, step in ((pieces[longest + 1 :], 1), (pieces[:longest][::-1], -1)):
        kept = pieces[longest][1] - 1 if step > 0 else pieces[longest][0]
        for first, end in outward:
            near, far = (first, end - 1) if step > 0 else (end - 1, first)
            if reachable(kept, near) or end - first > MOST_STRAY:
                kept = far
            else:
                stray[fixed[first:end]] = True
    return stray


def stale_fixes(time: Floats, latitude: Floats, longitude: Floats) -> Mask:
    """Fixes that merely repeat the one before while the airplane moved on.

    A repeat counts as stale when the way to the next different fix, over all the time since the first
    writing, is faster than ``MOVING``: at rest, or hovering in the wind, a repeat is a true measurement.
    """
    stale = np.zeros(len(time), dtype=bool)
    fixed = np.flatnonzero(np.isfinite(latitude) & np.isfinite(longitude))
    if len(fixed) < 3:
        return stale
    apart = distances(latitude[fixed], longitude[fixed])
    first = np.flatnonzero(np.append(True, apart > 0))
    if len(first) < 2 or len(first) == len(fixed):
        return stale
    when = time[fixed]
    speed = apart[first[1:] - 1] / np.maximum(np.diff(when[first]), 1e-6)
    lengths = np.diff(np.append(first, len(fixed)))
    moving = np.append(speed > MOVING, speed[-1] > MOVING)
    repeat = np.ones(len(fixed), dtype=bool)
    repeat[first] = False
    stale[fixed[repeat & np.repeat(moving, lengths)]] = True
    return stale


def held_repeats(values: Floats) -> Mask:
    """Rows that repeat a value held from a slower sensor, told by changes at one regular spacing of rows."""
    held = np.zeros(len(values), dtype=bool)
    present = np.flatnonzero(np.isfinite(values))
    if len(present) < 30:
        return held
    changed = np.append(True, np.diff(values[present]) != 0)
    spacing = np.diff(np.flatnonzero(changed))
    if len(spacing) < 10:
        return held
    low, usual, high = np.quantile(spacing, (0.05, 0.5, 0.8))
    if usual >= 2 and low >= 0.75 * usual and high <= 1.25 * usual + 0.5 and low >= 2:
        held[present[~changed]] = True
    return held


def step_of(values: Floats) -> float:
    """The smallest step in which values were recorded, 0 when none can be told.

    Distinct values must lie on a grid of that step, as rounded numbers do and unrounded ones do not.
    """
    distinct = np.unique(values[np.isfinite(values)])
    if len(distinct) < 3:
        return 0.0
    steps = np.diff(distinct)
    real = steps > 1e-9 * max(float(np.abs(distinct).max()), 1e-3)
    if real.sum() < 2:
        return 0.0
    step = float(steps[real].min())
    multiple = (distinct - distinct[0]) / step
    off_grid = np.abs(multiple - np.round(multiple))
    # Far along the grid the rounding of the numbers themselves adds up; a random value would be off by 0.25.
    return step if float(np.quantile(off_grid, 0.9)) < 0.1 else 0.0
