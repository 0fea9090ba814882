"""Procedures of maneuvers by reference to a line, two pylons or a field."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass, replace

from tests.flights.course.aims import Aim, Circle, G, Line, Seen
from tests.flights.course.goals import EightsOnPylons, RectangularCourse, STurns
from tests.flights.course.procedures import Aims, Log, Setting, gave_up, wings_level

from chalkwing.units import DEGREE

ROLL_OUT = 0.13  # a rollout takes bank over so much [rad/s]
TOO_NEAR = 90.0  # nobody turns about a pylon that lies nearly below [m]
WIDER = 1.25  # the wind carries the turn out to more than the radius it was begun at
LONGEST_TURN = 5.9  # whoever has missed the way over to the other pylon by then rolls out all the same [rad]
STEEPEST_PYLON = 48 * DEGREE


def s_turns(goal: STurns, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Half circles from crossing to crossing, wings level over the line."""
    radius = (seen.true_airspeed + setting.wind_speed) ** 2 / (G * math.tan(goal.steepest))
    ahead, course = 4.0 * seen.ground_speed, seen.track
    line = Line(
        seen.north + ahead * math.cos(course),
        seen.east + ahead * math.sin(course),
        course + math.pi / 2 + goal.off_square,
    )
    log.ground = {
        "form": "line",
        "north": line.north,
        "east": line.east,
        "track": line.track,
        "radius": radius,
    }
    level = Aim(altitude=seen.altitude, airspeed=goal.airspeed, roll_rate=0.2, bank_limit=52 * DEGREE)
    beyond = -math.copysign(1.0, line.right_of(seen))  # the sign of the side that the first half lies on
    while beyond * line.right_of(seen) < 0:
        seen = yield replace(level, heading=seen.heading)
    for half in range(goal.halves):
        side = goal.direction * (-1) ** half
        log.directions.append(side)
        log.marks[f"crosses_{half + 1}"] = seen.time
        share = half / goal.halves
        if goal.break_off is not None and share >= goal.break_off and half:
            log.directions.pop()
            gave_up(log, seen)
            break
        aim = replace(level, altitude=(level.altitude or 0.0) + goal.altitude_drift * (half % 2))
        seen = yield from _half_circle(seen, line, radius, side, beyond, goal.skill, aim)
        beyond = -beyond
    seen = yield from wings_level(seen, seen.heading, level)
    log.mark("ends", seen)


def _half_circle(
    seen: Seen, line: Line, radius: float, side: int, beyond: float, skill: float, aim: Aim
) -> Generator[Aim, Seen, Seen]:
    """From over the line round to over the line, rolled level as it comes."""
    begin, until = seen.heading, seen.time + 100
    along = line.track if math.cos(seen.track + side * math.pi / 2 - line.track) > 0 else line.track + math.pi
    circle = Circle(
        seen.north + radius * math.cos(along), seen.east + radius * math.sin(along), radius, side, skill
    )
    while seen.time < until:
        turned = side * (seen.heading - begin)
        across = beyond * line.right_of(seen)
        toward = -beyond * (
            seen.velocity_east * math.cos(line.track) - seen.velocity_north * math.sin(line.track)
        )
        if turned > 1.8 and across <= 0:
            return seen
        nearly = turned > 2.2 and across < toward * abs(seen.bank) / ROLL_OUT * 0.55
        if nearly or turned > 4.2:
            seen = yield replace(aim, bank=0.0)
        else:
            seen = yield replace(aim, circle=circle)
    return seen


# Eights on pylons ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Pylon:
    """A place on the ground to hold at the wing tip; ``side`` +1 turns right about it."""

    north: float
    east: float
    side: int

    def ahead_and_abeam(self, seen: Seen) -> tuple[float, float]:
        """Meters ahead of the wing and out to the side of the turn."""
        north, east = self.north - seen.north, self.east - seen.east
        ahead = north * math.cos(seen.heading) + east * math.sin(seen.heading)
        right = east * math.cos(seen.heading) - north * math.sin(seen.heading)
        return ahead, self.side * right


def pivotal_height(seen: Seen) -> float:
    """Height above a pylon at which it stays at the wing tip: TAS (TAS + tailwind along the heading) / g.

    Exact in a steady wind (derived in the project's reference on technique, 3); the handbook's GS^2/g is its
    still-air form.
    """
    along = seen.velocity_north * math.cos(seen.heading) + seen.velocity_east * math.sin(seen.heading)
    return seen.true_airspeed * along / G


def eights_on_pylons(goal: EightsOnPylons, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Pylon at the wing tip, height by the pivotal height, straight to the other one."""
    entry_height = seen.height
    radius = pivotal_height(seen) / math.tan(goal.steepest)
    length = goal.straight * seen.true_airspeed
    first = _abeam(seen, radius, goal.direction)
    swing = math.pi + 2 * math.atan2(0.5 * length, radius)
    leaving = seen.track + goal.direction * swing
    # From the first pylon out to where its turn ends, along the straight, and in to the second pylon.
    out = leaving - goal.direction * math.pi / 2
    second = Pylon(
        first.north + 2 * WIDER * radius * math.cos(out) + length * math.cos(leaving),
        first.east + 2 * WIDER * radius * math.sin(out) + length * math.sin(leaving),
        -goal.direction,
    )
    log.ground = {"form": "pylons", "places": [(p.north, p.east) for p in (first, second)]}
    for turn in range(goal.turns):
        here, there = (first, second) if turn % 2 == 0 else (second, first)
        log.directions.append(here.side)
        log.marks[f"turn_{turn + 1}"] = seen.time
        last = turn + 1 == goal.turns
        stop = None
        if goal.break_off is not None and turn + 1 >= goal.break_off * goal.turns:
            stop = 0.5
        if here.ahead_and_abeam(seen)[1] < TOO_NEAR:
            log.directions.pop()
            gave_up(log, seen)
            break
        seen = yield from _about(goal, seen, here, there, radius, entry_height, stop)
        if stop is not None:
            gave_up(log, seen)
            break
        if not last:
            seen = yield from _over_to(goal, seen, there, radius, entry_height)
    level = Aim(altitude=seen.altitude, airspeed=goal.airspeed, roll_rate=0.2)
    seen = yield from wings_level(seen, seen.heading + 0.3 * seen.bank, level)
    log.mark("ends", seen)


def _abeam(seen: Seen, radius: float, side: int) -> Pylon:
    """A pylon that comes abeam when the roll-in is half done."""
    across, ahead = seen.track + side * math.pi / 2, 1.5 * seen.ground_speed
    north = seen.north + ahead * math.cos(seen.track) + radius * math.cos(across)
    return Pylon(north, seen.east + ahead * math.sin(seen.track) + radius * math.sin(across), side)


def _height(goal: EightsOnPylons, seen: Seen, entry_height: float, correction: float) -> float:
    """Altitude to aim for."""
    pivotal = entry_height + goal.height_skill * (pivotal_height(seen) - entry_height)
    return seen.altitude - seen.height + pivotal + goal.height_error + correction


def _about(
    goal: EightsOnPylons,
    seen: Seen,
    here: Pylon,
    there: Pylon,
    radius: float,
    entry_height: float,
    stop: float | None,
) -> Generator[Aim, Seen, Seen]:
    """Round one pylon until the path ahead leads past the other one."""
    begin, until = seen.heading, seen.time + 120
    while seen.time < until:
        turned = here.side * (seen.heading - begin)
        if (stop is not None and turned > stop * math.pi) or turned > LONGEST_TURN:
            return seen
        if turned > 0.7 * math.pi:
            course = seen.track if goal.skill > 0.5 else seen.heading
            to_go = here.side * math.remainder(_past(there, seen, radius) - course, 2 * math.pi)
            if -0.8 < to_go < 0.5 * abs(seen.bank):
                return seen
        ahead, abeam = here.ahead_and_abeam(seen)
        bank = math.atan2(max(seen.height, 30.0), max(abeam, 60.0))
        # The pylon creeps ahead: go down; it falls behind: go up.
        creep = ahead - abeam * math.tan(goal.sight_error)
        correction = -0.25 * goal.height_skill * max(min(creep, 120.0), -120.0)
        altitude = _height(goal, seen, entry_height, correction)
        seen = yield Aim(
            bank=here.side * min(bank, STEEPEST_PYLON),
            altitude=altitude,
            airspeed=goal.airspeed,
            roll_rate=0.2,
        )
    return seen


def _over_to(
    goal: EightsOnPylons, seen: Seen, there: Pylon, radius: float, entry_height: float
) -> Generator[Aim, Seen, Seen]:
    """Wings level until the other pylon comes just ahead of the wing tip."""
    heading, until, began = seen.heading + 0.35 * seen.bank, seen.time + 40, seen.time
    while seen.time < until:
        ahead, abeam = there.ahead_and_abeam(seen)
        if seen.time > began + 2.0 and ahead < 0.10 * abs(abeam) + 1.2 * seen.ground_speed:
            return seen
        if seen.time > began + 2.0:
            course = seen.track if goal.skill > 0.5 else seen.heading
            off = math.remainder(_past(there, seen, radius) - course, 2 * math.pi)
            heading = seen.heading + (off if abs(off) > 8 * DEGREE else 0.0)
        altitude = _height(goal, seen, entry_height, 0.0)
        seen = yield Aim(
            heading=heading, altitude=altitude, airspeed=goal.airspeed, roll_rate=0.2, bank_limit=0.11
        )
    return seen


def _past(there: Pylon, seen: Seen, radius: float) -> float:
    """Course that leads past a pylon at the distance of a turn about it."""
    north, east = there.north - seen.north, there.east - seen.east
    far = math.hypot(north, east)
    return math.atan2(east, north) - there.side * math.asin(min(radius / max(far, radius), 1.0))


# Rectangular course ----------------------------------------------------------------------------------------


def rectangular_course(goal: RectangularCourse, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Downwind first; every leg at the same distance from the field, which lies on the inside."""
    course = seen.track
    corners = [(seen.north, seen.east)]
    tracks = []
    for k in range(4):
        track = course + goal.direction * k * math.pi / 2
        far = goal.length if k % 2 == 0 else goal.width
        north, east = corners[-1]
        tracks.append(track)
        corners.append((north + far * math.cos(track), east + far * math.sin(track)))
    log.ground = {"form": "field", "places": corners[:4], "length": goal.length, "width": goal.width}
    log.mark("first_leg", seen)
    level = Aim(altitude=seen.altitude, airspeed=goal.airspeed, roll_rate=0.18)
    for turn in range(goal.turns):
        here, following = turn % 4, (turn + 1) % 4
        line = Line(*corners[here], tracks[here])
        far = goal.length if here % 2 == 0 else goal.width
        if goal.break_off is not None and turn >= goal.break_off * goal.turns and turn > 1:
            gave_up(log, seen)
            break
        sway = replace(level, altitude=(level.altitude or 0.0) + goal.altitude_drift * math.sin(1.9 * turn))
        seen = yield from _leg(goal, seen, line, far, sway)
        log.directions.append(goal.direction)
        log.marks[f"turn_{turn + 1}"] = seen.time
        seen = yield from _corner(goal, seen, Line(*corners[following], tracks[following]), setting, sway)
    log.mark("ends", seen)


def _leg(goal: RectangularCourse, seen: Seen, line: Line, far: float, aim: Aim) -> Generator[Aim, Seen, Seen]:
    """Along one side until the turn must begin; who does not allow for wind keeps the heading of the side."""
    until = seen.time + 300
    while seen.time < until:
        lead = seen.ground_speed**2 / (G * math.tan(goal.bank)) + 1.2 * seen.ground_speed
        if line.along(seen) > far - lead:
            return seen
        if goal.skill > 0.35:
            seen = yield replace(aim, line=line, bank_limit=0.3)
        else:
            heading = seen.heading + math.remainder(line.track - seen.heading, 2 * math.pi)
            seen = yield replace(aim, heading=heading, bank_limit=0.3)
    return seen


def _corner(
    goal: RectangularCourse, seen: Seen, line: Line, setting: Setting, aim: Aim
) -> Generator[Aim, Seen, Seen]:
    """Turn until the track, or the heading of one who ignores the wind, is that of the next side."""
    until = seen.time + 60
    along_wind = (
        math.cos(setting.wind_toward - line.track) * setting.wind_speed / max(seen.true_airspeed, 1.0)
    )
    bank = goal.bank * (1 + goal.skill * (0.4 * along_wind))
    while seen.time < until:
        course = seen.track if goal.skill > 0.35 else seen.heading
        to_go = goal.direction * math.remainder(line.track - course, 2 * math.pi)
        if to_go < 0.45 * abs(seen.bank):
            break
        seen = yield replace(aim, bank=goal.direction * bank)
    heading = seen.heading + goal.direction * max(to_go, 0.0)
    return (yield from wings_level(seen, heading, aim, most=6.0))
