"""Procedures of maneuvers that turn: clearing turns, spirals and turns about a point, emergency descents."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import replace

from tests.flights.course.aims import Aim, Circle, G, Seen
from tests.flights.course.goals import ClearingTurns, EmergencyDescent, SteepSpiral, TurnsAroundAPoint
from tests.flights.course.procedures import Aims, Log, Setting, gave_up, straight, wings_level

from chalkwing.units import DEGREE

LOWEST = 250.0  # a steep spiral is given up so near the ground [m]
ROLL_IN = 3.0  # a roll-in takes about so long; the point is chosen so much farther ahead [s]


def clearing_turns(goal: ClearingTurns, setting: Setting, seen: Seen, log: Log) -> Aims:
    altitude = seen.altitude
    whole = sum(abs(turn) for turn in goal.turns)
    done = 0.0
    for k, turn in enumerate(goal.turns):
        sign, begin = math.copysign(1.0, turn), seen.heading
        log.directions.append(int(sign))
        log.marks[f"turn_{k + 1}"] = seen.time
        level = Aim(altitude=altitude + goal.altitude_drift * k, airspeed=goal.airspeed)
        while sign * (seen.heading - begin) < abs(turn) - 0.4 * abs(seen.bank):
            seen = yield replace(level, bank=sign * goal.bank)
            turned = done + sign * (seen.heading - begin)
            if goal.break_off is not None and turned > goal.break_off * whole:
                gave_up(log, seen)
                yield from wings_level(seen, seen.heading, level)
                return
        seen = yield from wings_level(seen, begin + turn, level)
        done += abs(turn)
        if k + 1 < len(goal.turns):
            seen = yield from straight(goal.pause, seen, replace(level, heading=begin + turn))


def _go_round(
    goal: SteepSpiral | TurnsAroundAPoint, seen: Seen, log: Log, circle: Circle, aim: Aim, begin: float
) -> Generator[Aim, Seen, Seen]:
    """Revolutions on a circle and the rollout on the entry heading; gives up where the goal says so."""
    sign, total = goal.direction, 2 * math.pi * goal.turns
    stop_at = None if goal.break_off is None else goal.break_off * total
    while True:
        turned = sign * (seen.heading - begin)
        if turned > total + goal.heading_error - 0.5 * abs(seen.bank):
            break
        too_low = isinstance(goal, SteepSpiral) and seen.height < LOWEST
        if too_low or (stop_at is not None and turned > stop_at):
            gave_up(log, seen)
            break
        drift = math.sin(turned * 0.7)
        drifting = aim
        if isinstance(goal, SteepSpiral):
            blip = goal.power_blips and (turned / (2 * math.pi)) % 1.0 < 0.06 and turned > 1.0
            drifting = replace(
                aim, airspeed=goal.airspeed + goal.airspeed_drift * drift, throttle=0.3 if blip else 0.0
            )
        elif aim.altitude is not None:
            drifting = replace(aim, altitude=aim.altitude + goal.altitude_drift * drift)
        seen = yield replace(drifting, circle=circle)
    heading = seen.heading if log.status == "broken_off" else begin + sign * (total + goal.heading_error)
    return (yield from wings_level(seen, heading, aim))


def _circle_abeam(seen: Seen, radius: float, direction: int, skill: float, log: Log) -> Circle:
    """A circle whose point comes abeam when the roll-in is half done."""
    ahead = 0.5 * ROLL_IN * seen.ground_speed
    across = seen.track + direction * math.pi / 2
    north = seen.north + ahead * math.cos(seen.track) + radius * math.cos(across)
    east = seen.east + ahead * math.sin(seen.track) + radius * math.sin(across)
    log.ground = {"form": "point", "north": north, "east": east, "radius": radius}
    return Circle(north, east, radius, direction, skill)


def steep_spiral(goal: SteepSpiral, setting: Setting, seen: Seen, log: Log) -> Aims:
    log.directions.append(goal.direction)
    begin = seen.heading
    fastest = 1.05 * seen.true_airspeed * goal.airspeed / max(seen.airspeed, 1.0) + setting.wind_speed
    radius = fastest**2 / (G * math.tan(goal.steepest))
    glide = Aim(airspeed=goal.airspeed, throttle=0.0, bank_limit=58 * DEGREE, roll_rate=0.22, heed_horn=True)
    log.mark("throttle_closed", seen)
    # Most pilots close the throttle, let the speed come, then roll in as the point comes abeam.
    while seen.airspeed > goal.airspeed + 5.0 and seen.time < log.start + 25:
        seen = yield replace(glide, airspeed=goal.airspeed, altitude=seen.altitude, heading=begin)
    circle = _circle_abeam(seen, radius, goal.direction, goal.skill, log)
    log.mark("turn_starts", seen)
    seen = yield from _go_round(goal, seen, log, circle, glide, begin)
    log.mark("ends", seen)


def turns_around_a_point(goal: TurnsAroundAPoint, setting: Setting, seen: Seen, log: Log) -> Aims:
    log.directions.append(goal.direction)
    begin = seen.heading
    fastest = seen.true_airspeed + setting.wind_speed
    radius = fastest**2 / (G * math.tan(goal.steepest))
    level = Aim(altitude=seen.altitude, airspeed=goal.airspeed, bank_limit=55 * DEGREE, roll_rate=0.18)
    circle = _circle_abeam(seen, radius, goal.direction, goal.skill, log)
    log.mark("turn_starts", seen)
    seen = yield from _go_round(goal, seen, log, circle, level, begin)
    log.mark("ends", seen)


def emergency_descent(goal: EmergencyDescent, setting: Setting, seen: Seen, log: Log) -> Aims:
    sign = math.copysign(1.0, goal.turn) if goal.turn else 0.0
    log.directions.extend([int(sign)] if sign else [])
    begin, top = seen.heading, seen.altitude
    bottom = top - goal.height_lost
    log.mark("throttle_closed", seen)
    down = Aim(airspeed=goal.airspeed, throttle=0.0, roll_rate=0.22)
    while seen.altitude > bottom + 6.0 * max(-seen.climb, 0.0) * 0.5 + goal.level_off_error:
        turned = sign * (seen.heading - begin)
        lost = top - seen.altitude
        if goal.break_off is not None and lost > goal.break_off * goal.height_lost:
            log.status = "broken_off"
            break
        turning = sign and turned < abs(goal.turn) - 0.4 * abs(seen.bank)
        if turning and not (goal.roll_out_early and lost > 0.6 * goal.height_lost):
            seen = yield replace(down, bank=sign * goal.bank)
        else:
            seen = yield replace(down, heading=begin + goal.turn if sign else begin, bank_limit=0.5)
        if seen.time > log.start + 180:
            log.status = "broken_off"
            break
    log.mark("levels_off", seen)
    level_at = seen.altitude if log.status == "broken_off" else bottom + goal.level_off_error
    heading, until = seen.heading + 0.4 * seen.bank, seen.time + 30
    while (abs(seen.climb) > 1.0 or abs(seen.bank) > 0.05) and seen.time < until:
        seen = yield Aim(altitude=level_at, heading=heading, airspeed=setting.airplane.cruise_speed)
    log.mark("ends", seen)
