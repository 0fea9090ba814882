"""Flying a law: an ideal pilot's controls, found from the state at every instant, through the day's air.

The equations are those of ``chalkwing.dynamics.state_rates``, wind gradient included, stepped by classical
Runge-Kutta. Where a maneuver is defined by a constraint (a circle over the ground, an airspeed held) its law
solves the constraint for bank and load factor, so that what is flown is a motion of the point mass and not a
string of steady states.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from chalkwing.dynamics import PointMass, specific_excess_thrust, state_rates
from chalkwing.errors import OutsideModel
from chalkwing.reference.situation import Situation
from chalkwing.units import Floats

_HAIR = 1e-6
"""Share of a step to which an event is located."""


class AirState(NamedTuple):
    """Position over the ground [m] from the entry, true airspeed [m/s], path angle and air heading [rad]."""

    north: float
    east: float
    height: float
    true_airspeed: float
    path_angle: float
    air_heading: float


class Controls(NamedTuple):
    """Bank about the velocity [rad, right positive], load factor, throttle."""

    bank: float
    load_factor: float
    throttle: float


class LocalAir(NamedTuple):
    """The air at one height: density [kg/m³], its velocity [m/s] and the change of that with height [1/s]."""

    density: float
    wind_north: float
    wind_east: float
    wind_north_gradient: float
    wind_east_gradient: float


Law = Callable[[float, AirState, LocalAir], Controls]
"""The controls at a time since the phase began [s], in a state and the air there."""
Event = Callable[[float, AirState, LocalAir], float]
"""Below zero until the phase is over; located to a millionth of a step."""


class Airmass:
    """The air of a situation by height above the entry, looked up one height at a time."""

    def __init__(self, situation: Situation) -> None:
        column = situation.column(wind=True)
        self._heights: list[float] = column.height.tolist()
        parts = (column.density, column.wind_north, column.wind_east)
        self._values: list[list[float]] = [part.tolist() for part in parts]
        spacing = np.diff(column.height)
        self._slopes: list[list[float]] = [(np.diff(part) / spacing).tolist() for part in parts]
        self.airplane: PointMass = situation.airplane

    def at(self, height: float) -> LocalAir:
        """The air [m] above the entry; beyond the column its ends hold."""
        last = len(self._heights) - 2
        k = min(max(bisect_right(self._heights, height) - 1, 0), last)
        over = height - self._heights[k]
        over = min(max(over, 0.0), self._heights[k + 1] - self._heights[k])
        density, north, east = (
            values[k] + slopes[k] * over for values, slopes in zip(self._values, self._slopes, strict=True)
        )
        return LocalAir(density, north, east, self._slopes[1][k], self._slopes[2][k])


@dataclass(frozen=True)
class Phase:
    """One stretch: its law, the event that ends it, and what to say when the event never comes."""

    name: str
    law: Law
    until: Event
    longest: float = 600.0


@dataclass(frozen=True)
class AirPath:
    """What was flown: ``time`` [s], ``states`` (n, 6) as in AirState, ``controls`` (n, 3) as in Controls.

    ``phase`` (n,) counts the phases; where one ends and the next begins the instant stands twice.
    """

    time: Floats
    states: Floats
    controls: Floats
    phase: Floats
    ends: tuple[float, ...]

    @property
    def last(self) -> AirState:
        """The state at the end."""
        return AirState(*(float(value) for value in self.states[-1]))

    def column(self, name: str) -> Floats:
        """One column of ``states`` or ``controls`` by the name it has there, shape (n,)."""
        if name in AirState._fields:
            return self.states[:, AirState._fields.index(name)]
        return self.controls[:, Controls._fields.index(name)]


def joined(first: AirPath, second: AirPath) -> AirPath:
    """Two paths, the second flown on from where the first ended."""
    began = first.ends[-1]
    return AirPath(
        np.concatenate((first.time, began + second.time)),
        np.concatenate((first.states, second.states)),
        np.concatenate((first.controls, second.controls)),
        np.concatenate((first.phase, second.phase + len(first.ends))),
        first.ends + tuple(began + end for end in second.ends),
    )


def fly_phases(
    situation: Situation, start: AirState, phases: Sequence[Phase], *, step: float = 0.25
) -> AirPath:
    """Fly the phases one after the other from ``start``; each law's time counts from its own beginning.

    Raises
    ------
    OutsideModel
        A phase does not come to its end, or its law leaves what an airplane can do.
    """
    airmass = Airmass(situation)
    rows: list[tuple[float, ...]] = []
    ends: list[float] = []
    began, state = 0.0, start
    for number, phase in enumerate(phases):
        time = 0.0
        rows.append(_row(airmass, phase, number, began, time, state))
        while True:
            ahead = _advance(airmass, phase.law, time, state, step)
            _require_flying(phase, ahead)
            if phase.until(time + step, ahead, airmass.at(ahead.height)) >= 0.0:
                part = _locate(airmass, phase, time, state, step)
                state, time = _advance(airmass, phase.law, time, state, part), time + part
                rows.append(_row(airmass, phase, number, began, time, state))
                break
            state, time = ahead, time + step
            rows.append(_row(airmass, phase, number, began, time, state))
            if time > phase.longest:
                raise OutsideModel(
                    f"{phase.name} is not over after {phase.longest:.0f} s.",
                    next_step="Give it a shorter way to go, or more bank or speed.",
                )
        began += time
        ends.append(began)
    table = np.array(rows)
    return AirPath(table[:, 0], table[:, 1:7], table[:, 7:10], table[:, 10], tuple(ends))


def _row(
    airmass: Airmass, phase: Phase, number: int, began: float, time: float, state: AirState
) -> tuple[float, ...]:
    controls = phase.law(time, state, airmass.at(state.height))
    return (began + time, *state, *controls, float(number))


def _require_flying(phase: Phase, state: AirState) -> None:
    if not (5.0 < state.true_airspeed < 300.0 and abs(state.path_angle) < 1.2):
        raise OutsideModel(
            f"{phase.name} cannot be flown so: airspeed {state.true_airspeed:.0f} m/s, path "
            f"{np.degrees(state.path_angle):.0f}°.",
            next_step="Give it less bank, another speed or more power.",
        )


def _advance(airmass: Airmass, law: Law, time: float, state: AirState, step: float) -> AirState:
    k1 = _rates(airmass, law, time, state)
    k2 = _rates(airmass, law, time + 0.5 * step, _moved(state, k1, 0.5 * step))
    k3 = _rates(airmass, law, time + 0.5 * step, _moved(state, k2, 0.5 * step))
    k4 = _rates(airmass, law, time + step, _moved(state, k3, step))
    return AirState(
        *(
            x + step / 6.0 * (a + 2.0 * b + 2.0 * c + d)
            for x, a, b, c, d in zip(state, k1, k2, k3, k4, strict=True)
        )
    )


def _moved(state: AirState, rates: tuple[float, ...], step: float) -> AirState:
    return AirState(*(x + step * rate for x, rate in zip(state, rates, strict=True)))


def _rates(airmass: Airmass, law: Law, time: float, state: AirState) -> tuple[float, ...]:
    air = airmass.at(state.height)
    controls = law(time, state, air)
    excess = specific_excess_thrust(
        airmass.airplane, controls.throttle, controls.load_factor, air.density, state.true_airspeed
    )
    rates = state_rates(*state[3:], controls.bank, controls.load_factor, excess, *air[1:])
    return tuple(float(rate) for rate in rates)


def _locate(airmass: Airmass, phase: Phase, time: float, state: AirState, step: float) -> float:
    """The part of ``step`` after which the event comes: Brent's method, each trial a step of its own."""

    def over(part: float) -> float:
        there = _advance(airmass, phase.law, time, state, part)
        return phase.until(time + part, there, airmass.at(there.height))

    if over(0.0) >= 0.0:
        return _HAIR * step
    # A hair later than found, so that the event is past and not just ahead.
    return min(step, float(brentq(over, 0.0, step, xtol=0.5 * _HAIR * step)) + 0.5 * _HAIR * step)
