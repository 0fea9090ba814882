"""How evenly a stretch glides: with the power off throughout, energy is lost at one angle all the way down.

An ordinary approach is flown with power, and power is what the path is corrected with: somewhere the descent
flattens, elsewhere it steepens. An idling engine leaves only the turn, the speed and the flaps.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.turns import Ints
from chalkwing.units import Floats

WINDOW = 15.0
"""Window of which the angle is taken [s]: shorter ones show gusts and the estimate's own noise."""
_SETTLES = 6.0
"""The propeller runs down for so long after the throttle is closed [s]."""
_ROUND_OUT = 4.0
"""And so long before the wheels touch the round-out begins [s]."""


def evenness(energy: Floats, run: Floats, first: Ints, last: Ints, interval: float) -> Floats:
    """The flattest over the steepest angle at which each stretch lost energy, from 0 (it gained some) to 1.

    Parameters
    ----------
    energy, run : array, shape (n,)
        Energy height and distance flown through the air [m].
    first, last : int arrays, shape (stretches,)
        Grid points; ``interval`` seconds apart. Too short a stretch gives ``nan``.
    """
    points = (round(each / interval) for each in (WINDOW, _SETTLES, _ROUND_OUT))
    ends: Floats = _flattest_and_steepest(energy, run, first, last, *points)
    return np.asarray(np.clip(ends[:, 0] / np.maximum(ends[:, 1], 1e-3), 0.0, 1.0))


def steadiness(values: Floats, first: Ints, last: Ints, interval: float) -> Floats:
    """The tenth over the ninetieth percentile of ``values`` in each stretch, shape (stretches,)."""
    settles, rounds = round(_SETTLES / interval), round(_ROUND_OUT / interval)
    found = np.full(len(first), np.nan)
    for one, (begin, end) in enumerate(zip(first + settles, last - rounds, strict=True)):
        if end - begin > settles and np.isfinite(values[begin]):
            low, high = np.percentile(values[begin:end], (10.0, 90.0))
            found[one] = low / max(high, 1e-3)
    return found


@compiled
def _flattest_and_steepest(
    energy: Floats, run: Floats, first: Ints, last: Ints, window: int, settles: int, rounds: int
) -> Floats:
    """Least and greatest energy lost over distance flown, over any window of each stretch."""
    ends = np.full((len(first), 2), np.nan)
    for one in range(len(first)):
        begin, end = first[one] + settles, last[one] - rounds - window
        for point in range(begin, end + 1):
            lost = energy[point] - energy[point + window]
            slope = lost / max(run[point + window] - run[point], 1.0)
            if point == begin or slope < ends[one, 0]:
                ends[one, 0] = slope
            if point == begin or slope > ends[one, 1]:
                ends[one, 1] = slope
    return ends
