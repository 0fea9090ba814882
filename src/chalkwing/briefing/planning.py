"""One function from an airplane, a day and a maneuver to everything that is briefed before it is flown."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import wraps
from pathlib import Path
from typing import NamedTuple, ParamSpec

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.briefing import telling
from chalkwing.briefing.consequences import WHAT_IF_NOTE, margins_of, what_if_of
from chalkwing.briefing.day import read_conditions
from chalkwing.briefing.limits import limit_reports
from chalkwing.briefing.report import Briefing, Lesson
from chalkwing.briefing.school import School, generic_school, read_school
from chalkwing.conditions import Conditions
from chalkwing.errors import OutsideModel, UnknownName
from chalkwing.maneuvers import Definition, definitions
from chalkwing.maneuvers import standard as standard_for
from chalkwing.reference import Reference, solvable, solve
from chalkwing.reference.floor import Floor, Floors, floor_plan
from chalkwing.reference.reference import Direction
from chalkwing.reference.registry import settings_of
from chalkwing.reference.situation import DEFAULT_HEIGHT
from chalkwing.units import DEGREE, FOOT, POUND, mps_to_kt, require_within

_MEANT: Mapping[str, tuple[str, ...]] = {
    "maximum_bank": ("maximum_bank", "bank"),
    "nose_up": ("nose_up",),
    "entry_speed": ("entry_speed", "airspeed"),
    "throttle": ("throttle",),
}
"""What a pilot asks for, and what the solvers call it."""
_TITLES = {
    "s_turns": "S-turns",
    "power_off_stall": "Power-off stall",
    "power_on_stall": "Power-on stall",
    "power_off_180": "Power-off 180°",
}
"""Names of maneuvers that have no definition to say them."""
_LOW = frozenset({"eights_on_pylons", "turns_around_a_point", "s_turns", "rectangular_course"})
_TO_A_LANDING = frozenset({"power_off_180"})
_OWN_HEIGHT = _LOW | _TO_A_LANDING | {"steep_spiral"}
"""Maneuvers whose solver finds the height at which they begin."""


_P = ParamSpec("_P")


class Briefed(NamedTuple):
    """A briefing with the Reference it tells of: for who flies that again with something changed."""

    briefing: Briefing
    reference: Reference


def briefed(
    kind: str,
    *,
    airplane: AirplaneSheet | Path | str,
    mass: float | None = None,
    conditions: Conditions | Path | None = None,
    direction: Direction = "right",
    line: float | None = None,
    entry_altitude: float | None = None,
    solo: bool = False,
    floor: float | None = None,
    airspace: str = "E",
    night: bool = False,
    lesson: Lesson | None = None,
    school: School | Path | None = None,
    standard: Path | str = "commercial",
    overlay: Path | None = None,
    definition_folders: Iterable[Path] = (),
    what_if: bool = True,
    maximum_bank: float | None = None,
    nose_up: float | None = None,
    entry_speed: float | None = None,
    **settings: object,
) -> Briefed:
    """Brief one maneuver for one airplane, mass, day and place.

    Parameters
    ----------
    kind : str
        A maneuver that has a solver or a definition.
    airplane : AirplaneSheet, Path or str
        A sheet, a sheet's file, or the name of a built-in one.
    mass : float, optional
        [kg]; the sheet's unless given.
    conditions : Conditions or Path, optional
        The day, or a file of it; calm standard air over sea level unless given.
    direction : "left" or "right"
        Of the first turn.
    line : float, optional
        The entry heading along the chosen line [rad, magnetic]. Without it no reference headings are given
        and the path is drawn in still air.
    entry_altitude : float, optional
        [m] as the altimeter shows it; found from the floor unless given.
    solo, floor : bool, float, optional
        Which of the school's floors holds (or the published one, if higher); or a floor above the highest
        terrain [m] in place of both.
    airspace, night : str, bool
        Class "B" to "G" and time of day, for the distances from cloud.
    lesson : Lesson, optional
        Whose card it is.
    school : School or Path, optional
        Texts and floors of a school; generic ones unless given.
    standard, overlay
        A standard's name or file, and a school's own limits laid over it.
    definition_folders
        Folders of further maneuver definitions.
    what_if : bool
        Whether to re-fly the plan with changes.
    maximum_bank, nose_up, entry_speed
        Steepest bank [rad], highest nose-up pitch [rad], entry calibrated airspeed [m/s]; each where the
        maneuver has such a choice.
    **settings
        Any other setting of the solver, by its own name [SI].

    Raises
    ------
    ChalkwingError
        A name is unknown, a file faulty, or it cannot be flown so; says what would make it possible.
    """
    folders = tuple(definition_folders)
    defined = definitions(folders).get(kind)
    _refuse_unknown(kind, defined, folders)
    sheet = airplane if isinstance(airplane, AirplaneSheet) else load_sheet(airplane)
    day = _day(conditions)
    texts = _school(school)
    _refuse_beyond_the_manual(sheet, entry_speed)
    above = _floor(kind, texts, sheet.engines, solo=solo, given=floor)
    held_to = standard_for(standard, school=overlay, folders=folders)
    asked = {"maximum_bank": maximum_bank, "nose_up": nose_up, "entry_speed": entry_speed, **settings}
    reference = _solved(
        kind,
        sheet=sheet,
        mass=mass,
        day=day,
        direction=direction,
        line=line,
        entry_altitude=entry_altitude,
        floor=above.planned,
        asked=asked,
    )
    margins, cautions = margins_of(reference, floor=above.planned, airspace=airspace, night=night)
    briefing = Briefing(
        kind=kind,
        title=defined.title if defined else _TITLES.get(kind, kind.replace("_", " ").capitalize()),
        summary=defined.summary if defined else "",
        direction=reference.direction,
        airplane=sheet.name,
        airplane_title=sheet.title,
        airplane_generic=sheet.generic,
        mass_lb=reference.mass / POUND,
        mass_kg=reference.mass,
        airspeed_kind=telling.Airspeeds(sheet).kind,
        lesson=lesson or Lesson(),
        school=texts.texts(kind),
        conditions=telling.conditions_report(day, reference.entry_altitude),
        settings=telling.settings(reference),
        entry=telling.entry_report(reference, line=line),
        floor_agl_ft=None if above.shown is None else above.shown / FOOT,
        floor_ft=None if above.shown is None else (above.shown + day.highest_terrain) / FOOT,
        floor_for=above.said,
        headings=telling.heading_rows(reference, defined, line=line),
        points=telling.plan_points(reference, defined, line=line),
        facts=tuple(telling.facts(reference)),
        margins=margins,
        cautions=cautions,
        what_if=what_if_of(reference) if what_if else (),
        what_if_note=WHAT_IF_NOTE,
        standard=held_to.name,
        standard_title=f"{held_to.title} ({held_to.document}, {held_to.edition})",
        limits=limit_reports(held_to, defined, kind, engines=sheet.engines),
        path=telling.path_report(reference),
        turn_angle_deg=defined.turns.angle / DEGREE if defined else None,
        part_directions=telling.part_directions(reference),
        notes=(*_notes(sheet, line), *reference.notes),
    )
    return Briefed(briefing, reference)


def _without_reference(make: Callable[_P, Briefed]) -> Callable[_P, Briefing]:
    @wraps(make)
    def brief(*args: _P.args, **kwargs: _P.kwargs) -> Briefing:
        return make(*args, **kwargs).briefing

    brief.__name__ = brief.__qualname__ = "brief"
    return brief


brief = _without_reference(briefed)
"""As :func:`briefed`, the briefing alone."""


def briefable(folders: Iterable[Path] = ()) -> tuple[str, ...]:
    """The kinds of maneuver that can be briefed."""
    return tuple(solvable())


def _refuse_unknown(kind: str, defined: Definition | None, folders: tuple[Path, ...]) -> None:
    if kind not in briefable(folders):
        raise UnknownName(kind="maneuver that can be briefed", name=kind, known=briefable(folders))


def _refuse_beyond_the_manual(sheet: AirplaneSheet, entry_speed: float | None) -> None:
    """No plan begins above VNE: unlike nearness to a limit that is a slip of the pen."""
    limit = sheet.never_exceed_speed
    if entry_speed is not None and limit is not None and entry_speed > limit:
        raise OutsideModel(
            f"entry speed of {mps_to_kt(entry_speed):.0f} KCAS: the sheet of {sheet.name} has VNE at "
            f"{mps_to_kt(limit):.0f} KCAS.",
            next_step="Give a lower entry speed, or leave it out for the usual one.",
        )


def _day(conditions: Conditions | Path | None) -> Conditions:
    if conditions is None:
        return Conditions(notes=("No conditions given: calm standard air over ground at sea level.",))
    return conditions if isinstance(conditions, Conditions) else read_conditions(conditions)


def _school(school: School | Path | None) -> School:
    if school is None:
        return generic_school()
    return school if isinstance(school, School) else read_school(school)


@dataclass(frozen=True)
class _Floor:
    """``planned`` is what the plan keeps above; ``shown`` also what is said of a maneuver flown low [m]."""

    planned: Floor | None
    shown: float | None
    said: str


def _floor(kind: str, school: School, engines: int, *, solo: bool, given: float | None) -> _Floor:
    """The floor above the highest terrain: as given, or the higher of the school's and the published one."""
    if given is not None:
        require_within("floor", given, 0.0, 5_000.0, "m", hint="Was it in feet?")
        return _Floor(Floor(given, "as given"), given, "as given")
    who = "solo" if solo else "dual"
    own = (Floor(height, school.name) for height in (school.floor_dual, school.floor_solo))
    chosen = Floors(*own).floor(kind, engines=engines, solo=solo)
    if chosen is not None:
        said = who if chosen.source == school.name else f"{who}: {chosen.source}"
        return _Floor(chosen, chosen.height, said)
    if kind in _TO_A_LANDING:
        return _Floor(None, None, "ends in a landing")
    return _Floor(None, school.floor_low, "flown low")


def _solved(
    kind: str,
    *,
    sheet: AirplaneSheet,
    mass: float | None,
    day: Conditions,
    direction: Direction,
    line: float | None,
    entry_altitude: float | None,
    floor: Floor | None,
    asked: Mapping[str, object],
) -> Reference:
    """The Reference at the altitude given, or at one that keeps all of it above the floor."""
    # Without a line nobody knows how the wind lies to the path: it is flown in still air.
    air = day if line is not None else _without_wind(day)
    settings = _settings(kind, asked, floor)
    heading = 0.0 if line is None else float(day.true(line))

    def at(altitude: float | None) -> Reference:
        return solve(
            kind,
            sheet=sheet,
            mass=mass,
            conditions=air,
            direction=direction,
            entry_altitude=altitude,
            entry_heading=heading,
            **settings,
        )

    if entry_altitude is not None:
        return at(entry_altitude)
    if kind in _LOW | _TO_A_LANDING:
        return at(None)
    # Where the solver finds its own height, nobody sets 5,069 ft: the next round altitude above is taken.
    usual = _rounded_up(max(day.elevation, day.highest_terrain) + DEFAULT_HEIGHT)
    reference = at(None if kind in _OWN_HEIGHT else usual)
    least = reference.entry_altitude
    if floor is not None and len(reference.time):
        least = max(least, floor_plan(reference, floor).entry_altitude)
    rounded = _rounded_up(least)
    return reference if rounded - reference.entry_altitude < 0.1 * FOOT else at(rounded)


def _rounded_up(altitude: float) -> float:
    """The next whole hundred feet at or above an altitude [m]."""
    return math.ceil(altitude / (100.0 * FOOT) - 1e-6) * 100.0 * FOOT


def _without_wind(day: Conditions) -> Conditions:
    return replace(day, winds=())


def _settings(kind: str, asked: Mapping[str, object], floor: Floor | None) -> dict[str, object]:
    """What was asked, by the names that this maneuver's solver has for it."""
    known = settings_of(kind)
    found: dict[str, object] = {"floor": floor.height} if floor is not None and "floor" in known else {}
    for name, value in asked.items():
        if value is None:
            continue
        called = next((each for each in _MEANT.get(name, (name,)) if each in known), None)
        if called is None:
            raise UnknownName(kind=f"setting of the {kind.replace('_', ' ')}", name=name, known=known)
        found[called] = value
    return found


def _notes(sheet: AirplaneSheet, line: float | None) -> list[str]:
    notes = []
    if sheet.generic:
        notes.append("A generic airplane of no type: not for flight. Write a sheet from the flight manual.")
    if sheet.indicated_to_calibrated is None:
        notes.append("The sheet has no airspeed correction: speeds are KCAS, not what the indicator shows.")
    if line is None:
        notes.append("No line given: headings are left blank, and the path is drawn in still air.")
    return notes
