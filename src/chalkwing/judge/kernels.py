"""The loops of the judge, compiled: each works on draws of shape (draws, times) on one uniform grid.

Places in time are in grid steps from the window's start (fractional), one per draw; ``nan`` where none.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.units import Floats

HIGHEST, LOWEST, WHEN_HIGHEST, WHEN_LOWEST, MEAN, SPREAD, RISE, FALL, DWELL = range(9)
"""Columns of `window_statistics`."""

WORST_ABOVE, WORST_BELOW, COUNT, OUTSIDE, LONGEST, OPEN_AT_END = range(6)
"""Columns of `held_excursions`."""


@compiled
def _value(row: Floats, place: float) -> float:
    """The row interpolated at a fractional place, held at its ends."""
    last = row.shape[0] - 1
    if place <= 0.0:
        return float(row[0])
    if place >= last:
        return float(row[last])
    left = int(place)
    share = place - left
    return float(row[left] * (1.0 - share) + row[left + 1] * share)


@compiled
def sample(signal: Floats, places: Floats) -> Floats:
    """Each draw's value at its own place, interpolated; ``nan`` in, ``nan`` out."""
    out = np.empty(places.shape[0])
    for draw in range(places.shape[0]):
        out[draw] = _value(signal[draw], places[draw]) if places[draw] == places[draw] else np.nan
    return out


@compiled
def _passage(row: Floats, level: float, first: int, last: int) -> float:
    """Where the row first comes down to ``level`` after ``first``; ``nan`` if not by ``last``."""
    for i in range(first, last):
        if row[i] > level >= row[i + 1]:
            return float(i + (row[i] - level) / (row[i] - row[i + 1]))
    return np.nan


@compiled
def _run_out(full: float, half: float, quarter: float) -> float:
    """Steps from the passage of a quarter to level, from the passages of full, half and quarter bank.

    A steady roll passes them 2:1 apart and has a third of the way to go; one that eases as a parabola passes
    them sqrt(2):1 apart and has as far to go as it came. Between the two, in proportion.
    """
    came = quarter - full
    ratio = (half - full) / max(quarter - half, 1e-9)
    eases = min(max((2.0 - ratio) / (2.0 - np.sqrt(2.0)), 0.0), 1.0)
    return float(came * (1.0 + 2.0 * eases) / 3.0)


@compiled
def turn_stops(bank: Floats, near: float, reach: float, begin: int, high: float) -> Floats:
    """Where the turn stops: the wings pass level, or come to rest there.

    ``bank`` is into the turn; the stop is sought about place ``near``, at most ``reach`` steps after it and
    not before ``begin``. From the last place banked ``high`` the bank is followed down through ``high``, its
    half and its quarter. The stop is where it passes zero; where it eases toward level without passing, it is
    where the passages point: see `_run_out`. A rollout that hangs above the quarter stops where it comes
    nearest to level; a turn that goes on ``high`` or steeper has no stop, and ``near`` stands in.
    """
    draws, times = bank.shape
    out = np.empty(draws)
    limit = max(min(times - 1, int(near + reach)), begin)
    for draw in range(draws):
        row = bank[draw]
        steepest = row[begin : limit + 1].max()
        top = min(high, 0.5 * steepest)
        anchor = max(min(int(near), limit), begin)
        while anchor > begin and row[anchor] <= top:
            anchor -= 1
        high_at = _passage(row, top, anchor, limit)
        if high_at != high_at:
            out[draw] = min(max(near, 0.0), times - 1.0)
            continue
        half_at = _passage(row, 0.5 * top, int(high_at), limit)
        low_at = _passage(row, 0.25 * top, int(high_at), limit)
        if low_at != low_at:
            out[draw] = int(high_at) + np.argmin(np.abs(row[int(high_at) : limit + 1]))
            continue
        eased = low_at + _run_out(high_at, half_at, low_at)
        crossed = _passage(row, 0.0, int(low_at), limit)
        out[draw] = eased if crossed != crossed else min(eased, crossed)
    return out


@compiled
def first_reach(signal: Floats, level: Floats, begin: Floats, end: Floats) -> Floats:
    """Where each draw first rises to its ``level`` between ``begin`` and ``end``; ``nan`` if it does not."""
    draws = signal.shape[0]
    out = np.full(draws, np.nan)
    for draw in range(draws):
        if not (begin[draw] <= end[draw]):
            continue
        row = signal[draw]
        place, value = begin[draw], _value(row, begin[draw])
        if value >= level[draw]:
            out[draw] = place
            continue
        i = int(place) + 1
        while place < end[draw]:
            following = min(float(i), end[draw])
            reached = _value(row, following)
            if reached >= level[draw]:
                out[draw] = place + (following - place) * (level[draw] - value) / (reached - value)
                break
            place, value = following, reached
            i += 1
    return out


@compiled
def rollout_starts(
    bank: Floats, begin: Floats, stop: Floats, lookback: int, share: float, slow: float
) -> Floats:
    """Where the roll back to level begins: the last place before the quickest rolling out at which the bank
    came off at less than ``share`` of that rate, or ``slow`` [per step] if less. At most ``lookback`` steps
    before ``stop``.
    """
    draws, times = bank.shape
    out = np.full(draws, np.nan)
    for draw in range(draws):
        if not (begin[draw] <= stop[draw]):
            continue
        row = bank[draw]
        first = max(int(begin[draw]), int(stop[draw]) - lookback, 2)
        last = min(int(stop[draw]), times - 3)
        quickest, rate = first, -np.inf
        for i in range(first, last + 1):
            off = (row[i - 2] - row[i + 2]) / 4.0
            if off > rate:
                quickest, rate = i, off
        threshold = min(share * rate, slow)
        i, above = quickest, rate
        while i > first and above > threshold:
            i -= 1
            before = (row[i - 2] - row[i + 2]) / 4.0
            if before <= threshold:
                out[draw] = i + (threshold - before) / (above - before)
                break
            above = before
        if out[draw] != out[draw]:
            out[draw] = max(float(i), begin[draw])
        out[draw] = max(out[draw], begin[draw])
    return out


@compiled
def window_statistics(signal: Floats, begin: Floats, end: Floats, still: float) -> Floats:
    """Statistics of each draw from ``begin`` to ``end``, both ends interpolated; shape (draws, 9).

    ``still`` [per step] is the rate, over four steps, below which the signal counts as not changing; dwell is
    in steps. ``nan`` throughout where the window is empty or an end is ``nan``.
    """
    draws, times = signal.shape
    out = np.full((draws, 9), np.nan)
    for draw in range(draws):
        a, b = max(begin[draw], 0.0), min(end[draw], times - 1.0)
        if not (a < b):
            continue
        row = signal[draw]
        place, value = a, _value(row, a)
        high = low = value
        high_at = low_at = a
        area = square = rise = fall = 0.0
        origin = value
        run = dwell = 0
        i = int(a) + 1
        while place < b:
            following = min(float(i), b)
            reached = _value(row, following)
            step = following - place
            u, v = value - origin, reached - origin
            area += 0.5 * step * (u + v)
            square += step * (u * u + u * v + v * v) / 3.0
            if reached > high:
                high, high_at = reached, following
            if reached < low:
                low, low_at = reached, following
            rise = max(rise, reached - low)
            fall = max(fall, high - reached)
            if i < b:
                left, right = max(i - 2, 0), min(i + 2, times - 1)
                run = run + 1 if abs(row[right] - row[left]) < still * (right - left) else 0
                dwell = max(dwell, run)
            place, value = following, reached
            i += 1
        mean = area / (b - a)
        out[draw, 0], out[draw, 1], out[draw, 2], out[draw, 3] = high, low, high_at, low_at
        out[draw, 4], out[draw, 5] = origin + mean, np.sqrt(max(square / (b - a) - mean * mean, 0.0))
        out[draw, 6], out[draw, 7], out[draw, 8] = rise, fall, dwell
    return out


@compiled
def held_excursions(
    deviation: Floats, begin: Floats, end: Floats, low: float, high: float, merge: float, brief: float
) -> Floats:
    """How each draw left the band [low, high] from ``begin`` to ``end``; shape (draws, 6).

    Excursions less than ``merge`` steps apart are one, those not longer than ``brief`` steps are not counted
    (`WORST_ABOVE` and `WORST_BELOW` see them). Crossings are interpolated. Times are in steps.
    """
    draws, times = deviation.shape
    out = np.full((draws, 6), np.nan)
    for draw in range(draws):
        a, b = max(begin[draw], 0.0), min(end[draw], times - 1.0)
        if not (a < b):
            continue
        row = deviation[draw]
        place, value = a, _value(row, a)
        worst_above = worst_below = value
        count, outside, longest = 0, 0.0, 0.0
        started = left = -1.0
        beyond = max(value - high, low - value)
        if beyond > 0.0:
            started = a
        i = int(a) + 1
        while place < b:
            following = min(float(i), b)
            value = _value(row, following)
            worst_above, worst_below = max(worst_above, value), min(worst_below, value)
            now = max(value - high, low - value)
            if (beyond > 0.0) != (now > 0.0):
                crossing = place + (following - place) * beyond / (beyond - now)
                if now > 0.0:
                    if started >= 0.0 and crossing - left >= merge:
                        if left - started > brief:
                            count, outside = count + 1, outside + left - started
                            longest = max(longest, left - started)
                        started = crossing
                    elif started < 0.0:
                        started = crossing
                else:
                    left = crossing
            place, beyond = following, now
            i += 1
        still_open = beyond > 0.0
        if started >= 0.0:
            finish = b if still_open else left
            if finish - started > brief:
                count, outside = count + 1, outside + finish - started
                longest = max(longest, finish - started)
            else:
                still_open = False
        out[draw, 0], out[draw, 1], out[draw, 2] = worst_above, worst_below, count
        out[draw, 3], out[draw, 4], out[draw, 5] = outside, longest, 1.0 if still_open else 0.0
    return out
