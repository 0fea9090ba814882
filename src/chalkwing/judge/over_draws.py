"""What is told of many draws at once: means along each, mean and sd over all."""

from __future__ import annotations

import numpy as np

from chalkwing.units import Floats


def mean_over(signal: Floats, before: float, after: float, interval: float) -> Floats:
    """The mean of each draw from ``before`` seconds before each place to ``after`` seconds after it."""
    back, ahead = round(before / interval), round(after / interval)
    total = np.concatenate([np.zeros((len(signal), 1)), np.cumsum(signal, axis=1)], axis=1)
    count = signal.shape[1]
    first = np.clip(np.arange(count) - back, 0, count - 1)
    last = np.clip(np.arange(count) + ahead, 0, count - 1)
    return np.asarray((total[:, last + 1] - total[:, first]) / (last + 1 - first))


def moments(values: Floats) -> tuple[float, float]:
    """Mean and standard deviation of the finite values; ``nan`` where there is none."""
    finite = values[np.isfinite(values)]
    if len(finite) == 0:
        return float("nan"), float("nan")
    return float(finite.mean()), float(finite.std())
