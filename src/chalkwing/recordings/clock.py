"""Clocks as recorders keep them: days that roll over, times that repeat or run backward, and gaps."""

from __future__ import annotations

from bisect import bisect_right

import numpy as np
import numpy.typing as npt

from chalkwing.recordings.recording import Gap, Note
from chalkwing.units import Floats

Ints = npt.NDArray[np.int64]

DAY = 86400.0
HALF_DAY = 43200.0
SMALL_STEP = 5.0
"""Rows that merely arrived out of order are rarely further apart than this [s]."""


def days_since_statement(second_of_day: Floats, stated_day: Floats) -> Floats:
    """Day number of each row, from dates stated on some rows and from midnights passed on the others.

    Parameters
    ----------
    second_of_day : array, shape (n,)
        UTC time of day [s].
    stated_day : array, shape (n,)
        Day number where the row states one, ``nan`` elsewhere. A row without takes the last stated day plus
        the midnights passed since; rows before the first statement count back from it.

    Returns
    -------
    array, shape (n,)
        Day numbers; counted from 0 where no row states a day.
    """
    fallen = np.diff(second_of_day, prepend=second_of_day[:1]) < -HALF_DAY
    rolled = np.cumsum(fallen).astype(float)
    stated = np.flatnonzero(np.isfinite(stated_day))
    if not len(stated):
        return rolled
    last = np.maximum(np.searchsorted(stated, np.arange(len(rolled)), side="right") - 1, 0)
    anchor = stated[last]
    return np.asarray(stated_day[anchor] + rolled - rolled[anchor])


def usual_interval(time: Floats) -> float:
    """The median of the positive intervals of ``time`` [s]; ``nan`` with fewer than two distinct times."""
    steps = np.diff(time)
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else float("nan")


def gaps_in(time: Floats) -> tuple[Gap, ...]:
    """The stretches of strictly increasing ``time`` without rows that exceed a few usual intervals."""
    if len(time) < 3:
        return ()
    limit = max(3.5 * usual_interval(time), 1.5)
    before = np.flatnonzero(np.diff(time) > limit)
    return tuple(Gap(float(time[i]), float(time[i + 1])) for i in before)


def in_order(time: Floats, lines: Ints | None = None) -> tuple[Ints, list[Note]]:
    """Which rows to keep, and in what order, so that time never decreases.

    Many small backward steps are rows that arrived out of order: they are sorted. A few, or large ones, are
    a clock that was set: the longest run of rows that agree with one another is kept, since sorting would
    shuffle two different stretches of the flight into each other.
    """
    steps = np.diff(time)
    back = np.flatnonzero(steps < 0)
    if not len(back):
        return np.arange(len(time)), []
    where = None if lines is None else int(lines[back[0] + 1])
    many = len(back) > max(3, len(time) // 500)
    if many and float(np.quantile(-steps[back], 0.9)) <= SMALL_STEP:
        note = f"{len(back)} rows were out of order by up to {-steps[back].min():.3g} s; sorted by time."
        return np.argsort(time, kind="stable"), [Note(note, line=where)]
    kept = _longest_rise(time)
    note = (
        f"time runs backward {_times(len(back))}, by up to {-steps[back].min():.6g} s; "
        f"{len(time) - len(kept)} rows that contradict the others were left out."
    )
    return kept, [Note(note, line=where)]


def spread_repeats(time: Floats, carries: npt.NDArray[np.bool_]) -> tuple[Floats, list[Note]]:
    """Sub-second times for rows that share a coarse time stamp because the log runs faster than its clock.

    Parameters
    ----------
    time : array, shape (n,)
        Never decreasing [s].
    carries : bool array, shape (n, channels)
        Which channels have a value in each row. Rows that share a stamp and carry different channels are
        one instant written in pieces, not several instants: they are left alone.
    """
    first = np.flatnonzero(np.diff(time, prepend=-np.inf) > 0)
    counts = np.diff(np.append(first, len(time)))
    usual = int(np.median(counts)) if len(counts) else 1
    if usual < 2 or len(first) < 3 or not _counts_agree(counts, usual) or _in_pieces(carries, first, counts):
        return time, []
    spacing = np.minimum(np.diff(np.append(time[first], np.inf)), usual_interval(time[first]))
    within = np.arange(len(time)) - np.repeat(first, counts)
    # The first stamp's run is usually cut short at its beginning, every other at its end.
    within[: counts[0]] += max(usual - int(counts[0]), 0)
    share = within / np.repeat(np.maximum(counts, usual), counts)
    note = f"about {usual} rows share each time stamp; their times were spread evenly over the interval."
    return time + share * np.repeat(spacing, counts), [Note(note)]


def _counts_agree(counts: Ints, usual: int) -> bool:
    return float(np.mean(np.abs(counts - usual) <= 1)) >= 0.8


def _in_pieces(carries: npt.NDArray[np.bool_], first: Ints, counts: Ints) -> bool:
    """Whether rows of one stamp mostly carry different channels."""
    if not carries.size:
        return False
    per_stamp = np.add.reduceat(carries.astype(np.int64), first, axis=0)
    present = per_stamp > 0
    repeated = (per_stamp > 1) & (counts[:, None] > 1)
    return bool(repeated.sum() < 0.2 * max(int((present & (counts[:, None] > 1)).sum()), 1))


def _longest_rise(time: Floats) -> Ints:
    """Indices of the longest never-decreasing subsequence (patience sorting, O(n log n))."""
    tails: list[float] = []
    tail_at: list[int] = []
    previous = np.full(len(time), -1, dtype=np.int64)
    for i, value in enumerate(time.tolist()):
        place = bisect_right(tails, value)
        if place:
            previous[i] = tail_at[place - 1]
        if place == len(tails):
            tails.append(value)
            tail_at.append(i)
        else:
            tails[place] = value
            tail_at[place] = i
    chain = []
    i = tail_at[-1] if tail_at else -1
    while i >= 0:
        chain.append(i)
        i = int(previous[i])
    return np.array(chain[::-1], dtype=np.int64)


def _times(count: int) -> str:
    return {1: "once", 2: "twice"}.get(count, f"{count} times")
