"""The schedule pilot's inner loops: attitude, coordination, altitude and speed."""

from __future__ import annotations

import math

import numpy as np
from tests.flights.simulate import TICK, Simulator, State

from chalkwing.units import DEGREE, STANDARD_GRAVITY

G = STANDARD_GRAVITY


class Wander:
    """A slow first-order random walk about zero: a student's hand that is never quite still."""

    def __init__(self, rng: np.random.Generator, *, sd: float, time: float) -> None:
        self.rng, self.sd, self.keep = rng, sd, math.exp(-TICK / time)
        self.value = rng.normal() * sd

    def next(self) -> float:
        kick = self.sd * math.sqrt(1 - self.keep**2)
        self.value = self.keep * self.value + kick * self.rng.standard_normal()
        return self.value


class AttitudeLoops:
    """Flies attitudes; ``roughness`` 0 is an examiner's dream, 1 a first lesson."""

    def __init__(self, simulator: Simulator, *, seed: int, roughness: float) -> None:
        self.sim, self.airplane = simulator, simulator.airplane
        rng = np.random.default_rng([seed, 21])
        self.bank_wander = Wander(rng, sd=roughness * 2.5 * DEGREE, time=2.5)
        self.pitch_wander = Wander(rng, sd=roughness * 1.0 * DEGREE, time=2.0)
        self.slip_wander = Wander(rng, sd=roughness * 2.0 * DEGREE, time=8.0)
        self.rudder_gain = 1.0 - 0.4 * roughness
        self.elevator_integral = self.aileron_integral = self.rudder_integral = 0.0
        self.throttle = 0.65
        self.airspeed_integral = 0.0
        self.level_pitch = 1.0 * DEGREE
        self.eight_loss = 0.0
        self.eight_duration = 105.0 * self.airplane.entry_speed / 50.0
        self.flaps = 0.0

    @property
    def state(self) -> State:
        return self.sim.state

    def hold(self, bank: float, pitch: float, *, roll_limit: float = 0.2) -> State:
        """Fly one tick toward an attitude."""
        s, airplane, controls = self.state, self.airplane, self.sim.controls
        bank += self.bank_wander.next()
        pitch += self.pitch_wander.next()
        stiffness = max((airplane.entry_speed / max(s.calibrated_airspeed, 15.0)) ** 2, 0.5)
        bank_rate = min(max(1.5 * (bank - s.bank), -roll_limit), roll_limit)
        pitch_rate = min(max(1.3 * (pitch - s.pitch), -0.12), 0.12)
        if s.warning:
            pitch_rate = min(pitch_rate, -0.05)
        cos_bank, sin_bank = math.cos(s.bank), math.sin(s.bank)
        wanted_q = (pitch_rate + s.yaw_rate * sin_bank) / max(cos_bank, 0.2)
        wanted_p = bank_rate - math.tan(s.pitch) * (s.pitch_rate * sin_bank + s.yaw_rate * cos_bank)
        error_q, error_p = wanted_q - s.pitch_rate, wanted_p - s.roll_rate
        self.elevator_integral = clip(self.elevator_integral + 2.0 * error_q * TICK, 8 * airplane.pitch_power)
        self.aileron_integral = clip(self.aileron_integral + 1.2 * error_p * TICK, 0.5 * airplane.roll_power)
        controls.elevator = stiffness * (0.7 * error_q + self.elevator_integral) / airplane.pitch_power
        controls.aileron = (
            stiffness * (0.7 * error_p + wanted_p + self.aileron_integral) / airplane.roll_power
        )
        slip = s.sideslip - self.slip_wander.next()
        self.rudder_integral = clip(self.rudder_integral + 1.0 * self.rudder_gain * slip * TICK, 0.5)
        turn_rate = G * math.tan(s.bank) / max(s.true_airspeed, 20.0) * cos_bank
        controls.rudder = (
            stiffness
            * self.rudder_gain
            * (1.6 * slip + self.rudder_integral - 0.4 * (s.yaw_rate - turn_rate))
        )
        controls.throttle = self.throttle
        controls.flaps += clip(self.flaps - controls.flaps, 0.3 * TICK)
        return self.sim.step()

    def pitch_for_altitude(self, altitude: float) -> float:
        """Pitch attitude that brings the altimeter to ``altitude`` and keeps it there."""
        s = self.state
        wanted = clip(0.10 * (altitude - s.altimeter), 3.0)
        # Too slow to hold height on any power: speed first.
        short = 1.12 * self.airplane.stall_speed - s.calibrated_airspeed
        if short > 0:
            wanted = min(wanted, -0.5 * short)
        error = wanted - s.vertical_speed
        self.level_pitch += 0.25 * error / max(s.true_airspeed, 20.0) * TICK
        self.level_pitch = min(max(self.level_pitch, -8 * DEGREE), 14 * DEGREE)
        return self.level_pitch + 0.9 * error / max(s.true_airspeed, 20.0)

    def throttle_for_airspeed(self, airspeed: float) -> None:
        error = airspeed - self.state.calibrated_airspeed
        self.airspeed_integral = clip(self.airspeed_integral + 0.006 * error * TICK, 0.7)
        self.throttle = min(max(0.5 + self.airspeed_integral + 0.05 * error, 0.08), 1.0)
        if self.state.calibrated_airspeed < 1.12 * self.airplane.stall_speed:
            self.throttle = 1.0


def clip(value: float, limit: float) -> float:
    return min(max(value, -limit), limit)
