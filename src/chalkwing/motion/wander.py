"""Slow errors of the altitude channels, which no amount of the same channel's data can show.

A satellite altitude drifts by meters over a minute and an altimeter sticks and creeps; the airplane's motion
does not betray it, so the estimator cannot see it and its own sd of altitude is too small. The wander is
added to the posterior afterwards: a first-order process, independent of everything recorded.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import lfilter

from chalkwing.units import Floats

TIME_CONSTANT = 60.0
"""[s]; common practice, no source."""
WANDER = {"geometric_altitude": 3.5, "pressure_altitude": 2.5}
"""Stationary sd [m]. Over a maneuver of a minute or so a difference then has an sd of about 15 ft from satellites
and 10 ft from pressure: common practice, no source (certified altimeters may have 30 ft of after-effect, 14 CFR 43
App. E, from memory)."""
PLACE = 3.0
"""Slow error of satellite position [m, each axis]: common to a whole maneuver, it matters for places on the
ground only."""


def walks(count: int, times: Floats, sd: float, generator: np.random.Generator) -> Floats:
    """Samples of the wander, shape (count, times), on a uniform grid [s]."""
    step = float(times[1] - times[0]) if len(times) > 1 else 1.0
    keep = float(np.exp(-step / TIME_CONSTANT))
    noise = generator.standard_normal((count, len(times))) * sd
    noise[:, 1:] *= np.sqrt(1.0 - keep * keep)
    return np.asarray(lfilter([1.0], [1.0, -keep], noise, axis=1))
