"""Whether a flight is a lesson, told by everything in it together; and what that makes of each maneuver.

Maneuvers come together: who flies one of the course in an hour flies a dozen, and who crosses the country
flies none. So what is certain in a flight says how probable the rest is. A turn that might be a steep turn
is one beside stalls and lazy eights, and circling where there is nothing else.

The log odds of a candidate are those of an hour in which maneuvers come at `_USUAL_RATE`. In a lesson they
are more by the log of how much oftener maneuvers come, in ordinary flying less. Which it is, is Bayes' rule
over the two: the sum over every set of candidates, by kinds.

Some things look like a maneuver and are none: a landing whose power happens to be off from abeam on is flown
as a power-off 180 is. How often they come does not hang on the lesson, so beside other maneuvers such a thing
is one, and alone it is a landing; six of them in an hour are practice again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.units import Floats

_LESSON_RATE = 12.0
"""Maneuvers in an hour of a lesson (common practice, no source)."""
_ORDINARY_RATE = 0.5
"""The same of ordinary flying: one now and then, for practice."""
_SHOWS_ITSELF = 0.5
"""Hours after which a lesson has shown what it is: one of a single kind goes on without showing another."""
_KINDS = 15.0
"""Kinds among which the maneuvers of the course are shared out."""
_AGAINST = 4.6
"""Log odds against a lesson before anything is seen: of a hundred flights one is of the course."""


@dataclass(frozen=True)
class Outing:
    """What kind of flying it was: ``lesson`` is the probability of a lesson.

    ``more`` and ``less`` are what a lesson adds to every candidate's log odds and what ordinary flying adds
    (less than 0).
    """

    lesson: float
    more: float
    less: float

    @property
    def shift(self) -> float:
        """What the two together add to a candidate's log odds."""
        return float(np.log(self.lesson * np.exp(self.more) + (1.0 - self.lesson) * np.exp(self.less)))

    def expected(self, hours: Floats) -> Floats:
        """How many maneuvers are flown in so many hours."""
        return np.asarray(hours * (self.lesson * _LESSON_RATE + (1.0 - self.lesson) * _ORDINARY_RATE))


def alike(per_hour: float, tuning: Tuning) -> float:
    """What lies between the log odds of a kind and those of what only looks like it, ``per_hour`` times in
    any hour, where the hour holds ``usual_rate`` maneuvers of all kinds."""
    return float(np.log(per_hour * _KINDS / tuning.usual_rate))


def outing(best: Iterable[tuple[Ints, Floats, Floats]], hours: float, tuning: Tuning) -> Outing:
    """What kind of flying it was, over all flights of a recording.

    Parameters
    ----------
    best : iterable of (int array, float array, float array)
        Of each flight the kinds and the log odds of its best candidates that do not overlap, and the log
        odds of something that only looks like each (-inf where nothing does).
    hours : float
        All flights together.
    """
    more, less = (float(np.log(rate / tuning.usual_rate)) for rate in (_LESSON_RATE, _ORDINARY_RATE))
    speaks: dict[int, float] = {}
    for kinds, weights, looking_alike in best:
        otherwise = np.logaddexp(0.0, looking_alike)
        worth = np.logaddexp(otherwise, weights + more) - np.logaddexp(otherwise, weights + less)
        # The tenth circle in a thermal says no more than the first: of each kind the clearest counts. Where
        # what else it may be has been weighed, every one does: nobody lands so six times by chance.
        for kind, one, weighed in zip(kinds, worth, np.isfinite(looking_alike), strict=True):
            before = speaks.get(int(kind), 0.0)
            speaks[int(kind)] = before + float(one) if weighed else max(before, float(one))
    expected = (_LESSON_RATE - _ORDINARY_RATE) * min(hours, _SHOWS_ITSELF)
    return Outing(float(expit(sum(speaks.values()) - expected - _AGAINST)), more, less)
