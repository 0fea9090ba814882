"""Where exactly a maneuver begins, passes level and ends, and how well that is known.

A roll-in is a bank that stays at its entry value and then leaves it. How it leaves differs: a brisk roll at a
steady rate, or the slow start of a lazy eight whose rate itself grows. The better of both is taken:
``bank = a + b (t - edge)**p`` after the edge, p 1 or 2, by least squares over the edge's place. A roll-in
begins and a roll-out ends where the wings are level to within `LEVEL`: the first and the last of the bank
often come and go at a trickle, and nobody calls that turning.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.signals import Signals
from chalkwing.find.tuning import Tuning
from chalkwing.units import DEGREE, Floats

LEVEL = 2.0 * DEGREE
"""Bank that a pilot still calls level wings (common practice, no source)."""

_STEADY = 1.0 * DEGREE
"""How well wings are held level even in smooth air: no edge is known better than this allows."""

_ONSET = 0.5
"""Seconds to which it is a matter of taste when a roll-in, however brisk, has begun."""

_QUIET = 8.0
"""Seconds of level wings before a roll-in that tell what its entry value is."""

_LONGEST_ROLL = 30.0
"""Seconds within which a turn reaches the bank up to which its roll-in is fitted."""

_THROUGH = 2.5
"""Seconds on either side of level over which the roll rate of a passage is taken."""

_SLOWEST_ROLL = 0.5 * DEGREE
"""Roll rate under which the wings hardly move: keeps noise from making an edge's sd unbounded."""


@dataclass(frozen=True)
class Edge:
    """An instant [s] with its sd [s]."""

    time: float
    sd: float


def roll_in(
    seen: Signals, bank_sd: Floats, *, near: float, side: int, earliest: float, tuning: Tuning
) -> Edge:
    """Where the roll-in of the turn that begins ``near`` begins, not before ``earliest`` [s]."""
    edge = _roll(seen.time, side * seen.bank, bank_sd, near, earliest, LEVEL, tuning)
    return Edge(edge.time, float(np.hypot(edge.sd, _ONSET)))


def roll_out(
    seen: Signals, bank_sd: Floats, *, near: float, side: int, latest: float, tuning: Tuning
) -> Edge:
    """Where the roll-out that ends ``near`` reaches level wings, not after ``latest`` [s].

    It is a roll-in seen backward.
    """
    edge = _roll(-seen.time[::-1], side * seen.bank[::-1], bank_sd[::-1], -near, -latest, LEVEL, tuning)
    return Edge(-edge.time, edge.sd)


def passage(seen: Signals, bank_sd: Floats, *, near: float) -> Edge:
    """Where wings rolled from one side to the other pass level."""
    middle = seen.point(near)
    reach = round(_THROUGH / seen.interval)
    around = slice(max(middle - reach, 0), middle + reach + 1)
    rate = abs(float(np.polyfit(seen.time[around], seen.bank[around], 1)[0]))
    return Edge(near, _sd(float(bank_sd[middle]), rate, seen.interval))


def _sd(bank_sd: float, rate: float, interval: float) -> float:
    """Sd of an edge: the doubt about the bank over the rate at which it is rolled, and the grid."""
    return float(np.hypot(np.hypot(bank_sd, _STEADY) / max(rate, _SLOWEST_ROLL), 0.3 * interval))


def _roll(
    time: Floats, into: Floats, bank_sd: Floats, near: float, earliest: float, level: float, tuning: Tuning
) -> Edge:
    """Where ``into`` leaves ``level`` on its way up through the turn that begins about ``near``."""
    interval = float(time[1] - time[0])
    at = int(np.clip(round((near - time[0]) / interval), 0, len(time) - 1))
    above = np.flatnonzero(into[at : at + round(_LONGEST_ROLL / interval)] >= 4.0 * tuning.level_bank)
    top = at + (int(above[0]) if len(above) else round(2.0 / interval))
    first = max(round((max(near - _QUIET, earliest) - time[0]) / interval), 0)
    if top - first < 4:
        return Edge(max(near, earliest), _sd(float(bank_sd[at]), _SLOWEST_ROLL, interval))
    place, growth, power = _fit_roll(into[first : top + 1])
    rise = max(growth, 1e-9)
    past = (level / rise) ** (1.0 / power)
    steep = power * rise * max((LEVEL / rise) ** (1.0 / power), 1.0) ** (power - 1.0) / interval
    edge = max(float(time[first] + interval * (place + past)), earliest)
    return Edge(min(edge, float(time[top])), _sd(float(bank_sd[at]), steep, interval))


@compiled
def _fit_roll(into: Floats) -> tuple[float, float, float]:
    """The roll-in that fits best: its place [samples], its growth b [rad per sample**p] and its power p."""
    count = len(into)
    best = (0.0, 0.0, 1.0)
    least = np.inf
    for power in range(1, 3):
        for place in range(count - 2):
            s_u = s_uu = s_y = s_yu = 0.0
            for point in range(count):
                u = float(max(point - place, 0)) ** power
                s_u += u
                s_uu += u * u
                s_y += into[point]
                s_yu += into[point] * u
            cross = s_yu - s_u * s_y / count
            growth = max(cross / (s_uu - s_u * s_u / count), 0.0)
            misfit = -growth * cross  # less what is the same for all
            if misfit < least:
                least = misfit
                best = (float(place), growth, float(power))
    return best
