"""Slow errors that no amount of the same channel's data can show.

A satellite altitude drifts by meters over a minute, an altimeter sticks and creeps, a static port errs with
speed, an airplane flies with a little slip: the motion does not betray them, so the estimator cannot see them
and its own sd is too small. They are added to the posterior afterwards as first-order processes, independent
of everything recorded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from chalkwing.units import DEGREE, Floats


@dataclass(frozen=True)
class Wander:
    """A slow error of some quantities together: stationary ``sd`` [SI] and ``time`` constant [s]."""

    quantities: tuple[str, ...]
    sd: float
    time: float


PLACE = 3.0
"""Slow error of satellite position [m, each axis]: common to a whole maneuver, it matters for places on the
ground only."""


def wanders(*, airspeed_recorded: bool, pitch_recorded: bool) -> tuple[Wander, ...]:
    """What wanders in a flight with these channels.

    Sizes are common practice, no source, and are held to simulated flights (docs/accuracy.md). Over a
    maneuver of a minute or so a difference of altitude gets an sd of about 15 ft from satellites and 6
    ft from pressure; certified altimeters may have 30 ft of after-effect (14 CFR 43 App. E, from memory).
    """
    found = [
        Wander(("geometric_altitude",), 3.5, 60.0),
        Wander(("pressure_altitude",), 1.5, 60.0),
        Wander(("heading_true",), 0.8 * DEGREE, 20.0),  # slip, which turns the nose off the path
    ]
    if not airspeed_recorded:  # what the broad belief about thrust and drag gets wrong
        found += [Wander(("wind_north",), 0.7, 300.0), Wander(("wind_east",), 0.7, 300.0)]
    if airspeed_recorded:  # the static port's error with speed and attitude
        found.append(Wander(("calibrated_airspeed", "true_airspeed"), 0.4, 60.0))
    if pitch_recorded:  # the attitude's zero, which only the wing's lift curve can tell
        found.append(Wander(("pitch",), 0.6 * DEGREE, 300.0))
    return tuple(found)


def walk(count: int, times: Floats, wander: Wander, generator: np.random.Generator) -> Floats:
    """Samples of one wander, shape (count, times), on a uniform grid [s]."""
    step = float(times[1] - times[0]) if len(times) > 1 else 1.0
    keep = float(np.exp(-step / wander.time))
    noise = generator.standard_normal((count, len(times))) * wander.sd
    noise[:, 1:] *= np.sqrt(1.0 - keep * keep)
    return np.asarray(lfilter([1.0], [1.0, -keep], noise, axis=1))
