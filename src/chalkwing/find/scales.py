"""A flight's own speeds: what it cruises at, and the slowest at which its airplane flies.

No airplane sheet is needed to find maneuvers, so slow and fast are told by the flight itself. Its cruise is
plain to see. How slowly the airplane could have flown is not, unless the flight went there: a flight without
slow flight must not call its slowest cruise slow. What is known of light airplanes therefore counts as much
as what was seen, and the doubt that remains goes into every statement about slowness.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from chalkwing.find.runway import own_ground, rolling
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

SLOWEST_FLIGHT = 0.3
"""Of the flight's cruise speed: no airplane flies slower, so there it taxies or stands."""

_SLOWEST_CRUISE = 10.0
"""Slower than any airplane cruises [m/s]: keeps a recording made on the ground from scaling to nothing."""

_CRUISE_PERCENTILE = 70.0
"""A lesson is flown at cruise or near it for a good third of its time, and rarely faster."""

_STALL_OVER_CRUISE = (0.50, 0.12)
"""Median and logarithmic spread of a light airplane's stall speed over the speed it cruises at in a lesson:
some 45 to 55 kt over 90 to 110 kt (common practice, no source; set before any flight was looked at)."""

_LONG_ENOUGH = 600.0
"""From so many seconds in the air on the fastest third of a flight is its cruise; a shorter recording may
hold a single maneuver and never have cruised."""

_NEVER_CRUISED = 0.3
"""Logarithmic doubt about the cruise speed of a recording so short that it may not show it."""

_SETTLED = 2.0
"""Seconds over which speed and load are smoothed when they are brought to one g."""

_SPENT = 4.0
"""Seconds that must have been spent at the slowest speed or slower: a wing that has let go is slower still
for a moment, and a gust or a bad row does not count."""

_TRIED = np.linspace(0.25, 0.9, 131)
"""Ratios of slowest to cruise speed that are weighed."""


@dataclass(frozen=True)
class Scales:
    """Speeds [m/s] that belong to this flight; ``slow_sd`` and ``cruise_sd`` are logarithmic.

    ``slow`` is the calibrated airspeed at which the airplane would stall at a load factor of one, clean or
    not, as well as the flight tells it.
    """

    cruise: float
    cruise_sd: float
    slow: float
    slow_sd: float


@dataclass(frozen=True)
class OwnScale:
    """The flight on its own scale: its speeds, its ground [m] (``nan`` where it shows none), and where it is
    in the air, shape (n,)."""

    speeds: Scales
    ground: float
    flying: npt.NDArray[np.bool_]


def own_scale(motion: Motion) -> OwnScale:
    """The scale of this flight, found once for all who look at it."""
    cruise = cruise_speed(motion["airspeed"])
    fast = motion["airspeed"] > SLOWEST_FLIGHT * cruise
    ground = own_ground(motion, cruise=cruise, flying=fast)
    flying = fast & ~rolling(motion, ground)
    speeds = scales(
        motion["airspeed"], motion.sds["airspeed"], motion["load_factor"], motion.interval, flying=flying
    )
    return OwnScale(speeds, ground, flying)


def cruise_speed(airspeed: Floats) -> float:
    """What the flight cruises at [m/s]."""
    return max(float(np.percentile(airspeed, _CRUISE_PERCENTILE)), _SLOWEST_CRUISE)


def scales(
    airspeed: Floats,
    airspeed_sd: Floats,
    load_factor: Floats,
    interval: float,
    *,
    flying: npt.NDArray[np.bool_],
) -> Scales:
    """The flight's own speeds, given where it is in the air; arrays of shape (n,)."""
    cruise = cruise_speed(airspeed)
    seconds = float(np.count_nonzero(flying)) * interval
    doubt = _NEVER_CRUISED * max(0.0, 1.0 - seconds / _LONG_ENOUGH)
    slowest, sd = _slowest(airspeed, airspeed_sd, load_factor, flying, interval)
    slow, slow_sd = _slow(max(slowest, 1.0) / cruise, sd / max(slowest, 1.0), doubt)
    return Scales(cruise, doubt, slow * cruise, slow_sd)


def brought_to_one_g(airspeed: Floats, load_factor: Floats, interval: float) -> Floats:
    """Airspeed over the root of the load factor [m/s]: the level flight with the same angle of attack."""
    load = smoothed(load_factor, _SETTLED, interval)
    return np.asarray(smoothed(airspeed, _SETTLED / 2.0, interval) / np.sqrt(np.maximum(load, 0.3)))


def smoothed(values: Floats, seconds: float, interval: float) -> Floats:
    """Mean over a window of ``seconds`` about each point, shorter at the ends."""
    reach = max(round(0.5 * seconds / interval), 0)
    total = np.concatenate([[0.0], np.cumsum(values)])
    here = np.arange(len(values))
    first, last = np.maximum(here - reach, 0), np.minimum(here + reach + 1, len(values))
    return np.asarray((total[last] - total[first]) / (last - first))


def _slowest(
    airspeed: Floats, airspeed_sd: Floats, load_factor: Floats, flying: npt.NDArray[np.bool_], interval: float
) -> tuple[float, float]:
    """The slowest speed at one g seen in flight, with the sd [m/s] of the airspeed there.

    Rolling on a runway is left out where it shows, and everything within ten seconds of it: an airplane that
    accelerates through walking pace is not flying yet.
    """
    level = brought_to_one_g(airspeed, load_factor, interval)
    airborne = smoothed(flying.astype(float), 20.0, interval) > 0.999
    if not airborne.any():
        return float(np.max(airspeed)), float(np.mean(airspeed_sd)) + 1e-3
    order = np.argsort(np.where(airborne, level, np.inf))
    at = order[min(round(_SPENT / interval), int(np.count_nonzero(airborne)) - 1)]
    return float(level[at]), float(airspeed_sd[at]) + 1e-3


def _slow(seen: float, seen_sd: float, doubt: float) -> tuple[float, float]:
    """Stall over cruise speed: most probable value and logarithmic sd, given the slowest ``seen`` over cruise
    speed.

    Airplanes in general say about what it is; this flight says that it is not more than what was seen.
    """
    usual, spread = _STALL_OVER_CRUISE
    log = np.log(_TRIED)
    weight = np.exp(-0.5 * ((log - np.log(usual)) / np.hypot(spread, doubt)) ** 2)
    weight *= ndtr((np.log(seen) - log) / np.hypot(0.03, seen_sd)) + 1e-12
    weight /= weight.sum()
    mean = float(np.sum(weight * log))
    return min(seen, usual), float(np.sqrt(np.sum(weight * (log - mean) ** 2)))
