"""Channels written more often than they are measured: repeats are not new values.

A log at 8 rows a second often holds satellite channels that change once a second. A quantity that merely
rests, or moves by less than its resolution, also repeats, and its repeats *are* measurements. What tells them
apart is the pattern of change: a held channel changes at a steady beat, and so do its companions.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from chalkwing.units import Floats

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]
FEWEST_CHANGES = 8
FRESH_SHARE = 0.6
"""Share of intervals of change that must equal the beat for it to be one."""


@dataclass(frozen=True)
class Beat:
    """A beat of change: the rows in which new values came, and the usual number of rows between them."""

    rows: Ints
    period: float


def fresh_rows(raw: dict[str, Floats]) -> tuple[dict[str, Mask], dict[str, float]]:
    """For each channel that is held, which rows bring new values, shape (n,), and its beat in rows."""
    changes = {name: np.flatnonzero(_changed(values)) + 1 for name, values in raw.items()}
    count = len(next(iter(raw.values()))) if raw else 0
    beats: list[Beat] = []
    for name, rows in changes.items():
        beat = _beat(rows) if _moves_freely(raw[name], rows) else None
        if beat is not None and not any(_on(rows, known) >= 0.95 for known in beats):
            beats.append(beat)
    masks: dict[str, Mask] = {}
    periods: dict[str, float] = {}
    for beat in beats:
        members = [
            name
            for name, rows in changes.items()
            if len(rows) and name not in masks and _on(rows, beat) >= 0.95
        ]
        joint = _filled(np.unique(np.concatenate([changes[name] for name in members])), beat.period, count)
        mask = np.zeros(count, dtype=bool)
        mask[joint] = True
        for name in members:
            masks[name] = mask
            periods[name] = beat.period
    return masks, periods


def _changed(values: Floats) -> Mask:
    both = np.isfinite(values[1:]) & np.isfinite(values[:-1])
    appeared = np.isfinite(values[1:]) & ~np.isfinite(values[:-1])
    return np.asarray((both & (values[1:] != values[:-1])) | appeared)


def _moves_freely(values: Floats, rows: Ints) -> bool:
    """Whether changes exceed the smallest step: a slow climb in steps of one foot also has a steady beat."""
    if len(rows) < FEWEST_CHANGES:
        return False
    sizes = np.abs(values[rows] - values[rows - 1])
    sizes = sizes[np.isfinite(sizes) & (sizes > 0)]
    return bool(len(sizes) >= FEWEST_CHANGES and float((sizes > 1.5 * sizes.min()).mean()) > 0.3)


def _beat(rows: Ints) -> Beat | None:
    """The beat of one channel's changes, None where it has none slower than every row."""
    if len(rows) < FEWEST_CHANGES:
        return None
    intervals = np.diff(rows)
    period = (
        int(np.bincount(intervals[intervals < 2000], minlength=2).argmax()) if (intervals < 2000).any() else 0
    )
    if period < 2:
        return None
    slack = 0 if period < 4 else 1 if period < 8 else max(1, round(0.2 * period))
    early = float((intervals < period - slack).mean())
    on = float((np.abs(intervals - period) <= slack).mean())
    multiples = np.abs(intervals - period * np.round(intervals / period)) <= slack
    if early > 0.05 or on < FRESH_SHARE or float(multiples.mean()) < 0.9:
        return None
    return Beat(rows, float(np.mean(intervals[np.abs(intervals - period) <= slack])))


def _on(rows: Ints, beat: Beat) -> float:
    """Share of a channel's changes that fall on the beat's rows or where the beat would continue."""
    if len(rows) < 3:
        return 0.0
    place = np.clip(np.searchsorted(beat.rows, rows), 1, len(beat.rows) - 1)
    before, after = beat.rows[place - 1], beat.rows[place]
    exact = (rows == before) | (rows == after)
    continued = (
        np.abs((rows - before) / beat.period - np.round((rows - before) / beat.period)) * beat.period <= 0.5
    )
    inside_long = (after - before) > 1.5 * beat.period
    return float(
        (exact | (continued & (inside_long | (rows > beat.rows[-1]) | (rows < beat.rows[0])))).mean()
    )


def _filled(rows: Ints, period: float, count: int) -> Ints:
    """The beat carried on through stretches in which nothing moved, and to both ends."""
    edges = np.concatenate(([rows[0] - np.ceil(rows[0] / period) * period], rows, [count + 0.0]))
    whole = [rows]
    for a, b in pairwise(edges.tolist()):
        if b - a > 1.5 * period:
            whole.append(np.round(np.arange(a, b - 0.5 * period, period)).astype(np.int64))
    joined = np.unique(np.concatenate(whole))
    return np.unique(np.append(joined[(joined >= 0) & (joined < count)], 0))
