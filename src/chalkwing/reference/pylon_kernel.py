"""The compiled integrations of ``pylon_turn``: a turn with the wing on its pylon, and the rolls beside it."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from chalkwing.compiled import compilable, compiled
from chalkwing.dynamics import PointMass, specific_excess_thrust
from chalkwing.units import STANDARD_GRAVITY, Floats, Q


class LowAir(NamedTuple):
    """Density by height above the pylon [m], a straight line over the few tens of meters of an eight."""

    density: float
    slope: float
    height: float

    def at(self, height: Q) -> Q:
        """[kg/m³]."""
        return self.density + self.slope * (height - self.height)


@compilable
def _density(air: LowAir, height: float) -> float:
    return air.density + air.slope * (height - air.height)


@compilable
def _held_rates(
    at: float,
    curve: float,
    abeam: float,
    speed: float,
    climb: float,
    wind: tuple[float, float],
    throttle: float,
    airplane: PointMass,
    air: LowAir,
) -> tuple[float, float, float, float]:
    """By the heading: of time, distance abeam and airspeed; and the path angle. All nan where none holds.

    ``climb`` is a first guess of the path angle.
    """
    tail = wind[0] * math.cos(at) + wind[1] * math.sin(at)
    right = wind[1] * math.cos(at) - wind[0] * math.sin(at)
    rate, height, excess = 1.0, 1.0, 0.0
    for _ in range(20):
        cosine = math.cos(climb)
        height = speed * (speed + tail * cosine) / STANDARD_GRAVITY
        if not (height > 0.0 and abeam > 0.0):
            return math.nan, math.nan, math.nan, math.nan
        tangent = height / (abeam * cosine)
        rate = STANDARD_GRAVITY * tangent / speed / max(1.0 - tangent * curve / cosine, 0.2)
        load = (cosine + speed * curve * rate / STANDARD_GRAVITY) * math.hypot(1.0, tangent)
        excess = specific_excess_thrust(airplane, throttle, load, _density(air, height), speed)
        twice = 2.0 * speed + tail * cosine
        sine = (twice * excess + speed * cosine * right * rate) / (
            STANDARD_GRAVITY * (twice + speed) + speed * tail * curve * rate
        )
        found = math.asin(max(min(sine, 0.6), -0.6))
        if abs(found - climb) < 1e-11:
            break
        climb = found
    slowing = (excess - STANDARD_GRAVITY * math.sin(climb)) / rate
    closing = -right / rate - height * math.tan(climb)
    return 1.0 / rate, closing, slowing, climb


@compiled
def held_on_pylon(
    heading: Floats,
    curving: Floats,
    start: tuple[float, float],
    wind: tuple[float, float],
    throttle: float,
    airplane: PointMass,
    air: LowAir,
) -> tuple[bool, Floats]:
    """Runge-Kutta over the heading [rad]: whether the pylon is held throughout, and rows at each heading.

    Columns: time [s], distance abeam [m], true airspeed [m/s], path angle [rad]. ``start``: distance abeam
    and airspeed; ``curving``: change of the path angle with the heading; ``wind``: toward north, east [m/s].
    """
    rows = np.zeros((len(heading), 4))
    time, climb = 0.0, 0.0
    abeam, speed = start
    step = heading[1] - heading[0]
    for k in range(len(heading)):
        at, now = heading[k], curving[k]
        k1 = _held_rates(at, now, abeam, speed, climb, wind, throttle, airplane, air)
        if math.isnan(k1[3]):
            return False, rows
        climb = k1[3]
        rows[k, 0], rows[k, 1], rows[k, 2], rows[k, 3] = time, abeam, speed, climb
        if k + 1 == len(heading):
            break
        half, end, middle = 0.5 * (now + curving[k + 1]), curving[k + 1], at + 0.5 * step
        near, slow = abeam + 0.5 * step * k1[1], speed + 0.5 * step * k1[2]
        k2 = _held_rates(middle, half, near, slow, climb, wind, throttle, airplane, air)
        near, slow = abeam + 0.5 * step * k2[1], speed + 0.5 * step * k2[2]
        k3 = _held_rates(middle, half, near, slow, k2[3], wind, throttle, airplane, air)
        near, slow = abeam + step * k3[1], speed + step * k3[2]
        k4 = _held_rates(at + step, end, near, slow, k3[3], wind, throttle, airplane, air)
        climb = k4[3]
        time += step / 6.0 * (k1[0] + 2.0 * k2[0] + 2.0 * k3[0] + k4[0])
        abeam += step / 6.0 * (k1[1] + 2.0 * k2[1] + 2.0 * k3[1] + k4[1])
        speed += step / 6.0 * (k1[2] + 2.0 * k2[2] + 2.0 * k3[2] + k4[2])
    return True, rows


@compilable
def _roll_rates(
    left: float,
    state: Floats,
    roll: tuple[float, float, float, float],
    wind: tuple[float, float],
    throttle: float,
    airplane: PointMass,
    air: LowAir,
) -> Floats:
    bank, climb, bending, sense = roll
    rolled_to, path, speed = bank * left, climb * left, state[3]
    load = (math.cos(path) + speed * bending / STANDARD_GRAVITY) / math.cos(rolled_to)
    excess = specific_excess_thrust(airplane, throttle, load, _density(air, state[2]), speed)
    level = speed * math.cos(path)
    rates = np.empty(5)
    rates[0] = level * math.cos(state[4]) + wind[0]
    rates[1] = level * math.sin(state[4]) + wind[1]
    rates[2] = speed * math.sin(path)
    rates[3] = excess - STANDARD_GRAVITY * math.sin(path)
    rates[4] = STANDARD_GRAVITY * load * math.sin(rolled_to) / level
    return sense * rates


@compiled
def rolled(
    start: Floats,
    away: Floats,
    roll: tuple[float, float, float, float],
    wind: tuple[float, float],
    throttle: float,
    airplane: PointMass,
    air: LowAir,
) -> Floats:
    """North, east, height [m], true airspeed [m/s] and air heading [rad] while the wings roll level.

    ``away`` [s] counts from the turn's end; ``roll``: the turn's bank and path angle [rad], the rate at which
    the path bends [rad/s], and +1 after the turn, -1 backward before it.
    """
    count, duration = len(away), away[-1]
    states = np.zeros((count, 5))
    states[0] = start
    step = away[1] - away[0]
    for k in range(count - 1):
        left, state = 1.0 - away[k] / duration, states[k]
        middle, end = left - 0.5 * step / duration, left - step / duration
        k1 = _roll_rates(left, state, roll, wind, throttle, airplane, air)
        k2 = _roll_rates(middle, state + 0.5 * step * k1, roll, wind, throttle, airplane, air)
        k3 = _roll_rates(middle, state + 0.5 * step * k2, roll, wind, throttle, airplane, air)
        k4 = _roll_rates(end, state + step * k3, roll, wind, throttle, airplane, air)
        states[k + 1] = state + step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    return states
