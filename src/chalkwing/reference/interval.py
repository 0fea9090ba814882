"""One interval of the collocated turn: its equations, and their first and second derivatives.

See ``collocation`` for what an interval is. Everything here is symbolic and runs once a process.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from chalkwing.dynamics import (
    PointMass,
    air_heading_rate,
    airspeed_rate,
    angle_of_attack_for,
    load_factor,
    nose_offset,
    path_angle_rate,
    path_bank,
    specific_excess_thrust,
    stall_speed,
)
from chalkwing.units import DEGREE, Floats

INTERVALS, POINTS = 8, 3
"""Intervals a leg, collocation points an interval."""
TIME_SCALE, HEIGHT_SCALE = 10.0, 100.0
"""Durations [s] and heights [m] of one unit inside the program."""
ROLL_UNIT, PITCH_UNIT = 1.0, 0.5
"""Second derivatives of bank and pitch [deg/s²] that weigh, each second, as much as the second itself."""

AIRPLANE = len(PointMass._fields)
PARAMETERS = AIRPLANE + 4
"""The airplane, three coefficients of the logarithm of density over height, and the entry speed."""

_NODES = slice(0, 4 * (POINTS + 1))
_START, _END, _CONTROL, _DURATION, _THROTTLE = slice(16, 20), slice(20, 24), slice(24, 26), 26, 27
WIDTH = 28
"""What an interval sees: states at its start, inner points and end; attitudes at its start and end; second
derivatives of bank and pitch; its leg's duration; the throttle."""
MOTION_ROWS = 4 * POINTS + 4
DEPTH = MOTION_ROWS + 2
"""Rows of one interval: its motion, then the nose's heading and the stall margin at its end."""


def radau_points() -> Floats:
    """The collocation points of an interval of length 1; the last is its end."""
    import casadi

    return np.array(casadi.collocation_points(POINTS, "radau"))


def effort(rolling: Any, pitching: Any) -> Any:
    """What moving the bank and the nose costs beside time."""
    return (rolling / ROLL_UNIT) ** 2 + (pitching / PITCH_UNIT) ** 2


def functions(ca: Any) -> tuple[Any, Any, Any]:
    """Rows (z, p), their slopes (z, p), and the Lagrangian's curvature (z, p, weights, cost's weight)."""
    z, p = ca.SX.sym("z", WIDTH), ca.SX.sym("p", PARAMETERS)
    weights, of_cost = ca.SX.sym("l", DEPTH), ca.SX.sym("s")
    rows = _rows(ca, z, p)
    return (
        ca.Function("rows", [z, p], [ca.cse(rows)]),
        ca.Function("slopes", [z, p], [ca.cse(ca.jacobian(rows, z))]),
        ca.Function("curvature", [z, p, weights, of_cost], [_curvature(ca, z, p, weights, of_cost)]),
    )


def _step(z: Any) -> Any:
    return z[_DURATION] * TIME_SCALE / INTERVALS


def _rows(ca: Any, z: Any, p: Any) -> Any:
    nodes, step = ca.reshape(z[_NODES], 4, POINTS + 1), _step(z)
    slopes = ca.collocation_coeff(ca.collocation_points(POINTS, "radau"))[0]
    rows = []
    for j in range(POINTS):
        rates, nose, margin = _motion(ca, _here(ca, z, j), p)
        rows.append(nodes @ slopes[:, j] - step * rates)
    return ca.vertcat(*rows, _attitude(ca, z, step) - z[_END], nose, margin)


def _here(ca: Any, z: Any, j: int) -> Any:
    """State, bank [rad], pitch [rad] and throttle at the j-th collocation point."""
    place = ca.collocation_points(POINTS, "radau")[j]
    bank, _, pitch, _ = ca.vertsplit(_attitude(ca, z, place * _step(z)))
    return ca.vertcat(z[4 * (j + 1) : 4 * (j + 2)], bank * DEGREE, pitch * DEGREE, z[_THROTTLE])


def _attitude(ca: Any, z: Any, time: Any) -> Any:
    """Bank, its rate, pitch, its rate ``time`` after the interval's start."""
    bank, roll_rate, pitch, pitch_rate = ca.vertsplit(z[_START])
    rolling, pitching = ca.vertsplit(z[_CONTROL])
    return ca.vertcat(
        bank + roll_rate * time + 0.5 * rolling * time**2,
        roll_rate + rolling * time,
        pitch + pitch_rate * time + 0.5 * pitching * time**2,
        pitch_rate + pitching * time,
    )


def _motion(ca: Any, here: Any, p: Any) -> tuple[Any, Any, Any]:
    """Rates of the state in the program's units, the nose's heading, the margin over the stall."""
    airplane, entry_speed = PointMass(*ca.vertsplit(p[:AIRPLANE])), p[AIRPLANE + 3]
    share, climb, heading, up, bank, pitch, throttle = ca.vertsplit(here)
    speed, height = entry_speed * share, HEIGHT_SCALE * up
    density = ca.exp(p[AIRPLANE] + height * (p[AIRPLANE + 1] + height * p[AIRPLANE + 2]))
    rolled = path_bank(climb, pitch, bank)
    attack = angle_of_attack_for(climb, pitch, rolled)
    load = load_factor(airplane, attack, density, speed)
    excess = specific_excess_thrust(airplane, throttle, load, density, speed)
    rates = ca.vertcat(
        airspeed_rate(climb, excess) / entry_speed,
        path_angle_rate(speed, climb, rolled, load),
        air_heading_rate(speed, climb, rolled, load),
        speed * ca.sin(climb) / HEIGHT_SCALE,
    )
    # Where the wing pushes down there is no stall to keep from; the floor keeps the root's slope finite.
    stalling = stall_speed(airplane, ca.fmax(load, 0.05), density)
    return rates, heading + nose_offset(climb, attack, rolled), (speed - stalling) / entry_speed


def _curvature(ca: Any, z: Any, p: Any, weights: Any, of_cost: Any) -> Any:
    """The Lagrangian's second derivatives, upper triangle, by the chain rule.

    The motion at a point hangs on eight numbers only (what ``_here`` gives, and the step), which in turn are
    products of the interval's variables. Differentiating in two stages takes a third of the work that
    differentiating the whole by all 28 variables at once does.
    """
    local, w, gradient = ca.SX.sym("y", 8), ca.SX.sym("w", 6), ca.SX.sym("g", 8)
    rates, nose, margin = _motion(ca, local[:7], p)
    lagrangian = w[4] * nose + w[5] * margin - local[7] * ca.dot(w[:4], rates)
    point = ca.Function("point", [local, w, p], list(ca.hessian(lagrangian, local)))
    ends = ca.dot(weights[4 * POINTS : MOTION_ROWS], _attitude(ca, z, _step(z)))
    cost = _step(z) * (1.0 + effort(z[_CONTROL.start], z[_CONTROL.start + 1]))
    second = ca.hessian(ends + of_cost * cost, z)[0]
    for j in range(POINTS):
        seen = ca.vertcat(_here(ca, z, j), _step(z))
        last = weights[MOTION_ROWS:] if j == POINTS - 1 else ca.SX(2, 1)
        curved, sloped = point(seen, ca.vertcat(weights[4 * j : 4 * j + 4], last), p)
        chain = ca.jacobian(seen, z)
        bent = ca.Function("bent", [z, gradient], [ca.hessian(ca.dot(gradient, seen), z)[0]])
        second += chain.T @ curved @ chain + bent(z, sloped)
    return ca.cse(ca.triu(second))
