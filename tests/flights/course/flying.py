"""Puts a goal before a hand, lets it fly, and keeps the account."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from tests.flights.course import circling, ground_reference, pattern, slow
from tests.flights.course.aims import Seen
from tests.flights.course.goals import (
    ClearingTurns,
    CourseGoal,
    EightsOnPylons,
    EmergencyDescent,
    PowerOff180,
    RectangularCourse,
    SlowFlight,
    Stall,
    SteepSpiral,
    STurns,
    TurnsAroundAPoint,
    kind_of,
)
from tests.flights.course.procedures import Aims, Log, Procedure, Setting
from tests.flights.course.sight import Sight
from tests.flights.goals import Goal
from tests.flights.simulate import DepartedError
from tests.flights.truth import Flown

LONGEST = 600.0  # [s]
PATTERN: dict[type, Callable[..., Aims]] = {
    pattern.Join: pattern.join,
    pattern.Circuit: pattern.circuit,
    pattern.Landing: pattern.landing,
    pattern.ClimbOut: pattern.climb_out,
    pattern.Glide: pattern.glide,
}
PROCEDURES: dict[type, Callable[..., Aims]] = {
    ClearingTurns: circling.clearing_turns,
    SlowFlight: slow.slow_flight,
    Stall: slow.stall,
    EmergencyDescent: circling.emergency_descent,
    SteepSpiral: circling.steep_spiral,
    TurnsAroundAPoint: circling.turns_around_a_point,
    STurns: ground_reference.s_turns,
    EightsOnPylons: ground_reference.eights_on_pylons,
    RectangularCourse: ground_reference.rectangular_course,
    PowerOff180: pattern.power_off_180,
}


class CourseHand(Protocol):
    """A hand that flies both the old goals and procedures."""

    sight: Sight

    def fly(self, goal: Goal) -> list[Flown]: ...

    def follow(self, procedure: Procedure) -> None: ...


def _in_time(aims: Aims, log: Log) -> Aims:
    """The same aims, unless the maneuver never comes to an end: then the lesson is flown again."""
    aim = next(aims)
    while True:
        seen = yield aim
        if seen.time > log.start + LONGEST:
            raise DepartedError(f"{log.kind} at {log.start:.0f} s never came to an end")
        try:
            aim = aims.send(seen)
        except StopIteration:
            return


def fly_pattern(hand: CourseHand, goal: pattern.PatternGoal, setting: Setting) -> Log:
    """Fly a piece of pattern work, which no standard calls a maneuver of the course."""
    seen = hand.sight.seen()
    log = Log(type(goal).__name__.lower(), seen.time)
    hand.follow(Procedure(_in_time(PATTERN[type(goal)](goal, setting, seen, log), log), log))
    log.stop = hand.sight.seen().time
    return log


def fly_course(hand: CourseHand, goal: CourseGoal, setting: Setting) -> Log:
    """Fly one maneuver of the course; the pilot's own account of it."""
    seen: Seen = hand.sight.seen()
    log = Log(kind_of(goal), seen.time)
    hand.follow(Procedure(_in_time(PROCEDURES[type(goal)](goal, setting, seen, log), log), log))
    log.stop = hand.sight.seen().time
    return log
