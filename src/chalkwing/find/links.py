"""What one candidate says of the next: turns that lead in another maneuver, and chains that go on.

A link adds to the log odds of every set that holds both with nothing between them (`schedule.Links`).
"""

from __future__ import annotations

import numpy as np

from chalkwing.find.outing import Outing
from chalkwing.find.schedule import Links
from chalkwing.find.turns import Ints
from chalkwing.find.weighed import HOPELESS, Weighed
from chalkwing.find.whole import turns_to_entry
from chalkwing.find.windows import each_in
from chalkwing.units import Floats

_CLEARS = 2.0
"""Log odds against a maneuver being led in by another, given that it could be (clearing turns)."""

_TO_ENTRY = 4.0
"""Further log odds against that where as many turns lead to the maneuver anyway: nearly always one turns to a
direction of its own first, look-out or none, and flies round the pattern to a runway."""


def links_among(weighed: Weighed, weights: Floats) -> Links:
    """All links between candidates of these ``weights`` [log odds]."""
    leading, led = _leading(weighed, weights)
    before, after = _continuing(weighed, weights)
    bonus = np.concatenate(
        [
            weighed.flight.tuning.rarity - _against(weighed, leading, led),
            np.full(len(before), -weighed.flight.tuning.failure),
        ]
    )
    return Links(np.concatenate([leading, before]), np.concatenate([led, after]), bonus)


def before_a_gap(weighed: Weighed, flying: Outing) -> Floats:
    """What a gap of the recording adds to a candidate that leads in another maneuver: that may lie there.

    It counts as a link to each maneuver expected in the seconds that were not recorded.
    """
    seen, tuning = weighed.flight.seen, weighed.flight.tuning
    reach = np.minimum(weighed.last + weighed.within, len(seen.time))
    hours = (seen.unseen[reach] - seen.unseen[weighed.last]) * seen.interval / 3600.0
    bonus = tuning.rarity - _CLEARS - _TO_ENTRY * (weighed.turns == 1)
    return np.where(weighed.leads, np.log1p(flying.expected(hours) * np.exp(bonus)), 0.0)


def _leading(weighed: Weighed, weights: Floats) -> tuple[Ints, Ints]:
    """What is flown because another maneuver follows, and whatever follows it soon enough."""
    first, last, rarity = weighed.first, weighed.last, weighed.flight.tuning.rarity
    ends = np.flatnonzero(~weighed.leads & ~weighed.ordinary & (weights > -HOPELESS))
    ends = ends[np.argsort(first[ends], kind="stable")]
    leads = np.flatnonzero(weighed.leads & (weights > -rarity - HOPELESS))
    low = np.searchsorted(first[ends], last[leads])
    high = np.searchsorted(first[ends], last[leads] + weighed.within[leads])
    lead, end = each_in(low, high)
    return leads[lead], ends[end]


def _against(weighed: Weighed, leading: Ints, led: Ints) -> Floats:
    """Log odds against each such turn. Nearly every one stands before a maneuver: there they are `_CLEARS`,
    no longer those of a turn picked at random, and `_TO_ENTRY` more where as many lead to it anyway."""
    anyway = np.array([turns_to_entry(one.definition) for one in weighed.explained])[weighed.kind]
    return np.asarray(_CLEARS + _TO_ENTRY * (weighed.turns[leading] <= anyway[led]))


def _continuing(weighed: Weighed, weights: Floats) -> tuple[Ints, Ints]:
    """What was finished, and what goes on with the same at once: there the middle of a chain is where the
    next begins, which costs it nothing."""
    first, last, kind = weighed.first, weighed.last, weighed.kind
    reach = round(2.0 * weighed.flight.tuning.bridge / weighed.flight.seen.interval)
    amid = np.flatnonzero(weighed.amid & (weights > -HOPELESS))
    whole = np.flatnonzero(np.isin(kind, kind[amid]) & ~weighed.broken & ~weighed.ordinary)
    whole = whole[np.argsort(last[whole], kind="stable")]
    low = np.searchsorted(last[whole], first[amid] - reach, side="right")
    high = np.searchsorted(last[whole], first[amid], side="right")
    begun, ended = each_in(low, high)
    after, before = amid[begun], whole[ended]
    same = kind[before] == kind[after]
    return before[same], after[same]
