"""Maneuvers by reference to the ground, drawn at random."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from tests.flights.course.aims import G
from tests.flights.course.goals import (
    EightsOnPylons,
    RectangularCourse,
    STurns,
    TurnsAroundAPoint,
)
from tests.flights.course.plan import Goals, Lesson, to_downwind, turn_to, wind_toward

from chalkwing.units import DEGREE, FOOT, KNOT


def turns_around_a_point(plan: Lesson) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    yield from plan.to_height(600, 1000)
    entry_off = float(rng.normal(0, 20)) * DEGREE
    yield from to_downwind(plan, entry_off)
    yield from plan.settle(0.9 * airplane.cruise_speed)
    yield TurnsAroundAPoint(
        direction=plan.sign(),
        turns=int(rng.choice([1, 2, 3, 4], p=[0.1, 0.5, 0.3, 0.1])),
        steepest=float(rng.uniform(30, 46)) * DEGREE,
        airspeed=float(rng.uniform(0.85, 0.98)) * airplane.cruise_speed,
        skill=plan.wind_skill(),
        altitude_drift=float(rng.normal(0, 45)) * FOOT,
        heading_error=float(rng.normal(0, 8)) * DEGREE,
        entry_off_downwind=entry_off,
        break_off=plan.break_off((0.3, 0.8)),
    )
    yield plan.straight(8, 30)


def s_turns(plan: Lesson) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    yield from plan.to_height(600, 1000)
    yield from to_downwind(plan, float(rng.normal(0, 12)) * DEGREE)
    yield from plan.settle(0.9 * airplane.cruise_speed)
    yield STurns(
        direction=plan.sign(),
        halves=int(rng.choice([2, 3, 4, 6], p=[0.4, 0.2, 0.3, 0.1])),
        steepest=float(rng.uniform(30, 44)) * DEGREE,
        airspeed=float(rng.uniform(0.85, 0.98)) * airplane.cruise_speed,
        skill=plan.wind_skill(),
        altitude_drift=float(rng.normal(0, 50)) * FOOT,
        off_square=float(rng.normal(0, 6)) * DEGREE,
        break_off=plan.break_off((0.4, 0.9)),
    )
    yield plan.straight(8, 30)


def eights_on_pylons(plan: Lesson) -> Goals:
    """At the pivotal height for the day, entered diagonally downwind between the pylons."""
    rng, airplane = plan.rng, plan.airplane
    speed = float(rng.uniform(0.88, 0.98)) * airplane.cruise_speed
    true_speed = speed * 1.05
    height = true_speed**2 / G
    plan.altitude = plan.ground + height
    now = plan.height()
    if abs(now - height) > 40:
        yield from plan.climb_to(plan.altitude) if now < height else plan.descend_to(plan.altitude)
    direction, steepest = plan.sign(), float(rng.uniform(28, 38)) * DEGREE
    straight = float(rng.uniform(5.5, 9.0))
    radius = height / math.tan(steepest)
    swing = math.pi + 2 * math.atan2(0.5 * straight * true_speed, radius)
    # The line between the pylons leads half the swing back from the track of entry: lay it across the wind.
    entry = wind_toward(plan) - direction * (swing - math.pi) / 2
    yield from turn_to(plan, entry + float(rng.normal(0, 8)) * DEGREE)
    yield from plan.settle(speed)
    yield EightsOnPylons(
        direction=direction,
        turns=int(rng.choice([2, 3, 4, 6], p=[0.4, 0.15, 0.35, 0.1])),
        steepest=steepest,
        straight=straight,
        airspeed=speed,
        height_skill=float(np.clip(plan.skill + rng.normal(0, 0.25), 0.0, 1.0)),
        height_error=float(rng.normal(0, 60)) * FOOT,
        sight_error=float(rng.normal(0, 4)) * DEGREE,
        skill=plan.wind_skill(),
        break_off=plan.break_off((0.5, 0.9)),
    )
    yield plan.straight(8, 30)


def rectangular_course(plan: Lesson) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    yield from plan.to_height(600, 1000)
    yield from to_downwind(plan, float(rng.normal(0, 10)) * DEGREE)
    yield from plan.settle(0.9 * airplane.cruise_speed)
    scale = (airplane.cruise_speed / (95 * KNOT)) ** 1.7
    yield RectangularCourse(
        direction=plan.sign(),
        turns=int(rng.choice([3, 4, 5, 7, 8], p=[0.15, 0.35, 0.15, 0.15, 0.2])),
        length=float(rng.uniform(1900, 2900)) * scale,
        width=float(rng.uniform(1400, 2100)) * scale,
        bank=float(rng.uniform(22, 36)) * DEGREE,
        airspeed=float(rng.uniform(0.85, 0.98)) * airplane.cruise_speed,
        skill=plan.wind_skill(),
        altitude_drift=float(rng.normal(0, 50)) * FOOT,
        break_off=plan.break_off((0.4, 0.9)),
    )
    yield plan.straight(8, 30)


LOW: dict[str, Callable[[Lesson], Goals]] = {
    "turns_around_a_point": turns_around_a_point,
    "s_turns": s_turns,
    "eights_on_pylons": eights_on_pylons,
    "rectangular_course": rectangular_course,
}
