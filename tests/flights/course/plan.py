"""What a lesson asks for, drawn at random: kinds, order, sizes, errors, transitions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
from tests.flights.airplanes import Airplane
from tests.flights.course.flying import CourseHand
from tests.flights.course.goals import (
    ClearingTurns,
    CourseGoal,
    EmergencyDescent,
    SlowFlight,
    Stall,
    StallKind,
    SteepSpiral,
    TurnsAroundAPoint,
)
from tests.flights.goals import Goal, Leg
from tests.flights.lessons import Plan
from tests.flights.simulate import Simulator

from chalkwing.units import DEGREE, FOOT, KNOT

COURSE = (ClearingTurns, SlowFlight, Stall, EmergencyDescent, SteepSpiral, TurnsAroundAPoint)
BROKEN_OFF = 0.08
HEIGHT_PER_TURN = {"c172p": 700, "c172r": 700, "c182": 900, "c310": 1500, "j3cub": 500}
"""What a steep spiral costs each model, roughly [ft]."""
CANNOT = {("j3cub", "power_off_stall"), ("j3cub", "accelerated_stall")}
"""That model's elevator is at its stop, and it mushes along, 4 to 7 degrees short of the critical angle."""
Goals = Iterator[Goal | CourseGoal]


class Lesson(Plan):
    """Hands out goals one by one; heights are above the ground of this lesson."""

    def __init__(
        self, rng: np.random.Generator, airplane: Airplane, simulator: Simulator, hand: CourseHand
    ) -> None:
        super().__init__(rng, airplane, simulator)
        self.hand = hand
        self.skill = float(rng.uniform(0.0, 1.0))
        self.scale = min(airplane.entry_speed / (95 * KNOT), 1.0)

    # Heights and transitions -----------------------------------------------------------------------------

    @property
    def ground(self) -> float:
        """What the altimeter would show on the ground."""
        s = self.simulator.state
        return float(s.altimeter - (s.geometric_altitude - (self.simulator.terrain or 0.0)))  # type: ignore[attr-defined]

    def height(self) -> float:
        return float(self.simulator.state.altimeter) - self.ground  # type: ignore[attr-defined]

    def to_height(self, low_ft: float, high_ft: float) -> Goals:
        """Climb or descend into a band of heights above ground, unless already there."""
        self.altitude = float(self.simulator.state.altimeter)  # type: ignore[attr-defined]
        height = self.height()
        wanted = self.ground + float(self.rng.uniform(low_ft, high_ft)) * FOOT
        turn = float(self.rng.choice([0.0, self.sign() * self.rng.uniform(40, 150)]))
        if height < low_ft * FOOT:
            yield from self.climb_to(wanted, turn)
        elif height > high_ft * FOOT:
            yield from self.descend_to(wanted, turn)

    def settle(self, airspeed: float | None = None) -> Goals:
        """A stretch of level flight before a maneuver; sometimes there is none at all."""
        self.altitude = float(self.simulator.state.altimeter)  # type: ignore[attr-defined]
        speed = airspeed or self.airplane.cruise_speed
        if self.rng.random() < 0.8:
            yield Leg(
                "settle", self.altitude, speed, duration=float(self.rng.uniform(6, 30)), until_steady=True
            )

    def break_off(self, share: tuple[float, float] = (0.3, 0.85)) -> float | None:
        return float(self.rng.uniform(*share)) if self.rng.random() < BROKEN_OFF else None

    def wind_skill(self) -> float:
        """How well this pilot allows for wind just now: from hardly to fully."""
        return float(np.clip(self.skill + self.rng.normal(0, 0.2), 0.0, 1.0)) * 0.6 + 0.4

    # The lesson ------------------------------------------------------------------------------------------

    def goals(self) -> Goals:
        """High work, low work, home."""
        yield self.straight(25, 60, self.airplane.climb_speed, "departure")
        possible = [name for name in HIGH if (self.airplane.name, name) not in CANNOT]
        high = list(self.rng.permutation(possible))[: int(self.rng.integers(4, 7))]
        low = list(self.rng.permutation(list(LOW)))[: int(self.rng.integers(1, len(LOW) + 1))]
        for name in [*high, *low]:
            if self.rng.random() < 0.25:
                yield self.straight(20, 60)
            yield from (HIGH | LOW)[str(name)](self)
        yield self.straight(30, 60)


def clearing(plan: Lesson) -> Goals:
    rng, sign = plan.rng, plan.sign()
    single = rng.random() < 0.35
    same_way = rng.random() < 0.3
    turns: tuple[float, ...]
    if single:
        turns = (sign * rng.normal(180, 8) * DEGREE,)
    else:
        turns = (
            sign * rng.normal(90, 8) * DEGREE,
            sign * (1 if same_way else -1) * rng.normal(90, 8) * DEGREE,
        )
    yield ClearingTurns(
        turns=tuple(float(turn) for turn in turns),
        bank=float(rng.uniform(18, 32)) * DEGREE,
        airspeed=float(rng.choice([plan.airplane.cruise_speed, plan.airplane.entry_speed])),
        pause=float(rng.choice([0.0, rng.uniform(0, 9)])),
        altitude_drift=float(rng.normal(0, 40)) * FOOT,
        break_off=plan.break_off((0.35, 0.7)) if rng.random() < 0.5 else None,
    )


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
        full=bool(rng.random() < 0.7),
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


def to_downwind(plan: Lesson, off: float) -> Goals:
    """Turn so that the wind comes from behind, or ``off`` from that."""
    s = plan.simulator.state
    north, east = plan.simulator.air.mean(s.time, s.geometric_altitude)  # type: ignore[attr-defined]
    turn = math.remainder(math.atan2(east, north) + off - s.heading, 2 * math.pi)
    if abs(turn) > 15 * DEGREE:
        yield plan.turn(turn / DEGREE, float(plan.rng.uniform(15, 28)), label="turn_downwind")


def maybe_clearing(plan: Lesson) -> Goals:
    if plan.rng.random() < 0.45:
        yield from plan.settle()
        yield from clearing(plan)


HIGH: dict[str, Callable[[Lesson], Goals]] = {
    "slow_flight": slow_flight,
    "power_off_stall": stall_of("power_off_stall"),
    "power_on_stall": stall_of("power_on_stall"),
    "accelerated_stall": stall_of("accelerated_stall"),
    "emergency_descent": emergency_descent,
    "steep_spiral": steep_spiral,
}
LOW: dict[str, Callable[[Lesson], Goals]] = {
    "turns_around_a_point": turns_around_a_point,
}
