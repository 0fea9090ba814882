"""What a lesson asks for, drawn at random: kinds, order, sizes, errors, transitions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np
from tests.flights import lessons
from tests.flights.airplanes import Airplane
from tests.flights.course.aims import G
from tests.flights.course.flying import CourseHand
from tests.flights.course.goals import (
    ClearingTurns,
    CourseGoal,
    EightsOnPylons,
    EmergencyDescent,
    PowerOff180,
    RectangularCourse,
    SlowFlight,
    Stall,
    StallKind,
    SteepSpiral,
    STurns,
    TurnsAroundAPoint,
)
from tests.flights.course.pattern import (
    GLIDE,
    Circuit,
    ClimbOut,
    Ending,
    GroundGoal,
    Join,
    Landing,
    PatternGoal,
    RollOut,
    Runway,
    TakeOff,
)
from tests.flights.course.wheels import ON_WHEELS, TOUCHES
from tests.flights.goals import Goal, Leg
from tests.flights.lessons import Plan
from tests.flights.simulate import Simulator

from chalkwing.units import DEGREE, FOOT, KNOT

COURSE = CourseGoal.__args__  # type: ignore[attr-defined]  # the classes of the union
BROKEN_OFF = 0.08
HEIGHT_PER_TURN = {"c172p": 700, "c172r": 700, "c182": 900, "c310": 1500, "j3cub": 500}
"""What a steep spiral costs each model, roughly [ft]."""
TWINS = ("c310",)  # nobody glides a twin to a spot
CANNOT = {("j3cub", "power_off_stall"), ("j3cub", "accelerated_stall")}
"""That model's elevator is at its stop, and it mushes along, 4 to 7 degrees short of the critical angle."""
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
        """Takeoff, high work, low work, the pattern."""
        yield from self.departure()
        possible = [name for name in HIGH if (self.airplane.name, name) not in CANNOT]
        high = list(self.rng.permutation(possible))[: int(self.rng.integers(4, 7))]
        low = list(self.rng.permutation(list(LOW)))[: int(self.rng.integers(1, 4))]
        for name in [*high, *low]:
            if self.rng.random() < 0.25:
                yield self.straight(20, 60)
            yield from (HIGH | LOW)[str(name)](self)
        yield from pattern_work(self)

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


# The pattern -----------------------------------------------------------------------------------------------


def pattern_work(plan: Lesson) -> Goals:
    """One to three ways down at a field nearby, the last to a full stop where the model can."""
    rng, wheels = plan.rng, plan.airplane.name in ON_WHEELS
    yield from plan.to_height(900, 1500)
    runway = field_nearby(plan)
    height = float(rng.uniform(850, 1050)) * FOOT * (0.8 if plan.airplane.name == "j3cub" else 1.0)
    count = int(rng.choice([1, 2, 3], p=[0.4, 0.4, 0.2]))
    for number in range(count):
        if number == 0:
            before = float(rng.uniform(500, 900))
            yield Join(runway, height, 0.9 * plan.airplane.cruise_speed, before=before)
        last = number + 1 == count
        ending: Ending = "full_stop" if last else "touch_and_go"
        touches = plan.airplane.name in TOUCHES or (wheels and last)
        if not touches or rng.random() < 0.15:
            ending = "go_around"
        yield from way_down(
            plan, runway, ending, power_off=bool(rng.random() < 0.55) and plan.airplane.name not in TWINS
        )
        if ending == "full_stop":
            yield RollOut(runway.track, 2.0, float(rng.uniform(15, 40)))
            return
        if ending == "touch_and_go":
            yield RollOut(runway.track, 0.75 * plan.airplane.stall_speed, 0.0)
            yield TakeOff(runway.track, 0.0)
        if not last:
            bank = float(rng.uniform(18, 28)) * DEGREE
            speed = 0.85 * plan.airplane.cruise_speed
            yield Circuit(runway, height, speed, bank, float(rng.uniform(300, 700)))
    yield ClimbOut(runway.track, plan.height() + 120.0)


def field_nearby(plan: Lesson) -> Runway:
    """A field whose downwind leg lies ahead of the airplane, its runway into the wind, give or take."""
    rng, seen, airplane = plan.rng, plan.hand.sight.seen(), plan.airplane
    track = wind_toward(plan) + math.pi + float(rng.normal(0, 20)) * DEGREE
    side = plan.sign()
    # Two turns with 22 degrees of bank fit in, and the glide from abeam still reaches round.
    tight = 1.9 * (1.12 * airplane.approach_speed) ** 2 / (G * math.tan(0.38))
    width = min(float(rng.uniform(0.95, 1.35)) * tight, 110 * GLIDE[airplane.name])
    before, beside = float(rng.uniform(2500, 4500)), float(rng.uniform(-600, 1200))
    across = track + side * math.pi / 2
    north = seen.north - before * math.cos(track) - (width + beside) * math.cos(across)
    east = seen.east - before * math.sin(track) - (width + beside) * math.sin(across)
    return Runway(north, east, track, side, width)


def way_down(plan: Lesson, runway: Runway, ending: Ending, *, power_off: bool) -> Goals:
    rng, airplane = plan.rng, plan.airplane
    if not power_off:
        yield Landing(
            runway,
            airspeed=airplane.approach_speed * float(rng.uniform(0.97, 1.1)),
            bank=float(rng.uniform(18, 28)) * DEGREE,
            late=float(rng.uniform(0, 8)),
            power=float(rng.uniform(0.2, 0.35)),
            ending=ending,
        )
        return
    yield PowerOff180(
        side=runway.side,
        runway_north=runway.north,
        runway_east=runway.east,
        runway_track=runway.track,
        width=runway.width,
        abeam_error=float(rng.normal(0, 60)),
        airspeed=airplane.approach_speed * float(rng.uniform(0.98, 1.08)),
        bank=float(rng.uniform(22, 34)) * DEGREE,
        judgement=float(rng.normal(1.0, 0.07)),
        square=bool(rng.random() < 0.4),
        goes_around=ending == "go_around",
        go_around_height=float(rng.uniform(8, 45)),
        flare_error=float(rng.normal(0, 0.4)),
        break_off=plan.break_off((0.6, 1.2)) if ending == "go_around" else None,
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
LOW: dict[str, Callable[[Lesson], Goals]] = {
    "turns_around_a_point": turns_around_a_point,
    "s_turns": s_turns,
    "eights_on_pylons": eights_on_pylons,
    "rectangular_course": rectangular_course,
}
