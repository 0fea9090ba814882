"""Technique notes: each maneuver as the school teaches it, with the numbers of each of its airplanes.

Nothing is written here a second time: technique and errors are the definition's, limits are those the judge
holds the flight against, numbers are those of `brief` for that airplane, mass and day.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from chalkwing.briefing.fleet import FleetAirplane, FleetDay
from chalkwing.briefing.ground_lesson import expected_said
from chalkwing.briefing.limits import limit_reports
from chalkwing.briefing.planning import brief, briefable
from chalkwing.briefing.report import Briefing, LimitReport
from chalkwing.briefing.school import School
from chalkwing.debriefs import CAUTION, as_plain
from chalkwing.errors import ChalkwingError, Fault, FaultyPlan, UnknownName
from chalkwing.maneuvers import Definition, Standard, definitions, standard
from chalkwing.maneuvers.schema import Advice
from chalkwing.units import POUND

SCHEMA = 1
Progress = Callable[[str, float], None]
_LEFT_HAND = frozenset({"power_off_180"})
"""Flown in a left-hand pattern unless the place says otherwise."""


@dataclass(frozen=True)
class Taught:
    """One stretch of the maneuver: how it is flown, and who says so."""

    title: str
    technique: tuple[Advice, ...]


@dataclass(frozen=True)
class Awaited:
    """What sources say of one point; facts, never limits."""

    title: str
    expected: tuple[str, ...]


@dataclass(frozen=True)
class Mistake:
    """A common error, how the data shows it (``observable``: whether it can) and what helps."""

    title: str
    shows: str
    correction: str
    observable: bool


@dataclass(frozen=True)
class Case:
    """An airplane at one mass on one day: the plan, or why there is none."""

    name: str
    mass_lb: float
    day: str
    briefing: Briefing | None
    refusal: str | None


@dataclass(frozen=True)
class AirplaneCases:
    """One airplane of the school in all cases, light before heavy."""

    registration: str
    title: str
    generic: bool
    cases: tuple[Case, ...]


@dataclass(frozen=True)
class Chapter:
    """One maneuver. ``clearing``, ``entry``, ``calls`` and ``purpose`` are the school's own words."""

    kind: str
    title: str
    summary: str
    purpose: str | None
    entry: tuple[str, ...]
    clearing: tuple[str, ...]
    calls: tuple[str, ...]
    source: str
    legs: tuple[Taught, ...]
    points: tuple[Awaited, ...]
    limits: tuple[LimitReport, ...]
    errors: tuple[Mistake, ...]
    airplanes: tuple[AirplaneCases, ...]


@dataclass(frozen=True)
class TechniqueNotes:
    """The booklet: what a template prints, and a program reads."""

    school: str
    edition: str
    standard: str
    standard_title: str
    chapters: tuple[Chapter, ...]
    caution: str = CAUTION
    schema: int = SCHEMA

    def to_json(self) -> str:
        """Plain JSON, ``schema`` first; every number is finite."""
        told = as_plain(self)
        plain = {"schema": told.pop("schema"), **told}
        return json.dumps(plain, indent=2, ensure_ascii=False, allow_nan=False)


def technique_notes(
    school: School,
    *,
    kinds: Sequence[str] = (),
    registrations: Sequence[str] = (),
    held_to: Path | str = "commercial",
    overlay: Path | None = None,
    definition_folders: Iterable[Path] = (),
    tell: Progress = lambda what, fraction: None,
) -> TechniqueNotes:
    """Write the notes of a school, each maneuver solved for each airplane, mass and day.

    Parameters
    ----------
    kinds, registrations
        Of maneuvers and airplanes; all of them unless given.
    held_to, overlay
        The standard's name or file, and the school's own limits laid over it.
    tell
        Called with what is being solved and the share done.

    Raises
    ------
    ChalkwingError
        A name is unknown, or the school's file names no airplane or no day. What one airplane cannot fly on
        one day is no error: its case says why.
    """
    folders = tuple(definition_folders)
    known = definitions(folders)
    airplanes, days = _chosen(school, registrations)
    taught = [*briefable(folders), *known]
    chosen = tuple(kinds) or tuple(kind for kind in dict.fromkeys(taught) if kind in known)
    for kind in chosen:
        if kind not in known:
            raise UnknownName(kind="maneuver", name=kind, known=known)
    against = standard(held_to, school=overlay, folders=folders)
    count = len(chosen) * len(airplanes) * len(days) * 2
    done = itertools.count()

    def case(kind: str, airplane: FleetAirplane, mass: float, weight: str, day: FleetDay) -> Case:
        tell(f"{known[kind].title.lower()}, {airplane.registration}", next(done) / count)
        name = f"{weight}, {day.name}"
        try:
            made = brief(
                kind,
                airplane=airplane.sheet,
                mass=mass,
                conditions=day.conditions,
                direction="left" if kind in _LEFT_HAND else "right",
                school=school,
                standard=held_to,
                overlay=overlay,
                definition_folders=folders,
                what_if=False,
            )
        except ChalkwingError as error:
            return Case(name, mass / POUND, day.name, None, str(error))
        return Case(name, mass / POUND, day.name, made, None)

    def of_airplanes(kind: str) -> list[AirplaneCases]:
        """Nothing for what has no plan, such as clearing turns or a maneuver of the school's own."""
        return [of_airplane(kind, each) for each in airplanes] if kind in briefable(folders) else []

    def of_airplane(kind: str, airplane: FleetAirplane) -> AirplaneCases:
        masses = ((airplane.light, "light"), (airplane.heavy, "heavy"))
        cases = [case(kind, airplane, mass, weight, day) for mass, weight in masses for day in days]
        sheet = airplane.sheet
        return AirplaneCases(airplane.registration, sheet.title, sheet.generic, tuple(cases))

    chapters = [_chapter(school, known[kind], against, of_airplanes(kind), airplanes) for kind in chosen]
    return TechniqueNotes(
        school=school.name,
        edition=school.fleet.edition,
        standard=against.name,
        standard_title=f"{against.title} ({against.document}, {against.edition})",
        chapters=tuple(chapters),
    )


def _chosen(
    school: School, registrations: Sequence[str]
) -> tuple[tuple[FleetAirplane, ...], tuple[FleetDay, ...]]:
    fleet = school.fleet
    faults = []
    if not fleet.airplanes:
        faults.append(Fault("airplane", "is missing: the notes give the numbers of the school's airplanes"))
    if not fleet.days:
        faults.append(Fault("day", "is missing: the notes give numbers for named days, such as cool and hot"))
    if faults:
        raise FaultyPlan(where=school.name, faults=faults)
    known = {each.registration: each for each in fleet.airplanes}
    for name in registrations:
        if name not in known:
            raise UnknownName(kind="airplane of this school", name=name, known=known)
    return tuple(known[name] for name in registrations) or fleet.airplanes, fleet.days


def _chapter(
    school: School,
    definition: Definition,
    against: Standard,
    cases: Sequence[AirplaneCases],
    airplanes: Sequence[FleetAirplane],
) -> Chapter:
    kind = definition.kind
    texts = school.texts(kind)
    engines = max(each.sheet.engines for each in airplanes)
    return Chapter(
        kind=kind,
        title=definition.title,
        summary=definition.summary,
        purpose=school.purpose(kind),
        entry=school.entry_lines(kind),
        clearing=texts.clearing,
        calls=texts.calls,
        source=definition.source,
        legs=tuple(Taught(leg.title, leg.technique) for leg in definition.legs if leg.technique),
        points=tuple(_awaited(definition)),
        limits=limit_reports(against, definition, kind, engines=engines),
        errors=tuple(
            Mistake(each.title, each.shows, each.correction, each.observable) for each in definition.errors
        ),
        airplanes=tuple(cases),
    )


def _awaited(definition: Definition) -> Iterator[Awaited]:
    for point in definition.points:
        if point.expected:
            yield Awaited(point.title, tuple(expected_said(each) for each in point.expected))
