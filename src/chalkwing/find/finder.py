"""Where in a Motion each maneuver begins, turns and ends: the whole flight explained at once.

    turns --spans--> candidates of every definition --evidence--> log odds --schedule--> occurrences

Nothing here knows a maneuver by name; all comes from the definitions. The reasons for this shape are in
``docs/decisions/0005-finding-by-scheduling.md``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from chalkwing.errors import OutsideModel
from chalkwing.find.candidates import NO_SPAN, Candidates, lay_candidates
from chalkwing.find.edges import Edge, passage, roll_in, roll_out
from chalkwing.find.evidence import log_odds
from chalkwing.find.occurrence import Direction, Occurrence, Part
from chalkwing.find.schedule import best_together, probabilities
from chalkwing.find.signals import Signals, signals
from chalkwing.find.spans import Spans, lay_spans
from chalkwing.find.tuning import DEFAULT, Tuning
from chalkwing.find.turns import Ints, Turns, find_turns
from chalkwing.maneuvers.schema import Definition
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

_SAME = 0.5
"""Overlap (intersection over union) from which two candidates of a kind are the same maneuver."""

_LONGER = 1.5
"""How many times as long a maneuver must be to exclude another that lies inside it."""

_UNSEEN = 0.6
"""Share of a maneuver without a recorded row near by from which it is not claimed: what was not recorded
cannot be recognized."""
_RARE = 0.35
"""The same for a whole flight: rows 5 s apart or more tell no maneuver from another."""


@dataclass(frozen=True)
class _Explained:
    """All candidates of one definition with their weights."""

    definition: Definition
    spans: Spans
    candidates: Candidates
    weights: Floats


def can_find(definition: Definition) -> bool:
    """Whether `find` knows how to lay out this definition's progress."""
    return definition.progress == "heading_change"


def find(
    motion: Motion, definitions: Iterable[Definition], *, tuning: Tuning = DEFAULT
) -> tuple[Occurrence, ...]:
    """Every maneuver of the flight that one of the definitions explains better than ordinary flying.

    Parameters
    ----------
    motion : Motion
        The whole flight.
    definitions : iterable of Definition
        The maneuvers to look for. Where a longer one explains a stretch better than several short ones, the
        longer wins, so hand in all that may have been flown.
    tuning : Tuning
        The finder's own few numbers; for studies only.

    Returns
    -------
    occurrences : tuple of Occurrence
        In order of time, none overlapping. ``probability`` is that of this kind at this place among all ways
        to explain the flight; ``status`` is ``broken_off`` where the first legs were flown and the rest was
        given up. A flight without turns, or with rows too rare to tell (5 s apart), gives an empty tuple.

    Raises
    ------
    OutsideModel
        A definition whose progress is not heading change (see `can_find`).
    """
    known = tuple(definitions)
    for definition in known:
        if not can_find(definition):
            raise OutsideModel(
                f"maneuvers whose progress is {definition.progress} cannot be found in a flight yet.",
                where=definition.kind,
                next_step="Leave it out, or mark it by hand in a correction.",
            )
    if float(np.mean(motion.in_gap)) > _RARE:
        return ()
    seen = signals(motion, _named(known))
    turns = find_turns(seen.time, seen.bank, seen.flying, tuning)
    explained = [_explain(definition, turns, seen, tuning) for definition in known]
    return _chosen(explained, motion, seen, turns, tuning)


def _named(definitions: Iterable[Definition]) -> frozenset[str]:
    """The quantities that the definitions' legs speak of."""
    legs = [leg for definition in definitions for leg in definition.legs]
    ranged = {said.quantity.name for leg in legs for said in (*leg.ranges, *leg.means)}
    return frozenset(ranged | {said.quantity.name for leg in legs for said in leg.trends})


def _explain(definition: Definition, turns: Turns, seen: Signals, tuning: Tuning) -> _Explained:
    spans = lay_spans(definition, turns, seen, tuning)
    candidates = lay_candidates(definition, spans, seen, tuning)
    weights = log_odds(definition, spans, candidates, seen, tuning)
    return _Explained(definition, spans, candidates, weights)


def _chosen(
    explained: list[_Explained], motion: Motion, seen: Signals, turns: Turns, tuning: Tuning
) -> tuple[Occurrence, ...]:
    """The best explanation of the flight by candidates of all definitions together."""
    if not explained:
        return ()
    first = np.concatenate([one.candidates.first for one in explained])
    last = np.concatenate([one.candidates.last for one in explained])
    weights = np.concatenate([one.weights for one in explained])
    kind = np.repeat(np.arange(len(explained)), [len(one.candidates) for one in explained])
    row = np.concatenate([np.arange(len(one.candidates)) for one in explained])
    weights = np.where(_inside_longer(explained, kind, first, last, weights), -np.inf, weights)
    weights = np.where(_unseen(motion, first, last) > _UNSEEN, -np.inf, weights)
    share = probabilities(first, last, weights)
    found: list[Occurrence] = []
    for index in best_together(first, last, weights):
        same = (kind == kind[index]) & (_overlap(first, last, int(index)) >= _SAME)
        one = explained[kind[index]]
        occurrence = _occurrence(one, int(row[index]), motion, seen, turns, tuning)
        probability = float(min(np.sum(share[same]), 1.0))
        follows = (
            bool(found)
            and found[-1].kind == occurrence.kind
            and occurrence.start - found[-1].end < tuning.bridge
        )
        chained = follows and one.definition.finder.repeats == "chain"
        found.append(replace(occurrence, probability=probability, chained=chained))
    return tuple(found)


def _unseen(motion: Motion, first: Ints, last: Ints) -> Floats:
    """The share of each stretch that lies in gaps of the recording."""
    before = np.concatenate(([0], np.cumsum(motion.in_gap)))
    return np.asarray((before[last + 1] - before[first]) / (last + 1 - first))


def _inside_longer(
    explained: list[_Explained], kind: Ints, first: Ints, last: Ints, weights: Floats
) -> npt.NDArray[np.bool_]:
    """Candidates inside a complete and longer one whose definition excludes theirs: the longer wins.

    Their weights alone cannot tell: a definition that speaks of each half separately gathers more evidence
    than one that speaks of the whole, from the same flying.
    """
    inside = np.zeros(len(kind), dtype=np.bool_)
    complete = ~np.concatenate([one.candidates.broken for one in explained])
    for index in np.flatnonzero(complete & (weights > 0.0)):
        excludes = explained[kind[index]].definition.finder.excludes
        excluded = np.array([one.definition.kind in excludes for one in explained])[kind]
        shorter = (last - first) * _LONGER < last[index] - first[index]
        inside |= excluded & shorter & (first >= first[index]) & (last <= last[index])
    return inside


def _overlap(first: Ints, last: Ints, index: int) -> Floats:
    """Intersection over union of every stretch with that of ``index``."""
    common = np.minimum(last, last[index]) - np.maximum(first, first[index])
    union = np.maximum(last, last[index]) - np.minimum(first, first[index])
    return np.asarray(np.maximum(common, 0) / np.maximum(union, 1))


def _occurrence(
    one: _Explained, row: int, motion: Motion, seen: Signals, turns: Turns, tuning: Tuning
) -> Occurrence:
    """The candidate as an Occurrence, its edges found to a fraction of the grid."""
    candidates, spans = one.candidates, one.spans
    parts: list[Part] = []
    for span in candidates.spans[row][candidates.spans[row] != NO_SPAN]:
        start, end = _edges(int(span), spans, motion, seen, turns, tuning)
        parts.append(Part(_side(int(spans.side[span])), start.time, end.time, start.sd, end.sd))
    return Occurrence(
        kind=one.definition.kind,
        direction=parts[0].direction,
        start=parts[0].start,
        end=parts[-1].end,
        start_sd=parts[0].start_sd,
        end_sd=parts[-1].end_sd,
        probability=0.0,
        status="broken_off" if candidates.broken[row] else "complete",
        parts=tuple(parts),
    )


def _side(sign: int) -> Direction:
    return "right" if sign > 0 else "left"


def _edges(
    span: int, spans: Spans, motion: Motion, seen: Signals, turns: Turns, tuning: Tuning
) -> tuple[Edge, Edge]:
    """Where a span begins and ends, by what its edges are: a roll-in, a passage, or the middle of a turn."""
    bank_sd = motion.sds["bank"]
    first, last, side = int(spans.first[span]), int(spans.last[span]), int(spans.side[span])
    start, end = float(spans.start[span]), float(spans.end[span])
    before = float(turns.end[first - 1]) if first > 0 else motion.start
    after = float(turns.start[last + 1]) if last + 1 < len(turns) else motion.end
    if not spans.opens[span]:
        opening = _revolution_edge(motion, start)
    elif start <= before and first > 0:
        opening = passage(seen, bank_sd, near=start)
    else:
        opening = roll_in(seen, bank_sd, near=start, side=side, earliest=before, tuning=tuning)
    if not spans.closes[span]:
        closing = _revolution_edge(motion, end)
    elif end >= after and last + 1 < len(turns):
        closing = passage(seen, bank_sd, near=end)
    else:
        closing = roll_out(seen, bank_sd, near=end, side=side, latest=after, tuning=tuning)
    return opening, closing


def _revolution_edge(motion: Motion, time: float) -> Edge:
    """An edge in the middle of a turn is where the heading comes round: its sd over the rate of turn."""
    rate = abs(motion.at("turn_rate", time))
    return Edge(time, float(np.hypot(motion.sd_at("heading_true", time) / max(rate, 1e-3), 0.1)))
