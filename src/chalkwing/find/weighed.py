"""Every candidate of every definition side by side, and which of them a longer one leaves no room for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.find.explained import Explained, Flight
from chalkwing.find.outing import alike
from chalkwing.find.schedule import best_together
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Flags, Ints
from chalkwing.units import Floats

_LONGER = 1.5
"""How many times as long a maneuver must be to exclude another that lies inside it."""

_REVIVALS = 3
"""Rounds in which stretches that stayed empty are looked at again."""

_MEET = 1.5
"""Seconds of a maneuver at either end that its neighbor may claim: one is begun before the other has quite
ended, and neither edge is found exactly."""

_UNSEEN = 0.6
"""Share of a maneuver without a recorded row near by from which it is not claimed: what was not recorded
cannot be recognized."""

HOPELESS = 5.0
"""Weight below which a candidate says nothing: its probability is under one in a hundred."""

_GOES_ON = 2
"""So many times the parts that make a series complete are flown on purpose."""


@dataclass(frozen=True)
class Weighed:
    """Candidates of all definitions together, arrays of shape (candidates,).

    ``first`` and ``last`` enclose each, ``weights`` are its log odds, ``kind`` the number of its definition
    in ``explained`` and ``row`` its row there, ``turns`` how many it has, ``broken`` whether it was given up,
    and ``within`` how many grid points another maneuver must follow that it leads in (0: it stands by
    itself). What is ``ordinary`` only looks like a maneuver, at the log odds ``beside`` that (-inf where
    nothing does): it holds its place and is not told.
    """

    flight: Flight
    explained: Sequence[Explained]
    first: Ints
    last: Ints
    weights: Floats
    kind: Ints
    row: Ints
    turns: Ints
    broken: Flags
    within: Ints
    beside: Floats
    ordinary: Flags
    amid: Flags

    @property
    def leads(self) -> Flags:
        """What is flown only because another maneuver follows."""
        return self.within > 0

    def shifted(self, shift: float) -> Floats:
        """The log odds where maneuvers are so much more usual. What leads in another follows that alone, and
        ordinary flying is as usual as ever."""
        return np.where(self.leads | self.ordinary, self.weights, self.weights + shift)

    def left(self, weights: Floats) -> Floats:
        """The log odds, with what a longer one leaves no room for out of the question.

        A longer one that the rest of the flight leaves no room for itself rules nothing out: the end of an
        eight and the chandelle after it look like an eight, but the eight before them has that end already.
        What was only begun stays ruled out.
        """
        inside = self._inside_longer(weights)
        free = self._free(inside, weights)
        for _ in range(_REVIVALS):
            if not np.any(inside & free & ~self.broken & (weights > 0.0)):
                break
            among = self._inside_longer(np.where(free, weights, -np.inf))
            inside &= ~free | among | self.broken
            free = self._free(inside, weights)
        # What leads in another has no worth of its own to be revived by: where nothing was chosen it stays.
        inside &= ~(self.leads & ~self.broken & free)
        return np.where(inside, -np.inf, weights)

    def _free(self, inside: Flags, weights: Floats) -> Flags:
        """Candidates that overlap none of the best set of those that are not ``inside`` a longer one."""
        first, last = self.first, self.last
        best = best_together(first, last, np.where(inside, -np.inf, weights))
        return np.asarray(~np.any((first[:, None] < last[best]) & (last[:, None] > first[best]), axis=1))

    def _inside_longer(self, weights: Floats) -> Flags:
        """Candidates inside a complete and longer one whose definition excludes theirs: the longer wins.

        Their weights alone cannot tell: a definition that speaks of each half separately gathers more
        evidence than one that speaks of the whole, from the same flying. Of its own kind only what is
        lighter, or hardly heavier, is a piece of it. What was finished as one thing was not begun as another
        either, nor shortly before. A series, too, is one as long as it goes on: what is inside a heavier one
        of its kind is a piece of that.
        """
        first, last, kind = self.first, self.last, self.kind
        inside = np.zeros(len(kind), dtype=np.bool_)
        definitions = [one.definition for one in self.explained]
        excludes = np.array([[it.kind in one.finder.excludes for it in definitions] for one in definitions])
        for index in np.flatnonzero(~self.broken & (weights > 0.0)):
            length = last[index] - first[index]
            own = kind == kind[index]
            plainer = own & (weights > weights[index] - self.flight.tuning.failure)
            lost = excludes[kind[index]][kind] & ~plainer | self.broken
            lost &= (last - first) * _LONGER < length
            if definitions[kind[index]].turns.is_series:
                lost |= own & (weights < weights[index]) & (last - first < length)
            begins = (first >= first[index]) | (self.broken & (last > first[index]))
            inside |= lost & begins & (last <= last[index])
        return inside


def weigh(flight: Flight, explained: Sequence[Explained]) -> Weighed:
    """The candidates of all definitions, and whatever only looks like one of them."""
    kind = np.repeat(np.arange(len(explained)), [len(one) for one in explained])
    beside = np.concatenate([_looking_alike(one, flight.tuning) for one in explained])
    chosen = np.concatenate([np.arange(len(kind)), np.flatnonzero(np.isfinite(beside))])
    ordinary = np.arange(len(chosen)) >= len(kind)
    first, last, weights, turns, broken, amid = (
        np.concatenate([getattr(one, name) for one in explained])[chosen]
        for name in ("first", "last", "weights", "turns", "broken", "amid")
    )
    weights = np.where(ordinary, beside[chosen], weights) + flight.tuning.failure * amid
    meet, kind = round(_MEET / flight.seen.interval), kind[chosen]
    leads = [round(one.definition.finder.leads_within / flight.seen.interval) for one in explained]
    return Weighed(
        flight=flight,
        explained=explained,
        first=first + meet,
        last=np.maximum(last - meet, first + meet + 1),
        weights=np.where(_unseen(flight.motion.in_gap, first, last) > _UNSEEN, -np.inf, weights),
        kind=kind,
        row=np.concatenate([np.arange(len(one)) for one in explained])[chosen],
        turns=turns,
        broken=broken,
        within=np.where(ordinary, 0, np.array(leads)[kind]),
        beside=beside[chosen],
        ordinary=ordinary,
        amid=amid,
    )


def _looking_alike(one: Explained, tuning: Tuning) -> Floats:
    """The log odds of each stretch as something that only looks like the kind, -inf where nothing does.

    Once round a field may be a way round weather, twice is not: a series that goes on is meant.
    """
    finder = one.definition.finder
    if finder.alike is None:
        return np.full(len(one), -np.inf)
    weights = one.weights + alike(finder.alike.per_hour, tuning)
    goes_on = (finder.complete_parts > 1) & (one.turns >= _GOES_ON * finder.complete_parts)
    return np.where(goes_on | (weights < -HOPELESS), -np.inf, weights)


def _unseen(in_gap: Flags, first: Ints, last: Ints) -> Floats:
    """The share of each stretch that lies in gaps of the recording."""
    before = np.concatenate(([0], np.cumsum(in_gap)))
    return np.asarray((before[last + 1] - before[first]) / (last + 1 - first))
