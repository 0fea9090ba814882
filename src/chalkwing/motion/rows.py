"""What the rows of the least-squares problem are put together from.

A row is a stretch of ``index`` and ``value``: places of unknowns (the states of its knot first, then
those of the next, then the statics) and the derivatives with respect to them. Each function appends at
``n`` and returns the new end.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.units import Floats


@compiled
def put(value: Floats, index: np.ndarray, n: int, place: int, derivative: float) -> int:
    """Append one derivative."""
    index[n] = place
    value[n] = derivative
    return n + 1


@compiled
def spread(
    value: Floats, index: np.ndarray, n: int, base: int, states: int, jac: Floats, factor: float, shear:
    Floats, rise: float,
) -> int:  # fmt: skip
    """Append ``factor`` times the derivatives of one output of a knot (``base`` 0) or of the next
    (``base`` 1).

    ``jac`` (INPUTS,) are its derivatives with respect to the inputs; the velocity through the air passes
    them on to ground velocity, wind, gust, height and shear.
    """
    north, east, up = factor * jac[at.IN_V_NORTH], factor * jac[at.IN_V_EAST], factor * jac[at.IN_V_UP]
    offset = base * states
    statics = 2 * states
    for place, derivative in (
        (offset + at.HEIGHT, -north * shear[0] - east * shear[1]),
        (offset + at.U_NORTH, north),
        (offset + at.U_EAST, east),
        (offset + at.U_UP, up),
        (offset + at.ROLL, factor * jac[at.IN_ROLL]),
        (offset + at.EXCESS, factor * jac[at.IN_EXCESS]),
        (offset + at.THRUST, factor * jac[at.IN_THRUST]),
        (offset + at.SIDE, factor * jac[at.IN_SIDE]),
        (offset + at.WIND_NORTH, -north),
        (offset + at.WIND_EAST, -east),
        (offset + at.GUST_NORTH, -north),
        (offset + at.GUST_EAST, -east),
        (offset + at.GUST_UP, -up),
        (statics + at.PARASITE, factor * jac[at.IN_PARASITE]),
        (statics + at.INDUCED, factor * jac[at.IN_INDUCED]),
        (statics + at.ZERO_LIFT, factor * jac[at.IN_ZERO_LIFT]),
        (statics + at.LIFT_SLOPE, factor * jac[at.IN_LIFT_SLOPE]),
        (statics + at.LAPSE, factor * jac[at.IN_LAPSE]),
        (statics + at.SHEAR_NORTH, -north * rise),
        (statics + at.SHEAR_EAST, -east * rise),
    ):
        if derivative != 0.0:
            index[n] = place
            value[n] = derivative
            n += 1
    if states > at.SLIP and jac[at.IN_SLIP] != 0.0:
        n = put(value, index, n, offset + at.SLIP, factor * jac[at.IN_SLIP])
    return n


@compiled
def blend(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, out: int, factor: float, states: Floats,
    jac: Floats, statics: Floats, origin: float,
) -> int:  # fmt: skip
    """Append the derivatives of one output interpolated between knot ``k`` and the next at fraction ``s``."""
    ns = states.shape[1]
    shear = statics[at.SHEAR_NORTH : at.SHEAR_EAST + 1]
    if s < 1.0:
        rise = states[k, at.HEIGHT] - origin
        n = spread(value, index, n, 0, ns, jac[k, out], factor * (1.0 - s), shear, rise)
    if s > 0.0:
        rise = states[k + 1, at.HEIGHT] - origin
        n = spread(value, index, n, 1, ns, jac[k + 1, out], factor * s, shear, rise)
    return n


@compiled
def place(
    value: Floats,
    index: np.ndarray,
    n: int,
    states: Floats,
    k: int,
    s: float,
    dt: float,
    axis: int,
    factor: float,
) -> tuple[int, float]:
    """Position on one axis between two knots: the cubic through both positions and velocities."""
    ns = states.shape[1]
    a, b = states[k], states[k + 1]
    h00 = (1 + 2 * s) * (1 - s) * (1 - s)
    h10 = s * (1 - s) * (1 - s) * dt
    h01 = s * s * (3 - 2 * s)
    h11 = s * s * (s - 1) * dt
    n = put(value, index, n, axis, factor * h00)
    n = put(value, index, n, 3 + axis, factor * h10)
    n = put(value, index, n, ns + axis, factor * h01)
    n = put(value, index, n, ns + 3 + axis, factor * h11)
    return n, h00 * a[axis] + h10 * a[3 + axis] + h01 * b[axis] + h11 * b[3 + axis]


@compiled
def speed(
    value: Floats,
    index: np.ndarray,
    n: int,
    states: Floats,
    k: int,
    s: float,
    dt: float,
    axis: int,
    factor: float,
) -> tuple[int, float]:
    """Velocity on one axis between two knots: the derivative of that cubic."""
    ns = states.shape[1]
    a, b = states[k], states[k + 1]
    d00 = 6 * s * (s - 1) / dt
    d10 = (3 * s - 1) * (s - 1)
    d11 = s * (3 * s - 2)
    n = put(value, index, n, axis, factor * d00)
    n = put(value, index, n, 3 + axis, factor * d10)
    n = put(value, index, n, ns + axis, -factor * d00)
    n = put(value, index, n, ns + 3 + axis, factor * d11)
    return n, d00 * (a[axis] - b[axis]) + d10 * a[3 + axis] + d11 * b[3 + axis]
