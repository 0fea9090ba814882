"""Turns: the stretches of a flight with bank on one side, and where each begins and stops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.compiled import compiled
from chalkwing.find.tuning import Tuning
from chalkwing.units import DEGREE, Floats

Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

SEEN_LEVEL = 1.0 * DEGREE
"""Bank under which wings are as level as anyone holds them (common practice, no source)."""

LULL = 0.6
LULL_REACH = 10.0
"""A bank that is less than this part of what it was and will be within so many seconds is that between two
turns (common practice, no source)."""


@dataclass(frozen=True)
class Turns:
    """The turns of a flight in order; all arrays of shape (turns,).

    ``side`` is +1 right, -1 left. ``first`` and ``last`` are the grid points between which bank stays above
    wings-level; ``start`` and ``end`` [s] the instants of level wings that its roll-in and roll-out point to.
    Where a turn is rolled straight into the opposite one, the end of one is the start of the next.
    """

    side: Ints
    first: Ints
    last: Ints
    start: Floats
    end: Floats

    def __len__(self) -> int:
        return len(self.side)


def find_turns(time: Floats, bank: Floats, flying: npt.NDArray[np.bool_], tuning: Tuning) -> Turns:
    """Cut a flight into turns by hysteresis on bank, and where it comes off and on again.

    A stretch above ``level_bank`` on one side counts as a turn if it reaches ``turn_bank`` at least once. In
    the lull between two turns to one side the wings need not come level: whoever is late for the second
    rolls out of the first only halfway.
    """
    banked = np.where((np.abs(bank) > tuning.level_bank) & flying, np.sign(bank), 0.0).astype(np.int64)
    borders = np.flatnonzero(np.diff(banked, prepend=0, append=0))
    if len(borders) == 0:
        return _none()
    first, last = borders[:-1], borders[1:] - 1
    side = banked[first]
    steepest = np.maximum.reduceat(np.abs(bank), first) if len(first) else np.empty(0)
    kept = (side != 0) & (steepest > tuning.turn_bank)
    if not np.any(kept):
        return _none()
    reach = round(LULL_REACH / float(time[1] - time[0]))
    lulls = _lulls(np.abs(bank), first[kept], last[kept], reach, 2.0 * tuning.turn_bank)
    first, last = np.sort(np.append(first[kept], lulls)), np.sort(np.append(last[kept], lulls))
    side = banked[(first + last) // 2]
    steepest = np.array([np.max(np.abs(bank[a : b + 1])) for a, b in zip(first, last, strict=True)])
    start = np.empty(len(side))
    end = np.empty(len(side))
    for turn, (sign, begin, stop) in enumerate(zip(side, first, last, strict=True)):
        into = sign * bank[begin : stop + 1]
        clock = time[begin : stop + 1]
        high = min(0.6 * steepest[turn], 4.0 * tuning.level_bank)
        start[turn] = _level_before(clock, into, tuning.level_bank, high)
        end[turn] = -_level_before(-clock[::-1], into[::-1], tuning.level_bank, high)
        # What the roll points to is no farther than where the wings were seen level.
        start[turn] = max(start[turn], time[_seen_level(bank, sign, begin, -1)])
        end[turn] = min(end[turn], time[_seen_level(bank, sign, stop, 1)])
    _join_reversals(time, bank, side, first, last, start, end, tuning)
    return Turns(side, first, last, start, end)


def _none() -> Turns:
    nothing = np.empty(0, dtype=np.int64)
    return Turns(nothing, nothing, nothing, np.empty(0), np.empty(0))


def _level_before(time: Floats, into: Floats, low: float, high: float) -> float:
    """When the wings were level, from the line through the passages of ``low`` and ``high`` bank.

    The threshold itself lies late by ``low`` over the roll rate: half a second in a brisk roll, seconds in
    the slow roll-in of a lazy eight.
    """
    passed = int(np.argmax(into >= high))
    if passed == 0 or high <= low:
        return float(time[0])
    rate = (into[passed] - low) / (time[passed] - time[0])
    return float(time[0] - low / max(rate, 1e-9))


@compiled
def _lulls(steep: Floats, first: Ints, last: Ints, reach: int, turned: float) -> Ints:
    """Where within a stretch the bank is least, and less than `LULL` of what it is on either side.

    There it must be beyond ``turned`` [rad]: a roll-in that falters is no turn yet.
    """
    found = np.empty(len(steep), dtype=np.int64)
    count = 0
    for one in range(len(first)):
        for at in range(first[one] + 1, last[one]):
            before = steep[max(at - reach, first[one]) : at]
            after = steep[at + 1 : min(at + reach, last[one]) + 1]
            beside = min(before.max(), after.max())
            least = min(before[-(reach // 2) :].min(), after[: reach // 2].min())
            if beside > turned and steep[at] < min(LULL * beside, least):
                found[count] = at
                count += 1
    return found[:count]


@compiled
def _seen_level(bank: Floats, sign: int, at: int, step: int) -> int:
    """The nearest grid point from ``at`` on, in steps of +1 or -1, at which bank to this side is over."""
    while 0 <= at + step < len(bank) and sign * bank[at] > SEEN_LEVEL:
        at += step
    return at


def _join_reversals(
    time: Floats,
    bank: Floats,
    side: Ints,
    first: Ints,
    last: Ints,
    start: Floats,
    end: Floats,
    tuning: Tuning,
) -> None:
    """Let turns rolled straight into each other share one passage through level."""
    for turn in range(len(side) - 1):
        begin, stop = last[turn], first[turn + 1]
        pause = start[turn + 1] - end[turn]
        if side[turn] != side[turn + 1] and pause < tuning.bridge:
            passage = _passage(time[begin : stop + 1], side[turn + 1] * bank[begin : stop + 1])
        elif pause < 0.0:
            passage = 0.5 * (time[begin] + time[stop])
        else:
            continue
        end[turn] = start[turn + 1] = passage


def _passage(time: Floats, rising: Floats) -> float:
    """When a bank rolling from one side to the other passes level: the crossing of its straight-line fit."""
    rate, _ = np.polyfit(time - time[0], rising, 1)
    middle = float(np.mean(time))
    if rate <= 0.0:
        return middle
    return float(np.clip(middle - float(np.mean(rising)) / rate, time[0], time[-1]))
