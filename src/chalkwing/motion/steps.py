"""Rows of one step from knot to knot: kinematics, Newton's law, and the processes of air and pilot."""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.motion.rows import put, spread
from chalkwing.units import Floats

WIND_PER_METER = 1.0
"""The mean wind wanders as much over a meter of height as over a second of time: common practice, no
source."""
CORRECTION = 1.0 / 12.0
"""Euler-Maclaurin end correction of the trapezium rule: makes the step of position exact to the fourth
order."""

_GROUP = np.zeros(at.ALL_STATES, np.int64)
_GROUP[at.ROLL_RATE] = at.NOISE_ROLL_RATE
_GROUP[at.EXCESS] = at.NOISE_EXCESS
_GROUP[at.THRUST] = at.NOISE_THRUST
_GROUP[at.SIDE] = at.NOISE_SIDE
_GROUP[at.WIND_NORTH : at.GUST_NORTH] = at.NOISE_WIND
_GROUP[at.GUST_NORTH : at.BANK_WANDER] = at.NOISE_GUST
_GROUP[at.BANK_WANDER : at.HEADING_WANDER] = at.NOISE_WANDER
_GROUP[at.HEADING_WANDER] = at.NOISE_COMPASS
_GROUP[at.SLIP] = at.NOISE_SLIP


@compiled
def motion_steps(
    k: int, dt: float, states: Floats, y: Floats, jac: Floats, statics: Floats, origin: float,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats, m: int,
) -> int:  # fmt: skip
    """Position follows velocity and velocity acceleration, axis by axis; returns the number of rows so
    far."""
    ns = states.shape[1]
    a, b = states[k], states[k + 1]
    shear = statics[at.SHEAR_NORTH : at.SHEAR_EAST + 1]
    rise_a, rise_b = a[at.HEIGHT] - origin, b[at.HEIGHT] - origin
    half = 0.5 * dt
    for axis in range(3):
        acc = at.OUT_A_NORTH + axis
        # The end correction is small: its own derivatives would only fill the matrix.
        n = ptr[m]
        correction = CORRECTION * dt * dt * (y[k + 1, acc] - y[k, acc])
        rows_r[m] = b[axis] - a[axis] - half * (a[3 + axis] + b[3 + axis]) + correction
        n = put(value, index, n, axis, -1.0)
        n = put(value, index, n, ns + axis, 1.0)
        n = put(value, index, n, 3 + axis, -half)
        n = put(value, index, n, ns + 3 + axis, -half)
        rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_POSITION, dt, k
        m += 1
        ptr[m] = n
        rows_r[m] = b[3 + axis] - a[3 + axis] - half * (y[k, acc] + y[k + 1, acc])
        n = put(value, index, n, 3 + axis, -1.0)
        n = put(value, index, n, ns + 3 + axis, 1.0)
        n = spread(value, index, n, 0, ns, jac[k, acc], -half, shear, rise_a)
        n = spread(value, index, n, 1, ns, jac[k + 1, acc], -half, shear, rise_b)
        rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_STEP, np.sqrt(dt), k
        m += 1
        ptr[m] = n
    return m


@compiled
def process_steps(
    k: int, dt: float, states: Floats, tau: Floats,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats, m: int,
) -> int:  # fmt: skip
    """Bank follows its rate; every other state decays with its time constant ``tau`` [s], or walks
    (``tau`` < 0).

    A decaying process is driven so that its stationary sd is its group's; a walk's sd is per square root of a
    second, that of the mean wind also per square root of a meter of height.
    """
    ns = states.shape[1]
    a, b = states[k], states[k + 1]
    half = 0.5 * dt
    n = ptr[m]
    rows_r[m] = b[at.ROLL] - a[at.ROLL] - half * (a[at.ROLL_RATE] + b[at.ROLL_RATE])
    n = put(value, index, n, at.ROLL, -1.0)
    n = put(value, index, n, ns + at.ROLL, 1.0)
    n = put(value, index, n, at.ROLL_RATE, -half)
    n = put(value, index, n, ns + at.ROLL_RATE, -half)
    rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_ROLL, dt, k
    m += 1
    ptr[m] = n
    for s in range(at.ROLL_RATE, ns):
        keep, scale = 1.0, np.sqrt(dt)
        if tau[s] > 0.0:
            keep = np.exp(-dt / tau[s])
            scale = np.sqrt(1.0 - keep * keep)
        elif _GROUP[s] == at.NOISE_WIND:
            scale = np.sqrt(dt + WIND_PER_METER * abs(b[at.HEIGHT] - a[at.HEIGHT]))
        rows_r[m] = b[s] - keep * a[s]
        n = put(value, index, n, s, -keep)
        n = put(value, index, n, ns + s, 1.0)
        rows_group[m], rows_scale[m], rows_knot[m] = _GROUP[s], scale, k
        m += 1
        ptr[m] = n
    return m
