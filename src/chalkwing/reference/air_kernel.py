"""The compiled stepper of one phase whose law and ending are numbers (``law_numbers``): Runge-Kutta."""

from __future__ import annotations

from chalkwing.compiled import compilable, compiled
from chalkwing.dynamics import PointMass
from chalkwing.reference.law_numbers import (
    AirState,
    Banking,
    Ending,
    Rising,
    air_at,
    controls,
    ended,
    moved,
    rates_under,
)
from chalkwing.refly import AirColumn
from chalkwing.units import Floats

OVER, UNFLYABLE, UNENDED = 0, 1, 2
"""How a phase ends: by its event, outside what an airplane can do, or not within the rows there are."""
_HALVINGS = 22
"""Of a step, to find where in it the event comes: a millionth, with room."""


@compilable
def flyable(state: AirState) -> bool:
    """Whether a state is one that an airplane can be in."""
    return 5.0 < state.true_airspeed < 300.0 and abs(state.path_angle) < 1.2


@compilable
def _rates(
    banking: Banking, rising: Rising, airplane: PointMass, column: AirColumn, time: float, state: AirState
) -> tuple[float, float, float, float, float, float]:
    air = air_at(column, state.height)
    return rates_under(controls(banking, rising, airplane, time, state, air), airplane, state, air)


@compilable
def _advanced(
    banking: Banking,
    rising: Rising,
    airplane: PointMass,
    column: AirColumn,
    time: float,
    state: AirState,
    step: float,
) -> AirState:
    k1 = _rates(banking, rising, airplane, column, time, state)
    k2 = _rates(banking, rising, airplane, column, time + 0.5 * step, moved(state, k1, 0.5 * step))
    k3 = _rates(banking, rising, airplane, column, time + 0.5 * step, moved(state, k2, 0.5 * step))
    k4 = _rates(banking, rising, airplane, column, time + step, moved(state, k3, step))
    state = moved(state, k1, step / 6.0)
    state = moved(state, k2, step / 3.0)
    state = moved(state, k3, step / 3.0)
    return moved(state, k4, step / 6.0)


@compiled
def fly_phase(
    banking: Banking,
    rising: Rising,
    ending: Ending,
    airplane: PointMass,
    column: AirColumn,
    start: AirState,
    step: float,
    rows: Floats,
) -> tuple[int, int]:
    """Fly until the ending comes; fill ``rows`` (time, state, controls) and return (how it ended, how many).

    The last row stands a hair after the event, or is the first state that cannot be flown.
    """
    state, time = start, 0.0
    _put(rows, 0, time, state, banking, rising, airplane, column)
    for k in range(1, len(rows)):
        ahead = _advanced(banking, rising, airplane, column, time, state, step)
        if not flyable(ahead):
            _put(rows, k, time + step, ahead, banking, rising, airplane, column)
            return UNFLYABLE, k + 1
        air = air_at(column, ahead.height)
        if ended(ending, rising, airplane, time + step, ahead, air) >= 0.0:
            low, high = 0.0, step
            for _ in range(_HALVINGS):
                middle = 0.5 * (low + high)
                there = _advanced(banking, rising, airplane, column, time, state, middle)
                air = air_at(column, there.height)
                if ended(ending, rising, airplane, time + middle, there, air) >= 0.0:
                    high = middle
                else:
                    low = middle
            state = _advanced(banking, rising, airplane, column, time, state, high)
            _put(rows, k, time + high, state, banking, rising, airplane, column)
            return OVER, k + 1
        state, time = ahead, time + step
        _put(rows, k, time, state, banking, rising, airplane, column)
    return UNENDED, len(rows)


@compilable
def _put(
    rows: Floats,
    k: int,
    time: float,
    state: AirState,
    banking: Banking,
    rising: Rising,
    airplane: PointMass,
    column: AirColumn,
) -> None:
    chosen = controls(banking, rising, airplane, time, state, air_at(column, state.height))
    rows[k, 0] = time
    rows[k, 1], rows[k, 2], rows[k, 3] = state.north, state.east, state.height
    rows[k, 4], rows[k, 5], rows[k, 6] = state.true_airspeed, state.path_angle, state.air_heading
    rows[k, 7], rows[k, 8], rows[k, 9] = chosen.bank, chosen.load_factor, chosen.throttle
