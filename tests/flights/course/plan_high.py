"""Maneuvers flown high: slow flight, stalls, descents and spirals, drawn at random."""

from __future__ import annotations

import math
from collections.abc import Callable

from tests.flights import lessons
from tests.flights.course.goals import (
    EmergencyDescent,
    SlowFlight,
    Stall,
    StallKind,
    SteepSpiral,
)
from tests.flights.course.plan import Goals, Lesson, maybe_clearing

from chalkwing.units import DEGREE, FOOT, KNOT

HEIGHT_PER_TURN = {"c172p": 700, "c172r": 700, "c182": 900, "c310": 1500, "j3cub": 500}
"""What a steep spiral costs each model, roughly [ft]."""
CANNOT = {("j3cub", "power_off_stall"), ("j3cub", "accelerated_stall")}
"""That model's elevator is at its stop, and it mushes along, 4 to 7 degrees short of the critical angle."""


def slow_flight(plan: Lesson) -> Goals:
    rng = plan.rng
    yield from plan.to_height(2000, 4200)
    yield from maybe_clearing(plan)
    yield from plan.settle()
    count = int(rng.choice([0, 1, 2, 3]))
    flaps = float(rng.choice([0.0, 0.3, 1.0]))
    yield SlowFlight(
        airspeed=float(rng.uniform(1.08, 1.25)) * plan.airplane.stall_speed * (0.94 if flaps else 1.0),
        duration=float(rng.uniform(60, 210)),
        turns=tuple(float(plan.sign() * rng.uniform(45, 180)) * DEGREE for _ in range(count)),
        bank=float(rng.uniform(8, 20)) * DEGREE,
        flaps=flaps,
        altitude_drift=float(rng.normal(0, 60)) * FOOT,
        airspeed_drift=float(rng.normal(0, 2.5)) * KNOT,
        break_off=plan.break_off((0.15, 0.7)),
    )


def stall_of(kind: StallKind) -> Callable[[Lesson], Goals]:
    def goals(plan: Lesson) -> Goals:
        yield from plan.to_height(3000 if kind == "accelerated_stall" else 2500, 4500)
        yield from maybe_clearing(plan)
        yield from plan.settle()
        for _ in range(int(plan.rng.choice([1, 2], p=[0.75, 0.25]))):
            yield one_stall(plan, kind)
            if plan.rng.random() < 0.7:
                yield from plan.settle()

    return goals


def one_stall(plan: Lesson, kind: StallKind) -> Stall:
    rng, sign = plan.rng, plan.sign()
    turning = rng.random() < 0.35
    bank = float(rng.uniform(10, 20)) * DEGREE * sign if turning else 0.0
    if kind == "accelerated_stall":
        bank = float(rng.uniform(38, 48)) * DEGREE * sign
    power_on = kind == "power_on_stall"
    blown = plan.airplane.name == "j3cub"  # lift from the propeller's wind: hardly to be stalled with power
    steepest = {"power_on_stall": (24, 30), "power_off_stall": (14, 20), "accelerated_stall": (22, 30)}[kind]
    rate = {"power_on_stall": (1.2, 2.5), "power_off_stall": (0.7, 1.8), "accelerated_stall": (1.5, 3.5)}[
        kind
    ]
    return Stall(
        kind=kind,
        bank=bank,
        full=bool(rng.random() < 0.7) and not blown,
        pitch_rate=float(rng.uniform(*rate)) * DEGREE,
        pitch_most=(float(rng.uniform(*steepest)) + (8 if blown else 0)) * DEGREE,
        throttle=float(rng.uniform(0.65, 0.75 if blown else 1.0))
        if power_on
        else float(rng.uniform(0.0, 0.12)),
        flaps=float(rng.choice([0.0, 0.3, 1.0])) if kind == "power_off_stall" else 0.0,
        reaction=float(rng.uniform(0.2, 1.6)),
        push=float(rng.uniform(3, 12)) * DEGREE,
        power_delay=float(rng.uniform(0.0, 2.5)),
        heading_drift=float(rng.normal(0, 8)) * DEGREE,
        glide=float(rng.uniform(0, 15)),
        secondary=bool(rng.random() < 0.1),
        break_off=plan.break_off((0.2, 0.9)),
    )


def emergency_descent(plan: Lesson) -> Goals:
    rng = plan.rng
    yield from plan.to_height(3000, 4800)
    yield from plan.settle()
    turn = plan.sign() * float(rng.uniform(90, 360)) * DEGREE
    yield EmergencyDescent(
        airspeed=float(rng.uniform(1.1, 1.3)) * plan.airplane.cruise_speed,
        bank=float(rng.uniform(28, 46)) * DEGREE,
        turn=turn,
        height_lost=float(rng.uniform(1000, 2200)) * FOOT,
        level_off_error=float(rng.normal(0, 90)) * FOOT,
        roll_out_early=bool(rng.random() < 0.25),
        break_off=plan.break_off((0.35, 0.8)),
    )
    plan.altitude = float(plan.simulator.state.altimeter)  # type: ignore[attr-defined]


def steep_spiral(plan: Lesson) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    turns = int(rng.choice([3, 4, 5], p=[0.6, 0.3, 0.1]))
    turns = 3 if airplane.name == "c310" else turns
    per_turn = HEIGHT_PER_TURN[airplane.name]
    low = 1500 + per_turn * turns
    yield from plan.to_height(low, low + 700)
    yield from maybe_clearing(plan)
    yield from plan.settle()
    steepest = float(rng.uniform(38, 54)) * DEGREE
    slowest = 1.22 * airplane.stall_speed / math.sqrt(math.cos(steepest))
    yield SteepSpiral(
        direction=plan.sign(),
        turns=turns,
        steepest=steepest,
        airspeed=max(airplane.approach_speed, slowest) + float(rng.uniform(0, 6)) * KNOT,
        airspeed_drift=float(rng.normal(0, 5)) * KNOT * plan.scale,
        skill=plan.wind_skill(),
        heading_error=float(rng.normal(0, 9)) * DEGREE,
        power_blips=bool(rng.random() < 0.4),
        break_off=plan.break_off((0.2, 0.8)),
    )
    plan.altitude = float(plan.simulator.state.altimeter)  # type: ignore[attr-defined]
    yield plan.straight(8, 30)


HIGH: dict[str, Callable[[Lesson], Goals]] = {
    "slow_flight": slow_flight,
    "power_off_stall": stall_of("power_off_stall"),
    "power_on_stall": stall_of("power_on_stall"),
    "accelerated_stall": stall_of("accelerated_stall"),
    "emergency_descent": emergency_descent,
    "steep_spiral": steep_spiral,
    "lazy_eight": lessons.eights,
    "chandelle": lessons.chandelles,
    "steep_turn": lessons.steep_turns,
}
