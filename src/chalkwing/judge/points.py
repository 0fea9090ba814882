"""Where each point of a maneuver was passed, found anew in every draw and interpolated in time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chalkwing.judge.flown import Flown
from chalkwing.judge.judgement import PointResult, Value
from chalkwing.judge.kernels import first_reach, rollout_starts, turn_stops
from chalkwing.judge.over_draws import moments
from chalkwing.judge.power import power_off
from chalkwing.judge.spells import locate_spell
from chalkwing.maneuvers.schema import Definition, Mark
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats

LEVELING_BANK = 8.0 * DEGREE
"""Bank from which a roll to or from level is followed."""
REACH = 8.0
"""Seconds by which the finder's edge may lie short of the true one."""
ROLLOUT_SHARE = 0.25
ROLLOUT_RATE = 2.0 * DEGREE
"""The rollout has begun when bank comes off at a quarter of its quickest rate, or at 2°/s if that is less."""
PAUSE = 1.0
"""Seconds of level wings between two parts from which the second has a start of its own."""
LONGEST_ROLLOUT = 15.0
LATEST_ESTABLISHED = 0.25
"""Share of the turn after which a bank not yet within tolerance is no slow roll-in but a bank not held."""


def locate_turns(flown: Flown, definition: Definition, *, established_bank: float | None) -> Flown:
    """``flown`` with the events of its turns, part by part.

    ``established_bank`` [rad] is the least bank into the turn that counts as established, None where no
    target is known; nine tenths of the steepest then stand in.
    """
    if definition.progress == "time":
        return locate_spell(flown, definition)
    stopped = np.full(flown.count, -np.inf)
    for part in range(len(flown.signs)):
        begun = _turn_starts(flown, part, stopped)
        flown = replace(flown, points=(*flown.points, {"turn_starts": begun}), made={})
        stopped = _turn_stops(flown, part, definition)
        flown.points[part]["turn_stops"] = stopped
        flown.points[part].update(_events(flown, definition, part, established_bank))
    flown.points[0]["throttle_closed"] = _throttle_closed(flown)
    for part, places in enumerate(flown.points):
        later = flown.points[part + 1]["turn_starts"] if part + 1 < len(flown.points) else None
        places["next_turn_starts"] = np.full(flown.count, np.nan) if later is None else later
    return flown


def locate_points(flown: Flown, definition: Definition) -> Flown:
    """``flown`` with the places of the definition's points, its events being located."""
    for part in range(len(flown.signs)):
        for point in definition.points:
            flown.points[part][point.name] = place_of(flown, point.where, definition, part)
    return flown


def _turn_starts(flown: Flown, part: int, stopped: Floats) -> Floats:
    """A turn starts as it stops, seen backward in time; rolled into from the last, where that stopped."""
    edges = flown.occurrence.parts[part]
    if part and edges.start - flown.occurrence.parts[part - 1].end < PAUSE:
        return stopped
    backward = np.ascontiguousarray(_turning_bank(flown, part)[:, ::-1])
    last = backward.shape[1] - 1
    begin = max(int(last - flown.place(edges.end)), 0)
    near = last - flown.place(edges.start)
    starts = last - turn_stops(backward, near, REACH / flown.interval, begin, LEVELING_BANK)
    return np.asarray(np.maximum(starts, stopped))


def _throttle_closed(flown: Flown) -> Floats:
    """Where the power last came off before the first turn; ``nan`` where the recording does not tell."""
    found = power_off(flown.motion, before=flown.occurrence.parts[0].start)
    if found is None:
        return np.full(flown.count, np.nan)
    doubt = np.random.default_rng(flown.count).normal(0.0, found[1], flown.count)
    return np.asarray(flown.place(found[0]) + doubt / flown.interval)


def _goes_on(flown: Flown, definition: Definition, part: int) -> bool:
    """Whether ``part`` is a revolution with another one after it in the same unbroken turn."""
    return definition.turns.unbroken and part + 1 < len(flown.signs)


def _turn_stops(flown: Flown, part: int, definition: Definition) -> Floats:
    edges = flown.occurrence.parts[part]
    if _goes_on(flown, definition, part):
        round_at = flown.heading_begun(part) + definition.turns.angle
        end = np.full(flown.count, flown.place(edges.end) + REACH / flown.interval)
        came = first_reach(flown.signal("heading", part), round_at, flown.points[part]["turn_starts"], end)
        return np.where(np.isnan(came), flown.place(edges.end), came)
    begin = max(int(flown.place(edges.start)), 0)
    bank = np.ascontiguousarray(_turning_bank(flown, part))
    return turn_stops(bank, flown.place(edges.end), REACH / flown.interval, begin, LEVELING_BANK)


def _events(
    flown: Flown, definition: Definition, part: int, established_bank: float | None
) -> dict[str, Floats]:
    """Where the roll-in ended, the bank was established, and where the rollout began."""
    bank = np.ascontiguousarray(flown.signal("bank_into_turn", part))
    begin, stop = flown.points[part]["turn_starts"], flown.points[part]["turn_stops"]
    share_of_steepest = 0.9 * bank.max(axis=1)
    needed = share_of_steepest if established_bank is None else np.full(flown.count, established_bank)
    latest = _turned_through(flown, part, LATEST_ESTABLISHED * definition.turns.angle)
    latest = np.where(np.isnan(latest), stop, latest)
    established = first_reach(bank, needed, begin, latest)
    established = np.where(np.isnan(established), latest, established)
    begins = _roll_begins(flown, bank, established, stop)
    last = bank.shape[1] - 1
    backward = np.ascontiguousarray(bank[:, ::-1])
    # The roll-in, seen backward in time, is a rollout; its beginning is where the roll-in ended.
    settling = last - _roll_begins(flown, backward, last - begins, last - begin)
    rolled_in = last - _roll_begins(flown, backward, last - 0.5 * (begin + stop), last - begin)
    if definition.turns.unbroken and part:
        established = settling = rolled_in = begin
    if _goes_on(flown, definition, part):
        begins = stop
    settled = np.minimum(np.maximum(established, settling), begins)
    return {
        "rolled_in": np.minimum(rolled_in, begins),
        "established": established,
        "settled": settled,
        "rollout_starts": begins,
    }


def _roll_begins(flown: Flown, bank: Floats, begin: Floats, stop: Floats) -> Floats:
    lookback, slow = int(LONGEST_ROLLOUT / flown.interval), ROLLOUT_RATE * flown.interval
    return rollout_starts(bank, begin, stop, lookback, ROLLOUT_SHARE, slow)


def place_of(flown: Flown, mark: Mark, definition: Definition, part: int) -> Floats:
    """The place of ``mark`` in ``part`` for each draw; ``nan`` where the part never got there."""
    places = flown.points[part]
    if mark.event is not None:
        return places[mark.event]
    progress = mark.progress or 0.0
    if definition.progress == "time":
        after = places["turn_starts"] + progress / flown.interval
        return np.where(after <= places["turn_stops"], after, np.nan)
    if definition.progress == "line":
        return np.full(flown.count, np.nan)
    return _turned_through(flown, part, progress)


def _turned_through(flown: Flown, part: int, angle: float) -> Floats:
    """Where ``part`` has turned through ``angle`` [rad]."""
    begin, end = flown.points[part]["turn_starts"], flown.points[part]["turn_stops"]
    return first_reach(flown.signal("heading", part), flown.heading_begun(part) + angle, begin, end)


def point_results(flown: Flown, definition: Definition) -> tuple[PointResult, ...]:
    """Every point that most draws reached, half by half."""
    results = []
    for part in range(len(flown.signs)):
        for point in definition.points:
            places = flown.points[part][point.name]
            if np.mean(np.isfinite(places)) > 0.5:
                results.append(_point_result(flown, part, point.name, point.title, places))
    return tuple(results)


def _point_result(flown: Flown, part: int, name: str, title: str, places: Floats) -> PointResult:
    def value(quantity: str, kind: str | None = None) -> Value:
        return Value(*moments(flown.at(quantity, part, places)), flown.origin(quantity), kind)

    return PointResult(
        half=part + 1,
        name=name,
        title=title,
        time=Value(*moments(flown.time(places)), "derived"),
        heading_change=value("heading_change"),
        bank_into_turn=value("bank_into_turn"),
        pitch=value("pitch"),
        airspeed=value("airspeed", flown.motion.airspeed_kind),
        altitude=value("altitude", flown.motion.altitude_kind),
    )


def _turning_bank(flown: Flown, part: int) -> Floats:
    """The bank by which the edges of a turn are found, into the turn [rad].

    Measured bank is used as it is. A derived bank carries the doubt of a steady slip, which would move the
    edges though the turn itself is well known; the bank that a coordinated turn of the same rate needs
    (tan(bank) = V * turn rate / g) has no such doubt.
    """
    if flown.motion.origins.get("bank") == "measured" or "turn_rate" not in flown.values:
        return flown.signal("bank_into_turn", part)
    turning = flown.values["true_airspeed"] * flown.values["turn_rate"] / STANDARD_GRAVITY
    return np.asarray(flown.signs[part] * np.arctan(turning))
