"""What neither rows nor draws tell of a flight: a further doubt of extremes and of times.

An extreme is a single moment, and two things happen to it that hardly touch a mean.

- It falls between two rows. A parabola through three rows, ``h`` seconds apart, whose middle one is the
  highest rises above it by an eighth of its second difference at most: ``|q(t+h) - 2 q(t) + q(t-h)| / 8``.
- Noise raises it. Every draw wanders about the flight's mean course, and the highest of a wandering line
  lies above the highest of the line it wanders about. How much of that the airplane did itself, and how
  much is the estimate's own doubt, is not known: all of it is doubt.
"""

from __future__ import annotations

import numpy as np

from chalkwing.judge import kernels
from chalkwing.judge.flown import Flown
from chalkwing.judge.measures import Measuring, Window
from chalkwing.judge.over_draws import moments
from chalkwing.maneuvers.schema import Measure
from chalkwing.maneuvers.vocabulary import UNITS
from chalkwing.units import DEGREE, Floats

WITHIN_A_ROW = {"load_factor": 0.1, "wing_drop": 1.5 * DEGREE, "bank": 0.7 * DEGREE, "pitch": 1.8 * DEGREE}
"""How far an extreme may go beyond what rows a second apart can show [SI], in what is over in seconds: a
stall, a recovery. Held to simulated stalls (docs/decisions/0018)."""

_LATE = 0.85
"""Doubt about a time between two edges [s] where bank was not measured: worked out from a track it is a mean
over seconds, and either edge is known to some 0.6 s. Held to simulated lessons (docs/decisions/0018)."""

_EXTREMES = ("extremum", "departure", "swing", "spread")
_PARABOLA = 1.0 / 8.0


def unseen(measuring: Measuring, measure: Measure, part: int | None, values: Floats) -> float:
    """The standard deviation to add to that of ``values``, the measure in every draw; both in its unit."""
    if measure.each in ("left_minus_right", "step") or not np.isfinite(values).any():
        return 0.0
    unit = UNITS[measure.unit]
    if measure.functional == "duration":
        return 0.0 if measuring.flown.motion.origins.get("bank") == "measured" else _LATE / unit
    return _of_extreme(measuring, measure, part, moments(values)[0] * unit) / unit


def _of_extreme(measuring: Measuring, measure: Measure, part: int | None, value: float) -> float:
    """The same of an extreme whose mean over all draws is ``value`` [SI]; 0 for any other measure."""
    if measure.functional not in _EXTREMES:
        return 0.0
    window = measuring.window(measure, None if measure.each == "whole" else part)
    course = _mean_course(measuring.flown, measure, window)
    begin, end = (np.array([moments(edge)[0]]) for edge in (window.begin, window.end))
    seen = kernels.window_statistics(course[None, :], begin, end, 0.0)[0]
    high, low = float(seen[kernels.HIGHEST]), float(seen[kernels.LOWEST])
    if not np.isfinite(high + low):
        return 0.0
    reach = rows_apart(measuring.flown)
    above, below = (_bend(course, seen[when], reach) for when in (kernels.WHEN_HIGHEST, kernels.WHEN_LOWEST))
    if measure.functional == "spread":
        return abs(value - float(seen[kernels.SPREAD]))
    if measure.functional == "swing":
        return float(np.hypot(_PARABOLA * np.hypot(above, below), value - (high - low)))
    base = _base(measuring, measure, window, course, begin)
    # Which of the two ends it was is told by which is nearer to what the draws said.
    ends = [(high - base, above), (low - base, below)]
    ends += [(base - high, above), (base - low, below)] if measure.magnitude else []
    plain, bent = min(ends, key=lambda each: abs(each[0] - value))
    brief = WITHIN_A_ROW.get(measure.quantity.name, 0.0) if measuring.definition.progress == "time" else 0.0
    return float(np.hypot(np.hypot(_PARABOLA * bent, brief), value - plain))


def _base(measuring: Measuring, measure: Measure, window: Window, course: Floats, begin: Floats) -> float:
    """What the extreme is counted from, meant over all draws."""
    if measure.functional == "departure":
        return float(kernels.sample(course[None, :], begin)[0])
    return moments(measuring.reference(measure, window.part))[0]


def rows_apart(flown: Flown) -> int:
    """How many steps of the grid lie between two rows of the recording; one second where there is none."""
    recording = flown.motion.recording
    seconds = 1.0 if recording is None else float(np.median(np.diff(recording.time)))
    return max(round(seconds / flown.interval), 1)


def _mean_course(flown: Flown, measure: Measure, window: Window) -> Floats:
    """The mean of all draws at every time; ``nan`` where a draw has no value."""
    return np.asarray(flown.signal(measure.quantity.name, window.part).mean(axis=0))


def _bend(course: Floats, place: float, reach: int) -> float:
    """The size of the second difference about a place, one row to either side."""
    at = round(float(place))
    before, after = max(at - reach, 0), min(at + reach, len(course) - 1)
    bent = float(abs(course[after] - 2.0 * course[at] + course[before]))
    return bent if np.isfinite(bent) else 0.0
