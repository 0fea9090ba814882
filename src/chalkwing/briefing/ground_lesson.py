"""The ground lesson: a plan taught before it is flown, point by point, and its common errors to be seen.

What is said comes from the maneuver's definition, what is expected from the briefing; nothing is written here
a second time. Errors that a point mass can show are flown from the plan; the others are told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from chalkwing import words
from chalkwing.briefing import telling
from chalkwing.briefing.planning import Briefed
from chalkwing.briefing.report import PathReport, PlanPoint
from chalkwing.briefing.words import amount
from chalkwing.errors import UnknownName
from chalkwing.maneuvers import Definition
from chalkwing.maneuvers.schema import Advice, CommonError, Expectation, FlownError, Leg, Mark
from chalkwing.reference import Reference
from chalkwing.reference.common_errors import fly_error
from chalkwing.reference.margins import stall_speeds
from chalkwing.units import DEGREE, FOOT, KNOT


@dataclass(frozen=True)
class Step:
    """One point of the plan: how it is flown to, what is published of it, what this airplane will show there.

    ``part`` and ``name`` are the point's; ``way`` is what is flown on the way to it, empty at the entry.
    """

    point: PlanPoint
    way: str
    technique: tuple[Advice, ...]
    published: tuple[str, ...]


@dataclass(frozen=True)
class Outcome:
    """Where a part ended with an error, less where it ends in the plan."""

    part: int
    altitude_ft: float
    airspeed_kt: float
    heading_deg: float


@dataclass(frozen=True)
class Reach:
    """Highest and lowest against the entry; least calibrated airspeed over the stall at the load carried."""

    highest_ft: float
    lowest_ft: float
    over_stall_kt: float


@dataclass(frozen=True)
class ErrorShown:
    """A common error flown: ``path`` and ``points`` as a briefing has them, and what came of it.

    ``reach`` and ``planned_reach`` are how near the stall and how high and low it went, and the plan.
    ``stopped`` says why later parts are missing.
    """

    error: str
    title: str
    path: PathReport
    points: tuple[PlanPoint, ...]
    outcomes: tuple[Outcome, ...]
    reach: Reach
    planned_reach: Reach
    stopped: str | None


def steps(briefed: Briefed, definition: Definition | None) -> tuple[Step, ...]:
    """The points of the first part in the order flown; later parts mirror or repeat it."""
    if not briefed.briefing.points:
        return ()
    first = briefed.briefing.points[0].part
    shown = [point for point in briefed.briefing.points if point.part == first]
    return tuple(_step(point, definition, last=point is shown[-1]) for point in shown)


def _step(point: PlanPoint, definition: Definition | None, *, last: bool) -> Step:
    leg = None if definition is None else _leg_to(point.name, definition, last=last)
    expected: tuple[Expectation, ...] = ()
    if definition is not None:
        known = {each.name: each for each in definition.points}
        # A plan calls its end so, whatever heading the definition names it by.
        mine = known.get(point.name) or (definition.points[-1] if last else None)
        expected = mine.expected if mine is not None else ()
    return Step(
        point=point,
        way=leg.title if leg else "",
        technique=leg.technique if leg else (),
        published=tuple(expected_said(each) for each in expected),
    )


_EVENTS = {"established": Mark(event="established"), "rollout": Mark(event="rollout_starts")}
"""Points of plans that a definition need not name."""


def _leg_to(name: str, definition: Definition, *, last: bool) -> Leg | None:
    """The leg that ends at a point: by heading, by the event that the point is, or the last of all."""
    own = [leg for leg in definition.legs if leg.outside == "no"]
    if not own or name == "entry":
        return None
    if last:
        return own[-1]
    ends = _EVENTS | {point.name: point.where for point in definition.points}
    if name in ends:
        return next((leg for leg in own if leg.until == ends[name]), None)
    return None


def expected_said(expected: Expectation) -> str:
    """What a source says of a quantity at a point, in one line.

    >>> from chalkwing.maneuvers import definition
    >>> expected_said(definition("lazy_eight").point("90").expected[0])
    'pitch passing level (FAA-H-8083-3C, fig. 10-4)'
    """
    name = expected.quantity.name.replace("_into_turn", "").replace("_", " ")
    if expected.word is not None:
        return f"{name} {expected.word} ({expected.source})"
    value = (expected.about or 0.0) / expected.quantity.scale
    return f"{name} about {amount(value, expected.quantity.unit)} ({expected.source})"


def way_of(definition: Definition, error: str, number: int) -> tuple[CommonError, FlownError]:
    """One flown way of a common error, by the error's id and the way's number from 1; raises UnknownName."""
    known = {f"{each.id}.{k}": (each, way) for each in definition.errors for k, way in _numbered(each)}
    name = f"{error}.{number}"
    if name not in known:
        raise UnknownName(kind=f"flown error of the {definition.title.lower()}", name=name, known=known)
    return known[name]


def _numbered(error: CommonError) -> Iterator[tuple[int, FlownError]]:
    yield from enumerate(error.flown, start=1)


def show_error(briefed: Briefed, definition: Definition, error: str, number: int) -> ErrorShown:
    """Fly one way of a common error from the plan.

    Raises
    ------
    UnknownName
        The definition has no such flown error.
    OutsideModel
        The wing would stall, or this plan is not flown by bank, nose and power alone.
    """
    about, way = way_of(definition, error, number)
    flown = fly_error(briefed.reference, way.change, way.by)
    path = telling.path_report(flown.reference)
    assert path is not None
    line = briefed.briefing.entry.heading_deg_magnetic
    return ErrorShown(
        error=about.id,
        title=way.title,
        path=path,
        points=telling.plan_points(flown.reference, definition, line=None if line is None else line * DEGREE),
        outcomes=tuple(_outcomes(flown.reference, briefed.reference)),
        reach=_reach(flown.reference),
        planned_reach=_reach(briefed.reference),
        stopped=flown.stopped,
    )


def _outcomes(flown: Reference, plan: Reference) -> Iterator[Outcome]:
    told = telling.Airspeeds(plan.sheet).told
    for part in sorted({point.part for point in flown.points}):
        meant = [point for point in plan.points if point.part == part][-1]
        end = flown.point(meant.name, part=part)
        speeds = [float(told(each.calibrated_airspeed)) for each in (end, meant)]
        yield Outcome(
            part=part,
            altitude_ft=(end.altitude_change - meant.altitude_change) / FOOT,
            airspeed_kt=speeds[0] - speeds[1],
            heading_deg=(end.heading_change - meant.heading_change) / DEGREE,
        )


def _reach(reference: Reference) -> Reach:
    stall, _ = stall_speeds(reference)
    return Reach(
        highest_ft=float(np.max(reference["altitude_change"])) / FOOT,
        lowest_ft=float(np.min(reference["altitude_change"])) / FOOT,
        over_stall_kt=float(np.min(reference["calibrated_airspeed"] - stall)) / KNOT,
    )


def effects_said(shown: ErrorShown, ends: str) -> Iterator[str]:
    """What came of an error, one sentence a part, and how near the stall it came; ``ends`` names the end."""
    ends = ends if ends[:1].isdigit() else ends[:1].lower() + ends[1:]
    parts = len(shown.outcomes)
    for outcome in shown.outcomes:
        which = f"the {ends}" if parts == 1 else f"the {('first', 'second')[outcome.part - 1]} {ends}"
        yield f"At {which}, against the plan: {_differences(outcome)}."
    mine, plan = shown.reach, shown.planned_reach
    yield (
        f"Highest {_feet(mine.highest_ft)} (plan {_feet(plan.highest_ft)}), lowest {_feet(mine.lowest_ft)} "
        f"(plan {_feet(plan.lowest_ft)}) against the entry; at least {mine.over_stall_kt:.0f} kt over the "
        f"stall at the load carried (plan {plan.over_stall_kt:.0f})."
    )
    if shown.stopped:
        yield shown.stopped


def _feet(value: float) -> str:
    return amount(value, "ft", signed=True)


_SIZES = (
    ("altitude_ft", 10.0, " ft", "higher", "lower"),
    ("airspeed_kt", 1.0, " kt", "faster", "slower"),
    ("heading_deg", 1.0, "°", "past the heading", "short of it"),
)
"""Each difference, the least that is worth a word, and its words."""


def _differences(outcome: Outcome) -> str:
    found = []
    for name, least, unit, more, less in _SIZES:
        value = getattr(outcome, name)
        if abs(value) >= least:
            found.append(f"{abs(value):.0f}{unit} {more if value > 0.0 else less}")
    return words.listed(found) if found else "the same within 10 ft, 1 kt and 1°"
