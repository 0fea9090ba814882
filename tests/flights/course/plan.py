"""What a lesson keeps in mind while it hands out goals: heights, skill, wind, transitions."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from tests.flights.airplanes import Airplane
from tests.flights.course.flying import CourseHand
from tests.flights.course.goals import (
    ClearingTurns,
    CourseGoal,
)
from tests.flights.course.pattern import (
    ClimbOut,
    GroundGoal,
    PatternGoal,
    TakeOff,
)
from tests.flights.course.wheels import ON_WHEELS
from tests.flights.goals import Goal, Leg
from tests.flights.lessons import Plan
from tests.flights.simulate import Simulator

from chalkwing.units import DEGREE, FOOT, KNOT

COURSE = CourseGoal.__args__  # type: ignore[attr-defined]  # the classes of the union
BROKEN_OFF = 0.08
Goals = Iterator[Goal | CourseGoal | PatternGoal | GroundGoal]


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

    def clearing(self, airspeed: float) -> Goals:  # type: ignore[override]  # here they are a maneuver
        yield from clearing(self)

    def goals(self) -> Goals:
        """Everything to fly, one goal after the other."""
        raise NotImplementedError

    def departure(self) -> Goals:
        heading = float(self.simulator.state.heading)  # type: ignore[attr-defined]
        if self.airplane.name in ON_WHEELS:
            yield TakeOff(heading, float(self.rng.uniform(22, 40)))
        yield ClimbOut(heading, float(self.rng.uniform(400, 800)) * FOOT)
        self.altitude = self.ground + float(self.rng.uniform(1000, 2000)) * FOOT
        speed = self.airplane.climb_speed
        if self.rng.random() < 0.7:
            turn = self.sign() * self.rng.uniform(45, 130) * DEGREE
            bank = float(self.rng.uniform(12, 22)) * DEGREE
            yield Leg("departure_turn", self.altitude, speed, turn=turn, bank=bank, vertical="climb")
        yield Leg("climb", self.altitude, speed, duration=300, vertical="climb")


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


def wind_toward(plan: Lesson) -> float:
    """Direction toward which the wind blows here."""
    s = plan.simulator.state
    north, east = plan.simulator.air.mean(s.time, s.geometric_altitude)  # type: ignore[attr-defined]
    return math.atan2(east, north)


def turn_to(plan: Lesson, heading: float) -> Goals:
    """Turn the shorter way to a heading, if it is worth a turn."""
    turn = math.remainder(heading - plan.simulator.state.heading, 2 * math.pi)  # type: ignore[attr-defined]
    if abs(turn) > 15 * DEGREE:
        yield plan.turn(turn / DEGREE, float(plan.rng.uniform(15, 28)), label="turn_to_entry")


def to_downwind(plan: Lesson, off: float) -> Goals:
    """Turn so that the wind comes from behind, or ``off`` from that."""
    yield from turn_to(plan, wind_toward(plan) + off)


def maybe_clearing(plan: Lesson) -> Goals:
    if plan.rng.random() < 0.45:
        yield from plan.settle()
        yield from clearing(plan)
