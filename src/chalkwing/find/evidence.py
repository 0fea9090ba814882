"""How much better a definition explains a stretch than ordinary flying does: the log odds of its legs.

Each range, trend and duration of a leg is a statement that holds of the maneuver. If it holds of a stretch,
that is worth ``-log`` of how often it holds in ordinary flying (``background.py``); if it does not, the leg
was flown unlike the definition, which has the small probability ``surprise``. With f the value found:

    gain(f) = log( (1 - surprise) P(true value in range | f) / P(range | ordinary) + surprise )

Statements about the same thing (pitch, path angle and altitude all say "climbing") are not independent: they
form families, within which they are not simply added up (see `_legs`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from chalkwing.find.background import ROLL_TIME, TIME_THROUGH, TURN_THROUGH, Ordinary, ordinary
from chalkwing.find.gains import log_gain
from chalkwing.find.legs import Legs
from chalkwing.find.signals import FROM_ENTRY, TURNED, Signals
from chalkwing.find.spans import Spans, whole_angle
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.schema import Definition, Leg, Range, Trend
from chalkwing.units import Floats

FAMILIES: dict[str, str] = {
    "bank_into_turn": "bank",
    "bank": "bank",
    "turn_rate_into_turn": "bank",
    "roll_rate_into_turn": "bank",
    "load_factor": "bank",
    "heading": "bank",
    "duration": "bank",
    "pitch": "climb",
    "pitch_rate": "climb",
    "path_angle": "climb",
    "vertical_speed": "climb",
    "climb_or_sink": "climb",
    "altitude": "climb",
    "altitude_change": "climb",
    "airspeed": "speed",
    "airspeed_change": "speed",
    "true_airspeed": "speed",
    "specific_energy": "energy",
    "specific_energy_rate": "energy",
    "energy_angle": "energy",
    "power_setting": "energy",
    "airspeed_over_slow": "slowness",
    "airspeed_over_cruise": "slowness",
    "height_above_own_ground": "height",
}
"""Quantities that tell the same story; any other is a family of its own."""


@dataclass(frozen=True)
class Stretch:
    """One leg of many spans: its grid points and side, and the points at which its part began."""

    first: Ints
    last: Ints
    side: Ints
    begin: Ints
    rolls: int
    """+1 in the leg that begins with the roll-in, -1 in the one that ends with the roll-out, else 0."""
    interval: float

    @property
    def seconds(self) -> Floats:
        """How long it lasts [s]."""
        return np.asarray((self.last - self.first) * self.interval)

    @property
    def since_begin(self) -> Floats:
        """From where its part began to its middle [s]."""
        return np.asarray((0.5 * (self.first + self.last) - self.begin) * self.interval)


def span_odds(definition: Definition, spans: Spans, legs: Legs, seen: Signals, tuning: Tuning) -> Floats:
    """Log odds of each span as a part of the definition against ordinary flying, shape (spans,)."""
    return _legs(definition, spans, legs, seen, tuning) + _turning(definition, spans, tuning)


def _legs(definition: Definition, spans: Spans, legs: Legs, seen: Signals, tuning: Tuning) -> Floats:
    """Log odds of the legs of one part, family by family.

    A student who does not climb fails every leg that asks for it: of a family's failures in a part the worst
    counts, once. What is counted from entry says again what the legs before have said (a climb makes a height
    gained) and goes on saying it: either the legs' own gains count, or the best such one. The leg in which a
    maneuver was given up can only speak for it: what is missing was not flown.
    """
    nothing = np.zeros(len(spans))
    own: dict[str, Floats] = defaultdict(lambda: nothing)
    from_entry: dict[str, Floats] = defaultdict(lambda: nothing)
    failure: dict[str, Floats] = defaultdict(lambda: nothing)
    for number, leg in enumerate(definition.legs):
        stretch = _stretch(definition, number, legs, seen)
        heard, whole = legs.flown >= number, legs.flown > number
        best: dict[str, Floats] = defaultdict(lambda: nothing)
        for name, worth in _statements(leg, definition, number, stretch, seen, tuning):
            family = FAMILIES.get(name, name)
            worth = np.where(heard, worth, 0.0)
            failure[family] = np.minimum(failure[family], np.where(whole, worth, 0.0))
            kept = from_entry if name in FROM_ENTRY else best
            kept[family] = np.maximum(kept[family], worth)
        for family, worth in best.items():
            own[family] = own[family] + worth
    gains = [np.maximum(own[family], from_entry[family]) for family in sorted(own.keys() | from_entry.keys())]
    return np.asarray(sum(gains, nothing) + sum(failure.values(), nothing))


def _stretch(definition: Definition, number: int, legs: Legs, seen: Signals) -> Stretch:
    """Leg ``number`` of every span."""
    return Stretch(
        first=legs.borders[:, number],
        last=legs.borders[:, number + 1],
        side=legs.sides,
        begin=legs.borders[:, 0],
        rolls=int(number == 0) - int(number == len(definition.legs) - 1),
        interval=seen.interval,
    )


def _statements(
    leg: Leg, definition: Definition, number: int, stretch: Stretch, seen: Signals, tuning: Tuning
) -> Iterator[tuple[str, Floats]]:
    """The gain of everything the definition says of this leg, with the quantity it is about.

    A leg without length says nothing: the roll-out of a revolution that goes straight on into the next. Nor
    does what was not recorded: how it was flown in a gap is guessed, and often as level flight.
    """
    heard = np.where(stretch.last > stretch.first, seen.seen_share(stretch.first, stretch.last), 0.0)
    yield "duration", heard * _duration(leg, definition, number, stretch, tuning)
    said: tuple[Range | Trend, ...] = (*leg.ranges, *leg.means, *leg.trends)
    for one in said:
        name = one.quantity.name
        usual = ordinary(name, cruise=seen.cruise, slow=seen.scales.slow)
        if name not in seen or usual is None:
            continue
        if isinstance(one, Trend):
            yield name, heard * trend_gain(one, usual, stretch, seen, tuning)
        elif np.isfinite(usual.spread) or name in FROM_ENTRY:
            yield name, heard * range_gain(one, usual, stretch, seen, tuning)


def range_gain(said: Range, usual: Ordinary, stretch: Stretch, seen: Signals, tuning: Tuning) -> Floats:
    """Gain of the leg's mean: the definition says "throughout", but one gust must not decide."""
    quantity = seen.quantities[said.quantity.name]
    value = quantity.mean(stretch.first, stretch.last)
    sd = quantity.sd(stretch.first, stretch.last)
    spread = np.full(len(value), usual.spread)
    middle = usual.usual
    if said.quantity.name in FROM_ENTRY:
        value = value - quantity.values[stretch.begin]
        spread = usual.change_spread(stretch.since_begin)
        middle = 0.0
    elif said.quantity.name in TURNED:
        value = stretch.side * value
    return log_gain(value, sd, said.low, said.high, middle, spread, tuning)


def trend_gain(said: Trend, usual: Ordinary, stretch: Stretch, seen: Signals, tuning: Tuning) -> Floats:
    """Gain of the change over the leg, its mean slope times its length, against the least the trend asks."""
    quantity = seen.quantities[said.quantity.name]
    change = quantity.slope(stretch.first, stretch.last) * (stretch.last - stretch.first)
    if said.quantity.name in TURNED:
        change = stretch.side * change
    least = said.slope * stretch.seconds
    low = least if said.goes == "rising" else -least if said.goes == "steady" else -np.inf
    high = -least if said.goes == "falling" else least if said.goes == "steady" else np.inf
    sd = quantity.sd(stretch.first, stretch.last)
    middle = stretch.rolls * usual.change_by_roll(said.quantity.name, stretch.seconds)
    return log_gain(change, sd, low, high, middle, usual.change_spread(stretch.seconds), tuning)


def _duration(leg: Leg, definition: Definition, number: int, stretch: Stretch, tuning: Tuning) -> Floats:
    """Gain of how long the leg took, on the scale of its logarithm."""
    seconds = np.log(np.maximum(stretch.seconds, stretch.interval))
    rate, spread = TIME_THROUGH
    angle = _angle(definition, number)
    usual = np.log(ROLL_TIME if angle is None else angle / rate)
    low, high = np.log(max(leg.duration.low, 0.1)), np.log(leg.duration.high)
    return log_gain(seconds, np.zeros(len(seconds)), low, high, usual, np.full(len(seconds), spread), tuning)


def _angle(definition: Definition, number: int) -> float | None:
    """How far the nose turns over leg ``number``; None for one that is no more than a roll-in or roll-out."""
    marks = [leg.until for leg in definition.legs]
    until = marks[number]
    before = marks[number - 1] if number > 0 else None
    if until.event == "established" or (before is not None and before.event == "rollout_starts"):
        return None
    begin = before.progress if before is not None and before.progress is not None else 0.0
    end = until.progress if until.progress is not None else definition.turns.angle
    return max(end - begin, 0.05)


def _turning(definition: Definition, spans: Spans, tuning: Tuning) -> Floats:
    """Gain of how far the nose turned in a part: all of its angle, or enough of it to have been begun.

    Of the revolutions of one turn only the first says something: what goes round once often goes round again.
    """
    angle = definition.turns.angle
    enough = whole_angle(definition)
    begun = min(definition.finder.begun_share * angle, enough)
    most = 2.0 * angle - enough
    if definition.turns.angle_range is not None:
        most = definition.turns.angle_range[1]
    whole = spans.turned >= enough
    usual, spread = TURN_THROUGH
    worth = log_gain(
        np.log(np.maximum(spans.turned, 1e-3)),
        np.zeros(len(spans)),
        np.log(np.where(whole, enough, begun)),
        np.log(np.where(whole, most, enough)),
        np.log(usual),
        np.full(len(spans), spread),
        tuning,
    )
    return np.where((spans.opens == 1) | (not definition.turns.unbroken), worth, 0.0)
