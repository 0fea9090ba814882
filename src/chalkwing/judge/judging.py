"""Elements and facts of one occurrence, held against a standard on joint posterior draws.

    draws --points--> places per draw --measures--> numbers per draw --verdict--> ElementResult

The rules and their reasons are in ``docs/decisions/0004-verdicts-from-joint-draws.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.find.occurrence import Occurrence
from chalkwing.judge import facts, spells, stall_facts, stall_speed, verdict
from chalkwing.judge.flown import GROUND_QUANTITIES, TAIL, Flown, Terrain, draw, moments
from chalkwing.judge.ground_estimates import with_ground
from chalkwing.judge.ground_reference import GroundReference
from chalkwing.judge.held import hold
from chalkwing.judge.holding import Holding, holding
from chalkwing.judge.judgement import Assigned, ElementResult, Excursions, Judgement, Verdict
from chalkwing.judge.measures import Measuring
from chalkwing.judge.over_ground import NEEDED
from chalkwing.judge.points import LEVELING_BANK, locate_points, locate_turns, point_results
from chalkwing.maneuvers.schema import Definition, Measure
from chalkwing.maneuvers.standards import Limit, Standard
from chalkwing.maneuvers.vocabulary import UNITS, During
from chalkwing.motion.motion import Motion, Origin
from chalkwing.units import DEGREE, Floats

FAR_FROM_ENTRY = 45.0
"""A rollout so many degrees from the entry heading was meant for another one (our own)."""
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


_ABSENT = {
    "downwind": "never straight down the wind in the held turn, or too little wind to say",
    "upwind": "never straight into the wind in the held turn, or too little wind to say",
    "crossing": "the line was not crossed about the end of this turn",
    "throttle_closed": "the recording does not tell when the power came off",
    "next_turn_starts": "no turn followed",
}
"""Why a place that not every part has is not there, by its name."""

_EXTREMES = ("extremum", "departure")
BETWEEN_ROWS = {"load_factor": 0.1, "wing_drop": 1.5 * DEGREE, "bank": 0.7 * DEGREE}
"""How far an extreme may go beyond what rows a second apart can show [SI], in what is over in seconds. Held
to simulated stalls (docs/decisions/0018)."""
_NOT_FLOWN: dict[During, str] = {
    "any": "this stretch was not flown",
    "level": "no level stretch to hold an altitude in",
    "straight": "no straight stretch: there was no heading to hold",
    "turning": "no turn: there was no bank to hold",
}


@dataclass(frozen=True)
class Bench:
    """Where the measures of one occurrence are judged."""

    measuring: Measuring
    earlier: Sequence[Occurrence]

    @property
    def flown(self) -> Flown:
        """The draws."""
        return self.measuring.flown

    @property
    def definition(self) -> Definition:
        """The maneuver."""
        return self.measuring.definition

    def results(self, measure: Measure) -> list[ElementResult]:
        """The measure judged: one result for each part, for the last, for each step, or for the whole."""
        flown_parts = len(self.flown.signs)
        if measure.each == "last":
            return [self._judged(measure, flown_parts - 1)]
        if measure.each == "step":
            return [self._judged(measure, part) for part in range(1, flown_parts)]
        if measure.each != "part" or self.definition.progress == "time":
            return [self._judged(measure, None)]
        results = [self._judged(measure, part) for part in range(flown_parts)]
        if self._limit(measure) is not None:
            missing = range(flown_parts, self.definition.turns.count)
            results += [self._valueless(measure, part, "broken off before this half") for part in missing]
        return results

    def _limit(self, measure: Measure) -> Limit | None:
        return self.measuring.standard.limit(self.definition.kind, measure)

    def _judged(self, measure: Measure, part: int | None) -> ElementResult:
        beside = self._fact(measure)
        if beside is not None:
            return self._from_fact(measure, beside)
        name = measure.quantity.name
        if measure.functional != "duration" and not self.flown.holds(name):
            return self._valueless(measure, part, self._why_not_held(measure))
        unplaced = self._unplaced(measure, part)
        if unplaced is not None:
            return self._valueless(measure, part, unplaced)
        if measure.against == "target" and np.isnan(self.measuring.target(measure)):
            return self._valueless(measure, part, "no target is published or assigned")
        if measure.against == "assigned" and measure.functional != "worst" and self._unassigned(measure):
            return self._inapplicable(measure, f"no {name} was assigned")
        if measure.functional == "worst" and self.definition.progress == "time":
            return self._held_in_stretches(measure)
        if measure.functional == "worst":
            return self._held(measure, part)
        return self._plain(measure, part)

    def _unplaced(self, measure: Measure, part: int | None) -> str | None:
        """Why a quantity that counts from the ground does not exist for this part; None where it does."""
        name, flown = measure.quantity.name, self.flown
        if name not in GROUND_QUANTITIES:
            return None
        if flown.ground is None:
            return "this recording has no positions"
        asked = {part or 0, max((part or 0) - 1, 0)} if measure.each == "step" else {part or 0}
        if part is None:
            asked = set(range(len(flown.signs)))
        lacking = [flown.ground.lacks(flown, name, each) for each in sorted(asked)]
        return next((reason for reason in lacking if reason is not None), None)

    def _fact(self, measure: Measure) -> facts.Fact | None:
        """The facts that are not read from the draws."""
        flown = self.flown
        if measure.functional == "seen" and measure.quantity.name in stall_facts.SEEN:
            return stall_facts.SEEN[measure.quantity.name](flown)
        if measure.functional == "regained":
            return stall_facts.altitude_regained(flown, self.measuring.assigned.altitude)
        if measure.functional == "seen":
            return facts.clearing_turns(flown.motion, flown.occurrence, self.earlier)
        if measure.functional == "moved":
            return facts.throttle_moved(flown.motion, flown.occurrence.start, flown.occurrence.end)
        if measure.against == "first_entry":
            return facts.drift(flown.motion, measure, flown.occurrence, self.earlier)
        return None

    def _from_fact(self, measure: Measure, fact: facts.Fact) -> ElementResult:
        return ElementResult(
            id=measure.id,
            title=measure.title,
            half=None,
            unit=fact.unit,
            value=fact.value,
            sd=fact.sd,
            origin=None if fact.value is None else fact.origin,
            reason=fact.reason,
        )

    def _why_not_held(self, measure: Measure) -> str:
        if measure.quantity.needs == "terrain":
            return "no terrain given: height above ground is not known"
        if measure.quantity.needs == "sheet":
            return "no airplane sheet given: the stall speed is not known"
        if measure.quantity.needs == "ball":
            return "no lateral load recorded"
        if measure.quantity.needs == "power":
            return "no power recorded"
        return f"{measure.quantity.name.replace('_', ' ')} is not known from this recording"

    def _valueless(self, measure: Measure, part: int | None, reason: str) -> ElementResult:
        return self._result(measure, part, None, reason=reason)

    def _unassigned(self, measure: Measure) -> bool:
        return self.measuring.assigned_value(measure) is None

    def _inapplicable(self, measure: Measure, reason: str) -> ElementResult:
        """No limit can hold here: neither value nor verdict, but why."""
        return replace(
            self._result(measure, None, None, reason=reason),
            limit=None, verdict=None, document=None, edition=None, task=None, note=None,
        )  # fmt: skip

    def _plain(self, measure: Measure, part: int | None) -> ElementResult:
        """A measure that is one number per draw: inside its limit or not."""
        if measure.each == "left_minus_right":
            values = self._left_minus_right(measure)
        elif measure.each == "step" and part:
            values = self.measuring.values(measure, part) - self.measuring.values(measure, part - 1)
        else:
            values = self.measuring.values(measure, part)
        values = values / UNITS[measure.unit]
        if np.mean(np.isfinite(values)) < 0.5:
            return self._valueless(measure, part, self._never_reached(measure, part))
        limit = self._limit(measure)
        if limit is None:
            return self._result(measure, part, values)
        unfit = self._unfit(measure, part) or self._unassigned_heading(measure, values)
        if unfit is not None:
            return self._result(measure, part, values, reason=unfit)
        within = verdict.inside(values, limit.band)
        probability = float(np.mean(within))
        doubt = self._doubt(measure, part, limit)
        ruling = verdict.decide(probability, doubt)
        value, sd = moments(values)
        if ruling == "cannot_tell":
            reason = verdict.why_in_doubt(value, sd, doubt)
        else:
            reason = verdict.why_at_point(value, measure.unit, limit.band, ruling)
        return self._result(measure, part, values, probability=probability, ruling=ruling, reason=reason)

    def _left_minus_right(self, measure: Measure) -> Floats:
        """The mean of the left turns less that of the right ones, whichever came first; never one end of a
        turn against the other."""
        signs = self.flown.signs
        if set(signs) != {-1, 1}:
            return np.full(self.flown.count, np.nan)
        left, right = (
            np.mean(
                [self.measuring.values(measure, part) for part, each in enumerate(signs) if each == side],
                axis=0,
            )
            for side in (-1, 1)
        )
        return np.asarray(left - right)

    def _held(self, measure: Measure, part: int | None) -> ElementResult:
        """A limit to be held over a window; without a limit, the worst deviation alone."""
        limit, measuring, flown = self._limit(measure), self.measuring, self.flown
        window = measuring.window(measure, part)
        deviation = measuring.deviation(measure, part or 0) / measure.quantity.scale
        rules = measuring.standard.held
        band = (0.0, 0.0) if limit is None else limit.band
        held = hold(deviation, window.begin, window.end, interval=flown.interval, band=band, rules=rules)
        if np.mean(held.known) < 0.5:
            return self._valueless(measure, part, "this stretch was not flown")
        if limit is None:
            return self._result(measure, part, held.worst)
        unfit = self._unfit(measure, part)
        if unfit is not None:
            return self._result(measure, part, held.worst, excursions=held.excursions(), reason=unfit)
        probability = float(np.mean(held.met))
        doubt = self._doubt(measure, part, limit)
        ruling = verdict.decide(probability, doubt)
        if ruling == "cannot_tell":
            reason = verdict.why_held_in_doubt(held, doubt, rules)
        else:
            reason = verdict.why_held(held, measure.unit, band, rules, ruling)
        return self._result(
            measure, part, held.worst,
            probability=probability, ruling=ruling, reason=reason, excursions=held.excursions(),
        )  # fmt: skip

    def _held_in_stretches(self, measure: Measure) -> ElementResult:
        """A limit to be held over the stretches of a spell for which it is meant."""
        limit, rules = self._limit(measure), self.measuring.standard.held
        band = (0.0, 0.0) if limit is None else limit.band
        found = holding(self.measuring, measure, band, rules)
        if found is None or np.mean(found.held.known) < 0.5:
            return self._inapplicable(measure, _NOT_FLOWN[measure.during])
        held = found.held
        if limit is None:
            return self._result(measure, None, held.worst)
        doubt = self._doubt_between(measure, limit, found)
        if found.fit is not None:
            return self._without_target(measure, limit, found, doubt)
        probability = float(np.mean(held.met))
        ruling = verdict.decide(probability, doubt)
        if ruling == "cannot_tell":
            reason = verdict.why_held_in_doubt(held, doubt, rules)
        else:
            reason = verdict.why_held(held, measure.unit, band, rules, ruling)
        return self._result(
            measure, None, held.worst,
            probability=probability, ruling=ruling, reason=reason, excursions=held.excursions(),
        )  # fmt: skip

    def _without_target(
        self, measure: Measure, limit: Limit, found: Holding, doubt: verdict.Doubt
    ) -> ElementResult:
        """Nothing was assigned. That no value at all lies in the band throughout can still be told."""
        name, unit = measure.quantity.name, measure.unit
        best = verdict.speak((found.best or 0.0) / UNITS[unit], unit)
        if (found.fit or 0.0) > verdict.SURE_NOT_MET or doubt.gap >= verdict.HIDDEN:
            reason = f"no {name} was assigned; about {best} would fit best"
            return self._result(measure, None, None, reason=reason)
        ruling: Verdict = "not_met"
        why = verdict.why_held(found.held, unit, limit.band, self.measuring.standard.held, ruling)
        return self._result(
            measure, None, found.held.worst, probability=found.fit, ruling=ruling,
            reason=f"whatever {name} was assigned: against {best}, which fits best, {why}",
            excursions=found.held.excursions(),
        )  # fmt: skip

    def _doubt_between(self, measure: Measure, limit: Limit, found: Holding) -> verdict.Doubt:
        flown = self.flown
        begin, end = flown.start + flown.interval * found.begin, flown.start + flown.interval * found.end
        return verdict.Doubt(
            quantity=measure.quantity.name,
            unit=measure.unit,
            band=limit.band,
            derived=flown.origin(measure.quantity.name) == "derived",
            gap=verdict.gap_within(flown.motion, begin, end),
            hides="part of it",
        )

    def _result(
        self,
        measure: Measure,
        part: int | None,
        values: Floats | None,
        *,
        probability: float | None = None,
        ruling: Verdict | None = None,
        reason: str | None = None,
        excursions: Excursions | None = None,
    ) -> ElementResult:
        """The result in the measure's unit; a limit that could not be decided is one that cannot be told."""
        limit = self._limit(measure)
        if values is not None and measure.remark and limit is None:
            beyond = abs(moments(values)[0]) * UNITS[measure.unit] > measure.remark_beyond
            reason = measure.remark if beyond else reason
        if limit is not None and measure.quantity.needs in ("terrain", "sheet") and values is None:
            limit = None  # without terrain or sheet this is no element
        value, sd = (None, None) if values is None else moments(values)
        if sd is not None and self.definition.progress == "time" and measure.functional in _EXTREMES:
            sd = float(np.hypot(sd, BETWEEN_ROWS.get(measure.quantity.name, 0.0) / UNITS[measure.unit]))
        return ElementResult(
            id=measure.id,
            title=measure.title,
            half=None if part is None else part + 1,
            unit=measure.unit,
            value=value,
            sd=sd,
            origin=None if values is None else self._origin(measure),
            limit=limit.band if limit else None,
            excursions=excursions,
            probability_met=probability,
            verdict=ruling if ruling or limit is None else "cannot_tell",
            reason=reason,
            document=limit.document if limit else None,
            edition=limit.edition if limit else None,
            task=limit.task if limit else None,
            note=None if values is None and limit is None else self.measuring.note(measure),
        )

    def _origin(self, measure: Measure) -> Origin:
        return "derived" if measure.functional == "duration" else self.flown.origin(measure.quantity.name)

    def _never_reached(self, measure: Measure, part: int | None) -> str:
        if measure.each == "left_minus_right":
            return "needs one loop each way"
        if self.flown.occurrence.status == "broken_off":
            return "broken off before this point"
        for name in (measure.point, measure.window.first, measure.window.last):
            if name in _ABSENT:
                return _ABSENT[name]
        return "this point was not reached"

    def _unfit(self, measure: Measure, part: int | None) -> str | None:
        """Why this part cannot be held against the limit at all, though it has a value."""
        broken = self.flown.occurrence.status == "broken_off"
        if part is None:
            in_all = measure.functional in ("worst", "count") and self.definition.progress != "time"
            return f"broken off in turn {len(self.flown.signs)}" if broken and in_all else None
        angle = self.definition.turns.angle
        stop = self.flown.points[part]["turn_stops"]
        turned = float(np.nanmedian(self.flown.at("heading_change", part, stop)))
        if broken and turned < self.definition.finder.complete_share * angle:
            return f"broken off after {turned / DEGREE:.0f}° of {angle / DEGREE:.0f}°"
        at_end = measure.point and self.definition.point(measure.point).where.event == "turn_stops"
        level = abs(float(np.nanmedian(self.flown.at("bank_into_turn", part, stop))))
        if at_end and level > LEVELING_BANK:
            return "the turn went on here: there was no rollout to judge"
        return None

    def _unassigned_heading(self, measure: Measure, values: Floats) -> str | None:
        """Why a rollout far from the entry heading cannot be judged: it may have been meant."""
        assigned = self.measuring.assigned.heading is not None
        if measure.each != "last" or measure.quantity.name != "heading" or assigned:
            return None
        if abs(float(np.nanmedian(values))) <= FAR_FROM_ENTRY:
            return None
        return "no rollout heading was assigned, and this is far from the entry heading"

    def _doubt(self, measure: Measure, part: int | None, limit: Limit) -> verdict.Doubt:
        begin, end, hides = self._stretch(measure, part)
        return verdict.Doubt(
            quantity=measure.quantity.name,
            unit=measure.unit,
            band=limit.band,
            derived=self.flown.origin(measure.quantity.name) == "derived",
            gap=verdict.gap_within(self.flown.motion, begin, end),
            hides=hides,
        )

    def _stretch(self, measure: Measure, part: int | None) -> tuple[float, float, str]:
        """The times [s] that decide the measure, and what to call them."""
        if measure.point is not None:
            places = self.flown.points[part or 0][measure.point]
            middle = float(np.nanmedian(self.flown.time(places)))
            return middle - 0.5, middle + 0.5, f"the {self.definition.point(measure.point).title}"
        window = self.measuring.window(measure, part)
        begin, end = (float(np.nanmedian(self.flown.time(at))) for at in (window.begin, window.end))
        return begin, end, "part of it"
