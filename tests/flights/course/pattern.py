"""Pattern work: joining, downwind, base, final, landings, go-arounds; and the power-off 180 within it."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass, replace
from typing import Literal

from tests.flights.course.aims import Aim, G, Line, Seen
from tests.flights.course.goals import PowerOff180
from tests.flights.course.procedures import Aims, Log, Setting

from chalkwing.units import DEGREE, KNOT

GLIDE = {"c172p": 8.2, "c172r": 9.7, "c182": 9.4, "c310": 7.3, "j3cub": 13.0}
"""Forward for each down, idling, flaps up: as each model was found to glide, a little rounded down."""
FLARE = 8.0  # the round-out begins at least so high [m]
Ending = Literal["full_stop", "touch_and_go", "go_around"]


@dataclass(frozen=True)
class Runway:
    """Threshold and direction of landing; ``side`` +1 is a right pattern, ``width`` its width [m]."""

    north: float
    east: float
    track: float
    side: int
    width: float

    @property
    def final(self) -> Line:
        return Line(self.north, self.east, self.track)

    @property
    def downwind(self) -> Line:
        across = self.track + self.side * math.pi / 2
        north = self.north + self.width * math.cos(across)
        return Line(north, self.east + self.width * math.sin(across), self.track + math.pi)

    def beyond(self, seen: Seen) -> float:
        """How far past abeam the threshold on downwind, or still to go on final [m]."""
        return -self.final.along(seen)

    def beside(self, seen: Seen) -> float:
        """How far out to the pattern's side [m]."""
        return self.side * self.final.right_of(seen)


@dataclass(frozen=True)
class Join:
    """Fly to the downwind leg and along it until ``before`` [m] short of abeam, at pattern height."""

    runway: Runway
    height: float
    airspeed: float
    before: float


@dataclass(frozen=True)
class Circuit:
    """From just after lift-off up and round to downwind, ``before`` [m] short of abeam."""

    runway: Runway
    height: float
    airspeed: float
    bank: float
    before: float


@dataclass(frozen=True)
class Landing:
    """From downwind down to the ground, with power; it turns base ``late`` [s] after the usual moment."""

    runway: Runway
    airspeed: float
    bank: float
    late: float
    power: float
    ending: Ending


@dataclass(frozen=True)
class ClimbOut:
    """Straight ahead after lift-off to ``height`` above ground."""

    heading: float
    height: float


@dataclass(frozen=True)
class Glide:
    """Idle, at ``airspeed``, down by ``height_lost``, turning ``turn`` (signed) on the way."""

    height_lost: float
    airspeed: float
    turn: float
    bank: float


@dataclass(frozen=True)
class TakeOff:
    """On the ground: wait ``stand`` [s], then take off along ``heading``."""

    heading: float
    stand: float


@dataclass(frozen=True)
class RollOut:
    """On the ground: slow down to ``to_speed`` [m/s] along ``heading``, then wait ``stand`` [s]."""

    heading: float
    to_speed: float
    stand: float


PatternGoal = Join | Circuit | Landing | ClimbOut | Glide
GroundGoal = TakeOff | RollOut


def join(goal: Join, setting: Setting, seen: Seen, log: Log) -> Aims:
    ground = seen.altitude - seen.height
    until = seen.time + 600
    aim = Aim(
        line=goal.runway.downwind, altitude=ground + goal.height, airspeed=goal.airspeed, bank_limit=0.45
    )
    while goal.runway.beyond(seen) < -goal.before and seen.time < until:
        down = seen.altitude - (ground + goal.height)
        seen = yield replace(aim, altitude=None, climb=-2.6) if down > 25 else aim


def climb_out(goal: ClimbOut, setting: Setting, seen: Seen, log: Log) -> Aims:
    up = Aim(heading=_near(goal.heading, seen), airspeed=setting.airplane.climb_speed, throttle=1.0)
    until = seen.time + 300
    while seen.height < goal.height and seen.time < until:
        slow = seen.airspeed < 0.92 * setting.airplane.climb_speed
        seen = yield replace(up, climb=1.0) if slow else up


def circuit(goal: Circuit, setting: Setting, seen: Seen, log: Log) -> Aims:
    ground, runway = seen.altitude - seen.height, goal.runway
    climb = Aim(airspeed=setting.airplane.climb_speed, throttle=1.0)
    until = seen.time + 400
    while seen.height < 0.6 * goal.height and seen.time < until:
        seen = yield replace(climb, line=runway.final, bank_limit=0.25)
    for quarter in (1, 2):
        heading = runway.track + runway.side * quarter * math.pi / 2
        to_go = 9.0
        while to_go > 0.06 and seen.time < until:
            to_go = runway.side * math.remainder(heading - seen.heading, 2 * math.pi)
            near = abs(to_go) if quarter == 2 or to_go > 0 else 0.0
            seen = yield _up_or_level(
                goal, seen, ground, climb, bank=runway.side * min(goal.bank, max(1.2 * near, 0.03))
            )
        lead = 1.1 * seen.ground_speed**2 / (G * math.tan(goal.bank))
        while quarter == 1 and runway.beside(seen) < runway.width - lead and seen.time < until:
            seen = yield _up_or_level(goal, seen, ground, climb, heading=_near(heading, seen))
    while runway.beyond(seen) < -goal.before and seen.time < until:
        seen = yield replace(_up_or_level(goal, seen, ground, climb), line=runway.downwind)


def _up_or_level(
    goal: Circuit,
    seen: Seen,
    ground: float,
    climb: Aim,
    *,
    bank: float | None = None,
    heading: float | None = None,
) -> Aim:
    if seen.height < goal.height - 12:
        return replace(climb, bank=bank, heading=heading)
    return Aim(bank=bank, heading=heading, altitude=ground + goal.height, airspeed=goal.airspeed)


def _near(heading: float, seen: Seen) -> float:
    return seen.heading + math.remainder(heading - seen.heading, 2 * math.pi)


# Ways down -------------------------------------------------------------------------------------------------


def glide(goal: Glide, setting: Setting, seen: Seen, log: Log) -> Aims:
    bottom, heading = seen.altitude - goal.height_lost, seen.heading + goal.turn
    until = seen.time + 300
    down = Aim(heading=heading, bank_limit=goal.bank, airspeed=goal.airspeed, throttle=0.0, roll_rate=0.1)
    while seen.altitude > bottom and seen.time < until:
        seen = yield down


def flare_height(seen: Seen) -> float:
    """The faster the descent, the higher one begins to round out [m]."""
    return max(FLARE, 3.2 * -seen.climb)


def landing(goal: Landing, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Power back abeam, base when the threshold lies well behind, a stabilized final."""
    runway, airplane = goal.runway, setting.airplane
    level = Aim(line=runway.downwind, altitude=seen.altitude, airspeed=seen.airspeed)
    while runway.beyond(seen) < 0:
        seen = yield level
    log.mark("abeam", seen)
    start = seen.time
    down = Aim(airspeed=goal.airspeed, throttle=goal.power, flaps=0.3)
    while (
        runway.beyond(seen) < 0.75 * runway.width + goal.late * seen.ground_speed and seen.time < start + 90
    ):
        seen = yield replace(down, line=runway.downwind)
    seen = yield from _square_turns(runway, goal.bank, seen, down)
    while seen.height > (flare_height(seen) if goal.ending != "go_around" else 35.0):
        # Power for the path: a three-degree one to the threshold.
        wanted = max(runway.beyond(seen), 0.0) * 0.055 + 3.0
        throttle = min(max(goal.power + 0.012 * (wanted - seen.height), 0.0), 0.8)
        seen = yield Aim(line=runway.final, airspeed=goal.airspeed, throttle=throttle, flaps=0.7)
        if seen.time > start + 400:
            return
    yield from _end(goal.ending, runway, airplane.climb_speed, seen, log, 0.0)


def _square_turns(runway: Runway, bank: float, seen: Seen, down: Aim) -> Generator[Aim, Seen, Seen]:
    """Base leg and the turn onto final."""
    base = runway.track - runway.side * math.pi / 2
    until = seen.time + 120
    while runway.side * math.remainder(base - seen.heading, 2 * math.pi) > 0.4 * abs(seen.bank):
        seen = yield replace(down, bank=runway.side * bank)
        if seen.time > until:
            return seen
    lead = 1.05 * seen.ground_speed**2 / (G * math.tan(bank))
    while runway.beside(seen) > lead and seen.time < until and seen.height > 2 * flare_height(seen):
        seen = yield replace(down, heading=_near(base, seen))
    while abs(math.remainder(runway.track - seen.heading, 2 * math.pi)) > 0.35 and seen.time < until:
        seen = yield replace(down, bank=runway.side * bank)
    return seen


def _end(
    ending: Ending, runway: Runway, climb_speed: float, seen: Seen, log: Log, error: float
) -> Generator[Aim, Seen, None]:
    """Round out and touch, or go around."""
    if ending == "go_around":
        log.mark("goes_around", seen)
        log.mark("ends", seen)
        yield from _go_around(runway, climb_speed, seen)
        return
    until = seen.time + 60
    while not seen.on_ground and seen.time < until:
        sink = max(0.4, 0.26 * (seen.height - 1.6 - error))
        seen = yield Aim(
            line=runway.final, bank_limit=0.12, climb=-sink, throttle=0.0, flaps=0.7, heed_horn=False
        )
    log.mark("touchdown", seen)
    log.mark("ends", seen)


def _go_around(runway: Runway, climb_speed: float, seen: Seen) -> Generator[Aim, Seen, None]:
    until, flaps = seen.time + 90, 0.7
    start = seen.height
    while seen.height < start + 60 and seen.time < until:
        flaps = max(flaps - 0.005, 0.0)
        first = seen.height < start + 10 or seen.airspeed < 0.9 * climb_speed
        up = Aim(line=runway.final, bank_limit=0.2, throttle=1.0, flaps=flaps, airspeed=climb_speed)
        seen = yield replace(up, climb=1.5) if first else up


def power_off_180(goal: PowerOff180, setting: Setting, seen: Seen, log: Log) -> Aims:
    """Idle abeam, judge the base turn by height and wind, stretch nothing, land or go around low."""
    runway = Runway(goal.runway_north, goal.runway_east, goal.runway_track, goal.side, goal.width)
    log.directions.append(goal.side)
    log.ground = {"form": "runway", "north": runway.north, "east": runway.east, "track": runway.track}
    level = Aim(line=runway.downwind, altitude=seen.altitude, airspeed=seen.airspeed)
    while runway.beyond(seen) < goal.abeam_error:
        seen = yield level
    log.mark("throttle_closed", seen)
    glide = Aim(airspeed=goal.airspeed, throttle=0.0)
    while _height_to_spare(goal, runway, setting, seen) > 0 and seen.height > 60:
        slowing = seen.airspeed > goal.airspeed + 4 * KNOT and seen.time < log.marks["throttle_closed"] + 15
        keep = replace(glide, altitude=level.altitude) if slowing else glide
        seen = yield replace(keep, line=runway.downwind)
    log.mark("turn_starts", seen)
    if goal.square:
        seen = yield from _square_turns(runway, goal.bank, seen, glide)
    else:
        seen = yield from _round_turn(runway, seen, glide)
    until = seen.time + 120
    while seen.height > _lowest(goal, seen) and seen.time < until:
        if goal.break_off is not None and seen.height < 120 * goal.break_off:
            log.status = "broken_off"
            log.mark("gave_up", seen)
            break
        long = _reach(goal, setting, seen) > runway.beyond(seen) * 1.05
        seen = yield replace(glide, line=runway.final, bank_limit=0.4, flaps=1.0 if long else 0.0)
    ending: Ending = "go_around" if goal.goes_around or log.status == "broken_off" else "touch_and_go"
    yield from _end(ending, runway, setting.airplane.climb_speed, seen, log, goal.flare_error)


def _lowest(goal: PowerOff180, seen: Seen) -> float:
    """Where the glide ends in the round-out or the go-around [m above ground]."""
    flare = flare_height(seen)
    return max(goal.go_around_height, flare + 3.0) if goal.goes_around else flare


def _reach(goal: PowerOff180, setting: Setting, seen: Seen) -> float:
    """How far the glide goes over the ground on final from here [m]."""
    sink = seen.true_airspeed / GLIDE[setting.airplane.name]
    return seen.height / sink * max(seen.true_airspeed - setting.wind_speed, 8.0)


def _height_to_spare(goal: PowerOff180, runway: Runway, setting: Setting, seen: Seen) -> float:
    """Height above what turning now would need [m], as this pilot judges it."""
    speed = goal.airspeed * seen.true_airspeed / max(seen.airspeed, 1.0)
    turning = 0.5 * math.pi * runway.beside(seen) / speed
    wind = setting.wind_speed * math.cos(setting.wind_toward - runway.track - math.pi)
    final = max(runway.beyond(seen), 0.0) + wind * turning
    needed = (turning * 1.15 + final / max(speed - wind, 8.0)) * speed / GLIDE[setting.airplane.name]
    return seen.height - needed / goal.judgement


def _round_turn(runway: Runway, seen: Seen, glide: Aim) -> Generator[Aim, Seen, Seen]:
    """One turn onto final, its bank set anew as the runway comes round."""
    until = seen.time + 90
    while seen.time < until:
        to_go = runway.side * math.remainder(runway.track - seen.track, 2 * math.pi)
        to_go = to_go + 2 * math.pi if to_go < -2.5 else to_go
        if to_go < 0.25 or runway.beside(seen) < 20 or seen.height < 2 * flare_height(seen):
            return seen
        radius = max(runway.beside(seen), 20.0) / max(1 - math.cos(to_go), 0.05)
        bank = math.atan(seen.ground_speed**2 / (G * radius))
        seen = yield replace(glide, bank=runway.side * min(max(bank, 6 * DEGREE), 42 * DEGREE), roll_rate=0.2)
    return seen
