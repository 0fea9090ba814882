"""The legs of every span, laid out by how far the nose has turned and by when it is banked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.compiled import compiled
from chalkwing.find.signals import Signals
from chalkwing.find.spans import Spans, whole_angle
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.schema import Definition, Leg
from chalkwing.units import Floats

_FULLY_BANKED = 0.8
"""Of the steady bank: where a roll-in is over and a roll-out begins, when a definition speaks of these."""

_BY_PROGRESS, _AT_START, _WHEN_BANKED, _WHILE_BANKED, _AT_STOP = range(5)
"""How a leg's end is found: the compiled form of a `Mark`."""

_EVENTS = {
    "turn_starts": _AT_START,
    "rolled_in": _WHEN_BANKED,
    "established": _WHEN_BANKED,
    "settled": _WHEN_BANKED,
    "rollout_starts": _WHILE_BANKED,
    "turn_stops": _AT_STOP,
}


@dataclass(frozen=True)
class Legs:
    """``borders`` (spans, legs + 1) are the grid points between the legs of each span, ``flown`` (spans,) how
    many legs were flown to their end, ``sides`` (spans,) which way it turns."""

    borders: Ints
    flown: Ints
    sides: Ints


def lay_legs(definition: Definition, spans: Spans, seen: Signals) -> Legs:
    """The legs of each span. In a turn that is cut short, the leg in which it was given up lasts until the
    roll-out begins."""
    how = np.array([_EVENTS.get(leg.until.event or "", _how(leg)) for leg in definition.legs])
    until = np.array([leg.until.progress or 0.0 for leg in definition.legs])
    cut_short = spans.turned < whole_angle(definition)
    first, last = seen.index(spans.start), seen.index(spans.end)
    borders, flown = _laid(
        first, last, spans.side, spans.opens, spans.closes, cut_short, seen.heading, seen.bank, how, until
    )
    return Legs(borders, flown, spans.side)


def _how(leg: Leg) -> int:
    return _BY_PROGRESS if leg.until.event is None else _WHILE_BANKED


@compiled
def _laid(
    first: Ints,
    last: Ints,
    side: Ints,
    opens: Ints,
    closes: Ints,
    cut_short: npt.NDArray[np.bool_],
    heading: Floats,
    bank: Floats,
    how: Ints,
    until: Floats,
) -> tuple[Ints, Ints]:
    borders = np.zeros((len(first), len(how) + 1), dtype=np.int64)
    flown = np.full(len(first), len(how))
    for span in range(len(first)):
        begin, count = first[span], last[span] - first[span]
        into = side[span] * bank[begin : begin + count + 1]
        full = _FULLY_BANKED * np.median(into)
        banked, unbanked = 0, count
        while banked < count and into[banked] < full:
            banked += 1
        while unbanked > 0 and into[unbanked] < full:
            unbanked -= 1
        borders[span, 0] = begin
        for leg in range(len(how)):
            if how[leg] == _BY_PROGRESS:
                reached = 0
                farthest = 0.0
                while reached <= count and farthest < until[leg]:
                    farthest = max(farthest, side[span] * (heading[begin + reached] - heading[begin]))
                    reached += farthest < until[leg]
            elif how[leg] == _AT_START:
                reached = 0
            elif how[leg] == _WHEN_BANKED:
                reached = banked if opens[span] else 0
            elif how[leg] == _WHILE_BANKED:
                reached = unbanked if closes[span] else count
            else:
                reached = count
            if cut_short[span] and (reached > count or how[leg] == _AT_STOP):
                flown[span] = leg
                borders[span, leg + 1 :] = max(begin + unbanked, borders[span, leg])
                break
            borders[span, leg + 1] = max(begin + min(reached, count), borders[span, leg])
    return borders, flown
