"""Flying a law: an ideal pilot's controls, found from the state at every instant, through the day's air.

The equations are those of ``chalkwing.dynamics.state_rates``, wind gradient included, stepped by classical
Runge-Kutta. Where a maneuver is defined by a constraint (a circle over the ground, an airspeed held) its law
solves the constraint for bank and load factor, so that what is flown is a motion of the point mass and not a
string of steady states. Laws and endings of ``laws`` are flown compiled; any other function, step by step.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from chalkwing.dynamics import PointMass
from chalkwing.errors import OutsideModel
from chalkwing.reference import air_kernel
from chalkwing.reference.law_numbers import (
    AirState,
    Controls,
    Ending,
    LocalAir,
    air_at,
    ended,
    moved,
    rates_under,
)
from chalkwing.reference.laws import NumberLaw
from chalkwing.reference.situation import Situation
from chalkwing.refly import AirColumn
from chalkwing.units import Floats, mps_to_kt

_HAIR = 1e-6
"""Share of a step to which an event is located."""


Law = Callable[[float, AirState, LocalAir], Controls]
"""The controls at a time since the phase began [s], in a state and the air there."""
Event = Callable[[float, AirState, LocalAir], float]
"""Below zero until the phase is over; located to a millionth of a step."""


@dataclass(frozen=True)
class Phase:
    """One stretch: its law, the event that ends it, and what to say when the event never comes."""

    name: str
    law: Law
    until: Event | Ending
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
    situation: Situation,
    start: AirState,
    phases: Sequence[Phase],
    *,
    step: float = 0.25,
    compiled: bool = True,
) -> AirPath:
    """Fly the phases one after the other from ``start``; each law's time counts from its own beginning.

    ``compiled`` False steps in plain Python what numbers could say too; it serves to test the kernel.

    Raises
    ------
    OutsideModel
        A phase does not come to its end, or its law leaves what an airplane can do.
    """
    tables: list[Floats] = []
    ends: list[float] = []
    began, state = 0.0, start
    for number, phase in enumerate(phases):
        quick = compiled and isinstance(phase.law, NumberLaw) and isinstance(phase.until, Ending)
        rows = (_flown_compiled if quick else _flown)(situation, phase, state, step)
        state = AirState(*(float(value) for value in rows[-1, 1:7]))
        lasted = float(rows[-1, 0])
        tables.append(np.column_stack((began + rows[:, 0], rows[:, 1:], np.full(len(rows), float(number)))))
        began += lasted
        ends.append(began)
    table = np.concatenate(tables)
    return AirPath(table[:, 0], table[:, 1:7], table[:, 7:10], table[:, 10], tuple(ends))


def _flown_compiled(situation: Situation, phase: Phase, start: AirState, step: float) -> Floats:
    """Rows of time, state and controls of one phase that numbers say."""
    assert isinstance(phase.law, NumberLaw)
    assert isinstance(phase.until, Ending)
    rows = np.empty((int(phase.longest / step) + 2, 10))
    law = phase.law
    how, count = air_kernel.fly_phase(
        law.banking, law.rising, phase.until, law.airplane, situation.windy_column, start, step, rows
    )
    if how == air_kernel.UNFLYABLE:
        raise _cannot_fly(phase, AirState(*(float(value) for value in rows[count - 1, 1:7])))
    if how == air_kernel.UNENDED:
        raise _never_over(phase)
    return rows[:count]


def _flown(situation: Situation, phase: Phase, state: AirState, step: float) -> Floats:
    """The same of any law and event, step by step."""
    airmass, time = _Airmass(situation), 0.0
    rows = [_row(airmass, phase, time, state)]
    while True:
        ahead = _advance(airmass, phase.law, time, state, step)
        if not air_kernel.flyable(ahead):
            raise _cannot_fly(phase, ahead)
        if airmass.over(phase, time + step, ahead) >= 0.0:
            part = _locate(airmass, phase, time, state, step)
            state, time = _advance(airmass, phase.law, time, state, part), time + part
            return np.array([*rows, _row(airmass, phase, time, state)])
        state, time = ahead, time + step
        rows.append(_row(airmass, phase, time, state))
        if time > phase.longest:
            raise _never_over(phase)


def _cannot_fly(phase: Phase, state: AirState) -> OutsideModel:
    return OutsideModel(
        f"{phase.name} cannot be flown so: true airspeed {mps_to_kt(state.true_airspeed):.0f} kt, path "
        f"{np.degrees(state.path_angle):.0f}°.",
        next_step="Give it less bank, another speed or more power.",
    )


def _never_over(phase: Phase) -> OutsideModel:
    return OutsideModel(
        f"{phase.name} is not over after {phase.longest:.0f} s.",
        next_step="Give it a shorter way to go, or more bank or speed.",
    )


class _Airmass:
    """The air of a situation as plain numbers, which are quicker one by one."""

    def __init__(self, situation: Situation) -> None:
        self.airplane: PointMass = situation.airplane
        self._column = AirColumn(*(part.tolist() for part in situation.windy_column))

    def at(self, height: float) -> LocalAir:
        """The air [m] above the entry."""
        return air_at(self._column, height)

    def over(self, phase: Phase, time: float, state: AirState) -> float:
        """Below zero until the phase is over."""
        air, ending = self.at(state.height), phase.until
        if isinstance(ending, Ending):
            assert isinstance(phase.law, NumberLaw)
            return ended(ending, phase.law.rising, self.airplane, time, state, air)
        return ending(time, state, air)


def _row(airmass: _Airmass, phase: Phase, time: float, state: AirState) -> tuple[float, ...]:
    return (time, *state, *phase.law(time, state, airmass.at(state.height)))


def _advance(airmass: _Airmass, law: Law, time: float, state: AirState, step: float) -> AirState:
    k1 = _rates(airmass, law, time, state)
    k2 = _rates(airmass, law, time + 0.5 * step, moved(state, k1, 0.5 * step))
    k3 = _rates(airmass, law, time + 0.5 * step, moved(state, k2, 0.5 * step))
    k4 = _rates(airmass, law, time + step, moved(state, k3, step))
    return AirState(
        *(
            x + step / 6.0 * (a + 2.0 * b + 2.0 * c + d)
            for x, a, b, c, d in zip(state, k1, k2, k3, k4, strict=True)
        )
    )


def _rates(
    airmass: _Airmass, law: Law, time: float, state: AirState
) -> tuple[float, float, float, float, float, float]:
    air = airmass.at(state.height)
    north, east, up, speeding, pitching, turning = rates_under(
        law(time, state, air), airmass.airplane, state, air
    )
    return float(north), float(east), float(up), float(speeding), float(pitching), float(turning)


def _locate(airmass: _Airmass, phase: Phase, time: float, state: AirState, step: float) -> float:
    """The part of ``step`` after which the event comes: Brent's method, each trial a step of its own."""

    def over(part: float) -> float:
        return airmass.over(phase, time + part, _advance(airmass, phase.law, time, state, part))

    if over(0.0) >= 0.0:
        return _HAIR * step
    # A hair later than found, so that the event is past and not just ahead.
    return min(step, float(brentq(over, 0.0, step, xtol=0.5 * _HAIR * step)) + 0.5 * _HAIR * step)
