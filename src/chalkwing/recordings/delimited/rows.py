"""Rows put in time: roll-overs, clock faults, rows out of order, doubled rows, stamps that repeat."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import polars as pl

from chalkwing.recordings.delimited.timeline import Timeline, clock_step
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import Floats

Ints = npt.NDArray[np.int64]

LONG_JUMP = 20 * 86400.0
"""No recording pauses that long [s]: such a step is the clock being set."""


@dataclass(frozen=True)
class Rows:
    """Rows to keep, in order, and the time of each [s by the log's clock], strictly increasing."""

    index: Ints
    seconds: Floats
    merged: Ints | None = None
    """Where rows of one stamp are pieces of one instant: the number of the instant of each kept row."""


def put_in_time(timeline: Timeline, frame: pl.DataFrame, lines: Ints, notes: Notebook) -> Rows:
    """Repair the clock of a log and choose the rows that it can place."""
    seconds = rolled_over(timeline.seconds, timeline.period, lines, notes)
    seconds = _filled(seconds, notes)
    index = np.flatnonzero(np.isfinite(seconds))
    if len(index) < len(seconds):
        notes.say(
            f"{len(seconds) - len(index)} rows without a time were left out.",
            line=_first(lines, np.isnan(seconds)),
        )
    seconds = _without_spikes(seconds[index], lines[index], notes)
    index, seconds = index[np.isfinite(seconds)], seconds[np.isfinite(seconds)]
    index, seconds = _without_doubles(index, seconds, frame, lines, notes)
    order, seconds = _in_order(seconds, lines[index], notes, dated=timeline.dated)
    index = index[order]
    pieces = _in_pieces(seconds, frame, index)
    if pieces is not None:
        notes.say("rows that share a time stamp hold different columns: they were joined into one row.")
        return Rows(index, seconds[np.flatnonzero(np.diff(pieces, prepend=-1))], pieces)
    seconds = spread(seconds, notes)
    rising = np.diff(np.maximum.accumulate(np.concatenate(([-np.inf], seconds)))) > 0
    if not rising.all():
        notes.say(
            f"{int((~rising).sum())} rows repeat an earlier time and were left out.",
            line=_first(lines[index], ~rising),
        )
    return Rows(index[rising], seconds[rising])


def _first(lines: Ints, where: npt.NDArray[np.bool_]) -> int | None:
    found = np.flatnonzero(where)
    return int(lines[found[0]]) if len(found) else None


def rolled_over(seconds: Floats, period: float | None, lines: Ints, notes: Notebook) -> Floats:
    """Add a period wherever a clock that knows no date (or carries it late) falls back by about one."""
    if period is None:
        return seconds
    told = np.flatnonzero(np.isfinite(seconds))
    steps = np.diff(seconds[told])
    turns = np.zeros(len(steps))
    turns[(steps < -0.5 * period) & (steps > -1.5 * period)] = 1.0
    # A date that turns a few rows late shows as one day back and one day forward.
    late = (steps > 0.9 * period) & (steps < 1.1 * period)
    for i in np.flatnonzero(late & (np.cumsum(turns) > 0)):
        if turns[: i + 1].sum() > 0:
            turns[i] = -1.0
    if turns.any():
        kind = "midnight" if period > 4000 else "the full hour"
        notes.say(
            f"the clock passes {kind} {int((turns > 0).sum())} time(s).",
            line=int(lines[told[np.flatnonzero(turns > 0)[0] + 1]]),
        )
    result = seconds.copy()
    result[told[1:]] += np.cumsum(turns) * period
    return result


def _filled(seconds: Floats, notes: Notebook) -> Floats:
    """Times for rows without one: the last stamp where most rows have none, else between the neighbors."""
    missing = np.isnan(seconds)
    if not missing.any():
        return seconds
    series = pl.Series(seconds).fill_nan(None)
    if missing.mean() > 0.3:
        notes.say("only some rows carry a time stamp; the rows between were spread evenly.")
        return series.forward_fill().to_numpy().astype(np.float64)
    told = np.flatnonzero(~missing)
    rows = np.arange(len(seconds))
    after = told[np.minimum(np.searchsorted(told, rows), len(told) - 1)]
    before = told[np.maximum(np.searchsorted(told, rows, side="right") - 1, 0)]
    near = (after - before <= 6) & (after > before)
    between = np.interp(rows, told, seconds[told])
    return np.where(missing & near, between, seconds)


def _without_spikes(seconds: Floats, lines: Ints, notes: Notebook) -> Floats:
    """Take out stamps that leap far away and come back at once: a receiver's moment of confusion."""
    if len(seconds) < 5:
        return seconds
    limit = 30.0 * clock_step(seconds)
    before, here, after = seconds[:-2], seconds[1:-1], seconds[2:]
    steady = (after >= before) & (after - before < limit)
    spike = np.zeros(len(seconds), dtype=bool)
    spike[1:-1] = steady & ((here - after > limit) | (before - here > limit))
    if len(seconds) > 3:
        spike[-1] = abs(seconds[-1] - seconds[-2]) > LONG_JUMP and abs(seconds[-2] - seconds[-3]) < limit
        spike[0] = abs(seconds[1] - seconds[0]) > LONG_JUMP and abs(seconds[2] - seconds[1]) < limit
    if not spike.any():
        return seconds
    notes.say(
        f"{int(spike.sum())} time stamps leap far away and back; those rows were placed between their "
        "neighbors.",
        line=_first(lines, spike),
    )
    kept = np.flatnonzero(~spike)
    return np.where(
        spike, np.interp(np.arange(len(seconds)), kept, seconds[kept], left=np.nan, right=np.nan), seconds
    )


def _without_doubles(
    index: Ints, seconds: Floats, frame: pl.DataFrame, lines: Ints, notes: Notebook
) -> tuple[Ints, Floats]:
    """Leave out rows that repeat another in every cell, where stamps do not repeat as a habit."""
    repeated = np.diff(seconds, prepend=np.nan) == 0
    if len(np.unique(seconds)) == len(seconds):
        return index, seconds
    block = frame[index]
    copy = ~block.select(pl.struct(pl.all()).is_first_distinct()).to_series().to_numpy()
    # An airplane at rest also repeats its rows within a second; a log that is doubled does so always.
    if _usual_count(seconds) > 1 and float(copy[repeated].mean()) < 0.95:
        return index, seconds
    if copy.any():
        notes.say(
            f"{int(copy.sum())} rows are copies of another row and were left out.",
            line=_first(lines[index], copy),
        )
    return index[~copy], seconds[~copy]


def _usual_count(seconds: Floats) -> int:
    """How many rows in succession usually share a stamp."""
    if len(seconds) < 2:
        return 1
    starts = np.flatnonzero(np.diff(seconds, prepend=-np.inf) != 0)
    return int(np.median(np.diff(np.append(starts, len(seconds)))))


def _in_order(seconds: Floats, lines: Ints, notes: Notebook, *, dated: bool) -> tuple[Ints, Floats]:
    """Rows in order of time, whether they were written out of order or the clock was set on the way."""
    rows = np.arange(len(seconds))
    steps = np.diff(seconds)
    leaps = np.flatnonzero(steps > LONG_JUMP)
    usual = clock_step(seconds)
    for i in leaps:
        shift = seconds[i + 1] - usual - seconds[i]
        notes.say(
            f"the clock was set forward by {_span(shift)}; the rows before were moved up to it.",
            line=int(lines[i + 1]),
        )
        seconds = np.where(rows <= i, seconds + shift, seconds)
    back = np.flatnonzero(np.diff(seconds) < 0)
    if not len(back):
        return rows, seconds
    if _merely_shuffled(seconds, back, usual, dated=dated):
        order = np.argsort(seconds, kind="stable")
        notes.say(
            f"rows are out of order in {len(back)} place(s), by up to {-np.diff(seconds).min():.3g} s; "
            "sorted by time.",
            line=int(lines[back[0] + 1]),
        )
        return order, seconds[order]
    seconds = _clock_set(seconds, usual, lines, notes)
    order = np.argsort(seconds, kind="stable")
    return order, seconds[order]


def _merely_shuffled(seconds: Floats, back: Ints, usual: float, *, dated: bool) -> bool:
    """Whether sorting restores the rows: small steps back, or whole stretches that do not overlap."""
    if float(-np.diff(seconds)[back].min()) <= max(5.0, 5.0 * usual):
        # Rows that fall into holes are shuffled; rows that fall upon others are a clock that was set.
        ordered = np.sort(seconds)
        return bool(
            (np.diff(ordered) <= 0.2 * usual).sum() <= 0.3 * len(back) + (np.diff(seconds) == 0).sum()
        )
    if not dated:
        # A counter that starts again at zero says nothing of which stretch came first.
        return False
    bounds = [0, *(back + 1).tolist(), len(seconds)]
    spans = sorted((seconds[a:b].min(), seconds[a:b].max()) for a, b in pairwise(bounds))
    return all(one[1] < other[0] for one, other in pairwise(spans))


def _clock_set(seconds: Floats, usual: float, lines: Ints, notes: Notebook) -> Floats:
    """Move the stretches that a clock fault displaced; the later reading of the clock is believed."""
    result = seconds.copy()
    for _ in range(50):
        back = np.flatnonzero(np.diff(result) < 0)
        if not len(back):
            break
        i = int(back[0]) + 1
        expected = result[i - 1] + usual * np.arange(1, len(result) - i + 1)
        returns = np.flatnonzero(np.diff(result[i:], append=-np.inf) > 5 * usual)
        fault = next(
            (
                int(r)
                for r in returns
                if abs(result[i + r + 1] - expected[r + 1]) < max(5.0, 0.05 * (expected[r] - result[i - 1]))
            ),
            None,
        )
        amount = float(result[i - 1] + usual - result[i])
        if fault is not None:
            result[i : i + fault + 1] += amount
            notes.say(
                f"time runs backward by {_span(amount)} for {fault + 1} rows and returns; they were moved "
                "between their neighbors.",
                line=int(lines[i]),
            )
        else:
            result[:i] -= amount
            notes.say(
                f"time runs backward by {_span(amount)}: the clock was set back. The rows before were "
                "moved to end there.",
                line=int(lines[i]),
            )
    return result


def _span(seconds: float) -> str:
    return (
        f"{seconds:.3g} s"
        if abs(seconds) < 600
        else f"{seconds / 3600:.3g} h"
        if abs(seconds) < 86400 * 3
        else f"{seconds / 86400:.0f} days"
    )


def _in_pieces(seconds: Floats, frame: pl.DataFrame, index: Ints) -> Ints | None:
    """The instant of each row where rows of one stamp carry different columns, else None."""
    starts = np.diff(seconds, prepend=-np.inf) > 0
    repeats = 1.0 - starts.mean()
    if repeats < 0.2:
        return None
    instants = np.cumsum(starts) - 1
    block = frame[index]
    empty = [
        name
        for name, nulls in zip(block.columns, block.null_count().row(0), strict=True)
        if 0.2 * block.height < nulls < block.height
    ]
    if len(empty) < 2:
        return None
    first = np.flatnonzero(starts)
    filled = np.column_stack([block[name].is_not_null().to_numpy() for name in empty]).astype(np.int64)
    per_instant = np.add.reduceat(filled, first, axis=0)
    several = np.diff(np.append(first, len(seconds)))[:, None] > 1
    doubled = float((per_instant[several[:, 0]] > 1).mean()) if several.any() else 1.0
    return instants if doubled < 0.05 else None


def spread(seconds: Floats, notes: Notebook) -> Floats:
    """Sub-second times for rows that share a stamp because the log runs faster than its clock shows.

    Within a stretch without gaps the rows are laid at one steady rate where that agrees with every stamp;
    else they are spread evenly from each stamp to the next.
    """
    starts = np.flatnonzero(np.diff(seconds, prepend=-np.inf) > 0)
    counts = np.diff(np.append(starts, len(seconds)))
    if len(starts) < 2 or counts.max() == 1:
        return seconds
    usual = int(np.median(counts))
    stamps = seconds[starts]
    step = clock_step(stamps)
    if usual > 1:
        notes.say(
            f"about {usual} rows share each time stamp; times within {step:g} s were rebuilt by spreading "
            "the rows evenly."
        )
    else:
        notes.say(
            f"{int((counts > 1).sum())} time stamps occur more than once; those rows were spread up to "
            "the next stamp."
        )
    width = np.append(np.diff(stamps), step)
    width = (
        np.where(width > 1.5 * step, step, width) if usual > 1 else np.where(width > 4 * step, step, width)
    )
    place = np.arange(len(seconds)) - np.repeat(starts, counts)
    full = counts.copy()
    cut = np.append(np.diff(stamps) > 1.5 * step, True)
    full[cut] = np.maximum(full[cut], usual)
    resumed = np.append(True, cut[:-1])
    place = place + np.repeat(np.where(resumed, np.maximum(usual - counts, 0), 0), counts)
    full = np.where(resumed, np.maximum(full, usual), full)
    even = seconds + place / np.repeat(full, counts) * np.repeat(width, counts)
    return _steady(even, stamps, starts, counts, cut, step) if usual > 1 else even


def _steady(
    even: Floats, stamps: Floats, starts: Ints, counts: Ints, cut: npt.NDArray[np.bool_], step: float
) -> Floats:
    """Replace even spreading by one steady rate in every stretch whose stamps all allow it."""
    result = even.copy()
    bounds = np.append(0, np.flatnonzero(cut) + 1)
    for a, b in pairwise(bounds.tolist()):
        if b - a < 4:
            continue
        first = starts[a + 1 : b].astype(np.float64)
        rate = float(np.polyfit(first - first[0], stamps[a + 1 : b] - stamps[a + 1], 1)[0])
        rows = np.arange(starts[a], starts[b - 1] + counts[b - 1], dtype=np.float64)
        origin = float((stamps[a + 1 : b] - rate * first).max())
        steady = origin + rate * rows
        past = steady - np.repeat(stamps[a:b], counts[a:b])
        if past.min() > -0.15 * step and past.max() < 1.15 * step:
            result[int(rows[0]) : int(rows[-1]) + 1] = steady
    return result
