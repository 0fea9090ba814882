"""Which function solves which maneuver; modules are imported when one of their maneuvers is asked for."""

from __future__ import annotations

import importlib
import importlib.util
import inspect
from collections.abc import Callable
from typing import TypeVar

from chalkwing.airplane import AirplaneSheet
from chalkwing.conditions import Conditions
from chalkwing.errors import OutsideModel, UnknownName
from chalkwing.reference.reference import Direction, Reference
from chalkwing.reference.situation import DEFAULT_HEIGHT, Situation
from chalkwing.units import require_within

Solver = Callable[..., Reference]
"""Called as ``solver(situation, direction=..., **settings)``; its keyword arguments are the settings."""

_S = TypeVar("_S", bound=Solver)

MODULES: dict[str, str] = {
    "lazy_eight": "lazy_eight",
    "chandelle": "chandelle",
    "steep_turn": "steep_turn",
    "steep_spiral": "steep_spiral",
    "eights_on_pylons": "eights_on_pylons",
    "turns_around_a_point": "ground_reference",
    "s_turns": "ground_reference",
    "rectangular_course": "rectangular_course",
    "slow_flight": "slow_flight",
    "power_off_stall": "stalls",
    "power_on_stall": "stalls",
    "accelerated_stall": "stalls",
    "power_off_180": "power_off_180",
    "emergency_descent": "emergency_descent",
}
"""The module of this package in which each kind's solver registers itself."""

SINGLE_ENGINE = frozenset({"lazy_eight", "chandelle", "steep_spiral", "eights_on_pylons", "power_off_180"})
"""Maneuvers of the single-engine class. Common practice, no source."""

_SOLVERS: dict[str, Solver] = {}


def solves(*kinds: str) -> Callable[[_S], _S]:
    """Register the decorated function as the solver of these kinds of maneuver."""

    def register(solver: _S) -> _S:
        _SOLVERS.update(dict.fromkeys(kinds, solver))
        return solver

    return register


def solvable() -> tuple[str, ...]:
    """The kinds for which there is a solver."""
    return tuple(kind for kind, name in MODULES.items() if importlib.util.find_spec(_path(name)))


def solve(
    kind: str,
    *,
    sheet: AirplaneSheet,
    mass: float | None = None,
    conditions: Conditions | None = None,
    direction: Direction = "right",
    entry_altitude: float | None = None,
    entry_heading: float = 0.0,
    **settings: object,
) -> Reference:
    """Solve a maneuver for one airplane, mass and day.

    Parameters
    ----------
    kind : str
        One of :func:`solvable`.
    sheet : AirplaneSheet
    mass : float, optional
        [kg]; the sheet's unless given.
    conditions : Conditions, optional
        Calm standard air over sea level unless given.
    direction : "left" or "right"
        Of the first turn.
    entry_altitude : float, optional
        [m] as the altimeter shows it; 2,500 ft above the elevation unless given, and what the maneuver
        needs where it solves for its height (steep spiral) or is flown low (ground reference, pattern).
    entry_heading : float
        [rad, true]; matters in wind only.
    **settings
        The maneuver's own; the solver's docstring lists them.

    Raises
    ------
    UnknownName
        No maneuver, or no setting of it, has that name.
    OutsideModel
        The maneuver cannot be flown so; says which constraint stops it and what would make it possible.
    """
    solver = _solver(kind)
    _refuse_twin(kind, sheet)
    known = settings_of(kind)
    for name in settings:
        if name not in known:
            raise UnknownName(kind=f"setting of the {kind}", name=name, known=known)
    if direction not in ("left", "right"):
        raise UnknownName(kind="direction", name=str(direction), known=("left", "right"))
    conditions = Conditions() if conditions is None else conditions
    altitude = conditions.elevation + DEFAULT_HEIGHT if entry_altitude is None else entry_altitude
    mass = sheet.mass if mass is None else mass
    require_within("mass", mass, 150.0, 6_000.0, "kg", hint="Was it in pounds?")
    require_within("entry heading", entry_heading, -6.2832, 6.2832, "rad", hint="Was it in degrees?")
    given = entry_altitude is not None
    situation = Situation(sheet, mass, conditions, altitude, entry_heading, altitude_given=given)
    return solver(situation, direction=direction, **settings)


def settings_of(kind: str) -> tuple[str, ...]:
    """The settings that a maneuver's solver takes, by name; raises UnknownName."""
    parameters = inspect.signature(_solver(kind)).parameters
    return tuple(name for name in parameters if name not in ("situation", "direction"))


def _solver(kind: str) -> Solver:
    if kind not in solvable():
        raise UnknownName(kind="maneuver with a solver", name=kind, known=solvable())
    importlib.import_module(_path(MODULES[kind]))
    return _SOLVERS[kind]


def _path(module: str) -> str:
    return f"chalkwing.reference.{module}"


def _refuse_twin(kind: str, sheet: AirplaneSheet) -> None:
    if kind in SINGLE_ENGINE and sheet.engines > 1:
        raise OutsideModel(
            f"the {kind.replace('_', ' ')} belongs to the single-engine class, and {sheet.name} has "
            f"{sheet.engines} engines (common practice).",
            next_step="Choose a single-engine airplane, or another maneuver.",
        )
