"""A point mass flown by attitudes under Newton's law: the judge of every solved history of bank and pitch.

Nothing of ``dynamics.equations`` or ``dynamics.attitude`` is used here. The state is position and velocity;
the airplane's axes stand as bank and pitch say and head where the velocity lies in their plane of symmetry
(no sideslip); the angle of attack is read off the axes; lift, drag, thrust and weight act.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from chalkwing.dynamics import PointMass, thrust
from chalkwing.units import Floats

GRAVITY = 9.80665

Attitude = Callable[[float], tuple[float, float, float]]
"""Bank (right positive) [rad], pitch [rad] and throttle at a time [s]."""


@dataclass(frozen=True)
class End:
    """Where a flight ended: height change [m], airspeed [m/s], heading of the nose [rad, continuous]."""

    height: float
    airspeed: float
    heading: float


def axes(bank: float, pitch: float, heading: float) -> Floats:
    """The airplane's forward, right and down axes as columns, in north-east-down."""
    cb, sb, cp, sp, ch, sh = (f(angle) for angle in (bank, pitch, heading) for f in (np.cos, np.sin))
    return np.array(
        [
            [cp * ch, sb * sp * ch - cb * sh, cb * sp * ch + sb * sh],
            [cp * sh, sb * sp * sh + cb * ch, cb * sp * sh - sb * ch],
            [-sp, sb * cp, cb * cp],
        ]
    )


def heading_without_slip(velocity: Floats, bank: float, pitch: float) -> float:
    """The heading at which the velocity has no part along the right wing: a cos + b sin = c."""
    north, east, down = velocity
    a = north * np.sin(bank) * np.sin(pitch) + east * np.cos(bank)
    b = east * np.sin(bank) * np.sin(pitch) - north * np.cos(bank)
    c = -down * np.sin(bank) * np.cos(pitch)
    middle, away = np.arctan2(b, a), np.arccos(np.clip(c / np.hypot(a, b), -1.0, 1.0))
    track = np.arctan2(east, north)
    # Of the two, the one that flies nose first.
    return min((middle + away, middle - away), key=lambda h: 1.0 - np.cos(h - track))


def fly(
    airplane: PointMass,
    density: Callable[[float], float],
    attitude: Attitude,
    *,
    times: Floats,
    airspeed: float,
    heading: float,
) -> End:
    """Fly from level at ``times[0]``; ``times`` are where the controls have corners."""
    velocity = airspeed * np.array([np.cos(heading), np.sin(heading), 0.0])
    state = np.concatenate((np.zeros(3), velocity))
    noses = []
    for first, last in itertools.pairwise(times.tolist()):
        found = solve_ivp(
            lambda t, y: _rates(airplane, density, attitude, t, y),
            (first, last),
            state,
            rtol=1e-9,
            atol=1e-9,
        )
        assert found.success
        state = found.y[:, -1]
        bank, pitch, _ = attitude(last)
        noses.append(heading_without_slip(state[3:], bank, pitch))
    nose = np.unwrap([heading, *noses])[-1]
    return End(float(-state[2]), float(np.linalg.norm(state[3:])), float(nose))


def _rates(
    airplane: PointMass, density: Callable[[float], float], attitude: Attitude, time: float, state: Floats
) -> Floats:
    bank, pitch, throttle = attitude(time)
    velocity = state[3:]
    speed = float(np.linalg.norm(velocity))
    forward, _, down = axes(bank, pitch, heading_without_slip(velocity, bank, pitch)).T
    attack = np.arctan2(velocity @ down, velocity @ forward)
    rho = density(float(-state[2]))
    pressure = 0.5 * rho * speed**2 * airplane.wing_area
    lift = airplane.lift_slope * (attack - airplane.zero_lift_angle)
    drag = airplane.zero_lift_drag + airplane.induced_drag * lift**2
    ahead = velocity / speed
    above = (ahead * (velocity @ down) - down * speed) / (
        velocity @ forward
    )  # across the velocity, in symmetry
    pull = float(thrust(airplane, throttle, rho, speed)) - drag * pressure
    force = pull * ahead + lift * pressure * above
    return np.concatenate((velocity, force / airplane.mass + np.array([0.0, 0.0, GRAVITY])))
