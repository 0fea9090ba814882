"""The compiled stepper: a schedule of controls flown forward through the equations of motion.

Classical Runge-Kutta of fourth order with a fixed step. The formulas are those of ``chalkwing.dynamics``,
compiled, not copied.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from chalkwing.compiled import compilable, compiled
from chalkwing.dynamics import (
    PointMass,
    angle_of_attack,
    angle_of_attack_for,
    bank_attitude,
    lift_coefficient,
    load_factor,
    load_factor_for,
    nose_offset,
    path_bank,
    path_bank_for,
    pitch_attitude,
    specific_excess_thrust,
    state_rates,
)
from chalkwing.units import Floats

PITCH, LOAD_FACTOR, PATH_ANGLE = 0, 1, 2
"""What the vertical column of a schedule commands."""

OVER_TIME, OVER_HEADING_CHANGE = 0, 1
"""What a schedule's rows stand at."""

PATH_ANGLE_LAG = 1.0
"""Time constant [s] with which the path follows a commanded path angle: about a light airplane's."""

COLUMNS = (
    "position_north",
    "position_east",
    "geometric_altitude",
    "true_airspeed",
    "path_angle",
    "air_heading",
    "bank",
    "pitch",
    "heading_true",
    "load_factor",
    "angle_of_attack",
    "throttle",
)
"""What each row of :func:`fly_rows` holds."""


class AirColumn(NamedTuple):
    """The air over the field: at each ``height`` [m, rising], density [kg/m3] and the air's velocity [m/s].

    Between the heights values are interpolated; beyond them they stay as at the ends.
    """

    height: Floats
    density: Floats
    wind_north: Floats
    wind_east: Floats


@compilable
def _gradient(height: float, heights: Floats, values: Floats) -> float:
    """Slope [per m] of the interpolated ``values`` at ``height``; 0 beyond the ends."""
    upper = np.searchsorted(heights, height)
    if upper == 0 or upper == len(heights):
        return 0.0
    slope: float = (values[upper] - values[upper - 1]) / (heights[upper] - heights[upper - 1])
    return slope


@compilable
def _controls(
    airplane: PointMass,
    vertical_kind: int,
    vertical: float,
    bank: float,
    density: float,
    true_airspeed: float,
    path_angle: float,
) -> tuple[float, float, float]:
    """Load factor, angle of attack and bank about the velocity that obey a command at this instant."""
    if vertical_kind == PITCH:
        rolled = path_bank(path_angle, vertical, bank)
        attack = angle_of_attack_for(path_angle, vertical, rolled)
        return load_factor(airplane, attack, density, true_airspeed), attack, rolled
    factor = vertical
    rolled = bank
    attack = 0.0
    # For a path-angle command bank about the velocity, lift and angle of attack hang on each other; the
    # dependence is weak, and the third round changes nothing in the sixth digit.
    for _ in range(3):
        if vertical_kind == PATH_ANGLE:
            rate = (vertical - path_angle) / PATH_ANGLE_LAG
            factor = load_factor_for(true_airspeed, path_angle, rolled, rate)
        attack = angle_of_attack(airplane, lift_coefficient(airplane, factor, density, true_airspeed))
        rolled = path_bank_for(path_angle, attack, bank)
    return factor, attack, rolled


@compilable
def _rates(
    state: Floats,
    command: tuple[float, float, float],
    vertical_kind: int,
    airplane: PointMass,
    column: AirColumn,
    derivative: Floats,
) -> tuple[float, float, float]:
    """Fill ``derivative`` of ``state`` under (bank, vertical, throttle); return the controls found."""
    bank, vertical, throttle = command
    height, speed, climb = state[2], state[3], state[4]
    density = np.interp(height, column.height, column.density)
    factor, attack, rolled = _controls(airplane, vertical_kind, vertical, bank, density, speed, climb)
    rates = state_rates(
        speed,
        climb,
        state[5],
        rolled,
        factor,
        specific_excess_thrust(airplane, throttle, factor, density, speed),
        np.interp(height, column.height, column.wind_north),
        np.interp(height, column.height, column.wind_east),
        _gradient(height, column.height, column.wind_north),
        _gradient(height, column.height, column.wind_east),
    )
    for i in range(6):
        derivative[i] = rates[i]
    return factor, attack, rolled


@compilable
def _command(place: float, at: Floats, table: Floats) -> tuple[float, float, float]:
    """Bank, vertical command and throttle of the schedule at ``place`` (time or heading change)."""
    bank = np.interp(place, at, table[0])
    vertical = np.interp(place, at, table[1])
    return bank, vertical, np.interp(place, at, table[2])


@compiled
def fly_rows(
    start: Floats,
    at: Floats,
    table: Floats,
    over: int,
    vertical_kind: int,
    direction: float,
    airplane: PointMass,
    column: AirColumn,
    step: float,
    rows: Floats,
) -> int:
    """Fly from ``start`` until the schedule ends; fill ``rows`` (see ``COLUMNS``) and return how many.

    ``start``: north, east, height, true airspeed, path angle, air heading. ``at``: seconds or heading change
    [rad] in ``direction`` (+1 right, -1 left). ``table``: bank, vertical command, throttle, shape (3, knots).
    Stops early when ``rows`` is full or the state is no longer finite.
    """
    state = start.copy()
    k1, k2, k3, k4 = np.empty(6), np.empty(6), np.empty(6), np.empty(6)
    nose_at_start = 0.0
    place = 0.0
    for i in range(rows.shape[0]):
        time = i * step
        if over == OVER_TIME:
            place = time
        command = _command(place, at, table)
        factor, attack, rolled = _rates(state, command, vertical_kind, airplane, column, k1)
        nose = state[5] + nose_offset(state[4], attack, rolled)
        if i == 0:
            nose_at_start = nose
        if over == OVER_HEADING_CHANGE:
            # The command of the next step stands at the heading reached here: within a step of 0.05 s
            # the nose moves less than a degree.
            place = direction * (nose - nose_at_start)
        rows[i, :6] = state
        rows[i, 6] = bank_attitude(state[4], attack, rolled)
        rows[i, 7] = pitch_attitude(state[4], attack, rolled)
        rows[i, 8], rows[i, 9], rows[i, 10], rows[i, 11] = nose, factor, attack, command[2]
        if place >= at[-1] - 1e-9 or not np.isfinite(state).all():
            return i + 1
        ahead = place
        middle = place
        if over == OVER_TIME:
            middle, ahead = time + 0.5 * step, time + step
        _rates(state + 0.5 * step * k1, _command(middle, at, table), vertical_kind, airplane, column, k2)
        _rates(state + 0.5 * step * k2, _command(middle, at, table), vertical_kind, airplane, column, k3)
        _rates(state + step * k3, _command(ahead, at, table), vertical_kind, airplane, column, k4)
        state = state + step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    return len(rows)
