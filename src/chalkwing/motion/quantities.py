"""From states to the quantities people ask for, at any time between knots; compiled.

``QUANTITIES`` fixes the order of the columns; ``at_knot`` holds their formulas, once.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import outputs
from chalkwing.motion.linearize import inputs
from chalkwing.units import STANDARD_GRAVITY, Floats

QUANTITIES: Final = (
    "position_north", "position_east", "geometric_altitude", "pressure_altitude",
    "velocity_north", "velocity_east", "vertical_speed", "ground_speed", "track",
    "wind_north", "wind_east", "true_airspeed", "calibrated_airspeed", "indicated_airspeed",
    "heading_true", "turn_rate", "bank", "roll_rate", "pitch", "pitch_rate", "load_factor",
    "path_angle", "angle_of_attack", "specific_energy", "specific_energy_rate", "lateral_load",
)  # fmt: skip
COLUMN: Final = {name: column for column, name in enumerate(QUANTITIES)}

G = STANDARD_GRAVITY


LINEAR_TO, BENT_FROM = 0.14, 0.22
"""Angles of attack above that of zero lift [rad] between which the straight lift curve loses credit. Common
practice, no source: wings bend from about two thirds of their greatest lift."""


@compiled
def bent_attack(x: Floats, above_zero_lift: float) -> float:
    """What the wing's angle of attack has beyond the straight lift curve [rad].

    Where recorded pitch wanders from the curve either may be wrong. Fast, it is the attitude: its slow error
    is larger than the curve's. Slow, it is the curve: it bends near the stall, and flaps move it by degrees.
    """
    if x.shape[0] <= at.PITCH_WANDER:
        return 0.0
    share = min(max((above_zero_lift - LINEAR_TO) / (BENT_FROM - LINEAR_TO), 0.0), 1.0)
    return float(share * x[at.PITCH_WANDER])


@compiled
def at_knot(
    x: Floats, statics: Floats, origin_height: float, air: Floats, density_ratio: float, plane: Floats,
    z: Floats, y: Floats, out: Floats,
) -> None:  # fmt: skip
    """Fill ``out`` (quantities) from one set of states; ``z`` and ``y`` are scratch."""
    rise = x[at.HEIGHT] - origin_height
    wind_north = x[at.WIND_NORTH] + statics[at.SHEAR_NORTH] * rise
    wind_east = x[at.WIND_EAST] + statics[at.SHEAR_EAST] * rise
    inputs(x, statics, origin_height, z)
    outputs(z, density_ratio, plane, y)
    speed = y[at.OUT_AIRSPEED]
    v_north, v_east = z[at.IN_V_NORTH], z[at.IN_V_EAST]
    level = v_north * v_north + v_east * v_east + 1e-6
    gain = (v_north * y[at.OUT_A_NORTH] + v_east * y[at.OUT_A_EAST] + z[at.IN_V_UP] * y[at.OUT_A_UP]) / speed
    calibrated = speed * air[0] * (1.0 + air[1] * statics[at.WARMTH])
    out[0], out[1], out[2] = x[at.NORTH], x[at.EAST], x[at.HEIGHT]
    out[3] = air[3] + statics[at.PRESSURE_OFFSET] + air[2] * (1.0 + statics[at.PRESSURE_SCALE]) * rise
    out[4], out[5], out[6] = x[at.U_NORTH], x[at.U_EAST], x[at.U_UP]
    out[7] = np.sqrt(x[at.U_NORTH] * x[at.U_NORTH] + x[at.U_EAST] * x[at.U_EAST])
    out[8] = np.arctan2(x[at.U_EAST], x[at.U_NORTH])
    out[9], out[10] = wind_north, wind_east
    out[11], out[12] = speed, calibrated
    out[13] = calibrated * (1.0 + statics[at.INDICATED_SCALE]) + statics[at.INDICATED_OFFSET]
    out[14] = y[at.OUT_HEADING]
    out[15] = (v_north * y[at.OUT_A_EAST] - v_east * y[at.OUT_A_NORTH]) / level
    bent = bent_attack(x, y[at.OUT_ATTACK] - z[at.IN_ZERO_LIFT])
    out[16], out[17], out[18] = y[at.OUT_BANK], x[at.ROLL_RATE], y[at.OUT_PITCH] + bent
    # The path's rate; over a grid the true pitch rate is taken from pitch itself.
    out[19] = (y[at.OUT_A_UP] - gain * z[at.IN_V_UP] / speed) / np.sqrt(level)
    out[20], out[21], out[22] = y[at.OUT_LOAD], y[at.OUT_PATH], y[at.OUT_ATTACK] + bent
    out[23] = x[at.HEIGHT] + speed * speed / (2.0 * G)
    out[24] = x[at.U_UP] + speed * gain / G
    out[25] = x[at.SIDE]


@compiled
def on_grid(
    grid: Floats, knots: Floats, states: Floats, statics: Floats, origin_height: float, air: Floats,
    density: Floats, plane: Floats, out: Floats,
) -> None:  # fmt: skip
    """Fill ``out`` (quantities, times) along one trajectory of states (K, N); angles run on past a circle.

    Quantities are worked out at the knots and interpolated: position and height by the cubic through
    places and velocities, the rest linearly.
    """
    table = np.empty((knots.shape[0], out.shape[0]))
    _at_knots(states, statics, origin_height, air, density, plane, table)
    k = 0
    for i in range(grid.shape[0]):
        while k < knots.shape[0] - 2 and grid[i] >= knots[k + 1]:
            k += 1
        dt = knots[k + 1] - knots[k]
        s = min(max((grid[i] - knots[k]) / dt, 0.0), 1.0)
        for j in range(out.shape[0]):
            out[j, i] = (1 - s) * table[k, j] + s * table[k + 1, j]
        a, b = states[k], states[k + 1]
        straight = out[2, i]
        for axis in range(3):
            out[axis, i] = (
                (1 + 2 * s) * (1 - s) * (1 - s) * a[axis] + s * (1 - s) * (1 - s) * dt * a[3 + axis]
                + s * s * (3 - 2 * s) * b[axis] + s * s * (s - 1) * dt * b[3 + axis]
            )  # fmt: skip
            out[4 + axis, i] = (
                6 * s * (1 - s) * (b[axis] - a[axis]) / dt
                + (3 * s - 1) * (s - 1) * a[3 + axis] + s * (3 * s - 2) * b[3 + axis]
            )  # fmt: skip
        bulge = out[2, i] - straight
        out[3, i] += bulge * air[k, 2] * (1.0 + statics[at.PRESSURE_SCALE])
        out[23, i] += bulge
    last = grid.shape[0] - 1
    if last >= 2:
        step = grid[1] - grid[0]
        for i in range(1, last):
            out[19, i] = (out[18, i + 1] - out[18, i - 1]) / (2 * step)
        out[19, 0], out[19, last] = out[19, 1], out[19, last - 1]


@compiled
def _at_knots(
    states: Floats,
    statics: Floats,
    origin_height: float,
    air: Floats,
    density: Floats,
    plane: Floats,
    table: Floats,
) -> None:
    """``at_knot`` at every knot, track and heading unwrapped; ``table`` (knots, quantities)."""
    z, y = np.empty(at.INPUTS), np.empty(at.OUTPUTS)
    for k in range(states.shape[0]):
        at_knot(states[k], statics, origin_height, air[k], density[k], plane, z, y, table[k])
        if k > 0:
            for angle in (8, 14):
                turn = table[k, angle] - table[k - 1, angle]
                table[k, angle] = table[k - 1, angle] + np.arctan2(np.sin(turn), np.cos(turn))


@compiled
def draws_on_grid(
    grid: Floats, knots: Floats, states: Floats, departures: Floats, statics: Floats, origin_height: float,
    air: Floats, density: Floats, plane: Floats, out: Floats,
) -> None:  # fmt: skip
    """``on_grid`` for each draw: ``departures`` (knots, N, draws), ``statics`` (draws, ALL_STATICS);
    ``out`` (draws, quantities, times)."""
    for d in range(departures.shape[2]):
        moved = states + departures[:, :, d]
        on_grid(grid, knots, moved, statics[d], origin_height, air, density, plane, out[d])


@compiled
def spreads(
    chosen: np.ndarray, states: Floats, statics: Floats, active: np.ndarray, origin_height: float, air:
    Floats, density: Floats, plane: Floats, same: Floats, right: Floats, static_covariance: Floats, out:
    Floats,
) -> None:  # fmt: skip
    """Standard deviation of every quantity at the ``chosen`` knots, to first order; ``out`` (chosen,
    quantities)."""
    n, s = states.shape[1], active.shape[0]
    q = out.shape[1]
    z, y = np.empty(at.INPUTS), np.empty(at.OUTPUTS)
    base, moved = np.empty(q), np.empty(q)
    by_state, by_static = np.empty((q, n)), np.empty((q, s))
    step = 1e-5
    for c in range(chosen.shape[0]):
        k = chosen[c]
        x, fixed = states[k].copy(), statics.copy()
        at_knot(x, fixed, origin_height, air[k], density[k], plane, z, y, base)
        for i in range(n):
            kept = x[i]
            x[i] = kept + step
            at_knot(x, fixed, origin_height, air[k], density[k], plane, z, y, moved)
            x[i] = kept
            by_state[:, i] = (moved - base) / step
        for i in range(s):
            kept = fixed[active[i]]
            fixed[active[i]] = kept + step
            at_knot(x, fixed, origin_height, air[k], density[k], plane, z, y, moved)
            fixed[active[i]] = kept
            by_static[:, i] = (moved - base) / step
        own = np.dot(by_state, same[k])
        leaning = by_static + np.dot(by_state, np.ascontiguousarray(right[k, :, n : n + s]))
        shared = np.dot(leaning, static_covariance)
        for j in range(q):
            total = 0.0
            for i in range(n):
                total += own[j, i] * by_state[j, i]
            for i in range(s):
                total += shared[j, i] * leaning[j, i]
            out[c, j] = np.sqrt(max(total, 0.0))
