"""When the power came off, from what the recorder holds of the engine; no draws."""

from __future__ import annotations

import numpy as np

from chalkwing.motion.motion import Motion

CHANNELS = ("throttle", "power", "manifold_pressure", "engine_speed")
"""The first of them that was recorded is read."""
CLOSED_SHARE = 0.3
"""Closed is within this share of the way from the least to what was carried before (our own)."""


def power_off(motion: Motion, *, before: float, reach: float = 120.0) -> tuple[float, float] | None:
    """When the throttle was last closed in the ``reach`` seconds before a time, and its sd [s].

    None where nothing about the engine was recorded or the power did not come off.
    """
    for name in CHANNELS:
        times, values = motion.recording.samples(name)
        inside = (times >= before - reach) & (times <= before + 10.0)
        if np.count_nonzero(inside) >= 8:
            return _last_closing(times[inside], values[inside], before)
    return None


def _last_closing(
    times: np.ndarray[tuple[int], np.dtype[np.float64]],
    values: np.ndarray[tuple[int], np.dtype[np.float64]],
    before: float,
) -> tuple[float, float] | None:
    low, high = float(values.min()), float(np.quantile(values, 0.9))
    if high - low < 0.2 * abs(high):
        return None
    level = low + CLOSED_SHARE * (high - low)
    falls = np.flatnonzero((values[:-1] > level) & (values[1:] <= level) & (times[:-1] <= before))
    if not len(falls):
        return None
    k = int(falls[-1])
    share = (values[k] - level) / (values[k] - values[k + 1])
    step = float(times[k + 1] - times[k])
    return float(times[k] + share * step), step / np.sqrt(12.0)
