"""Whole lessons: what is flown, in which order, how well; a seed decides everything.

Seeds 0 to 199 are for tuning, those from 5000 for the reported figures, 2000 to 2099 for tests.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from tests.flights import lessons
from tests.flights.airplanes import AIRPLANES, Airplane
from tests.flights.course.baits import Ordinary
from tests.flights.course.flying import CourseHand, fly_course, fly_pattern
from tests.flights.course.goals import CourseGoal
from tests.flights.course.human_course import HumanCourse
from tests.flights.course.measure import measure_course
from tests.flights.course.pattern import GroundGoal, PatternGoal, RollOut, TakeOff
from tests.flights.course.plan import COURSE, Goals, Lesson
from tests.flights.course.procedures import Log, Setting
from tests.flights.course.schedule_course import ScheduleCourse
from tests.flights.course.track import Track
from tests.flights.course.wheels import AIRBORNE, ON_WHEELS, Wheels
from tests.flights.course.whole import Whole
from tests.flights.goals import LazyEight, Leg
from tests.flights.simulate import DepartedError, Simulator, Start
from tests.flights.truth import Flown, TruthFlight, TruthManeuver, measure
from tests.flights.weather import Weather, random_weather

from chalkwing.units import DEGREE, KNOT

HANDS: dict[str, type[Any]] = {"schedule": ScheduleCourse, "human": HumanCourse}
ATTEMPTS = 8


def whole_lesson(seed: int, airplane: str, controller: str, *, baits: bool = False) -> TruthFlight:
    """One lesson of 30 to 60 minutes, or a flight of ``baits`` with no maneuver in it.

    One that departs controlled flight is reported and flown again.
    """
    reseeded: list[str] = []
    for attempt in range(ATTEMPTS):
        try:
            return _fly(
                seed, attempt, AIRPLANES[airplane], controller, reseeded, Ordinary if baits else Whole
            )
        except DepartedError as departed:
            reseeded.append(str(departed))
    raise RuntimeError(f"seed {seed}, {airplane}, {controller}: departed {ATTEMPTS} times: {reseeded}")


def weather_of(number: int) -> Weather:
    """A day for ground reference: wind up to 20 kt where it is flown."""
    day = random_weather(number)
    return replace(day, seed=number, wind_speed=min(day.wind_speed, 20 * KNOT), shear=min(day.shear, 0.0016))


def _fly(
    seed: int,
    attempt: int,
    airplane: Airplane,
    controller: str,
    reseeded: list[str],
    content: type[Lesson] = Whole,
) -> TruthFlight:
    # Other days than those of the lessons beside.
    number = (40_000 if content is Whole else 80_000) + seed + 1_000_000 * attempt
    rng = np.random.default_rng([number, 41])
    weather = weather_of(number)
    terrain = float(rng.uniform(100, 450))
    simulator = Simulator(airplane, weather, _start(rng, airplane, terrain, weather), terrain=terrain)
    roughness = float(rng.uniform(0.0, 1.0))
    hand: CourseHand = HANDS[controller](simulator, seed=number, roughness=roughness)
    plan = content(rng, airplane, simulator, hand)
    flown, legs = fly_all(plan.goals(), hand, simulator, airplane)
    table = simulator.table()
    track = Track(table, airplane.name, terrain)
    maneuvers = _measured(flown, track, hand)
    facts = {
        **simulator.facts(),
        "roughness": roughness,
        "terrain": terrain,
        "lesson": content.__name__.lower(),
    }
    return TruthFlight(seed, controller, table, maneuvers, legs, facts, weather.as_dict(), list(reseeded))


Account = tuple[Flown, None] | tuple[Log, CourseGoal]


def fly_all(
    goals: Goals, hand: CourseHand, simulator: Simulator, airplane: Airplane
) -> tuple[list[Account], list[dict[str, Any]]]:
    """Fly goal after goal; accounts of the maneuvers in order, and when each piece of ordinary flying was."""
    flown: list[Account] = []
    legs: list[dict[str, Any]] = []
    for goal in goals:
        begin = simulator.state.time  # type: ignore[attr-defined]  # filled by the engine
        if isinstance(goal, COURSE):
            flown.append((fly_course(hand, goal, _setting(simulator, airplane)), goal))
            continue
        if isinstance(goal, PatternGoal | GroundGoal):
            legs += _pattern(goal, hand, simulator, airplane)
            continue
        last = flown[-1][0] if flown else None
        if isinstance(goal, LazyEight) and goal.chained and last and last.status == "broken_off":
            continue  # who gives up does not go straight on
        flown += [(one, None) for one in hand.fly(goal)]
        if isinstance(goal, Leg):
            end = simulator.state.time  # type: ignore[attr-defined]
            legs.append({"label": goal.label, "start": begin, "end": end})
    return flown, legs


def _pattern(
    goal: PatternGoal | GroundGoal, hand: CourseHand, simulator: Simulator, airplane: Airplane
) -> list[dict[str, Any]]:
    """Pattern work and what is done on the wheels, as pieces of ordinary flying."""
    wheels, begin = Wheels(simulator), float(simulator.state.time)
    if isinstance(goal, TakeOff):
        wheels.stand(goal.stand, goal.heading)
        rolls = float(simulator.state.time)
        wheels.take_off(goal.heading)
        label, marks = "takeoff", {"rolls": rolls}
    elif isinstance(goal, RollOut):
        wheels.roll_out(goal.heading, to_speed=goal.to_speed)
        wheels.stand(goal.stand, goal.heading)
        label, marks = "roll_out", {}
    else:
        log = fly_pattern(hand, goal, _setting(simulator, airplane))
        label, marks = log.kind, log.marks
    return [{"label": label, "start": begin, "end": float(simulator.state.time), "marks": marks}]


def _setting(simulator: Simulator, airplane: Airplane) -> Setting:
    s = simulator.state
    north, east = simulator.air.mean(s.time, s.geometric_altitude)  # type: ignore[attr-defined]
    return Setting(airplane, math.atan2(east, north), math.hypot(north, east))


def _measured(flown: list[Account], track: Track, hand: CourseHand) -> list[TruthManeuver]:
    found: list[TruthManeuver] = []
    for account, goal in flown:
        if isinstance(account, Flown):
            after = found[-1].end if account.chained else None
            found.append(measure(account, track.table, after=after))
        else:
            found.append(measure_course(account, track, hand.sight.plane, goal))
    lessons.refuse_endless(found)
    return found


def _start(rng: np.random.Generator, airplane: Airplane, terrain: float, weather: Weather) -> Start:
    """On the wheels and into the wind where the model can, else just after lift-off."""
    start = lessons.air_start(rng, airplane)
    heading = weather.wind_from + float(rng.normal(0, 15)) * DEGREE
    if airplane.name in ON_WHEELS:
        return replace(start, altitude=terrain + 1.4, heading=heading, airspeed=0.0)
    return replace(start, altitude=terrain + 2 * AIRBORNE, heading=heading)
