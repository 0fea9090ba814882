"""Elements and facts of one occurrence, held against a standard on joint posterior draws.

    draws --points--> places per draw --measures--> numbers per draw --verdict--> ElementResult

The rules and their reasons are in ``docs/decisions/0004-verdicts-from-joint-draws.md``.
"""

from __future__ import annotations

from collections.abc import Sequence

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.find.occurrence import Occurrence
from chalkwing.judge import spells, stall_speed
from chalkwing.judge.bench import Bench
from chalkwing.judge.draws import TAIL, draw
from chalkwing.judge.ground_estimates import with_ground
from chalkwing.judge.ground_reference import GroundReference
from chalkwing.judge.holding import stretches_flown
from chalkwing.judge.judgement import Assigned, ElementResult, Judgement
from chalkwing.judge.measures import Measuring
from chalkwing.judge.over_ground import NEEDED
from chalkwing.judge.points import locate_points, locate_turns, point_results
from chalkwing.judge.terrain import Terrain
from chalkwing.maneuvers.schema import Definition, Measure
from chalkwing.maneuvers.standards import Standard
from chalkwing.motion.motion import Motion
from chalkwing.units import DEGREE

FACT_DRAWS = 100
"""Draws for a fact without a limit: its sd is known to 7 %, and no probability hangs on it."""


def judge(
    motion: Motion,
    occurrence: Occurrence,
    definition: Definition,
    standard: Standard,
    *,
    assigned: Assigned | None = None,
    sheet: AirplaneSheet | None = None,
    terrain: Terrain | None = None,
    ground: GroundReference | None = None,
    mass: float | None = None,
    earlier: Sequence[Occurrence] = (),
    seed: int = 0,
    draws: int = 200,
) -> Judgement:
    """Judge one occurrence.

    Parameters
    ----------
    motion, occurrence, definition, standard
        The flight, the maneuver found in it, what that maneuver is, and what is published for it. Where the
        standard has no such task, all values come without limits.
    assigned : Assigned, optional
        Altitude, airspeed, heading and bank asked for; entry values (the standard's bank) stand in and the
        element's ``note`` says so.
    sheet : AirplaneSheet, optional
        Gives the margin over the stall.
    terrain : Terrain, optional
        Makes the height above ground an element, and tells how high pylons stand.
    ground : GroundReference, optional
        The point, pylons, line or field flown by; without it they are estimated from the flight itself.
    mass : float, optional
        Of the day [kg], at which the sheet's speeds are taken; the sheet's own unless given.
    earlier : sequence of Occurrence
        Maneuvers found earlier in the flight: for the drift along a chain, and so that they are not taken
        for clearing turns.
    seed, draws
        The same seed gives the same judgement.

    Returns
    -------
    Judgement
        Each probability is the share of draws in which the limit is met.
    """
    assigned = assigned or Assigned()
    names = [measure.quantity.name for measure in definition.measures]
    names += NEEDED if definition.ground != "none" else ()
    by_time = definition.progress == "time"
    names += spells.SIGNALS if by_time else ()
    flown = draw(
        motion, occurrence, names, count=draws, seed=seed, sheet=sheet, terrain=terrain, mass=mass,
        tail=spells.AFTER if by_time else TAIL,
    )  # fmt: skip
    flown = locate_turns(
        flown, definition, established_bank=_established_bank(definition, standard, assigned)
    )
    flown = with_ground(flown, definition, given=ground, terrain=terrain, seed=seed)
    flown = locate_points(flown, definition)
    limited = Bench(Measuring(flown, definition, standard, assigned), earlier)
    free = Bench(Measuring(flown.fewer(FACT_DRAWS), definition, standard, assigned), earlier)

    def results(measures: Sequence[Measure]) -> tuple[ElementResult, ...]:
        return tuple(
            result
            for measure in measures
            if _meant_for(measure, sheet)
            for result in (limited if standard.limit(definition.kind, measure) else free).results(measure)
        )

    return Judgement(
        kind=definition.kind,
        standard=standard.name,
        points=point_results(flown, definition),
        elements=results(definition.elements),
        facts=results(definition.facts),
        places=() if flown.ground is None else flown.ground.places,
        break_speed=stall_speed.break_speed(flown) if "breaks" in flown.points[0] else None,
        slow_speed=stall_speed.slowest_flown(flown) if "slowed" in flown.points[0] and by_time else None,
        stretches=stretches_flown(limited.measuring) if by_time else (),
    )


def _meant_for(measure: Measure, sheet: AirplaneSheet | None) -> bool:
    """Whether the measure is meant for this airplane; without a sheet it is taken for a single."""
    engines = "one" if sheet is None or sheet.engines == 1 else "several"
    return measure.engines in ("any", engines)


def _established_bank(definition: Definition, standard: Standard, assigned: Assigned) -> float | None:
    """The least bank [rad] within the tolerance of its target, None where no target is published."""
    for measure in definition.elements:
        if measure.quantity.name == "bank_into_turn" and measure.against == "target":
            limit = standard.limit(definition.kind, measure)
            figure = standard.figure(definition.kind, measure.target or "")
            if limit is not None and limit.low is not None and figure is not None:
                target = figure * DEGREE if assigned.bank is None else abs(assigned.bank)
                return target + limit.low * DEGREE
    return None
