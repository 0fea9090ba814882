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

_INTERRUPTED = 2
"""Interruptions that one turn may have: more are no roughness any more. A lull, in which the wings do not
come level, is none: round a point in wind there is one each time round."""


@dataclass(frozen=True)
class Bridged:
    """Turns as they may be taken together, in order of their starts; all arrays of shape (bridged,).

    ``first`` and ``last`` number the turns each is made of, ``start`` and ``end`` [s] are its edges and
    ``turned`` [rad] the heading change of the nose toward the turn.
    """

    side: Ints
    first: Ints
    last: Ints
    start: Floats
    end: Floats
    turned: Floats

    def __len__(self) -> int:
        return len(self.side)


@dataclass(frozen=True)
class Spans:
    """Stretches that may be a part; all arrays of shape (spans,), in order of their starts;
    the revolutions of unbroken turns turn by turn.

    As in `Bridged`, and: ``opens`` and ``closes`` are 1 where its edge is that of the turn, 0 where a
    revolution begins or ends in the middle of a turn; ``source`` numbers the bridged turns it was cut from.
    """

    side: Ints
    first: Ints
    last: Ints
    start: Floats
    end: Floats
    turned: Floats
    opens: Ints
    closes: Ints
    source: Ints

    def __len__(self) -> int:
        return len(self.side)


def bridge_turns(turns: Turns, seen: Signals, tuning: Tuning) -> Bridged:
    """Every turn, alone and with those that continue it after a short roughness."""
    pairs = [(first, last) for first in range(len(turns)) for last in _ends(turns, first, tuning)]
    first, last = np.asarray(pairs, dtype=np.int64).reshape(-1, 2).T
    side, start, end = turns.side[first], turns.start[first], turns.end[last]
    turned = side * (np.interp(end, seen.time, seen.heading) - np.interp(start, seen.time, seen.heading))
    return Bridged(side, first, last, start, end, np.asarray(turned))


def _ends(turns: Turns, first: int, tuning: Tuning) -> list[int]:
    """The turns at which a span that begins with turn ``first`` may end.

    A brief bank to the other side (a gust, a lifted wing) may lie inside; it must be over within ``bridge``.
    """
    ends = [first]
    interrupted = 0
    for turn in range(first + 1, len(turns)):
        pause = turns.start[turn] - turns.end[ends[-1]]
        if pause > tuning.bridge:
            break
        if turns.side[turn] == turns.side[first]:
            interrupted += pause > 0.0
            if interrupted > _INTERRUPTED:
                break
            ends.append(turn)
    return ends


def whole_angle(definition: Definition) -> float:
    """What a part must turn through to count as flown to its end [rad]."""
    if definition.turns.angle_range is not None:
        return definition.turns.angle_range[0]
    return definition.finder.complete_share * definition.turns.angle


def most_angle(definition: Definition) -> float:
    """What a part may turn through and still be worth a look [rad]: twice its angle, or past its range."""
    if definition.turns.angle_range is not None:
        return definition.turns.angle_range[1] * (2.0 - definition.finder.complete_share)
    return 2.0 * definition.turns.angle


def lay_spans(definition: Definition, bridged: Bridged, seen: Signals) -> Spans:
    """The spans of a flight that turn through enough of the definition's angle to be worth a look."""
    goes_round = definition.turns.unbroken or definition.finder.in_one_turn > 1
    rounds = _times_round(definition, bridged.turned) if goes_round else np.ones(len(bridged))
    most = definition.turns.most if definition.turns.unbroken else definition.finder.in_one_turn
    least = min(definition.finder.begun_share * definition.turns.angle, whole_angle(definition))
    once = (rounds <= 1) & (bridged.turned > least) & (bridged.turned < most_angle(definition))
    rows = [
        (
            int(index),
            float(bridged.start[index]),
            float(bridged.end[index]),
            float(bridged.turned[index]),
            1,
            1,
        )
        for index in np.flatnonzero(once)
    ]
    for index in np.flatnonzero((rounds > 1) & (rounds <= most)):
        rows += _revolutions(definition, bridged, int(index), int(rounds[index]), seen)
    if not definition.turns.unbroken:
        rows = [row for row in rows if row[3] > least]
    # The revolutions of one turn stay together: they follow each other in a row.
    rows.sort(key=(lambda row: (row[0], row[1])) if definition.turns.unbroken else (lambda row: row[1:3]))
    table = np.asarray(rows, dtype=float).reshape(-1, 6)
    source, opens, closes = (table[:, column].astype(np.int64) for column in (0, 4, 5))
    side, first, last = bridged.side[source], bridged.first[source], bridged.last[source]
    return Spans(side, first, last, table[:, 1], table[:, 2], table[:, 3], opens, closes, source)


def _times_round(definition: Definition, turned: Floats) -> Floats:
    """How many times a turn goes round the definition's angle, a last time that was cut short included.

    What goes on past the angle by less than the definition allows is an overshoot, not another time round.
    """
    overshoot = 1.0 - definition.finder.complete_share
    return np.maximum(np.ceil(turned / definition.turns.angle - overshoot), 1.0)


def _revolutions(
    definition: Definition, bridged: Bridged, index: int, times: int, seen: Signals
) -> list[tuple[int, float, float, float, int, int]]:
    """A turn cut each time the heading comes round: (source, start, end, turned, opens, closes) of each."""
    start, end = float(bridged.start[index]), float(bridged.end[index])
    inside = slice(seen.point(start), seen.point(end) + 1)
    before = np.interp(start, seen.time, seen.heading)
    progress = np.maximum.accumulate(bridged.side[index] * (seen.heading[inside] - before))
    angle = definition.turns.angle
    passed = np.interp(angle * np.arange(1, times), progress, seen.time[inside])
    cuts = [start, *passed, end]
    amounts = [angle] * (times - 1) + [float(bridged.turned[index]) - (times - 1) * angle]
    return [
        (index, cuts[number], cuts[number + 1], amounts[number], int(number == 0), int(number == times - 1))
        for number in range(times)
    ]
