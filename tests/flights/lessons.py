"""Lessons: what is flown, in which order, with which errors; a seed decides everything."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from tests.flights.airplanes import AIRPLANES, Airplane
from tests.flights.goals import Chandelle, Goal, LazyEight, Leg, SteepTurn
from tests.flights.human_hand import HumanHand
from tests.flights.schedule_hand import ScheduleHand
from tests.flights.simulate import DepartedError, Simulator, Start
from tests.flights.truth import Flown, TruthFlight, TruthManeuver, measure_all
from tests.flights.weather import random_weather

from chalkwing.units import DEGREE, FOOT, KNOT

HANDS = {"schedule": ScheduleHand, "human": HumanHand}
ATTEMPTS = 8
BROKEN_OFF_SHARE = 0.08
LONGEST_STEEP_TURN = 120.0  # [s]


def lesson(seed: int, airplane: str, controller: str, *, ordinary_only: bool = False) -> TruthFlight:
    """One flight of 20 to 55 minutes; one that departs controlled flight is reported and flown again."""
    reseeded: list[str] = []
    for attempt in range(ATTEMPTS):
        try:
            return _fly(seed, attempt, AIRPLANES[airplane], controller, ordinary_only, reseeded)
        except DepartedError as departed:
            reseeded.append(str(departed))
    raise RuntimeError(f"seed {seed}, {airplane}, {controller}: departed {ATTEMPTS} times: {reseeded}")


def _fly(
    seed: int, attempt: int, airplane: Airplane, controller: str, ordinary_only: bool, reseeded: list[str]
) -> TruthFlight:
    number = seed + 1_000_000 * attempt
    rng = np.random.default_rng([number, 31])
    weather = random_weather(number)
    simulator = Simulator(airplane, weather, air_start(rng, airplane))
    roughness = float(rng.uniform(0.0, 1.0))
    hand = HANDS[controller](simulator, seed=number, roughness=roughness)
    plan = ordinary(rng, airplane, simulator) if ordinary_only else practice(rng, airplane, simulator)
    flown: list[Flown] = []
    legs = []
    for goal in plan:
        begin = simulator.state.time
        if isinstance(goal, LazyEight) and goal.chained and flown[-1].status == "broken_off":
            continue  # who gives up does not go straight on
        flown += hand.fly(goal)
        if isinstance(goal, Leg):
            legs.append({"label": goal.label, "start": begin, "end": simulator.state.time})
    table = simulator.table()
    maneuvers = measure_all(flown, table)
    refuse_endless(maneuvers)
    facts = {**simulator.facts(), "roughness": roughness, "ordinary_only": ordinary_only}
    return TruthFlight(
        seed=seed,
        controller=controller,
        table=table,
        maneuvers=maneuvers,
        legs=legs,
        facts=facts,
        weather=weather.as_dict(),
        reseeded=list(reseeded),
    )


def refuse_endless(maneuvers: list[TruthManeuver]) -> None:
    """A steep turn that never comes round is none: the pilot circled, and the lesson is flown again."""
    for one in maneuvers:
        if one.kind == "steep_turn" and one.end - one.start > LONGEST_STEEP_TURN:
            raise DepartedError(f"a steep turn at {one.start:.0f} s lasted {one.end - one.start:.0f} s")


def air_start(rng: np.random.Generator, airplane: Airplane) -> Start:
    fields = (
        (40.2, -97.4),
        (44.8, -84.1),
        (33.4, -105.2),
        (51.9, 5.6),
        (47.9, 11.2),
        (-34.6, 148.3),
        (60.8, 25.1),
    )
    latitude, longitude = fields[rng.integers(len(fields))]
    return Start(
        latitude=(latitude + rng.uniform(-0.2, 0.2)) * DEGREE,
        longitude=(longitude + rng.uniform(-0.2, 0.2)) * DEGREE,
        altitude=float(rng.uniform(1500, 2500)) * FOOT,
        heading=float(rng.uniform(0, 2 * np.pi)),
        airspeed=airplane.climb_speed,
        load=float(rng.uniform(*airplane.load)),
        fuel=float(rng.uniform(*airplane.fuel)),
    )


# Ordinary flying -------------------------------------------------------------------------------------------


class Plan:
    """Keeps the altitude in force while goals are handed out one by one."""

    def __init__(self, rng: np.random.Generator, airplane: Airplane, simulator: Simulator) -> None:
        self.rng, self.airplane, self.simulator = rng, airplane, simulator
        self.altitude = simulator.state.altimeter

    def sign(self) -> int:
        return int(self.rng.choice([-1, 1]))

    def straight(
        self, low: float, high: float, airspeed: float | None = None, label: str = "straight"
    ) -> Leg:
        return Leg(
            label, self.altitude, airspeed or self.airplane.cruise_speed, duration=self.rng.uniform(low, high)
        )

    def turn(
        self, degrees: float, bank: float | None = None, airspeed: float | None = None, label: str = "turn"
    ) -> Leg:
        bank = bank or self.rng.uniform(15, 30)
        return Leg(
            label,
            self.altitude,
            airspeed or self.airplane.cruise_speed,
            turn=degrees * DEGREE,
            bank=bank * DEGREE,
        )

    def climb_to(self, altitude: float, turn: float = 0.0) -> Iterator[Leg]:
        self.altitude = altitude
        speed = self.airplane.climb_speed
        if turn:
            yield Leg(
                "climbing_turn",
                altitude,
                speed,
                turn=turn * DEGREE,
                bank=self.rng.uniform(12, 25) * DEGREE,
                vertical="climb",
            )
        yield Leg("climb", altitude, speed, duration=420, vertical="climb")
        yield self.straight(15, 40, label="level_off")

    def descend_to(self, altitude: float, turn: float = 0.0) -> Iterator[Leg]:
        self.altitude = altitude
        speed = self.airplane.cruise_speed
        if turn:
            yield Leg(
                "descending_turn",
                altitude,
                speed,
                turn=turn * DEGREE,
                bank=self.rng.uniform(12, 25) * DEGREE,
                vertical="descend",
            )
        yield Leg("descent", altitude, speed, duration=420, vertical="descend")
        yield self.straight(15, 40, label="level_off")

    def clearing(self, airspeed: float) -> Iterator[Leg]:
        sign = self.sign()
        bank = self.rng.uniform(20, 32)
        for direction in (sign, -sign):
            yield self.turn(direction * self.rng.uniform(80, 95), bank, airspeed, "clearing_turn")
            yield self.straight(2, 8, airspeed)

    def away(self) -> Iterator[Leg]:
        """Away from the field: a climb with a turn or two to the practice altitude."""
        yield Leg(
            "climb", self.altitude + 400 * FOOT, self.airplane.climb_speed, duration=45, vertical="climb"
        )
        high = 4500 if self.airplane.name == "j3cub" else 6000
        yield from self.climb_to(self.rng.uniform(3600, high) * FOOT, self.sign() * self.rng.uniform(40, 120))

    def home(self) -> Iterator[Leg]:
        """Descent and a traffic pattern of left turns, slowing down."""
        yield from self.descend_to(
            self.rng.uniform(1600, 2200) * FOOT, self.sign() * self.rng.uniform(40, 160)
        )
        speed = self.airplane.approach_speed
        yield self.straight(20, 50, 1.2 * speed, "downwind")
        yield self.turn(-90, self.rng.uniform(20, 30), 1.1 * speed, "base_turn")
        self.altitude -= 250 * FOOT
        yield Leg("base", self.altitude, speed, duration=25, vertical="descend", flaps=0.3)
        yield Leg(
            "final_turn", self.altitude, speed, turn=-np.pi / 2, bank=0.4, vertical="descend", flaps=0.3
        )
        self.altitude -= 300 * FOOT
        yield Leg("final", self.altitude, speed, duration=40, vertical="descend", flaps=0.3)

    def errand(self) -> Iterator[Leg]:
        """One piece of ordinary flying."""
        rng, sign, cruise = self.rng, self.sign(), self.airplane.cruise_speed
        kinds = ["cruise", "three_sixty", "s_turns", "holding", "climb", "descend", "spiral", "turns", "slow"]
        kind = rng.choice(kinds)
        if kind == "cruise":
            yield self.straight(30, 120)
        elif kind == "three_sixty":
            yield self.turn(sign * 360, rng.uniform(12, 30), label="three_sixty")
        elif kind == "s_turns":
            bank, swing = rng.uniform(15, 35), rng.uniform(90, 180)
            for k in range(int(rng.integers(2, 5))):
                yield self.turn(sign * swing * (-1) ** k, bank, label="s_turn")
        elif kind == "holding":
            for _ in range(int(rng.integers(1, 3))):
                yield self.turn(sign * 180, rng.uniform(15, 25), 0.9 * cruise, "holding_turn")
                yield self.straight(40, 60, 0.9 * cruise, "holding_leg")
                yield self.turn(sign * 180, rng.uniform(15, 25), 0.9 * cruise, "holding_turn")
                yield self.straight(40, 60, 0.9 * cruise, "holding_leg")
        elif kind == "climb":
            yield from self.climb_to(
                self.altitude + rng.uniform(400, 900) * FOOT, sign * rng.uniform(60, 200)
            )
        elif kind == "descend" and self.altitude > 3300 * FOOT:
            yield from self.descend_to(
                self.altitude - rng.uniform(400, 900) * FOOT, sign * rng.uniform(60, 270)
            )
        elif kind == "spiral" and self.altitude > 3600 * FOOT:
            self.altitude -= 900 * FOOT
            yield Leg(
                "spiral_down",
                self.altitude,
                cruise,
                turn=sign * rng.uniform(300, 600) * DEGREE,
                bank=rng.uniform(20, 35) * DEGREE,
                vertical="descend",
            )
            yield self.straight(20, 40)
        elif kind == "turns":
            for _ in range(int(rng.integers(2, 4))):
                yield self.turn(self.sign() * rng.uniform(30, 150), rng.uniform(15, 32))
                yield self.straight(8, 40)
        else:
            slow = 1.2 * self.airplane.stall_speed
            yield self.straight(40, 80, slow, "slow_flight")
            yield self.turn(sign * rng.uniform(40, 90), 12, slow, "slow_flight_turn")
            yield self.straight(20, 40, cruise)


def ordinary(rng: np.random.Generator, airplane: Airplane, simulator: Simulator) -> Iterator[Goal]:
    """A flight with nothing in it that any standard calls a maneuver of the course."""
    plan = Plan(rng, airplane, simulator)
    yield from plan.away()
    length = rng.uniform(1500, 2700)
    while simulator.state.time < length:
        yield from plan.errand()
    yield from plan.home()


# Practice --------------------------------------------------------------------------------------------------


def practice(rng: np.random.Generator, airplane: Airplane, simulator: Simulator) -> Iterator[Goal]:
    """A lesson of five to eight maneuvers between pieces of ordinary flying."""
    plan = Plan(rng, airplane, simulator)
    yield from plan.away()
    kinds = ["lazy_eight", "chandelle", "steep_turn"]
    order = list(rng.permutation(kinds)) + [str(rng.choice(kinds)) for _ in range(int(rng.integers(0, 2)))]
    for kind in order:
        if rng.random() < 0.5:
            yield from plan.errand()
        if plan.altitude < 2800 * FOOT:
            yield from plan.climb_to(rng.uniform(3200, 4500) * FOOT)
        yield from {"lazy_eight": eights, "chandelle": chandelles, "steep_turn": steep_turns}[kind](plan)
    yield from plan.home()


def _settle(plan: Plan, *, always_clear: bool = False) -> Iterator[Goal]:
    speed = plan.airplane.entry_speed
    if always_clear or plan.rng.random() < 0.65:
        yield from plan.clearing(speed)
    duration = plan.rng.uniform(18, 45)
    yield Leg("settle", plan.altitude, speed, duration=duration, until_steady=True)
    # Too high for the day: no speed to be had here.
    while plan.simulator.state.calibrated_airspeed < speed - 6 * KNOT and plan.altitude > 2000 * FOOT:
        yield from plan.descend_to(plan.altitude - 500 * FOOT)
        yield Leg("settle", plan.altitude, speed, duration=duration, until_steady=True)


def _break_off(plan: Plan, most: float) -> float | None:
    if plan.rng.random() > BROKEN_OFF_SHARE:
        return None
    return float(plan.rng.uniform(0.25, 0.8)) * most


def eights(plan: Plan) -> Iterator[Goal]:
    rng, direction = plan.rng, plan.sign()
    count = int(rng.choice([1, 2, 3], p=[0.45, 0.4, 0.15]))
    yield from _settle(plan)
    base_bank, base_pitch = rng.normal(30, 2.5), rng.normal(10.5, 1.5)
    scale = min(plan.airplane.entry_speed / (95 * KNOT), 1.0)
    for k in range(count):
        broken = _break_off(plan, 2 * np.pi) if k == count - 1 else None
        yield LazyEight(
            direction=direction,
            bank=float(np.clip(base_bank + rng.normal(0, 1.5), 22, 38)) * DEGREE,
            pitch_up=float(np.clip(base_pitch + rng.normal(0, 0.7), 7, 14)) * DEGREE,
            altitude_errors=(float(rng.uniform(-200, 200)) * FOOT, float(rng.uniform(-200, 200)) * FOOT),
            airspeed_error=float(rng.uniform(-24, 24)) * KNOT * scale,
            heading_errors=(float(rng.uniform(-20, 20)) * DEGREE, float(rng.uniform(-20, 20)) * DEGREE),
            chained=k > 0,
            chain_goes_on=k < count - 1,
            break_off=broken,
        )
    yield plan.straight(30, 60)


def chandelles(plan: Plan) -> Iterator[Goal]:
    rng, direction = plan.rng, plan.sign()
    for k in range(int(rng.integers(1, 3))):
        yield from _settle(plan)
        yield Chandelle(
            direction=direction * (-1) ** k,
            bank=float(rng.normal(30, 2.0)) * DEGREE,
            pitch_up=float(rng.normal(12, 1.5)) * DEGREE,
            heading_error=float(rng.uniform(-20, 20)) * DEGREE,
            break_off=_break_off(plan, np.pi),
        )
        plan.altitude = plan.simulator.state.altimeter
        yield plan.straight(15, 30, plan.airplane.climb_speed, "level_off")
        if rng.random() < 0.7:
            yield from plan.descend_to(plan.altitude - rng.uniform(400, 800) * FOOT)


def steep_turns(plan: Plan) -> Iterator[Goal]:
    rng, direction = plan.rng, plan.sign()
    yield from _settle(plan)
    turns = int(rng.choice([1, 2], p=[0.8, 0.2]))
    bank = float(rng.choice([45, 50]))
    straight_between = rng.random() < 0.5
    scale = min(plan.airplane.entry_speed / (95 * KNOT), 1.0)
    for k in range(2):
        slow = plan.simulator.state.calibrated_airspeed < plan.airplane.entry_speed - 12 * KNOT
        if k == 1 and (straight_between or slow):
            yield Leg(
                "settle",
                plan.altitude,
                plan.airplane.entry_speed,
                duration=rng.uniform(8, 25),
                until_steady=True,
            )
        yield SteepTurn(
            direction=direction * (-1) ** k,
            bank=(bank + float(rng.uniform(-4, 4))) * DEGREE,
            turns=turns,
            altitude_excursion=float(rng.uniform(-300, 300)) * FOOT,
            airspeed_excursion=float(rng.uniform(-20, 20)) * KNOT * scale,
            bank_excursion=float(rng.uniform(-10, 10)) * DEGREE * 0.8,
            heading_error=float(rng.uniform(-20, 20)) * DEGREE,
            add_power=bool(rng.random() < 0.7),
            phase=float(rng.uniform(0, 2 * np.pi)),
            roll_in_rate=float(rng.uniform(5, 12)) * DEGREE,
            break_off=_break_off(plan, 2 * np.pi * turns) if k == 1 else None,
        )
    yield plan.straight(20, 50)
