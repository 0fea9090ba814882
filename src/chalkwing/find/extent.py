"""Where a maneuver of turns begins before its first turn, or ends after its last, if its definition says so.

An approach begins where the power comes off and ends on the runway; its turns lie between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.signals import Signals
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.schema import Definition
from chalkwing.motion.motion import Motion
from chalkwing.units import FOOT_PER_MINUTE, Floats

_LONGEST_BEFORE = 60.0
"""Time of level wings before the first turn within which the power came off [s]."""
_INTO_TURN = 6.0
"""The power may come off in the beginning of the turn, so long after its start [s]."""
_LEAST_DROP = 250.0 * FOOT_PER_MINUTE
"""Step of the energy rate that is taken for power coming off."""
_LONGEST_AFTER = 150.0
"""Time after the last turn within which the descent ends [s]."""
_RISES = 8.0
"""Climb after the lowest point that shows the descent to be over [m]."""
_SETTLES = 4.0
_TOUCHES = 1.5
"""The wheels are as good as down where no more than `_TOUCHES` [m] is lost in the next `_SETTLES` seconds."""
_STRAIGHT = 0.2
"""Bank [rad] up to which a student's downwind leg is straight."""
_BEFORE_ANY = 0.3
"""Of ordinary turns: how many follow a straight in which power came off (common practice, no source)."""
BEGIN_SD = 1.0
END_SD = 2.5
"""Doubt about either of these edges [s], as seen on tuning lessons: a float hides where the wheels met."""


@dataclass(frozen=True)
class Extent:
    """The grid points at which each candidate begins and ends, and whether that may be beyond its turns.

    ``odds`` are log odds for those that should begin with power coming off and do, against those that do not.
    """

    first: Ints
    last: Ints
    odds: Floats
    begins_before: bool
    ends_after: bool


def extent(
    definition: Definition, first: Ints, last: Ints, motion: Motion, seen: Signals, tuning: Tuning
) -> Extent:
    """From where to where each candidate goes whose turns lie between grid points ``first`` and ``last``."""
    before = definition.finder.begins == "throttle_closed" and "specific_energy_rate" in motion
    after = definition.finder.ends == "ends"
    odds = np.zeros(len(first))
    if before:
        reach, into = round(_LONGEST_BEFORE / seen.interval), round(_INTO_TURN / seen.interval)
        turns = first
        rate, bank = motion["specific_energy_rate"], seen.bank
        first = _power_off(first, rate, bank, reach, into, _LEAST_DROP, _STRAIGHT)
        odds = np.where(first == turns, tuning.failure, -np.log(_BEFORE_ANY))
    if after:
        reach, settle = round(_LONGEST_AFTER / seen.interval), round(_SETTLES / seen.interval)
        last = _down(last, motion["altitude"], reach, settle, _RISES, _TOUCHES)
    return Extent(first, last, odds, before, after)


@compiled
def _power_off(
    turns: Ints, rate: Floats, bank: Floats, reach: int, into: int, least: float, straight: float
) -> Ints:
    """The best single step down of the energy rate in the straight before each turn, else the turn itself."""
    found = turns.copy()
    for one in range(len(turns)):
        begin = turns[one]
        while begin > 0 and begin > turns[one] - reach and abs(bank[begin - 1]) < straight:
            begin -= 1
        end = min(turns[one] + into, len(rate))
        total = 0.0
        for point in range(begin, end):
            total += rate[point]
        left, best = 0.0, 0.0
        for point in range(begin + 1, end - 4):
            left += rate[point - 1]
            before, after = point - begin, end - point
            drop = left / before - (total - left) / after
            gain = drop * drop * before * after
            if drop > least and gain > best:
                best, found[one] = gain, point
    return found


@compiled
def _down(turns: Ints, altitude: Floats, reach: int, settle: int, rises: float, touches: float) -> Ints:
    """Where the descent after each last turn is over: from where it hardly goes lower, near its lowest."""
    found = turns.copy()
    for one in range(len(turns)):
        lowest = altitude[turns[one]]
        end = turns[one]
        for point in range(turns[one], min(turns[one] + reach, len(altitude))):
            if altitude[point] > lowest + rises:
                break
            if altitude[point] < lowest:
                lowest, end = altitude[point], point
        over = end
        for point in range(turns[one], end):
            if altitude[point] < lowest + rises:
                after = altitude[point : min(point + settle, len(altitude))].min()
                if altitude[point] - after < touches:
                    over = point
                    break
        found[one] = over
    return found
