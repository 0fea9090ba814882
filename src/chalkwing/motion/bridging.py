"""A first guess across a gap: how the airplane most likely turned while nothing was recorded.

Straight interpolation of the velocity would cut through the turn and start the estimator at an airspeed no
airplane flies at, from where it may never find back. Here speed is carried across, and the direction turns
with the turn rates at both ends and as many full circles as the distance covered allows best.
"""

from __future__ import annotations

import numpy as np

from chalkwing.units import Floats, wrap_angle

LONGEST_STEP = 4.0
"""Positions farther apart than this [s] are bridged."""
CIRCLES = (-2, -1, 0, 1, 2)
UNEVEN = 0.04
"""Turn rate [rad/s] by which a guess may wander from the rates at the gap's ends before it looks unlikely."""


def gaps_in(times: Floats, *, start: float, end: float) -> list[tuple[float, float]]:
    """Stretches [s] between ``start`` and ``end`` without a position for longer than ``LONGEST_STEP``."""
    inside = times[(times >= start) & (times <= end)]
    wide = np.flatnonzero(np.diff(inside) > LONGEST_STEP)
    return [(float(inside[i]), float(inside[i + 1])) for i in wide]


def bridge(
    time: Floats, place: tuple[Floats, Floats], velocity: tuple[Floats, Floats], gap: tuple[float, float],
    wind: tuple[float, float],
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:  # fmt: skip
    """Positions [m] and ground velocities [m/s] (north, east) on ``time`` with ``gap`` [s] filled in.

    Outside the gap nothing changes; a gap at the very edge of ``time`` is left as it was.
    """
    before, after = np.searchsorted(time, gap[0], side="right") - 1, np.searchsorted(time, gap[1])
    if before < 2 or after > len(time) - 3 or after - before < 2:
        return place, velocity
    through = velocity[0] - wind[0], velocity[1] - wind[1]
    direction = np.arctan2(through[1], through[0])
    speed = np.hypot(*through)
    rate_in = float(wrap_angle(direction[before] - direction[before - 2])) / (time[before] - time[before - 2])
    rate_out = float(wrap_angle(direction[after + 2] - direction[after])) / (time[after + 2] - time[after])
    across = time[before : after + 1] - time[before]
    length = float(across[-1])
    s = across / length
    speeds = (1 - s) * speed[before] + s * speed[after]
    covered = np.array([axis[after] - axis[before] for axis in place]) - np.array(wind) * length
    least = float(wrap_angle(direction[after] - direction[before]))
    best, best_cost = None, np.inf
    for circles in CIRCLES:
        angle = direction[before] + _turned(s, length, rate_in, rate_out, least + 2.0 * np.pi * circles)
        step = np.stack((speeds * np.cos(angle), speeds * np.sin(angle)))
        moved = np.trapezoid(step, across, axis=1)
        uneven = np.gradient(angle, across) - ((1 - s) * rate_in + s * rate_out)
        cost = (
            float(np.sum((moved - covered) ** 2)) / (3.0 * length) ** 2
            + float(np.mean(uneven**2)) / UNEVEN**2
        )
        if cost < best_cost:
            best, best_cost = step, cost
    assert best is not None
    return _filled(time, place, velocity, slice(before, after + 1), best, wind)


def _turned(s: Floats, length: float, rate_in: float, rate_out: float, total: float) -> Floats:
    """The cubic that turns through ``total`` [rad] with the given rates at its ends."""
    return (
        s * (1 - s) ** 2 * length * rate_in + s**2 * (3 - 2 * s) * total + s**2 * (s - 1) * length * rate_out
    )


def _filled(
    time: Floats, place: tuple[Floats, Floats], velocity: tuple[Floats, Floats], part: slice, step: Floats,
    wind: tuple[float, float],
) -> tuple[tuple[Floats, Floats], tuple[Floats, Floats]]:  # fmt: skip
    """Put the guess into ``part``; what distance it lacks is spread evenly over the gap."""
    places, velocities = [], []
    for axis in (0, 1):
        over = step[axis] + wind[axis]
        gained = np.concatenate(([0.0], np.cumsum(0.5 * (over[1:] + over[:-1]) * np.diff(time[part]))))
        lacking = place[axis][part][-1] - place[axis][part][0] - gained[-1]
        share = (time[part] - time[part][0]) / (time[part][-1] - time[part][0])
        new_place, new_velocity = place[axis].copy(), velocity[axis].copy()
        new_place[part] = place[axis][part][0] + gained + share * lacking
        new_velocity[part] = over
        places.append(new_place)
        velocities.append(new_velocity)
    return (places[0], places[1]), (velocities[0], velocities[1])
