"""Spans: every stretch of a flight that may be one part of a maneuver.

A span is one turn, or several on the same side with only a short roughness between them, or one revolution of
a turn that goes round more than once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.find.signals import Signals
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints, Turns
from chalkwing.maneuvers.schema import Definition
from chalkwing.units import Floats

_MOST_BRIDGED = 3
"""Turns that may be bridged into one: more than two interruptions are no roughness any more."""


@dataclass(frozen=True)
class Spans:
    """Stretches that may be a part; all arrays of shape (spans,).

    ``first`` and ``last`` number the turns a span is made of, ``start`` and ``end`` [s] are its edges and
    ``turned`` [rad] the heading change of the nose toward the turn. ``opens`` and ``closes`` are 1 where its
    edge is that of the turn, 0 where a revolution begins or ends in the middle of a turn.
    """

    side: Ints
    first: Ints
    last: Ints
    start: Floats
    end: Floats
    turned: Floats
    opens: Ints
    closes: Ints

    def __len__(self) -> int:
        return len(self.side)


def lay_spans(definition: Definition, turns: Turns, seen: Signals, tuning: Tuning) -> Spans:
    """The spans of a flight that turn through enough of the definition's angle to be worth a look."""
    rows = [
        (turns.side[first], first, last, *revolution)
        for first in range(len(turns))
        for last in _bridged(turns, first, tuning)
        for revolution in _revolutions(definition, turns, first, last, seen)
    ]
    table = np.asarray(rows, dtype=float).reshape(-1, 8)
    least = definition.turns.angle * min(definition.finder.begun_share, definition.finder.complete_share)
    table = table[(table[:, 5] > least) & (table[:, 5] < 2.0 * definition.turns.angle)]
    side, first, last, opens, closes = (table[:, column].astype(np.int64) for column in (0, 1, 2, 6, 7))
    return Spans(side, first, last, table[:, 3], table[:, 4], table[:, 5], opens, closes)


def _bridged(turns: Turns, first: int, tuning: Tuning) -> list[int]:
    """The turns at which a span that begins with turn ``first`` may end.

    A brief bank to the other side (a gust, a lifted wing) may lie inside; it must be over within ``bridge``.
    """
    ends = [first]
    for turn in range(first + 1, len(turns)):
        if turns.start[turn] - turns.end[ends[-1]] > tuning.bridge or len(ends) == _MOST_BRIDGED:
            break
        if turns.side[turn] == turns.side[first]:
            ends.append(turn)
    return ends


def _revolutions(
    definition: Definition, turns: Turns, first: int, last: int, seen: Signals
) -> list[tuple[float, float, float, int, int]]:
    """The turn as a whole, or, where it goes round several times and may, each time round.

    Each is (start, end, turned, opens, closes). A turn that goes round more often than the definition lets it
    is circling (a spiral, a hold, a thermal): nothing here.
    """
    side, start, end = turns.side[first], turns.start[first], turns.end[last]
    inside = slice(seen.point(start), seen.point(end) + 1)
    before, after = np.interp([start, end], seen.time, seen.heading)
    progress = np.maximum.accumulate(side * (seen.heading[inside] - before))
    turned = float(side * (after - before))
    angle = definition.turns.angle
    times = _times_round(definition, turned)
    if times <= 1 or definition.finder.in_one_turn == 1:
        return [(start, end, turned, 1, 1)]
    if times > definition.finder.in_one_turn:
        return []
    passed = np.interp(angle * np.arange(1, times), progress, seen.time[inside])
    cuts = [start, *passed, end]
    amounts = [angle] * (times - 1) + [turned - (times - 1) * angle]
    return [
        (cuts[number], cuts[number + 1], amounts[number], int(number == 0), int(number == times - 1))
        for number in range(times)
    ]


def _times_round(definition: Definition, turned: float) -> int:
    """How many times a turn goes round the definition's angle, a last time that was cut short included.

    What goes on past the angle by less than the definition allows is an overshoot, not another time round.
    """
    if definition.turns.count > 1:
        return 1
    overshoot = 1.0 - definition.finder.complete_share
    return int(np.ceil(turned / definition.turns.angle - overshoot))
