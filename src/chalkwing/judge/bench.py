"""One measure held against its limit on joint posterior draws: as a number of each draw, or over a stretch.

The rules and their reasons are in ``docs/decisions/0004-verdicts-from-joint-draws.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.find.occurrence import Occurrence
from chalkwing.judge import facts, stall_facts, unjudged, verdict
from chalkwing.judge.doubts import doubt_between, doubt_of
from chalkwing.judge.flown import Flown
from chalkwing.judge.held import Held, hold
from chalkwing.judge.holding import Holding, holding
from chalkwing.judge.judgement import ElementResult, Verdict
from chalkwing.judge.measures import Measuring
from chalkwing.judge.over_draws import moments
from chalkwing.judge.results import from_fact, inapplicable, result
from chalkwing.judge.unseen import unseen
from chalkwing.maneuvers.schema import Definition, Measure
from chalkwing.maneuvers.standards import Limit
from chalkwing.maneuvers.vocabulary import UNITS
from chalkwing.units import Floats


@dataclass(frozen=True)
class Bench:
    """Where the measures of one occurrence are judged; ``earlier`` are the maneuvers found before it."""

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
        if self.measuring.limit(measure) is not None:
            missing = range(flown_parts, self.definition.turns.count)
            results += [self._valueless(measure, part, "broken off before this half") for part in missing]
        return results

    def _judged(self, measure: Measure, part: int | None) -> ElementResult:
        beside = self._fact(measure)
        if beside is not None:
            return from_fact(measure, beside)
        name = measure.quantity.name
        if measure.functional != "duration" and not self.flown.holds(name):
            return self._valueless(measure, part, unjudged.not_held(measure))
        unplaced = unjudged.unplaced(self.measuring, measure, part)
        if unplaced is not None:
            return self._valueless(measure, part, unplaced)
        if measure.against == "target" and np.isnan(self.measuring.target(measure)):
            return self._valueless(measure, part, "no target is published or assigned")
        if measure.against == "assigned" and measure.functional != "worst" and self._unassigned(measure):
            return inapplicable(self.measuring, measure, f"no {name} was assigned")
        if measure.functional == "worst" and self.definition.progress == "time":
            return self._held_in_stretches(measure)
        if measure.functional == "worst":
            return self._held(measure, part)
        return self._plain(measure, part)

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

    def _valueless(self, measure: Measure, part: int | None, reason: str) -> ElementResult:
        return result(self.measuring, measure, part, None, reason=reason)

    def _unassigned(self, measure: Measure) -> bool:
        return self.measuring.assigned_value(measure) is None

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
            return self._valueless(measure, part, unjudged.never_reached(self.measuring, measure))
        limit = self.measuring.limit(measure)
        if limit is None:
            return result(self.measuring, measure, part, values)
        unfit = unjudged.unfit(self.measuring, measure, part)
        unfit = unfit or unjudged.unassigned_heading(self.measuring, measure, values)
        if unfit is not None:
            return result(self.measuring, measure, part, values, reason=unfit)
        further = unseen(self.measuring, measure, part, values)
        probability = verdict.chance_inside(values, limit.band, further)
        doubt = doubt_of(self.measuring, measure, part, limit)
        ruling = verdict.decide(probability, doubt)
        value, sd = moments(values)
        if ruling == "cannot_tell":
            reason = verdict.why_in_doubt(value, float(np.hypot(sd, further)), doubt)
        else:
            reason = verdict.why_at_point(value, measure.unit, limit.band, ruling)
        return result(
            self.measuring, measure, part, values,
            probability=probability, ruling=ruling, reason=reason, further=further,
        )  # fmt: skip

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
        limit, measuring, flown = self.measuring.limit(measure), self.measuring, self.flown
        window = measuring.window(measure, part)
        deviation = measuring.deviation(measure, part or 0) / measure.quantity.scale
        rules = measuring.standard.held
        band = (0.0, 0.0) if limit is None else limit.band
        held = hold(deviation, window.begin, window.end, interval=flown.interval, band=band, rules=rules)
        if np.mean(held.known) < 0.5:
            return self._valueless(measure, part, "this stretch was not flown")
        if limit is None:
            return result(self.measuring, measure, part, held.worst, between=held.between())
        unfit = unjudged.unfit(self.measuring, measure, part)
        if unfit is not None:
            return result(
                self.measuring, measure, part, held.worst, between=held.between(),
                excursions=held.excursions(), reason=unfit,
            )  # fmt: skip
        return self._ruled(measure, part, held, limit, doubt_of(measuring, measure, part, limit))

    def _held_in_stretches(self, measure: Measure) -> ElementResult:
        """A limit to be held over the stretches of a spell for which it is meant."""
        limit, rules = self.measuring.limit(measure), self.measuring.standard.held
        band = (0.0, 0.0) if limit is None else limit.band
        found = holding(self.measuring, measure, band, rules)
        if found is None or np.mean(found.held.known) < 0.5:
            return inapplicable(self.measuring, measure, unjudged.NOT_FLOWN[measure.during])
        held = found.held
        if limit is None:
            return result(self.measuring, measure, None, held.worst, between=held.between())
        doubt = doubt_between(self.measuring, measure, limit, found)
        if found.fit is not None:
            return self._without_target(measure, limit, found, doubt)
        return self._ruled(measure, None, held, limit, doubt)

    def _ruled(
        self, measure: Measure, part: int | None, held: Held, limit: Limit, doubt: verdict.Doubt
    ) -> ElementResult:
        """Whether the limit was held, by the share of draws in which it was."""
        rules = self.measuring.standard.held
        probability = float(np.mean(held.met))
        ruling = verdict.decide(probability, doubt)
        if ruling == "cannot_tell":
            reason = verdict.why_held_in_doubt(held, doubt, rules)
        else:
            reason = verdict.why_held(held, measure.unit, limit.band, rules, ruling)
        return result(
            self.measuring, measure, part, held.worst,
            probability=probability, ruling=ruling, reason=reason, between=held.between(),
            excursions=held.excursions(),
        )  # fmt: skip

    def _without_target(
        self, measure: Measure, limit: Limit, found: Holding, doubt: verdict.Doubt
    ) -> ElementResult:
        """Nothing was assigned. That no value at all lies in the band throughout can still be told."""
        name, unit = measure.quantity.name, measure.unit
        best = verdict.speak((found.best or 0.0) / UNITS[unit], unit)
        if (found.fit or 0.0) > verdict.SURE_NOT_MET or doubt.gap >= verdict.HIDDEN:
            reason = f"no {name} was assigned; about {best} would fit best"
            return result(self.measuring, measure, None, None, reason=reason)
        ruling: Verdict = "not_met"
        why = verdict.why_held(found.held, unit, limit.band, self.measuring.standard.held, ruling)
        return result(
            self.measuring, measure, None, found.held.worst, probability=found.fit, ruling=ruling,
            reason=f"whatever {name} was assigned: against {best}, which fits best, {why}",
            between=found.held.between(), excursions=found.held.excursions(),
        )  # fmt: skip
