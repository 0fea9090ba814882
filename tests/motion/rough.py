"""Flights as rough as the estimator believes flights to be: what its bands are held against.

Newton's law is integrated step by step for an airplane whose polar, air, slip and recorder are drawn from
the very spreads that `priors.py` and `wander.py` state. On such flights an honest posterior holds the truth
as often as it says. That tests the arithmetic and the approximations between prior and band; whether the
world is as believed is measured on flights of another engine (docs/accuracy.md).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from tests.motion.known import FINE, PLACE, RADIUS, Truth

from chalkwing import air
from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import THRUST_LAPSE
from chalkwing.motion.priors import LEVELS, TIME_CONSTANTS, plane_of
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats

SPEED = 100 * KNOT
HEIGHT = 1200.0
LENGTH = 240.0
TURNS = ((30, 66, 45), (85, 125, -30), (145, 175, 50), (195, 225, -40))


@dataclass(frozen=True)
class Drawn:
    """One airplane in one piece of air, both drawn from what is believed beforehand."""

    parasite: float
    induced: float
    lapse: float
    wind: Floats
    shear: Floats
    wander: Floats
    gust: Floats
    side: Floats


def rough_flight(seed: int) -> Truth:
    """Turns at 30 to 50 degrees, roughly level, drawn anew for each ``seed``; values as in `known`."""
    rng = np.random.default_rng([seed, 77])
    time = np.arange(0.0, LENGTH + FINE / 2, FINE)
    return _flown(time, _drawn(rng, len(time)), _roll(time, rng), rng)


def _drawn(rng: np.random.Generator, count: int) -> Drawn:
    plane = plane_of(None, typical_airspeed=SPEED)
    walk = LEVELS[at.NOISE_WIND].start * np.sqrt(FINE)
    gusts = [at.GUST_NORTH, at.GUST_EAST, at.GUST_UP]
    return Drawn(
        parasite=rng.normal(0, plane.drag_sd),
        induced=rng.normal(0, plane.drag_sd),
        lapse=rng.normal(0, 0.3),
        wind=rng.normal(0, 5.0, 2),
        shear=rng.normal(0, 0.003, 2),
        wander=np.cumsum(rng.normal(0, walk, (count, 2)), axis=0),
        gust=np.column_stack(
            [_process(rng, count, LEVELS[at.NOISE_GUST].start, TIME_CONSTANTS[state]) for state in gusts]
        ),
        side=_process(rng, count, LEVELS[at.NOISE_SIDE].start, TIME_CONSTANTS[at.SIDE]),
    )


def _process(rng: np.random.Generator, count: int, sd: float, tau: float) -> Floats:
    """A first-order process of stationary ``sd``."""
    keep = np.exp(-FINE / tau)
    push = rng.normal(0, sd * np.sqrt(1 - keep * keep), count)
    values = np.empty(count)
    values[0] = rng.normal(0, sd)
    for k in range(1, count):
        values[k] = keep * values[k - 1] + push[k]
    return values


def _roll(time: Floats, rng: np.random.Generator) -> Floats:
    """The schedule, and a hand that wanders about it by two degrees."""
    total = 2.0 * DEGREE * _smooth(rng.standard_normal(len(time)), 2.0)
    for start, end, degrees in TURNS:
        total += degrees * DEGREE * 0.5 * (np.tanh((time - start) / 1.5) - np.tanh((time - end) / 1.5))
    return total


def _smooth(values: Floats, seconds: float) -> Floats:
    half = int(3 * seconds / FINE)
    bell = np.exp(-0.5 * (np.arange(-half, half + 1) * FINE / seconds) ** 2)
    smooth = np.convolve(values, bell, mode="same")
    return np.asarray(smooth / smooth.std())


def _flown(time: Floats, drawn: Drawn, roll: Floats, rng: np.random.Generator) -> Truth:
    plane = plane_of(None, typical_airspeed=SPEED)
    density = float(air.density(pressure_altitude=HEIGHT)) / 1.225
    heading = rng.uniform(-np.pi, np.pi)
    through = SPEED * np.array([np.cos(heading), np.sin(heading), 0.0])
    place = np.array([0.0, 0.0, HEIGHT])
    velocity = through + _air(drawn, 0, HEIGHT)
    level = 0.5 * plane.glide_drag * (
        np.exp(drawn.parasite) * _ratio(SPEED, density, plane.best_glide)
        + np.exp(drawn.induced) / _ratio(SPEED, density, plane.best_glide)
    )  # fmt: skip
    rows = []
    for k in range(len(time)):
        through = velocity - _air(drawn, k, place[2])
        speed = float(np.linalg.norm(through))
        ahead = through / speed
        right = np.array([-ahead[1], ahead[0], 0.0]) / np.hypot(ahead[0], ahead[1])
        up = np.cross(right, ahead) * -1.0
        up = up if up[2] > 0 else -up
        wing = np.cos(roll[k]) * right - np.sin(roll[k]) * up
        lift = np.cos(roll[k]) * up + np.sin(roll[k]) * right
        # The pilot holds height by the climb that is seen, and speed by throttle.
        want = np.clip(0.06 * (HEIGHT - place[2]) - velocity[2], -4.0, 4.0)
        load = ahead @ [ahead[0], ahead[1], 0] / np.hypot(ahead[0], ahead[1]) / max(np.cos(roll[k]), 0.5)
        load += 0.05 * want
        ratio = _ratio(speed, density, plane.best_glide)
        drag = (
            0.5
            * plane.glide_drag
            * (np.exp(drawn.parasite) * ratio + np.exp(drawn.induced) * load**2 / ratio)
        )
        throttle = level * (1.35 if abs(roll[k]) > 0.5 else 1.0)
        thrust = throttle * (SPEED / speed) ** (THRUST_LAPSE + drawn.lapse)
        rows.append(
            (
                *place,
                *velocity,
                speed,
                *(velocity - through - drawn.gust[k])[:2],
                load,
                *_bank(ahead, wing, lift),
            )
        )
        force = (thrust - drag) * ahead + load * lift + drawn.side[k] * wing - [0, 0, 1]
        velocity = velocity + STANDARD_GRAVITY * force * FINE
        place = place + velocity * FINE
    return _truth(time, np.array(rows).T)


def _air(drawn: Drawn, k: int, height: float) -> Floats:
    level = drawn.wind + drawn.wander[k] + drawn.shear * (height - HEIGHT) + drawn.gust[k, :2]
    return np.array([level[0], level[1], drawn.gust[k, 2]])


def _ratio(speed: float, density: float, glide: float) -> float:
    return speed * speed * density / glide**2


def _bank(ahead: Floats, wing: Floats, lift: Floats) -> tuple[float]:
    """Bank of the attitude with the nose 4 degrees above the path: wing against floor."""
    floor = np.cos(4 * DEGREE) * lift - np.sin(4 * DEGREE) * ahead
    return (float(np.arctan2(-wing[2], floor[2])),)


def _truth(time: Floats, rows: Floats) -> Truth:
    north, east, height, u_north, u_east, u_up, speed, wind_north, wind_east, load, bank = rows
    calibrated = air.calibrated_from_true(true_airspeed=speed, pressure_altitude=height)
    return Truth(
        time,
        {
            "latitude": PLACE[0] + north / RADIUS,
            "longitude": PLACE[1] + east / (RADIUS * np.cos(PLACE[0])),
            "geometric_altitude": height,
            "pressure_altitude": height,
            "velocity_north": u_north,
            "velocity_east": u_east,
            "vertical_speed": u_up,
            "true_airspeed": speed,
            "calibrated_airspeed": np.asarray(calibrated),
            "indicated_airspeed": np.asarray(calibrated),
            "wind_north": wind_north,
            "wind_east": wind_east,
            "load_factor": load,
            "bank": bank,
        },
    )
