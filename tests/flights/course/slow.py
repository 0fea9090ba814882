"""Procedures of slow flight and stalls."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import replace

from tests.flights.course.aims import Aim, Seen
from tests.flights.course.goals import SlowFlight, Stall
from tests.flights.course.procedures import Aims, Log, Setting

from chalkwing.units import DEGREE, KNOT

RUNS_UP = 2.0
"""An engine that idled gives its power after so long [s]: the nose goes up no sooner."""
LOST_MEANWHILE = 4.0 * KNOT
"""Airspeed that goes on falling meanwhile."""


def slow_flight(goal: SlowFlight, setting: Setting, seen: Seen, log: Log) -> Aims:
    altitude, heading = seen.altitude, seen.heading
    cruise = setting.airplane.cruise_speed
    log.mark("throttle_closed", seen)
    while seen.airspeed > goal.airspeed + 2 * KNOT and seen.time < log.start + 90:
        flaps = goal.flaps if seen.airspeed < 1.5 * setting.airplane.stall_speed else 0.0
        seen = yield Aim(altitude=altitude, heading=heading, throttle=0.12, flaps=flaps, heed_horn=False)
    log.mark("slowed", seen)
    began = seen.time
    slow = Aim(altitude=altitude, airspeed=goal.airspeed, flaps=goal.flaps, heed_horn=False, roll_rate=0.08)
    turns = list(goal.turns)
    next_turn = began + goal.duration / (len(turns) + 1.5)
    while seen.time < began + goal.duration:
        share = (seen.time - began) / goal.duration
        if goal.break_off is not None and share > goal.break_off:
            log.status = "broken_off"
            break
        sway = math.sin(2 * math.pi * 1.3 * share)
        aim = replace(
            slow,
            altitude=altitude + goal.altitude_drift * sway,
            airspeed=goal.airspeed + goal.airspeed_drift * math.sin(2 * math.pi * 0.9 * share + 1.0),
        )
        if turns and seen.time > next_turn:
            turn = turns.pop(0)
            seen, heading = yield from _slow_turn(turn, goal.bank, seen, heading, aim)
            next_turn = seen.time + goal.duration / (len(goal.turns) + 1.5) * 0.5
        seen = yield replace(aim, heading=heading, bank_limit=0.2)
    log.mark("recovers", seen)
    while seen.airspeed < 0.92 * cruise and seen.time < log.marks["recovers"] + 60:
        flaps = 0.0 if seen.airspeed > goal.airspeed + 8 * KNOT else goal.flaps
        seen = yield Aim(altitude=altitude, heading=heading, throttle=1.0, flaps=flaps)
    log.mark("ends", seen)


def _slow_turn(
    turn: float, bank: float, seen: Seen, heading: float, aim: Aim
) -> Generator[Aim, Seen, tuple[Seen, float]]:
    sign, until = math.copysign(1.0, turn), seen.time + 90
    while sign * (seen.heading - heading) < abs(turn) - 0.5 * abs(seen.bank) and seen.time < until:
        seen = yield replace(aim, bank=sign * bank)
    return seen, heading + turn


def stall(goal: Stall, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Setup, nose up to the break (or the warning), recovery."""
    heading, level = seen.heading, seen.pitch
    sign = math.copysign(1.0, goal.bank) if goal.bank else 0.0
    if sign:
        log.directions.append(int(sign))
    log.mark("throttle_closed", seen)
    seen = yield from _SETUPS[goal.kind](goal, setting, seen, log, heading)
    if goal.break_off is None or goal.break_off > 0.5:
        seen = yield from _nose_up(goal, seen, log, heading)
    log.mark("breaks", seen)
    if goal.break_off is not None:
        log.status = "broken_off"
    seen = yield from _recover(goal, setting, seen, log, level)
    log.mark("ends", seen)


def _power_off_setup(
    goal: Stall, setting: Setting, seen: Seen, log: Log, heading: float
) -> Generator[Aim, Seen, Seen]:
    """Slow down to the approach speed, glide a while as on final."""
    altitude, approach = seen.altitude, 1.3 * setting.airplane.stall_speed
    while seen.airspeed > approach and seen.time < log.start + 40:
        seen = yield Aim(altitude=altitude, heading=heading, throttle=0.08, flaps=goal.flaps)
    until = seen.time + goal.glide
    while seen.time < until:
        seen = yield Aim(airspeed=approach, heading=heading, throttle=0.08, flaps=goal.flaps)
    return seen


def _power_on_setup(
    goal: Stall, setting: Setting, seen: Seen, log: Log, heading: float
) -> Generator[Aim, Seen, Seen]:
    """Slow down to the speed at which one lifts off, in level flight, and set the power there."""
    altitude, lift_off = seen.altitude, 1.2 * setting.airplane.stall_speed
    while seen.airspeed > lift_off + LOST_MEANWHILE and seen.time < log.start + 50:
        seen = yield Aim(altitude=altitude, heading=heading, throttle=0.15)
    until = seen.time + RUNS_UP
    while seen.time < until:
        seen = yield Aim(altitude=altitude, heading=heading, throttle=goal.throttle)
    return seen


def _accelerated_setup(
    goal: Stall, setting: Setting, seen: Seen, log: Log, heading: float
) -> Generator[Aim, Seen, Seen]:
    """Slow down somewhat, then roll into the steep bank."""
    altitude, slow = seen.altitude, 1.45 * setting.airplane.stall_speed
    while seen.airspeed > slow and seen.time < log.start + 40:
        seen = yield Aim(altitude=altitude, heading=heading, throttle=0.15)
    log.mark("turn_starts", seen)
    while abs(seen.bank) < 0.9 * abs(goal.bank) and seen.time < log.marks["turn_starts"] + 8:
        seen = yield Aim(altitude=altitude, bank=goal.bank, throttle=goal.throttle, roll_rate=0.25)
    return seen


_SETUPS = {
    "power_off_stall": _power_off_setup,
    "power_on_stall": _power_on_setup,
    "accelerated_stall": _accelerated_setup,
}


def _nose_up(goal: Stall, seen: Seen, log: Log, heading: float) -> Generator[Aim, Seen, Seen]:
    """Raise the nose steadily until it stalls, or until the horn if that is enough."""
    began, felt = seen.time, 0.0
    log.mark("nose_up", seen)
    up = Aim(pitch_rate=goal.pitch_rate, throttle=goal.throttle, flaps=goal.flaps, heed_horn=False)
    most = 25 if goal.kind == "accelerated_stall" else 45
    while seen.time < began + most:
        if goal.break_off is not None and seen.time > began + 10 * goal.break_off:
            return seen
        if not felt and (seen.buffet if goal.full else seen.horn):
            felt = seen.time
        if felt and seen.time >= felt + goal.reaction:
            return seen
        drift = goal.heading_drift * min((seen.time - began) / 15, 1.0)
        # Once it stalls the stick is held where it is until the pilot reacts.
        aim = replace(up, pitch=seen.pitch - 1 * DEGREE if felt else goal.pitch_most)
        if goal.kind == "accelerated_stall" and not felt:
            aim = replace(up, pitch=None, climb=2 + 3 * goal.pitch_rate / DEGREE * (seen.time - began) / 10)
        seen = yield replace(aim, bank=goal.bank) if goal.bank else replace(aim, heading=heading + drift)
    return seen


def _recover(goal: Stall, setting: Setting, seen: Seen, log: Log, level: float) -> Generator[Aim, Seen, Seen]:
    """Nose down till it flies, power, wings level, then out of the descent."""
    began, heading = seen.time, seen.heading
    safe = (1.15 if goal.secondary else 1.3) * setting.airplane.stall_speed
    down = level - goal.push
    while (seen.airspeed < safe or seen.buffet) and seen.time < began + 25:
        throttle = 1.0 if seen.time > began + goal.power_delay else goal.throttle
        seen = yield Aim(
            pitch=down, pitch_rate=0.16, bank=0.0, throttle=throttle, flaps=goal.flaps, roll_rate=0.2,
            heed_horn=False,
        )  # fmt: skip
    log.mark("pulls_out", seen)
    heading = seen.heading
    if goal.secondary:
        until = seen.time + 8
        while not seen.buffet and seen.time < until:
            seen = yield Aim(pitch=16 * DEGREE, pitch_rate=0.12, bank=0.0, throttle=1.0, heed_horn=False)
        if seen.buffet:
            log.mark("secondary", seen)
        until = seen.time + 12
        while (seen.airspeed < 1.3 * setting.airplane.stall_speed or seen.buffet) and seen.time < until:
            seen = yield Aim(pitch=down, pitch_rate=0.16, bank=0.0, throttle=1.0, heed_horn=False)
    until = seen.time + 20
    while seen.climb < 0.5 and seen.time < until:
        seen = yield Aim(climb=1.5, heading=heading, throttle=1.0)
    return seen
