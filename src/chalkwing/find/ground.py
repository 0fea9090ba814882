"""The flight over the ground as the finder needs it: place, wind, and this flight's own ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.runway import climbed_from
from chalkwing.find.turns import Ints
from chalkwing.motion.motion import Motion
from chalkwing.units import STANDARD_GRAVITY, Floats

_NEEDED = ("position_north", "position_east", "wind_north", "wind_east", "true_airspeed")

_IDLES = 0.5
"""Percentile of a flight's engine speed that is idling: some seconds before every landing."""


@dataclass(frozen=True)
class OverGround:
    """Arrays of shape (n,) on the Motion's grid [m, m/s]; ``nan`` throughout where the Motion has no place.

    ``wind`` is the velocity of the air, ``wind_sd`` that of each component. ``pivotal`` is the part of the
    pivotal altitude that changes with the wind, V * tailwind / g; ``pivotal_height`` is all of it,
    V * (V + tailwind) / g, the height from which a turn's wing points at one place. ``own_ground`` is the
    altitude of the lowest ground that this flight rolled on: ``nan`` where neither takeoff nor landing is in
    the recording; ``lowest_edge`` that from which the recording climbs, or to which it comes down.
    ``energy`` is the energy height, ``air_run`` how far it has flown through the air, ``engine`` its
    engine speed over the idle of this flight.
    """

    north: Floats
    east: Floats
    wind_north: Floats
    wind_east: Floats
    wind_sd: Floats
    pivotal: Floats
    pivotal_height: Floats
    altitude: Floats
    energy: Floats
    air_run: Floats
    engine: Floats
    own_ground: float
    lowest_edge: float

    @property
    def known(self) -> bool:
        """Whether the Motion knows its place and the wind."""
        return bool(np.isfinite(self.north[0]))


def over_ground(motion: Motion, flying: npt.NDArray[np.bool_], ground: float) -> OverGround:
    """The flight over the ground, its own at ``ground``; what the Motion does not hold is ``nan``."""
    unknown = np.full(len(motion.time), np.nan)
    altitude = motion["altitude"]
    energy = motion["specific_energy"]
    run = motion.interval * np.cumsum(motion["airspeed"])
    engine, edge = _engine_over_idle(motion, flying), climbed_from(motion)
    if not all(name in motion for name in _NEEDED):
        return OverGround(*(unknown,) * 7, altitude, energy, run, engine, ground, edge)
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
        pivotal_height=np.asarray(speed * (speed + tailwind) / STANDARD_GRAVITY),
        altitude=altitude,
        energy=energy,
        air_run=run,
        engine=engine,
        own_ground=ground,
        lowest_edge=edge,
    )


def _engine_over_idle(motion: Motion, flying: npt.NDArray[np.bool_]) -> Floats:
    """The recorded engine speed over what it idles at in flight; ``nan`` where none was recorded."""
    if motion.recording is None or "engine_speed" not in motion.recording or not np.any(flying):
        return np.full(len(motion.time), np.nan)
    time, speed = motion.recording.samples("engine_speed")
    on_grid = np.interp(motion.time, time, speed)
    idle = float(np.percentile(on_grid[flying], _IDLES))
    return np.asarray(on_grid / idle) if idle > 0.0 else np.full(len(on_grid), np.nan)


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
