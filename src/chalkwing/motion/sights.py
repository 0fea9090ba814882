"""Rows of the recorded values: what each is a sight of, at the time it really belongs to.

Each function appends a row's derivatives and returns the new end, the value it ought to have, and how
fast that changes (for the lag). ``k`` and ``s`` say where: between knot ``k`` and the next, at fraction
``s``.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.motion.rows import blend, place, put, speed
from chalkwing.units import Floats

_LAG_OF = np.array(at.LAG_OF)


@compiled
def _mix(s: float, first: float, second: float) -> float:
    return (1.0 - s) * first + s * second


@compiled
def see_pressure(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, dt: float, states: Floats, statics: Floats,
    origin: float, air: Floats,
) -> tuple[int, float, float]:  # fmt: skip
    """Pressure altitude: height in air that may be warmer or cooler than assumed, from an unknown zero."""
    fixed = 2 * states.shape[1]
    per_meter = air[k, 2] * (1.0 + statics[at.PRESSURE_SCALE])
    n, height = place(value, index, n, states, k, s, dt, at.HEIGHT, per_meter)
    rise = height - origin
    n = put(value, index, n, fixed + at.PRESSURE_OFFSET, 1.0)
    n = put(value, index, n, fixed + at.PRESSURE_SCALE, air[k, 2] * rise)
    seen = air[k, 3] + statics[at.PRESSURE_OFFSET] + per_meter * rise
    return n, seen, per_meter * _mix(s, states[k, at.U_UP], states[k + 1, at.U_UP])


@compiled
def see_ground_speed(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, states: Floats
) -> tuple[int, float, float]:
    """Ground speed where no track goes with it."""
    ns = states.shape[1]
    north = _mix(s, states[k, at.U_NORTH], states[k + 1, at.U_NORTH])
    east = _mix(s, states[k, at.U_EAST], states[k + 1, at.U_EAST])
    seen = np.sqrt(north * north + east * east + 1e-6)
    for axis, share in ((at.U_NORTH, north / seen), (at.U_EAST, east / seen)):
        n = put(value, index, n, axis, (1.0 - s) * share)
        n = put(value, index, n, ns + axis, s * share)
    return n, seen, 0.0


@compiled
def see_airspeed(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, kind: int, states: Floats, statics: Floats,
    origin: float, air: Floats, y: Floats, jac: Floats, slope: Floats,
) -> tuple[int, float, float]:  # fmt: skip
    """Indicated airspeed with its scale and zero, or a recorded true airspeed with its scale."""
    fixed = 2 * states.shape[1]
    true = _mix(s, y[k, at.OUT_AIRSPEED], y[k + 1, at.OUT_AIRSPEED])
    if kind == at.SEES_INDICATED:
        ratio = air[k, 0] * (1.0 + air[k, 1] * statics[at.WARMTH])
        factor = ratio * (1.0 + statics[at.INDICATED_SCALE])
        seen = factor * true + statics[at.INDICATED_OFFSET]
        n = put(value, index, n, fixed + at.INDICATED_SCALE, ratio * true)
        n = put(value, index, n, fixed + at.INDICATED_OFFSET, 1.0)
        warming = air[k, 0] * air[k, 1] * (1.0 + statics[at.INDICATED_SCALE])
        n = put(value, index, n, fixed + at.WARMTH, warming * true)
    else:
        factor = 1.0 + statics[at.TRUE_SCALE]
        seen = factor * true
        n = put(value, index, n, fixed + at.TRUE_SCALE, true)
    n = blend(value, index, n, k, s, at.OUT_AIRSPEED, factor, states, jac, statics, origin)
    return n, seen, factor * _mix(s, slope[k, at.OUT_AIRSPEED], slope[k + 1, at.OUT_AIRSPEED])


@compiled
def see_attitude(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, which: int, states: Floats, statics: Floats,
    origin: float, wander: np.ndarray, y: Floats, jac: Floats, slope: Floats,
) -> tuple[int, float, float]:  # fmt: skip
    """Bank, pitch or heading (``which`` 0, 1, 2) with its zero and its slow error."""
    ns = states.shape[1]
    fixed = 2 * ns
    out = at.OUT_BANK + which
    swing = y[k + 1, out] - y[k, out]
    swing = np.arctan2(np.sin(swing), np.cos(swing))
    seen = y[k, out] + s * swing + statics[at.BANK_ZERO + which]
    first = n
    n = blend(value, index, n, k, s, out, 1.0, states, jac, statics, origin)
    if out == at.OUT_HEADING:
        # A compass errs in turns by degrees and in step with the bank, just as the angle of attack turns the
        # nose off the path: it must not be let near the lift curve.
        for p in range(first, n):
            if index[p] == fixed + at.ZERO_LIFT or index[p] == fixed + at.LIFT_SLOPE:
                value[p] = 0.0
    n = put(value, index, n, fixed + at.BANK_ZERO + which, 1.0)
    if wander[which] >= 0:
        seen += _mix(s, states[k, wander[which]], states[k + 1, wander[which]])
        n = put(value, index, n, wander[which], 1.0 - s)
        n = put(value, index, n, ns + wander[which], s)
    return n, seen, _mix(s, slope[k, out], slope[k + 1, out])


@compiled
def see_load(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, states: Floats, statics: Floats, origin:
    float, y: Floats, jac: Floats, slope: Floats,
) -> tuple[int, float, float]:  # fmt: skip
    """Normal load factor with its zero."""
    n = blend(value, index, n, k, s, at.OUT_LOAD, 1.0, states, jac, statics, origin)
    n = put(value, index, n, 2 * states.shape[1] + at.LOAD_ZERO, 1.0)
    seen = _mix(s, y[k, at.OUT_LOAD], y[k + 1, at.OUT_LOAD]) + statics[at.LOAD_ZERO]
    return n, seen, _mix(s, slope[k, at.OUT_LOAD], slope[k + 1, at.OUT_LOAD])


@compiled
def see_side(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, states: Floats, statics: Floats
) -> tuple[int, float, float]:
    """Lateral load factor with its zero."""
    ns = states.shape[1]
    n = put(value, index, n, at.SIDE, 1.0 - s)
    n = put(value, index, n, ns + at.SIDE, s)
    n = put(value, index, n, 2 * ns + at.SIDE_ZERO, 1.0)
    return n, _mix(s, states[k, at.SIDE], states[k + 1, at.SIDE]) + statics[at.SIDE_ZERO], 0.0


@compiled
def see(
    value: Floats, index: np.ndarray, n: int, k: int, s: float, dt: float, kind: int, states: Floats,
    statics: Floats, origin: float, air: Floats, wander: np.ndarray, y: Floats, jac: Floats, slope: Floats,
) -> tuple[int, float, float]:  # fmt: skip
    """One recorded value of any kind."""
    if kind <= at.SEES_HEIGHT:
        n, seen = place(value, index, n, states, k, s, dt, kind, 1.0)
        return n, seen, 0.0
    if kind == at.SEES_PRESSURE:
        return see_pressure(value, index, n, k, s, dt, states, statics, origin, air)
    if kind <= at.SEES_CLIMB:
        axis = kind - at.SEES_U_NORTH
        n, seen = speed(value, index, n, states, k, s, dt, axis, 1.0)
        return n, seen, _mix(s, y[k, at.OUT_A_NORTH + axis], y[k + 1, at.OUT_A_NORTH + axis])
    if kind == at.SEES_SPEED:
        return see_ground_speed(value, index, n, k, s, states)
    if kind <= at.SEES_TRUE:
        return see_airspeed(value, index, n, k, s, kind, states, statics, origin, air, y, jac, slope)
    if kind <= at.SEES_HEADING:
        which = kind - at.SEES_BANK
        return see_attitude(value, index, n, k, s, which, states, statics, origin, wander, y, jac, slope)
    if kind == at.SEES_LOAD:
        return see_load(value, index, n, k, s, states, statics, origin, y, jac, slope)
    return see_side(value, index, n, k, s, states, statics)


@compiled
def sights(
    knots: Floats, states: Floats, statics: Floats, lags: Floats, origin: float, air: Floats, wander:
    np.ndarray, y: Floats, jac: Floats, slope: Floats,
    obs_time: Floats, obs_kind: np.ndarray, obs_value: Floats, obs_scale: Floats,
    rows_r: Floats, rows_group: np.ndarray, rows_scale: Floats, rows_knot: np.ndarray,
    ptr: np.ndarray, index: np.ndarray, value: Floats, m: int,
) -> int:  # fmt: skip
    """Rows of all recorded values; returns the number of rows so far.

    ``lags`` (ALL_STATICS,) are the lags about which each channel's lateness is expanded: interpolation
    between knots has kinks, and a lag that moved across one during the iteration would make the cost jagged.
    """
    fixed = 2 * states.shape[1]
    last = knots.shape[0] - 2
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
        n, seen, rate = see(
            value, index, ptr[m], k, s, dt, kind, states, statics, origin, air, wander, y, jac, slope
        )
        if lag >= 0 and rate != 0.0:
            n = put(value, index, n, fixed + lag, -rate)
            seen -= rate * (statics[lag] - lags[lag])
        miss = seen - obs_value[i]
        if kind >= at.SEES_BANK and kind <= at.SEES_HEADING:
            miss = np.arctan2(np.sin(miss), np.cos(miss))
        rows_r[m] = miss
        rows_group[m], rows_scale[m], rows_knot[m] = kind, obs_scale[i], k
        m += 1
        ptr[m] = n
    return m
