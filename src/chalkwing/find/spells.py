"""A definition that goes by time held against a flight: legs laid between the instants at which they may end.

    events --borders--> instants --pairs--> legs with their log odds --paths--> candidates

A leg lies between an instant at which the leg before it may have ended and one at which itself may end. What
the definition says of the leg is weighed against ordinary flying as for turns (``evidence.py``). The best way
through the instants, from each at which the maneuver may begin to each at which it may end, is a candidate.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.background import BANKED, TURN_THROUGH, ordinary
from chalkwing.find.borders import FOLLOWS, Instants, instants, refined_turn_start
from chalkwing.find.evidence import FAMILIES, Stretch, range_gain, trend_gain
from chalkwing.find.explained import Explained, Flight
from chalkwing.find.gains import log_gain
from chalkwing.find.occurrence import Border, Direction, Occurrence, Part
from chalkwing.find.scales import smoothed
from chalkwing.find.signals import TURNED, Signals
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.find.windows import each_in
from chalkwing.maneuvers.schema import Definition, Leg, Range, Trend
from chalkwing.maneuvers.vocabulary import Event
from chalkwing.units import DEGREE, KNOT, Floats

_AT = 0.75
"""Seconds on either side of a leg's end over which a value there is taken."""

_CUT = 2.0
"""Log odds against a maneuver's beginning before the recording, or ending after it."""

_CUT_SD = 10.0
"""Doubt [s] about an edge that was not recorded."""

_HELD = 3.0 * KNOT
"""How near its typical airspeed a slow spell is held: it begins and ends there (our own; the standard's
commercial band is 5 kt wide)."""

_SOUGHT = 15.0
"""Seconds about its first guess in which the edge of a slow spell is sought."""

_UNLIKE = 1.0
"""Log odds against what a maneuver needs to be followed by, from which it was not finished."""

_BANKED = 7.0 * DEGREE
"""Mean bank from which a maneuver that goes by time is flown to one side."""


@dataclass(frozen=True)
class _Marks:
    """Instants at which one event may have happened, as grid points too, with what each of them costs."""

    time: Floats
    sd: Floats
    point: Ints
    cost: Floats

    def __len__(self) -> int:
        return len(self.time)


@dataclass(frozen=True)
class _Paths:
    """Ways through the marks of the legs flown so far: where each begins and is now, its log odds so far and
    the path it came from; arrays of shape (paths,)."""

    begin: Ints
    at: Ints
    weight: Floats
    came_from: Ints


def explain_spells(definition: Definition, flight: Flight) -> Explained:
    """Every stretch that may be the definition's legs one after the other, with its log odds."""
    legs = [leg for leg in definition.legs if leg.outside == "no"]
    marks = _all_marks(definition, legs, flight)
    grown = [_beginnings(definition, marks[0], flight)]
    for number, leg in enumerate(legs):
        grown.append(_through(leg, marks[number], marks[number + 1], grown[-1], flight))
    rows = [(number, row) for number in range(1, len(grown)) for row in range(len(grown[number].at))]
    rows = [(n, r) for n, r in rows if n / len(legs) >= definition.finder.begun_share]
    lasting = [(marks[n].time[grown[n].at[r]], marks[0].time[grown[n].begin[r]]) for n, r in rows]
    kept = [
        row
        for row, (end, begin) in zip(rows, lasting, strict=True)
        if end - begin <= definition.finder.longest
        and (end - begin >= definition.finder.shortest or not _whole(row[0], legs))
    ]
    after = _afterward(definition, marks, flight)
    followed = np.array([after[grown[n].at[r]] if _whole(n, legs) else 0.0 for n, r in kept])
    unfinished = needs_what_follows(definition) & (followed < -_UNLIKE)
    broken = unfinished | np.array([not _whole(n, legs) for n, _ in kept], dtype=np.bool_)
    weights = np.array([grown[n].weight[r] for n, r in kept]) + followed
    weights -= flight.tuning.spell_rarity + flight.tuning.abandoned * broken
    first = np.array([marks[0].point[grown[n].begin[r]] for n, r in kept], dtype=np.int64)
    last = np.array([marks[n].point[grown[n].at[r]] for n, r in kept], dtype=np.int64)
    if to_one_side(legs):
        bank = flight.seen.quantities["bank_into_turn"].mean(first, last)
        weights = np.where(np.abs(bank) < _BANKED, -np.inf, weights)
    return Explained(
        definition=definition,
        first=first,
        last=last,
        weights=weights,
        turns=np.ones(len(weights), dtype=np.int64),
        broken=broken,
        amid=np.zeros(len(weights), dtype=np.bool_),
        occurrence=lambda row: _occurrence(
            definition, legs, marks, grown, kept[row], bool(broken[row]), flight
        ),
    )


def _whole(flown: int, legs: Sequence[Leg]) -> bool:
    return flown == len(legs)


def needs_what_follows(definition: Definition) -> bool:
    """Whether the maneuver is finished only by what is flown after it."""
    return any(leg.needed for leg in definition.legs)


def to_one_side(legs: Sequence[Leg]) -> bool:
    """Whether a maneuver is flown banked to one side: with level wings it is another."""
    said = [one for leg in legs for one in (*leg.ranges, *leg.means)]
    return any(one.quantity.name == "bank_into_turn" and one.low > 0.0 for one in said)


def _all_marks(definition: Definition, legs: Sequence[Leg], flight: Flight) -> list[_Marks]:
    """The marks of the beginning and of every leg's end; the recording's own edges among the outer ones."""
    events = [definition.finder.begins, *(_event(leg) for leg in legs)]
    found = [_marks(instants(event, flight), flight) for event in events]
    found[0] = _with_edge(found[0], flight.motion.start, flight)
    found[-1] = _with_edge(found[-1], flight.motion.end, flight)
    return found


def _event(leg: Leg) -> Event:
    assert leg.until.event is not None  # the reader refuses such a leg in a maneuver that goes by time
    return leg.until.event


def _marks(found: Instants, flight: Flight) -> _Marks:
    return _Marks(found.time, found.sd, flight.seen.index(found.time), np.zeros(len(found)))


def _with_edge(marks: _Marks, time: float, flight: Flight) -> _Marks:
    """The marks and one more, where the recording begins or ends."""
    near = np.abs(marks.time - time) < _AT
    if near.any() or not flight.seen.flying[flight.seen.point(time)]:
        return marks
    order = np.argsort(np.append(marks.time, time), kind="stable")
    return _Marks(
        time=np.append(marks.time, time)[order],
        sd=np.append(marks.sd, _CUT_SD)[order],
        point=np.append(marks.point, flight.seen.point(time))[order],
        cost=np.append(marks.cost, _CUT)[order],
    )


# What legs are worth ---------------------------------------------------------------------------------------


def _beginnings(definition: Definition, marks: _Marks, flight: Flight) -> _Paths:
    """A path of no length at every mark, with what was flown before it."""
    numbers = np.arange(len(marks))
    weight = _outside(definition, "before", marks, flight) - marks.cost
    return _Paths(numbers, numbers, weight, np.full(len(marks), -1))


def _afterward(definition: Definition, marks: list[_Marks], flight: Flight) -> Floats:
    """What is flown after each mark of the end, if the definition says anything of it."""
    return _outside(definition, "after", marks[-1], flight) - marks[-1].cost


def _outside(definition: Definition, where: str, marks: _Marks, flight: Flight) -> Floats:
    """Log odds of the leg before or after each mark, over its typical duration."""
    worth = np.zeros(len(marks))
    for leg in definition.legs:
        if leg.outside == where:
            points = round(leg.duration.typical / flight.seen.interval)
            most = len(flight.seen.time) - 1
            first = np.maximum(marks.point - points, 0) if where == "before" else marks.point
            last = marks.point if where == "before" else np.minimum(marks.point + points, most)
            worth = worth + _worth(leg, first, last, flight.seen, flight.tuning)
    return worth


def _through(leg: Leg, begin: _Marks, end: _Marks, paths: _Paths, flight: Flight) -> _Paths:
    """The paths taken one leg further, the best from each beginning to each mark of the leg's end."""
    first = np.searchsorted(end.time, begin.time + leg.duration.low)
    last = np.searchsorted(end.time, begin.time + leg.duration.high, side="right")
    reached = np.zeros(len(begin), dtype=np.bool_)
    reached[paths.at] = True
    last = np.where(reached, np.maximum(last, first), first)
    rows = np.concatenate([[0], np.cumsum(last - first)])
    a, b = each_in(first, last)
    worth = _worth(leg, begin.point[a], end.point[b], flight.seen, flight.tuning)
    worth += _lasting(leg, end.time[b] - begin.time[a])
    return _Paths(*_join(paths.begin, paths.at, paths.weight, rows, b, worth, len(end)))


@compiled
def _join(
    begin: Ints, at: Ints, weight: Floats, rows: Ints, to: Ints, worth: Floats, marks: int
) -> tuple[Ints, Ints, Floats, Ints]:
    """Every path extended by every leg from where it is; of those between the same marks the best.

    Paths lie in order of ``begin``; legs from mark k are ``rows[k]`` to ``rows[k + 1]``.
    """
    size = 0
    for path in range(len(at)):
        size += rows[at[path] + 1] - rows[at[path]]
    new_begin, new_at = np.empty(size, dtype=np.int64), np.empty(size, dtype=np.int64)
    new_weight, came_from = np.empty(size), np.empty(size, dtype=np.int64)
    place = np.full(marks, -1)
    count = 0
    group = 0
    for path in range(len(at)):
        if path > 0 and begin[path] != begin[path - 1]:
            for old in range(group, count):
                place[new_at[old]] = -1
            group = count
        for leg in range(rows[at[path]], rows[at[path] + 1]):
            total = weight[path] + worth[leg]
            here = place[to[leg]]
            if here < 0:
                here = count
                place[to[leg]] = count
                new_begin[count], new_at[count] = begin[path], to[leg]
                new_weight[count] = -np.inf
                count += 1
            if total > new_weight[here]:
                new_weight[here] = total
                came_from[here] = path
    return new_begin[:count], new_at[:count], new_weight[:count], came_from[:count]


def _worth(leg: Leg, first: Ints, last: Ints, seen: Signals, tuning: Tuning) -> Floats:
    """Log odds of what the definition says of a leg: of each family the best gain, and the worst failure."""
    nothing = np.zeros(len(first))
    best: dict[str, Floats] = defaultdict(lambda: nothing)
    failure: dict[str, Floats] = defaultdict(lambda: nothing)
    for name, worth in _statements(leg, first, last, seen, tuning):
        family = FAMILIES.get(name, name)
        best[family] = np.maximum(best[family], worth)
        failure[family] = np.minimum(failure[family], worth)
    return np.asarray(sum(best.values(), nothing) + sum(failure.values(), nothing))


def _statements(leg: Leg, first: Ints, last: Ints, seen: Signals, tuning: Tuning) -> list[tuple[str, Floats]]:
    """The gain of everything the definition says of a leg, with the quantity it is about."""
    reach = max(round(_AT / seen.interval), 1)
    along = _stretch(first, last, seen)
    at_end = _stretch(np.maximum(last - reach, 0), np.minimum(last + reach, len(seen.time) - 1), seen)
    said: list[tuple[Range | Trend, Stretch]] = [(one, along) for one in (*leg.ranges, *leg.means)]
    said += [(trend, along) for trend in leg.trends]
    said += [(one, at_end) for one in leg.ends]
    return [
        (one.quantity.name, worth)
        for one, stretch in said
        if (worth := _statement(one, stretch, seen, tuning)) is not None
    ]


def _statement(one: Range | Trend, stretch: Stretch, seen: Signals, tuning: Tuning) -> Floats | None:
    """The gain of one statement; None where the flight shows nothing of what it speaks of."""
    name = one.quantity.name
    if name == "heading_change" and isinstance(one, Range):
        turned = np.abs(seen.heading[stretch.last] - seen.heading[stretch.first])
        usual, spread = TURN_THROUGH[0], np.full(len(turned), TURN_THROUGH[0])
        worth = log_gain(turned, np.zeros(len(turned)), one.low, one.high, usual, spread, tuning)
        return np.minimum(worth, 0.0)  # most flying hardly turns: that speaks for nothing
    usually = (
        BANKED if name == "bank_into_turn" else ordinary(name, cruise=seen.cruise, slow=seen.scales.slow)
    )
    if name not in seen or usually is None:
        return None
    if isinstance(one, Trend):
        return trend_gain(one, usually, stretch, seen, tuning)
    return range_gain(one, usually, stretch, seen, tuning)


def _stretch(first: Ints, last: Ints, seen: Signals) -> Stretch:
    """Grid points as evidence wants them; into the turn is to the side on which the stretch is banked."""
    banked = seen.quantities.get("bank_into_turn")
    side = np.ones(len(first), dtype=np.int64)
    if banked is not None:
        side = np.where(banked.mean(first, last) < 0.0, -1, 1)
    return Stretch(first, last, side, first, 0, seen.interval)


def _lasting(leg: Leg, seconds: Floats) -> Floats:
    """What a leg's duration counts: nothing at its typical length, two nats at either end of its range."""
    low, typical, high = np.log([leg.duration.low, leg.duration.typical, leg.duration.high])
    log = np.log(np.maximum(seconds, 1e-3))
    reach = np.where(log < typical, max(typical - low, 1e-3), max(high - typical, 1e-3))
    return np.asarray(-2.0 * ((log - typical) / reach) ** 2)


# What was chosen -------------------------------------------------------------------------------------------


def _occurrence(
    definition: Definition,
    legs: Sequence[Leg],
    marks: list[_Marks],
    grown: list[_Paths],
    chosen: tuple[int, int],
    broken: bool,
    flight: Flight,
) -> Occurrence:
    """The path as an Occurrence, with the borders it goes through."""
    flown, row = chosen
    path: list[int] = []
    for number in range(flown, -1, -1):
        path.insert(0, int(grown[number].at[row]))
        row = int(grown[number].came_from[row])
    events = [definition.finder.begins, *(_event(leg) for leg in legs)]
    borders = [
        Border(events[number], float(marks[number].time[mark]), float(marks[number].sd[mark]))
        for number, mark in enumerate(path)
    ]
    borders = _refined(borders, flight)
    start, end = borders[0], borders[-1]
    direction = _direction(definition, start.time, end.time, flight.seen)
    return Occurrence(
        kind=definition.kind,
        direction=direction,
        start=start.time,
        end=end.time,
        start_sd=start.sd,
        end_sd=end.sd,
        probability=0.0,
        status="broken_off" if broken else "complete",
        parts=(Part(direction, start.time, end.time, start.sd, end.sd),),
        borders=tuple(borders),
    )


def _direction(definition: Definition, start: float, end: float, seen: Signals) -> Direction:
    """The side to which it was flown, where the definition speaks of turning and there was any."""
    said = {one.quantity.name for leg in definition.legs for one in (*leg.ranges, *leg.means, *leg.ends)}
    bank = float(np.mean(seen.bank[seen.point(start) : seen.point(end) + 1]))
    if not said & (TURNED | {"bank", "heading_change"}) or abs(bank) < _BANKED:
        return "none"
    return "right" if bank > 0.0 else "left"


def _refined(borders: list[Border], flight: Flight) -> list[Border]:
    """Edges found to a fraction of the grid where more than the mark itself can tell."""
    if borders[0].event == "turn_starts" and len(flight.turns) and borders[0].sd < _CUT_SD:
        time, sd = refined_turn_start(flight, borders[0].time)
        borders[0] = Border("turn_starts", min(time, borders[1].time), sd)
    borders = [_by_hand(border, flight) for border in borders]
    if [border.event for border in borders] == ["slowed", "ends"]:
        return _held_between(borders[0], borders[1], flight)
    return borders


def _by_hand(border: Border, flight: Flight) -> Border:
    """A power change when the throttle was moved, which is before it shows."""
    if border.event not in ("throttle_closed", "throttle_opened") or border.sd >= _CUT_SD:
        return border
    return replace(border, time=max(border.time - FOLLOWS, flight.motion.start))


def _held_between(slowed: Border, ends: Border, flight: Flight) -> list[Border]:
    """A slow spell from where the airspeed first comes near its typical value to where it leaves it."""
    seen = flight.seen
    speed = smoothed(flight.motion["airspeed"], 1.0, seen.interval)
    first, last = seen.point(slowed.time), seen.point(ends.time)
    typical = float(np.median(speed[first : last + 1]))
    reach = round(_SOUGHT / seen.interval)
    begin = max(first - reach, 0)
    held = np.flatnonzero(speed[begin : last + reach + 1] <= typical + _HELD) + begin
    doubt = float(np.mean(flight.motion.sds["airspeed"][first : last + 1]))
    sd = float(np.hypot(1.0, min(doubt, KNOT) / KNOT))
    return [
        Border("slowed", slowed.time if slowed.sd >= _CUT_SD else float(seen.time[held[0]]), max(sd, 0.0)),
        Border("ends", ends.time if ends.sd >= _CUT_SD else float(seen.time[held[-1]]), sd),
    ]
