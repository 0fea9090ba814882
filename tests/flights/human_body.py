"""The sampled human's senses and limbs: looks now and then, moves late, trembles, and steers by rates.

The hand is a crossover model: the stick moves so that rate follows wish like an integrator, behind a reaction
delay, with remnant noise (McRuer's model in outline, from memory). The feet follow the ball with a dead band.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from tests.flights.simulate import TICK, Simulator, State

from chalkwing.units import DEGREE, FOOT, KNOT, STANDARD_GRAVITY

G = STANDARD_GRAVITY


@dataclass
class Glimpse:
    """What was seen at the last look."""

    time: float
    bank: float
    pitch: float
    heading: float
    altitude: float
    airspeed: float
    true_airspeed: float
    climb: float
    ball: float

    @property
    def path_angle(self) -> float:
        return math.asin(min(max(self.climb / max(self.true_airspeed, 15.0), -0.9), 0.9))

    @property
    def turn_rate(self) -> float:
        return G * math.tan(self.bank) / max(self.true_airspeed, 15.0)


@dataclass
class Wish:
    """What the hands are to bring about until the next decision: rates [rad/s] and throttle."""

    roll_rate: float = 0.0
    path_rate: float = 0.0
    throttle: float = 0.65
    flaps: float = 0.0


Decide = Callable[[Glimpse], Wish | None]


class HumanBody:
    """Carries out wishes; ``roughness`` 0 a calm instructor, 1 a tense student."""

    def __init__(self, simulator: Simulator, *, seed: int, roughness: float) -> None:
        self.sim, self.airplane, self.roughness = simulator, simulator.airplane, roughness
        self.rng = np.random.default_rng([seed, 22])
        self.delay = 0.15 + 0.15 * self.rng.random()
        self.look_every = 0.25 + 0.35 * roughness * self.rng.random()
        self.indifference = roughness * 1.2 * DEGREE
        self.foot_bias = roughness * self.rng.normal(0, 0.02)
        self.power_feel = float(self.rng.uniform(0.8, 1.25))
        self.wish = Wish()
        self.coming: deque[tuple[float, Wish]] = deque()
        self.next_look = 0.0
        self.roll_remnant = self.pitch_remnant = 0.0
        self.back_pressure = self.side_pressure = self.foot = 0.0
        self.cruise_throttle, self.climb_path = 0.65, 0.06
        self.last_energy_miss = 0.0

    # Senses and limbs ------------------------------------------------------------------------------------

    def look(self) -> Glimpse:
        s, rng, rough = self.sim.state, self.rng, 0.3 + self.roughness
        return Glimpse(
            time=s.time,
            bank=s.bank + rng.normal(0, 0.8 * rough) * DEGREE,
            pitch=s.pitch + rng.normal(0, 0.25 * rough) * DEGREE,
            heading=s.heading + rng.normal(0, 0.7 * rough) * DEGREE,
            altitude=round(s.altimeter / (10 * FOOT)) * 10 * FOOT,
            airspeed=round(s.calibrated_airspeed / KNOT) * KNOT,
            true_airspeed=s.true_airspeed,
            climb=s.vertical_speed + rng.normal(0, 0.25 * rough),
            ball=s.lateral_load + rng.normal(0, 0.008 * rough),
        )

    def live(self, decide: Decide) -> bool:
        """One tick of looking, deciding and moving; False once ``decide`` has said the goal is reached."""
        s = self.sim.state
        if s.time >= self.next_look:
            self.next_look = s.time + self.look_every * self.rng.uniform(0.7, 1.4)
            wish = decide(self.look())
            if wish is None:
                return False
            self.coming.append((s.time + self.delay, wish))
        while self.coming and self.coming[0][0] <= s.time:
            self.wish = self.coming.popleft()[1]
        self._move(s)
        self.sim.step()
        return True

    def _move(self, s: State) -> None:
        controls, airplane, wish = self.sim.controls, self.airplane, self.wish
        shake = math.sqrt(2 * TICK / 1.2) * self.roughness
        self.roll_remnant += (
            -self.roll_remnant * TICK / 1.2 + shake * 2.2 * DEGREE * self.rng.standard_normal()
        )
        self.pitch_remnant += (
            -self.pitch_remnant * TICK / 1.2 + shake * 0.7 * DEGREE * self.rng.standard_normal()
        )
        speed = max(s.true_airspeed, 15.0)
        path = math.asin(min(max(s.vertical_speed / speed, -0.9), 0.9))
        path_rate = wish.path_rate + self.pitch_remnant
        if s.warning:
            path_rate = min(path_rate, -0.04)
        load = (speed / G * path_rate + math.cos(path)) / max(math.cos(s.bank), 0.3)
        load = min(max(load, 0.3), 2.4)
        if s.warning:
            load = min(load, s.load_factor - 0.15)
        turning = G / speed * (load - math.cos(path) * math.cos(s.bank))
        q_miss = turning + 0.9 * G / speed * (load - s.load_factor) - s.pitch_rate
        roll = min(max(wish.roll_rate, -0.35), 0.35) + self.roll_remnant
        p_miss = roll - math.tan(s.pitch) * s.yaw_rate - s.roll_rate
        firm = min(max((airplane.entry_speed / max(s.calibrated_airspeed, 15.0)) ** 2, 0.6), 2.0)
        self.back_pressure = clip(self.back_pressure + 2.0 * q_miss * TICK / airplane.pitch_power, 1.2)
        self.side_pressure = clip(self.side_pressure + 1.5 * p_miss * TICK / airplane.roll_power, 0.6)
        pull = firm * (0.6 * q_miss / airplane.pitch_power + self.back_pressure)
        lean = firm * ((0.9 * roll + 0.7 * p_miss) / airplane.roll_power + self.side_pressure)
        muscle = TICK / 0.12
        controls.elevator += muscle * (clip(pull, 1) - controls.elevator)
        controls.aileron += muscle * (clip(lean, 1) - controls.aileron)
        self._feet(s, lean, muscle)
        controls.throttle += clip(wish.throttle - controls.throttle, 0.4 * TICK)
        controls.flaps += clip(wish.flaps - controls.flaps, 0.3 * TICK)

    def _feet(self, s: State, lean: float, muscle: float) -> None:
        # The ball rolls away from the force; one steps on the ball.
        ball = -s.lateral_load
        if abs(ball) > 0.005 + 0.015 * self.roughness:
            self.foot = clip(self.foot + 1.5 * ball * TICK, 0.6)
        steady = (
            self.foot
            + self.foot_bias
            + 0.10 * lean
            - 0.35 * (s.yaw_rate - G * math.tan(s.bank) / max(s.true_airspeed, 15.0) * math.cos(s.bank))
        )
        self.sim.controls.rudder += muscle * (clip(steady, 1) - self.sim.controls.rudder)

    # Ways to decide --------------------------------------------------------------------------------------

    def roll_to(self, bank: float, seen: Glimpse, *, quick: float = 0.12) -> float:
        miss = bank - seen.bank
        return 0.0 if abs(miss) < self.indifference else clip(0.8 * miss, quick)

    def path_to(self, path: float, seen: Glimpse, *, time: float = 1.8) -> float:
        miss = path - seen.path_angle
        return 0.0 if abs(miss) < 0.25 * self.indifference else clip(miss / time, 0.08)

    def level_at(self, altitude: float, seen: Glimpse, *, most: float = 3.0) -> float:
        """Flight path [rad] toward an altitude."""
        climb = clip(0.09 * (altitude - seen.altitude), most)
        short = 1.12 * self.airplane.stall_speed - seen.airspeed
        if short > 0:
            climb = min(climb, -0.5 * short)
        return climb / max(seen.true_airspeed, 15.0)

    def power_for(self, airspeed: float, seen: Glimpse) -> float:
        miss = airspeed - seen.airspeed
        self.cruise_throttle = min(max(self.cruise_throttle + 0.0025 * miss * self.look_every, 0.1), 1.0)
        if seen.airspeed < 1.12 * self.airplane.stall_speed:
            return 1.0
        return min(max(self.cruise_throttle + 0.03 * miss, 0.05), 1.0)


def clip(value: float, limit: float) -> float:
    return min(max(value, -limit), limit)
