"""Slow errors that no amount of the same channel's data can show.

A satellite altitude drifts by meters over a minute, an altimeter sticks and creeps, a static port errs with
speed, an airplane flies with a little slip: the motion does not betray them, so the estimator cannot see them
and its own sd is too small. They are added to the posterior afterwards as first-order processes, independent
of everything recorded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.units import DEGREE, Floats


@dataclass(frozen=True)
class Wander:
    """A slow error of some quantities together: stationary ``sd`` [SI] and ``time`` constant [s]."""

    quantities: tuple[str, ...]
    sd: float
    time: float


CLOCK_WITH_ATTITUDE, CLOCK_ALONE = 0.1, 0.3
"""How far the clock of the estimate may be off the true time [s]: attitude shows how late the positions
are, without it nothing does. Common practice, no source. It moves a whole maneuver and cancels in
differences."""
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
        Wander(("heading_true",), 0.6 * DEGREE, 20.0),  # slip, which turns the nose off the path
    ]
    if not airspeed_recorded:  # what the broad belief about thrust and drag gets wrong
        found += [Wander(("wind_north",), 0.7, 300.0), Wander(("wind_east",), 0.7, 300.0)]
        found.append(Wander(("calibrated_airspeed", "true_airspeed"), 0.7, 60.0))
    if airspeed_recorded:  # the static port's error with speed and attitude
        found.append(Wander(("calibrated_airspeed", "true_airspeed"), 0.4, 60.0))
    if pitch_recorded:  # the attitude's zero, which only the wing's lift curve can tell
        found.append(Wander(("pitch",), 0.6 * DEGREE, 300.0))
    bank, speed, climb = (0.4, 0.13, 0.08) if pitch_recorded else (0.7, 0.2, 0.17)
    found.append(Wander(("bank",), bank * DEGREE, 60.0))  # slip banks a turn more or less than its path shows
    # A place or an altitude that drifts is a speed that is not flown.
    found.append(Wander(("ground_speed",), speed, 8.0))
    found.append(Wander(("vertical_speed",), climb, 8.0))
    return tuple(found)


def walk(count: int, times: Floats, wander: Wander, generator: np.random.Generator) -> Floats:
    """Samples of one wander, shape (count, times), on a uniform grid [s].

    Walked in steps of a tenth of the time constant and interpolated: in between nothing happens that matters.
    """
    step = wander.time / 10.0
    nodes = max(int(np.ceil((times[-1] - times[0]) / step)) + 1, 2)
    keep = float(np.exp(-step / wander.time))
    walked = generator.standard_normal((nodes, count)) * wander.sd
    for k in range(1, nodes):
        walked[k] = keep * walked[k - 1] + np.sqrt(1.0 - keep * keep) * walked[k]
    place = (times - times[0]) / step
    before = np.minimum(place.astype(np.int64), nodes - 2)
    share = (place - before)[:, None]
    return np.ascontiguousarray(((1.0 - share) * walked[before] + share * walked[before + 1]).T)
