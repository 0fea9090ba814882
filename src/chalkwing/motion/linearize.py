"""The sparse rows of the least-squares problem: every recorded value and every step of the flight model.

A row says: residual ``r``, its derivatives with respect to a few unknowns, and the noise group whose sd it is
weighed by. Rows of one knot touch only that knot, the next one and the statics, which is what keeps the
normal equations block-tridiagonal. Indices of a row count the states of its knot first, then those of the
next, then the statics.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import outputs
from chalkwing.units import Floats

WIND_PER_METER = 1.0
"""The mean wind wanders as much over a meter of height as over a second of time: common practice, no source."""

_LAG_OF = np.array(at.LAG_OF)
_STEP = 1e-6


@compiled
def evaluate(
    states: Floats, statics: Floats, heights: Floats, density: Floats, plane: Floats, y: Floats, jac: Floats
) -> None:
    """Outputs ``y`` (knots, OUTPUTS) at every knot and their derivatives ``jac`` (knots, OUTPUTS, INPUTS).

    ``heights`` is the reference height [m] from which the shear counts, shape (1,).
    """
    z = np.empty(at.INPUTS)
    low = np.empty(at.OUTPUTS)
    for k in range(states.shape[0]):
        x = states[k]
        rise = x[at.HEIGHT] - heights[0]
        z[at.IN_V_NORTH] = (
            x[at.U_NORTH] - x[at.WIND_NORTH] - x[at.GUST_NORTH] - statics[at.SHEAR_NORTH] * rise
        )
        z[at.IN_V_EAST] = x[at.U_EAST] - x[at.WIND_EAST] - x[at.GUST_EAST] - statics[at.SHEAR_EAST] * rise
        z[at.IN_V_UP] = x[at.U_UP] - x[at.GUST_UP]
        z[at.IN_ROLL] = x[at.ROLL]
        z[at.IN_EXCESS] = x[at.EXCESS]
        z[at.IN_THRUST] = x[at.THRUST]
        z[at.IN_SIDE] = x[at.SIDE]
        z[at.IN_PARASITE] = statics[at.PARASITE]
        z[at.IN_INDUCED] = statics[at.INDUCED]
        z[at.IN_ZERO_LIFT] = statics[at.ZERO_LIFT]
        z[at.IN_LIFT_SLOPE] = statics[at.LIFT_SLOPE]
        z[at.IN_LAPSE] = statics[at.LAPSE]
        z[at.IN_SLIP] = x[at.SLIP] if states.shape[1] > at.SLIP else 0.0
        outputs(z, density[k], plane, y[k])
        for i in range(at.INPUTS):
            kept = z[i]
            z[i] = kept + _STEP
            outputs(z, density[k], plane, low)
            z[i] = kept
            for o in range(at.OUTPUTS):
                change = low[o] - y[k, o]
                if o == at.OUT_HEADING or o == at.OUT_BANK:
                    change = np.arctan2(np.sin(change), np.cos(change))
                jac[k, o, i] = change / _STEP


@compiled
def _spread(
    row: Floats, index: np.ndarray, n: int, base: int, states: int, jac: Floats, factor: float,
    shear: Floats, rise: float,
) -> int:  # fmt: skip
    """Append the derivatives of one output with respect to the states of a knot and the statics."""
    vn, ve, vu = factor * jac[at.IN_V_NORTH], factor * jac[at.IN_V_EAST], factor * jac[at.IN_V_UP]
    offset = base * states
    statics = 2 * states
    for place, value in (
        (offset + at.HEIGHT, -vn * shear[0] - ve * shear[1]),
        (offset + at.U_NORTH, vn),
        (offset + at.U_EAST, ve),
        (offset + at.U_UP, vu),
        (offset + at.ROLL, factor * jac[at.IN_ROLL]),
        (offset + at.EXCESS, factor * jac[at.IN_EXCESS]),
        (offset + at.THRUST, factor * jac[at.IN_THRUST]),
        (offset + at.SIDE, factor * jac[at.IN_SIDE]),
        (offset + at.WIND_NORTH, -vn),
        (offset + at.WIND_EAST, -ve),
        (offset + at.GUST_NORTH, -vn),
        (offset + at.GUST_EAST, -ve),
        (offset + at.GUST_UP, -vu),
        (statics + at.PARASITE, factor * jac[at.IN_PARASITE]),
        (statics + at.INDUCED, factor * jac[at.IN_INDUCED]),
        (statics + at.ZERO_LIFT, factor * jac[at.IN_ZERO_LIFT]),
        (statics + at.LIFT_SLOPE, factor * jac[at.IN_LIFT_SLOPE]),
        (statics + at.LAPSE, factor * jac[at.IN_LAPSE]),
        (statics + at.SHEAR_NORTH, -vn * rise),
        (statics + at.SHEAR_EAST, -ve * rise),
    ):
        if value != 0.0:
            index[n] = place
            row[n] = value
            n += 1
    if states > at.SLIP and jac[at.IN_SLIP] != 0.0:
        index[n] = offset + at.SLIP
        row[n] = factor * jac[at.IN_SLIP]
        n += 1
    return n


@compiled
def _put(row: Floats, index: np.ndarray, n: int, place: int, value: float) -> int:
    index[n] = place
    row[n] = value
    return n + 1


@compiled
def _steps(
    k: int, dt: float, states: Floats, y: Floats, jac: Floats, statics: Floats, heights: Floats, tau: Floats,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats, m: int,
) -> int:  # fmt: skip
    """Rows of the step from knot ``k`` to the next: kinematics, Newton's law, and the processes.

    The trapezium rule with its Euler-Maclaurin end correction for position: exact to the fourth order.
    """
    ns = states.shape[1]
    a, b = states[k], states[k + 1]
    shear = statics[at.SHEAR_NORTH : at.SHEAR_EAST + 1]
    rise_a, rise_b = a[at.HEIGHT] - heights[0], b[at.HEIGHT] - heights[0]
    half, twelfth = 0.5 * dt, dt * dt / 12.0
    for axis in range(3):
        acc = at.OUT_A_NORTH + axis
        # Position. The end correction is small: its own derivatives would only fill the matrix.
        n = ptr[m]
        rows_r[m] = (
            b[axis] - a[axis] - half * (a[3 + axis] + b[3 + axis]) + twelfth * (y[k + 1, acc] - y[k, acc])
        )
        n = _put(value, index, n, axis, -1.0)
        n = _put(value, index, n, ns + axis, 1.0)
        n = _put(value, index, n, 3 + axis, -half)
        n = _put(value, index, n, ns + 3 + axis, -half)
        rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_POSITION, dt, k
        m += 1
        ptr[m] = n
        # velocity
        rows_r[m] = b[3 + axis] - a[3 + axis] - half * (y[k, acc] + y[k + 1, acc])
        n = _put(value, index, n, 3 + axis, -1.0)
        n = _put(value, index, n, ns + 3 + axis, 1.0)
        n = _spread(value, index, n, 0, ns, jac[k, acc], -half, shear, rise_a)
        n = _spread(value, index, n, 1, ns, jac[k + 1, acc], -half, shear, rise_b)
        rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_STEP, np.sqrt(dt), k
        m += 1
        ptr[m] = n
    # bank follows its rate
    n = ptr[m]
    rows_r[m] = b[at.ROLL] - a[at.ROLL] - half * (a[at.ROLL_RATE] + b[at.ROLL_RATE])
    n = _put(value, index, n, at.ROLL, -1.0)
    n = _put(value, index, n, ns + at.ROLL, 1.0)
    n = _put(value, index, n, at.ROLL_RATE, -half)
    n = _put(value, index, n, ns + at.ROLL_RATE, -half)
    rows_group[m], rows_scale[m], rows_knot[m] = at.NOISE_ROLL, dt, k
    m += 1
    ptr[m] = n
    # first-order processes: decay with time constant tau, driven so that the stationary sd is the group's
    for s in range(at.ROLL_RATE, ns):
        if s == at.ROLL_RATE:
            group = at.NOISE_ROLL_RATE
        elif s == at.EXCESS:
            group = at.NOISE_EXCESS
        elif s == at.THRUST:
            group = at.NOISE_THRUST
        elif s == at.SIDE:
            group = at.NOISE_SIDE
        elif s <= at.WIND_EAST:
            group = at.NOISE_WIND
        elif s <= at.GUST_UP:
            group = at.NOISE_GUST
        elif s <= at.PITCH_WANDER:
            group = at.NOISE_WANDER
        elif s == at.HEADING_WANDER:
            group = at.NOISE_COMPASS
        else:
            group = at.NOISE_SLIP
        if tau[s] > 0.0:
            keep = np.exp(-dt / tau[s])
            scale = np.sqrt(1.0 - keep * keep)
        else:  # a random walk: the group's sd is per square root of a second
            keep = 1.0
            scale = np.sqrt(dt)
        if group == at.NOISE_WIND:  # the mean wind also changes with height
            scale = np.sqrt(dt + WIND_PER_METER * abs(b[at.HEIGHT] - a[at.HEIGHT]))
        rows_r[m] = b[s] - keep * a[s]
        n = _put(value, index, n, s, -keep)
        n = _put(value, index, n, ns + s, 1.0)
        rows_group[m], rows_scale[m], rows_knot[m] = group, scale, k
        m += 1
        ptr[m] = n
    return m


@compiled
def _blend(
    row: Floats, index: np.ndarray, n: int, k: int, s: float, out: int, factor: float, ns: int,
    states: Floats, jac: Floats, statics: Floats, heights: Floats,
) -> int:  # fmt: skip
    """Append the derivatives of one output interpolated between knot ``k`` and the next at fraction ``s``."""
    shear = statics[at.SHEAR_NORTH : at.SHEAR_EAST + 1]
    if s < 1.0:
        rise = states[k, at.HEIGHT] - heights[0]
        n = _spread(row, index, n, 0, ns, jac[k, out], factor * (1.0 - s), shear, rise)
    if s > 0.0:
        rise = states[k + 1, at.HEIGHT] - heights[0]
        n = _spread(row, index, n, 1, ns, jac[k + 1, out], factor * s, shear, rise)
    return n


@compiled
def _place(
    row: Floats,
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
    n = _put(row, index, n, axis, factor * h00)
    n = _put(row, index, n, 3 + axis, factor * h10)
    n = _put(row, index, n, ns + axis, factor * h01)
    n = _put(row, index, n, ns + 3 + axis, factor * h11)
    return n, h00 * a[axis] + h10 * a[3 + axis] + h01 * b[axis] + h11 * b[3 + axis]


@compiled
def _speed(
    row: Floats,
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
    n = _put(row, index, n, axis, factor * d00)
    n = _put(row, index, n, 3 + axis, factor * d10)
    n = _put(row, index, n, ns + axis, -factor * d00)
    n = _put(row, index, n, ns + 3 + axis, factor * d11)
    return n, d00 * (a[axis] - b[axis]) + d10 * a[3 + axis] + d11 * b[3 + axis]


@compiled
def _slopes(knots: Floats, y: Floats, slope: Floats) -> None:
    """Rates of the outputs at the knots by central differences.

    One-sided differences would share their noise with the very value that the lag is fitted to, and bias it.
    """
    last = knots.shape[0] - 1
    for k in range(last + 1):
        a, b = max(k - 1, 0), min(k + 1, last)
        span = knots[b] - knots[a]
        for o in range(at.OUTPUTS):
            change = y[b, o] - y[a, o]
            if o == at.OUT_BANK or o == at.OUT_HEADING:
                change = np.arctan2(np.sin(change), np.cos(change))
            slope[k, o] = change / span


@compiled
def linearize(
    knots: Floats, states: Floats, statics: Floats, y: Floats, jac: Floats, heights: Floats,
    air: Floats, tau: Floats, wander: np.ndarray, lags: Floats,
    obs_time: Floats, obs_kind: np.ndarray, obs_value: Floats, obs_scale: Floats,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats,
) -> int:  # fmt: skip
    """Fill the rows at the present states and statics; returns how many there are.

    ``air`` (knots, 4): calibrated over true airspeed, its relative change per kelvin, assumed pressure
    altitude per meter, and assumed pressure altitude at the reference height. ``wander[i]`` is the state that
    carries the slow error of bank, pitch, heading (0, 1, 2), or -1. ``lags`` (ALL_STATICS,) are the lags about
    which each channel's lateness is expanded: interpolation between knots has kinks, and a lag that moved
    across one during the iteration would make the cost jagged.
    """
    ns = states.shape[1]
    fixed = 2 * ns
    last = knots.shape[0] - 2
    slope = np.empty_like(y)
    _slopes(knots, y, slope)
    m = 0
    ptr[0] = 0
    for k in range(knots.shape[0] - 1):
        m = _steps(
            k, knots[k + 1] - knots[k], states, y, jac, statics, heights, tau,
            rows_r, rows_group, rows_scale, rows_knot, ptr, index, value, m,
        )  # fmt: skip
    k = 0
    for i in range(obs_time.shape[0]):
        kind = obs_kind[i]
        lag = _LAG_OF[kind]
        when = obs_time[i] - (lags[lag] if lag >= 0 else 0.0)
        while k < last and when >= knots[k + 1]:
            k += 1
        while k > 0 and when < knots[k]:
            k -= 1
        dt = knots[k + 1] - knots[k]
        s = min(max((when - knots[k]) / dt, 0.0), 1.0)
        n = ptr[m]
        rate = 0.0
        if kind <= at.SEES_HEIGHT:
            n, seen = _place(value, index, n, states, k, s, dt, kind, 1.0)
        elif kind == at.SEES_PRESSURE:
            per_meter = air[k, 2] * (1.0 + statics[at.PRESSURE_SCALE])
            n, height = _place(value, index, n, states, k, s, dt, at.HEIGHT, per_meter)
            rise = height - heights[0]
            seen = air[k, 3] + statics[at.PRESSURE_OFFSET] + per_meter * rise
            n = _put(value, index, n, fixed + at.PRESSURE_OFFSET, 1.0)
            n = _put(value, index, n, fixed + at.PRESSURE_SCALE, air[k, 2] * rise)
            rate = per_meter * ((1 - s) * states[k, at.U_UP] + s * states[k + 1, at.U_UP])
        elif kind <= at.SEES_CLIMB:
            axis = kind - at.SEES_U_NORTH
            n, seen = _speed(value, index, n, states, k, s, dt, axis, 1.0)
            acc = at.OUT_A_NORTH + axis
            rate = (1 - s) * y[k, acc] + s * y[k + 1, acc]
        elif kind == at.SEES_SPEED:
            north = (1 - s) * states[k, at.U_NORTH] + s * states[k + 1, at.U_NORTH]
            east = (1 - s) * states[k, at.U_EAST] + s * states[k + 1, at.U_EAST]
            seen = np.sqrt(north * north + east * east + 1e-6)
            n, north = _speed(value, index, n, states, k, s, dt, 0, north / seen)
            n, east = _speed(value, index, n, states, k, s, dt, 1, east / seen)
        elif kind <= at.SEES_TRUE:
            true = (1 - s) * y[k, at.OUT_AIRSPEED] + s * y[k + 1, at.OUT_AIRSPEED]
            if kind == at.SEES_INDICATED:
                ratio = air[k, 0] * (1.0 + air[k, 1] * statics[at.WARMTH])
                factor = ratio * (1.0 + statics[at.INDICATED_SCALE])
                seen = factor * true + statics[at.INDICATED_OFFSET]
                n = _put(value, index, n, fixed + at.INDICATED_SCALE, ratio * true)
                n = _put(value, index, n, fixed + at.INDICATED_OFFSET, 1.0)
                n = _put(value, index, n, fixed + at.WARMTH, air[k, 0] * air[k, 1] * true)
            else:
                factor = 1.0 + statics[at.TRUE_SCALE]
                seen = factor * true
                n = _put(value, index, n, fixed + at.TRUE_SCALE, true)
            rate = factor * ((1 - s) * slope[k, at.OUT_AIRSPEED] + s * slope[k + 1, at.OUT_AIRSPEED])
            n = _blend(value, index, n, k, s, at.OUT_AIRSPEED, factor, ns, states, jac, statics, heights)
        elif kind <= at.SEES_HEADING:
            which = kind - at.SEES_BANK
            out = at.OUT_BANK + which
            swing = y[k + 1, out] - y[k, out]
            swing = np.arctan2(np.sin(swing), np.cos(swing))
            seen = y[k, out] + s * swing + statics[at.BANK_ZERO + which]
            rate = (1 - s) * slope[k, out] + s * slope[k + 1, out]
            n = _put(value, index, n, fixed + at.BANK_ZERO + which, 1.0)
            if wander[which] >= 0:
                seen += (1 - s) * states[k, wander[which]] + s * states[k + 1, wander[which]]
                n = _put(value, index, n, wander[which], 1 - s)
                n = _put(value, index, n, ns + wander[which], s)
            n = _blend(value, index, n, k, s, out, 1.0, ns, states, jac, statics, heights)
            if kind == at.SEES_HEADING:
                # A compass errs in turns by degrees and in step with the bank, just as the angle of attack
                # turns the nose off the path: it must not be let near the lift curve.
                for p in range(ptr[m], n):
                    if index[p] == fixed + at.ZERO_LIFT or index[p] == fixed + at.LIFT_SLOPE:
                        value[p] = 0.0
        elif kind == at.SEES_LOAD:
            seen = (1 - s) * y[k, at.OUT_LOAD] + s * y[k + 1, at.OUT_LOAD] + statics[at.LOAD_ZERO]
            rate = (1 - s) * slope[k, at.OUT_LOAD] + s * slope[k + 1, at.OUT_LOAD]
            n = _put(value, index, n, fixed + at.LOAD_ZERO, 1.0)
            n = _blend(value, index, n, k, s, at.OUT_LOAD, 1.0, ns, states, jac, statics, heights)
        else:
            seen = (1 - s) * states[k, at.SIDE] + s * states[k + 1, at.SIDE] + statics[at.SIDE_ZERO]
            n = _put(value, index, n, at.SIDE, 1 - s)
            n = _put(value, index, n, ns + at.SIDE, s)
            n = _put(value, index, n, fixed + at.SIDE_ZERO, 1.0)
        if lag >= 0 and rate != 0.0:
            n = _put(value, index, n, fixed + lag, -rate)
            seen -= rate * (statics[lag] - lags[lag])
        miss = seen - obs_value[i]
        if kind >= at.SEES_BANK and kind <= at.SEES_HEADING:
            miss = np.arctan2(np.sin(miss), np.cos(miss))
        rows_r[m] = miss
        rows_group[m], rows_scale[m], rows_knot[m] = kind, obs_scale[i], k
        m += 1
        ptr[m] = n
    return m
