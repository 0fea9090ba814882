"""The flight over the ground as the finder needs it: place, wind, and this flight's own ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.turns import Ints
from chalkwing.motion.motion import Motion
from chalkwing.units import STANDARD_GRAVITY, Floats

_NEEDED = ("position_north", "position_east", "wind_north", "wind_east", "true_airspeed")

_STANDS = 10.0
"""Seconds without flying that are a stop on the ground, and no lull in a slow flight."""


@dataclass(frozen=True)
class OverGround:
    """Arrays of shape (n,) on the Motion's grid [m, m/s]; ``nan`` throughout where the Motion has no place.

    ``wind`` is the velocity of the air, ``wind_sd`` that of each component. ``pivotal`` is the part of the
    pivotal altitude that changes with the wind, V * tailwind / g. ``own_ground`` is the altitude at which
    this flight last stood before, or first stood after: ``nan`` where it never stood.
    """

    north: Floats
    east: Floats
    wind_north: Floats
    wind_east: Floats
    wind_sd: Floats
    pivotal: Floats
    altitude: Floats
    own_ground: Floats

    @property
    def known(self) -> bool:
        """Whether the Motion knows its place and the wind."""
        return bool(np.isfinite(self.north[0]))


def over_ground(motion: Motion, flying: npt.NDArray[np.bool_]) -> OverGround:
    """The flight over the ground; what the Motion does not hold is ``nan``."""
    unknown = np.full(len(motion.time), np.nan)
    altitude, ground = motion["altitude"], _own_ground(motion["altitude"], flying, motion.interval)
    if not all(name in motion for name in _NEEDED):
        return OverGround(*(unknown,) * 6, altitude, ground)
    north, east = motion["wind_north"], motion["wind_east"]
    heading, speed = motion["heading_true"], motion["true_airspeed"]
    tailwind = north * np.cos(heading) + east * np.sin(heading)
    return OverGround(
        north=motion["position_north"],
        east=motion["position_east"],
        wind_north=north,
        wind_east=east,
        wind_sd=np.hypot(motion.sds["wind_north"], motion.sds["wind_east"]) / np.sqrt(2.0),
        pivotal=np.asarray(float(np.median(speed)) * tailwind / STANDARD_GRAVITY),
        altitude=altitude,
        own_ground=ground,
    )


def _own_ground(altitude: Floats, flying: npt.NDArray[np.bool_], interval: float) -> Floats:
    """The altitude of the ground this flight stood on, at each time the nearest in time; ``nan`` if none."""
    borders = np.flatnonzero(np.diff(flying.astype(np.int64), prepend=1, append=1))
    stops = borders.reshape(-1, 2)
    stops = stops[(stops[:, 1] - stops[:, 0]) * interval >= _STANDS]
    if len(stops) == 0:
        return np.full(len(altitude), np.nan)
    heights = np.array([np.median(altitude[begin:end]) for begin, end in stops])
    middles = 0.5 * (stops[:, 0] + stops[:, 1])
    nearest = np.searchsorted(0.5 * (middles[1:] + middles[:-1]), np.arange(len(altitude)))
    return np.asarray(heights[nearest])


def summed(values: Floats) -> Floats:
    """Running sums with a leading 0: the sum over points a to b inclusive is ``s[b + 1] - s[a]``."""
    return np.concatenate([[0.0], np.cumsum(values)])


def slope_on(values: Floats, on: Floats, first: Ints, last: Ints) -> tuple[Floats, Floats]:
    """Least-squares slope of ``values`` on ``on`` from ``first`` to ``last``, and the spread of ``on``."""
    count = (last + 1 - first).astype(float)
    level, ground = values - np.mean(values), on - np.mean(on)

    def over(product: Floats) -> Floats:
        sums = summed(product)
        return np.asarray((sums[last + 1] - sums[first]) / count)

    mean_on, mean = over(ground), over(level)
    variance = np.maximum(over(ground**2) - mean_on**2, 1e-9)
    return (over(ground * level) - mean_on * mean) / variance, np.sqrt(variance)
