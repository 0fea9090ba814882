"""What lies beside the turns of a candidate: a turn that goes on beyond, a chain that was under way."""

from __future__ import annotations

import numpy as np

from chalkwing.find.candidates import Candidates
from chalkwing.find.spans import Spans, whole_angle
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Flags, Ints, Turns
from chalkwing.maneuvers.schema import Definition
from chalkwing.units import Floats


def edges_in_lulls(candidates: Candidates, spans: Spans, turns: Turns) -> Ints:
    """How many edges of each candidate lie in the lull of a turn that goes on beyond, shape (candidates,).

    Round a point in wind the bank is shallow once each time round: what is flown in one turn begins and
    ends with level wings.
    """
    same = turns.side[1:] == turns.side[:-1]
    lull = np.concatenate([[False], same & (turns.start[1:] == turns.end[:-1]), [False]])
    begin, end = candidates.spans[:, 0], candidates.final
    begins = lull[spans.first[begin]] & (spans.opens[begin] == 1)
    ends = lull[spans.last[end] + 1] & (spans.closes[end] == 1)
    return np.asarray(begins.astype(np.int64) + ends)


def amid_a_chain(definition: Definition, spans: Spans, worth: Floats, tuning: Tuning) -> Flags:
    """Spans that are rolled straight into from what may be a part of the same chain, shape (spans,).

    A chain of eights looks the same from its second turn on, but begins with its first.
    """
    found = np.zeros(len(spans), dtype=np.bool_)
    if definition.finder.repeats != "chain":
        return found
    for before in np.flatnonzero((spans.turned >= whole_angle(definition)) & (worth > 0.0)):
        at_once = np.abs(spans.start - spans.end[before]) < tuning.bridge
        found |= at_once & (spans.side != spans.side[before])
    return found
