"""Candidates: sequences of spans that a definition may explain, with its legs laid out by progress."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.signals import Signals
from chalkwing.find.spans import Spans
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.schema import Definition, Leg
from chalkwing.units import Floats

_FULLY_BANKED = 0.8
"""Of the steady bank: where a roll-in is over and a roll-out begins, when a definition speaks of these."""

_LONGEST_DWELL = 3.0
"""Of ``dwell``: parts further apart are not tried, for their weight would be too small."""

NO_SPAN = -1


@dataclass(frozen=True)
class Candidates:
    """Stretches that one definition may explain, one row each.

    ``spans`` (candidates, parts) numbers the spans, `NO_SPAN` where a part was never begun. ``borders``
    (candidates, parts, legs + 1) are the grid points between the legs and ``flown`` (candidates, parts) how
    many legs were flown to their end. ``first`` and ``last`` (candidates,) are the grid points that enclose
    it, ``share`` the part of all its turning that was done, ``broken`` whether it ends before it is complete.
    """

    spans: Ints
    borders: Ints
    flown: Ints
    first: Ints
    last: Ints
    share: Floats
    broken: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.spans)


def lay_candidates(definition: Definition, spans: Spans, seen: Signals, tuning: Tuning) -> Candidates:
    """Every sequence of spans that may be the definition's parts, whole or broken off."""
    sequences = _sequences(definition, spans, tuning)
    parts = definition.turns.count
    numbers = np.full((len(sequences), parts), NO_SPAN, dtype=np.int64)
    for row, sequence in enumerate(sequences):
        numbers[row, : len(sequence)] = sequence
    begun = numbers != NO_SPAN
    borders, flown = _borders(definition, spans, seen)
    whole = spans.turned >= definition.finder.complete_share * definition.turns.angle
    turned = np.minimum(spans.turned / definition.turns.angle, 1.0)
    share = np.where(begun, turned[numbers], 0.0).sum(axis=1) / parts
    final = np.array([sequence[-1] for sequence in sequences], dtype=np.int64)
    broken = ~(begun & whole[numbers]).all(axis=1) if len(sequences) else np.empty(0, dtype=np.bool_)
    seconds = spans.end[final] - spans.start[numbers[:, 0]]
    least = definition.finder.shortest * np.where(broken, share, 1.0)
    enough = (seconds >= least) & (seconds <= definition.finder.longest)
    enough &= ~broken | ((share >= definition.finder.begun_share) & (spans.closes[final] == 1))
    return Candidates(
        spans=numbers[enough],
        borders=borders[numbers[enough]],
        flown=np.where(begun, flown[numbers], 0)[enough],
        first=seen.index(spans.start[numbers[enough, 0]]),
        last=seen.index(spans.end[final[enough]]),
        share=share[enough],
        broken=broken[enough],
    )


def _sequences(definition: Definition, spans: Spans, tuning: Tuning) -> list[tuple[int, ...]]:
    """All sequences of one to ``count`` spans that follow each other as the definition's turns do.

    Only the last span of a sequence may be cut short. A sequence that a further turn continues was not
    broken off there, and is left out.
    """
    whole = spans.turned >= definition.finder.complete_share * definition.turns.angle
    found: list[tuple[int, ...]] = []
    growing: list[tuple[int, ...]] = [(span,) for span in range(len(spans))]
    for part in range(1, definition.turns.count):
        side = definition.turns.sign(part) * definition.turns.sign(part - 1)
        grown: list[tuple[int, ...]] = []
        for sequence in growing:
            further = _following(spans, sequence[-1], side, tuning) if whole[sequence[-1]] else []
            grown += [(*sequence, span) for span in further]
            if not further:
                found.append(sequence)
        growing = grown
    return found + growing


def _following(spans: Spans, before: int, side: int, tuning: Tuning) -> list[int]:
    """The spans that begin soon after a span ends, on its side (``side`` +1) or the other."""
    pause = spans.start - spans.end[before]
    next_turn = spans.first > spans.last[before]
    wanted = next_turn & (pause <= _LONGEST_DWELL * tuning.dwell) & (spans.side == side * spans.side[before])
    return [int(span) for span in np.flatnonzero(wanted)]


def _borders(definition: Definition, spans: Spans, seen: Signals) -> tuple[Ints, Ints]:
    """Grid points between the legs of each span (spans, legs + 1), and how many legs were flown to their end.

    In a turn that is cut short, the leg in which it was given up lasts until the roll-out begins.
    """
    legs = definition.legs
    borders = np.zeros((len(spans), len(legs) + 1), dtype=np.int64)
    flown = np.full(len(spans), len(legs), dtype=np.int64)
    for span in range(len(spans)):
        first, last = seen.point(spans.start[span]), seen.point(spans.end[span])
        side = spans.side[span]
        progress = np.maximum.accumulate(side * (seen.heading[first : last + 1] - seen.heading[first]))
        into = side * seen.bank[first : last + 1]
        cut_short = spans.turned[span] < definition.finder.complete_share * definition.turns.angle
        borders[span, 0] = first
        for number, leg in enumerate(legs):
            reached = _reached(leg, progress, into)
            if leg.until.event == "established" and not spans.opens[span]:
                reached = 0
            if leg.until.event == "rollout_starts" and not spans.closes[span]:
                reached = last - first
            given_up = reached > last - first or leg.until.event == "turn_stops"
            if cut_short and given_up:
                flown[span] = number
                borders[span, number + 1 :] = max(first + _last_banked(into), borders[span, number])
                break
            borders[span, number + 1] = max(first + min(reached, last - first), borders[span, number])
    return borders, flown


def _reached(leg: Leg, progress: Floats, into: Floats) -> int:
    """The point of a span, counted from its first, at which ``leg`` ends."""
    if leg.until.event is None:
        assert leg.until.progress is not None  # the schema gives a mark one or the other
        return int(np.searchsorted(progress, leg.until.progress))
    if leg.until.event == "turn_stops":
        return len(progress) - 1
    if leg.until.event == "turn_starts":
        return 0
    if leg.until.event == "established":
        return int(np.argmax(into >= _FULLY_BANKED * np.median(into)))
    return _last_banked(into)


def _last_banked(into: Floats) -> int:
    """The last point of a span at which the turn is still fully banked: there its roll-out begins."""
    full = np.flatnonzero(into >= _FULLY_BANKED * np.median(into))
    return int(full[-1]) if len(full) else len(into) - 1
