"""Where exactly a maneuver begins, passes level and ends, and how well that is known.

A roll-in is a bank that stays at its entry value and then leaves it. How it leaves differs: a brisk roll at a
steady rate, or the slow start of a lazy eight whose rate itself grows. The edge is the start of the better of
both: ``bank = a + b (t - edge)**p`` after the edge, p 1 or 2, by least squares over the edge's place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.signals import Signals
from chalkwing.find.tuning import Tuning
from chalkwing.units import DEGREE, Floats

_QUIET = 8.0
"""Seconds of level wings before a roll-in that tell what "level" is."""

_THROUGH = 2.5
"""Seconds on either side of level over which the roll rate of a passage is taken."""

_SLOWEST_ROLL = 1.0 * DEGREE
"""Roll rate under which a passage would not be one: keeps noise from making an edge unbounded."""


@dataclass(frozen=True)
class Edge:
    """An instant [s] with its sd [s]."""

    time: float
    sd: float


def roll_in(
    seen: Signals, bank_sd: Floats, *, near: float, side: int, earliest: float, tuning: Tuning
) -> Edge:
    """Where the roll-in of the turn that begins ``near`` begins, not before ``earliest`` [s]."""
    return _onset(seen.time, side * seen.bank, bank_sd, near, earliest, tuning)


def roll_out(
    seen: Signals, bank_sd: Floats, *, near: float, side: int, latest: float, tuning: Tuning
) -> Edge:
    """Where the roll-out that ends ``near`` reaches level wings, not after ``latest`` [s]."""
    edge = _onset(-seen.time[::-1], side * seen.bank[::-1], bank_sd[::-1], -near, -latest, tuning)
    return Edge(-edge.time, edge.sd)


def passage(seen: Signals, bank_sd: Floats, *, near: float, tuning: Tuning) -> Edge:
    """Where wings rolled from one side to the other pass level."""
    middle = int(seen.index(np.asarray(near)))
    reach = round(_THROUGH / seen.interval)
    around = slice(max(middle - reach, 0), middle + reach + 1)
    rate = abs(float(np.polyfit(seen.time[around], seen.bank[around], 1)[0]))
    return Edge(near, float(np.hypot(bank_sd[middle] / max(rate, _SLOWEST_ROLL), 0.3 * seen.interval)))


def _onset(time: Floats, into: Floats, bank_sd: Floats, near: float, earliest: float, tuning: Tuning) -> Edge:
    """Where ``into`` leaves its level value on its way up through the turn that begins about ``near``."""
    interval = float(time[1] - time[0])
    at = int(np.clip(round((near - time[0]) / interval), 0, len(time) - 1))
    high = 4.0 * tuning.level_bank
    above = np.flatnonzero(into[at : at + round(30.0 / interval)] >= high)
    top = at + (int(above[0]) if len(above) else round(2.0 / interval))
    first = max(round((max(near - _QUIET, earliest) - time[0]) / interval), 0)
    if top - first < 4:
        return Edge(max(near, earliest), interval)
    steady, growing, rate = _fit_onset(into[first : top + 1])
    place, other = (steady[0], growing[0]) if steady[1] <= growing[1] else (growing[0], steady[0])
    edge = max(float(time[first] + interval * place), earliest)
    known = bank_sd[min(at, len(bank_sd) - 1)] * interval / max(rate, 1e-6)
    shape = 0.25 * abs(place - other) * interval
    return Edge(edge, float(np.sqrt(known**2 + shape**2 + (0.3 * interval) ** 2)))


@compiled
def _fit_onset(into: Floats) -> tuple[tuple[float, float], tuple[float, float], float]:
    """Place [samples] and squared misfit of the best steady and growing roll-in; the final rate."""
    count = len(into)
    found = np.zeros((2, 2))
    for shape in range(2):
        found[shape, 1] = np.inf
        for place in range(count - 2):
            s_u = s_uu = s_y = s_yu = s_yy = 0.0
            for point in range(count):
                u = float(max(point - place, 0)) ** (shape + 1)
                y = into[point]
                s_u += u
                s_uu += u * u
                s_y += y
                s_yu += y * u
                s_yy += y * y
            spread = s_uu - s_u * s_u / count
            slope = max((s_yu - s_u * s_y / count) / spread, 0.0)
            misfit = s_yy - s_y * s_y / count - slope * (s_yu - s_u * s_y / count)
            if misfit < found[shape, 1]:
                found[shape, 0] = place
                found[shape, 1] = misfit
    rate = (into[count - 1] - into[max(count - 5, 0)]) / min(count - 1, 4)
    return (found[0, 0], found[0, 1]), (found[1, 0], found[1, 1]), rate
