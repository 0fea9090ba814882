"""Candidates: sequences of spans that may be a definition's parts, whole or broken off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.chains import Following, grow, linked
from chalkwing.find.gains import log_gain
from chalkwing.find.spans import Spans, whole_angle
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Flags, Ints
from chalkwing.maneuvers.schema import Definition
from chalkwing.units import Floats

_LONGEST_DWELL = 3.0
"""Of ``dwell``: parts further apart are not tried, for their weight would be too small."""

_NEXT_TURN = (40.0, 1.0)
"""Median [s] and logarithmic spread of the time of level wings between two ordinary turns, of which the next
goes either way alike (common practice, no source)."""

REPEATED = 1.0
"""Log odds that a part adds at most once the parts that make a series complete have spoken: whoever does a
thing three times does it a fourth time, whatever it is, and the oftener the surer."""

NO_SPAN = -1


@dataclass(frozen=True)
class Candidates:
    """Stretches that one definition may explain, one row each.

    ``spans`` (candidates, parts) numbers the spans, `NO_SPAN` after the last. ``worth`` (candidates,) is what
    parts and pauses say together [log odds]; ``start`` and ``end`` [s] enclose it; ``share`` is the part of
    all its turning that was done, ``broken`` whether it ends before it is complete.
    """

    spans: Ints
    worth: Floats
    start: Floats
    end: Floats
    share: Floats
    broken: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.spans)

    @property
    def begun(self) -> Flags:
        """Which parts were begun, shape (candidates, parts)."""
        return np.asarray(self.spans != NO_SPAN)

    @property
    def count(self) -> Ints:
        """How many parts were begun, shape (candidates,)."""
        return np.asarray(self.begun.sum(axis=1))

    @property
    def final(self) -> Ints:
        """The last span of each, shape (candidates,)."""
        return _final(self.spans)


def _final(spans: Ints) -> Ints:
    return np.asarray(spans[np.arange(len(spans)), (spans != NO_SPAN).sum(axis=1) - 1])


def parts_needed(definition: Definition) -> int:
    """From how many parts the definition is complete."""
    return max(definition.turns.count, definition.finder.complete_parts)


def lay_candidates(definition: Definition, spans: Spans, worth: Floats, tuning: Tuning) -> Candidates:
    """Every sequence of spans that may be the definition's parts; ``worth`` (spans,) is what each says."""
    links = _links(definition, spans, tuning)
    whole = spans.turned >= whole_angle(definition)
    most = definition.turns.most
    if definition.turns.unbroken:
        worth = np.where(whole, worth, np.maximum(worth, 0.0))  # a round cut short cannot speak against
    first = spans.opens == 1 if definition.turns.unbroken else np.ones(len(spans), dtype=np.bool_)
    numbers = grow(links, np.minimum(worth, REPEATED), first, whole, most)
    begun = numbers != NO_SPAN
    final = _final(numbers)
    needed = parts_needed(definition)
    done = np.minimum(spans.turned / definition.turns.angle, 1.0)
    share = np.minimum(np.where(begun, done[numbers], 0.0).sum(axis=1) / needed, 1.0)
    total = np.where(begun, spans.turned[numbers], 0.0).sum(axis=1)
    complete = np.where(begun, whole[numbers], 0).sum(axis=1) >= needed
    complete &= total >= _least_turned(definition)
    found = Candidates(
        spans=numbers,
        worth=_together(definition, numbers, begun, worth, links),
        start=spans.start[numbers[:, 0]],
        end=spans.end[final],
        share=share,
        broken=~complete,
    )
    continued = links.follows[final] > 0
    return _of_those(found, _believable(definition, found, spans.closes[final] == 1, continued, whole[final]))


def _of_those(found: Candidates, kept: npt.NDArray[np.bool_]) -> Candidates:
    """The rows of ``found`` that are kept."""
    return Candidates(
        spans=found.spans[kept],
        worth=found.worth[kept],
        start=found.start[kept],
        end=found.end[kept],
        share=found.share[kept],
        broken=found.broken[kept],
    )


def _believable(
    definition: Definition,
    found: Candidates,
    closes: npt.NDArray[np.bool_],
    continued: npt.NDArray[np.bool_],
    whole: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Those that last long enough, and of the broken ones those that were given up where they end.

    A sequence that a further turn continues was not broken off there. What is unbroken ends where its turn
    does; what is complete ends with a whole part, except that a turn may stop anywhere in its last round.
    """
    seconds = found.end - found.start
    least = definition.finder.shortest * np.where(found.broken, found.share, 1.0)
    kept = (seconds >= least) & (seconds <= definition.finder.longest)
    given_up = (found.share >= definition.finder.begun_share) & closes & ~(continued & whole)
    kept &= np.where(found.broken, given_up, whole | definition.turns.unbroken)
    return np.asarray(kept & (closes | (not definition.turns.unbroken)))


def _least_turned(definition: Definition) -> float:
    """What all parts together must turn through to be complete [rad]; 0 where nothing is said."""
    said = [one.low for one in definition.whole if one.quantity.name == "turned"]
    return max(said, default=0.0)


def _links(definition: Definition, spans: Spans, tuning: Tuning) -> Following:
    """Which span may follow which, and what the pause between them says [log odds]."""
    pause, turns = definition.finder.pause, definition.turns
    if turns.most == 1:
        return linked(spans.start, spans.end, spans.first, spans.last, spans.side, 0, -1.0)
    if turns.unbroken:
        same = np.concatenate([spans.source[1:] == spans.source[:-1], [False]])
        return Following.in_a_row(same[: len(spans)])
    side = {"alternating": -1, "same": 1, "any": 0}[turns.directions]
    longest = _LONGEST_DWELL * tuning.dwell if pause is None else 1.5 * pause.high
    links = linked(spans.start, spans.end, spans.first, spans.last, spans.side, side, longest)
    seconds = np.maximum(spans.start[links.after] - np.repeat(spans.end, links.follows), 0.0)
    if pause is None:
        return links.weighing(-seconds / tuning.dwell)
    usual, spread = _NEXT_TURN
    either_way = np.log(2.0) if side else 0.0
    worth = log_gain(
        np.log1p(seconds),
        np.zeros(len(seconds)),
        np.log1p(pause.low) if pause.low > 0 else -np.inf,
        np.log1p(pause.high),
        np.log(usual),
        np.full(len(seconds), spread),
        tuning,
    )
    return links.weighing(worth + np.where(worth > 0.0, either_way, 0.0))


def _together(
    definition: Definition, numbers: Ints, begun: npt.NDArray[np.bool_], worth: Floats, links: Following
) -> Floats:
    """What the parts of each candidate and the pauses between them say together.

    As many parts as make it complete count in full, the strongest ones; a further one says `REPEATED` at
    most, the next half of that, then a third, because ordinary flying repeats itself too; a further round of
    one turn says nothing at all.
    """
    each = np.where(begun, worth[numbers], 0.0)
    repeated = 0.0 if definition.turns.unbroken else REPEATED
    needed = parts_needed(definition)
    strongest = np.argsort(np.argsort(-np.where(begun, each, -np.inf), axis=1, kind="stable"), axis=1)
    most = np.where(strongest < needed, np.inf, repeated / np.maximum(strongest - needed + 1, 1))
    told = np.minimum(each, most).sum(axis=1)
    pauses = np.zeros_like(each)
    for part in range(1, numbers.shape[1]):
        on = begun[:, part]
        pauses[on, part] = links.between(numbers[on, part - 1], numbers[on, part])
    spoken = np.arange(numbers.shape[1]) < needed
    pauses = np.where(spoken, pauses, np.minimum(pauses, 0.0))
    return np.asarray(told + pauses.sum(axis=1))
