"""The closed vocabulary of functionals, computed on draws: one number per draw for each measure."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from chalkwing.judge import kernels
from chalkwing.judge.flown import GROUND_QUANTITIES, Flown
from chalkwing.judge.judgement import Assigned
from chalkwing.maneuvers.schema import Definition, Measure
from chalkwing.maneuvers.standards import Limit, Standard
from chalkwing.units import DEGREE, Floats

_COLUMN = {"mean": kernels.MEAN, "spread": kernels.SPREAD, "dwell": kernels.DWELL}
_PLACED = GROUND_QUANTITIES - {"touchdown_beyond_point", "pivotal_height", "pivotal_rule", "center_drift"}
_PLACED -= {"center_drift_across", "wind_corrected", "circle_radius", "circle_bank"}
"""Quantities that count from a place on the ground."""
_OWN = {
    "altitude": "the altitude at which each level stretch begins stands in: none was assigned",
    "heading": "the heading on which each straight stretch begins stands in: none was assigned",
    "bank": "the bank at which each turn settled stands in: none was assigned",
}
_STAND_IN = {
    "altitude": "altitude at entry stands in: none was assigned",
    "airspeed": "airspeed at entry stands in: none was assigned",
    "heading": "heading at entry stands in: none was assigned",
}
SHORT_OF_A_TURN = 30.0 * DEGREE
"""A rollout up to so far short of a whole turn is an error of the rollout, not a turn missed (our own)."""


@dataclass(frozen=True)
class Window:
    """A stretch of one part, or of the whole, as places per draw; ``part`` counts the sign of the turn."""

    part: int
    begin: Floats
    end: Floats


@dataclass
class Measuring:
    """Computes measures on one set of draws; measures of one signal and window share its statistics."""

    flown: Flown
    definition: Definition
    standard: Standard
    assigned: Assigned
    _statistics: dict[tuple[object, ...], Floats] = field(default_factory=dict)

    def limit(self, measure: Measure) -> Limit | None:
        """What is published for the measure, None for a fact."""
        return self.standard.limit(self.definition.kind, measure)

    def window(self, measure: Measure, part: int | None) -> Window:
        """The measure's window in ``part``, or across all parts where None."""
        first, last = (part, part) if part is not None else (0, len(self.flown.signs) - 1)
        asked = measure.window
        begin = self.flown.points[first][asked.first or "turn_starts"]
        end = self.flown.points[last][asked.last or "turn_stops"]
        if asked.before is not None:
            end = end if asked.last else begin
            begin = end - asked.before / self.flown.interval
        if asked.lasting is not None:
            end = begin + asked.lasting / self.flown.interval
        return Window(first, begin, end)

    def values(self, measure: Measure, part: int | None) -> Floats:
        """The measure of ``part`` (None: the whole) in every draw [SI]; ``nan`` where a draw has none."""
        if measure.functional == "at":
            at = part or 0
            places = self.flown.points[at][measure.point or ""]
            return self.flown.at(measure.quantity.name, at, places) - self.reference(measure, at)
        window = self.window(measure, part)
        if measure.functional == "duration":
            return np.asarray((window.end - window.begin) * self.flown.interval)
        if measure.functional == "rate":
            return self._rate(measure, window)
        if measure.functional == "count":
            return self._whole_turns()
        if measure.functional == "fitted":
            return self._fitted(measure, window.part)
        if measure.functional in ("change", "loss"):
            change = self._change(measure, window)
            return -change if measure.functional == "loss" else change
        return self._of_statistics(measure, window)

    def _of_statistics(self, measure: Measure, window: Window) -> Floats:
        """What the statistics of the signal over the window tell."""
        statistics = self._window_statistics(measure, window)
        if measure.functional == "where":
            when = kernels.WHEN_HIGHEST if measure.side == "highest" else kernels.WHEN_LOWEST
            return self.flown.at("heading_change", window.part, statistics[:, when])
        if measure.functional == "reversal":
            return statistics[:, kernels.RISE if measure.expected == "falling" else kernels.FALL]
        if measure.functional == "dwell":
            return np.asarray(statistics[:, kernels.DWELL] * self.flown.interval)
        if measure.functional == "spread":
            return statistics[:, kernels.SPREAD]
        if measure.functional == "swing":
            return np.asarray(statistics[:, kernels.HIGHEST] - statistics[:, kernels.LOWEST])
        if measure.functional == "departure":
            return self._departure(measure, window, statistics)
        return self._level(measure, statistics) - self.reference(measure, window.part)

    def _level(self, measure: Measure, statistics: Floats) -> Floats:
        """Mean or extremum of the signal."""
        if measure.functional == "mean":
            return statistics[:, kernels.MEAN]
        high, low = statistics[:, kernels.HIGHEST], statistics[:, kernels.LOWEST]
        if measure.magnitude:
            high, low = np.maximum(high, -low), np.maximum(np.maximum(low, -high), 0.0)
        return high if measure.side == "highest" else low

    def _whole_turns(self) -> Floats:
        """Whole turns of heading from the first start to the last stop."""
        first, last = self.flown.points[0]["turn_starts"], self.flown.points[-1]["turn_stops"]
        heading = self.flown.values["heading_true"]
        turned = np.abs(kernels.sample(heading, last) - kernels.sample(heading, first))
        return np.asarray(np.floor((turned + SHORT_OF_A_TURN) / (2.0 * np.pi)))

    def _fitted(self, measure: Measure, part: int) -> Floats:
        assert self.flown.ground is not None  # whether it is known was asked before
        return self.flown.ground.fitted(self.flown, measure.quantity.name, part)

    def _rate(self, measure: Measure, window: Window) -> Floats:
        lasted = (window.end - window.begin) * self.flown.interval
        return np.asarray(self._change(measure, window) / lasted)

    def _change(self, measure: Measure, window: Window) -> Floats:
        name, part = measure.quantity.name, window.part
        return self.flown.at(name, part, window.end) - self.flown.at(name, part, window.begin)

    def _departure(self, measure: Measure, window: Window, statistics: Floats) -> Floats:
        """The largest departure from the value at the start, on the side that is larger on the whole: each
        draw's own larger side would average two like ones to nothing."""
        begun = self.flown.at(measure.quantity.name, window.part, window.begin)
        up, down = statistics[:, kernels.HIGHEST] - begun, statistics[:, kernels.LOWEST] - begun
        if not np.isfinite(up).any():
            return up
        return up if np.nanmean(up) >= -np.nanmean(down) else down

    def _window_statistics(self, measure: Measure, window: Window) -> Floats:
        asked = measure.window
        key = (measure.quantity.name, asked, window.part, measure.each == "whole", measure.still)
        if key not in self._statistics:
            signal = self.flown.signal(measure.quantity.name, window.part)
            still = measure.still * self.flown.interval
            self._statistics[key] = kernels.window_statistics(signal, window.begin, window.end, still)
        return self._statistics[key]

    def deviation(self, measure: Measure, part: int) -> Floats:
        """How far the quantity lies from what it is held against, (draws, times) [SI]."""
        reference = self.reference(measure, part)
        return np.asarray(self.flown.signal(measure.quantity.name, part) - np.reshape(reference, (-1, 1)))

    def reference(self, measure: Measure, part: int) -> Floats:
        """What the measure is held against in every draw [SI]; zero where it stands alone."""
        name, flown = measure.quantity.name, self.flown
        if measure.against == "previous":
            return flown.at(name, part, flown.points[part]["turn_starts"])
        if measure.against == "target":
            return np.full(flown.count, self.target(measure))
        if measure.against == "entry":
            return self._heading_reference(part) if name == "heading" else self._entry(name, part)
        if measure.against == "assigned":
            return np.full(flown.count, self.assigned_value(measure) or 0.0)
        if measure.against == "own":
            return self._own_mean(measure, part)
        return np.zeros(flown.count)

    def assigned_value(self, measure: Measure) -> float | None:
        """What was assigned for the measure's quantity [SI], None if nothing was or it is not used here."""
        if measure.against not in ("assigned", "own"):
            return None
        value = getattr(self.assigned, measure.quantity.name, None)
        return None if value is None else float(value)

    def _own_mean(self, measure: Measure, part: int) -> Floats:
        """What was assigned, else the quantity's own mean over the measure's window."""
        assigned = self.assigned_value(measure)
        if assigned is not None:
            return np.full(self.flown.count, assigned)
        window = self.window(measure, None if measure.each == "whole" else part)
        return self._window_statistics(measure, window)[:, kernels.MEAN]

    def _entry(self, name: str, part: int) -> Floats:
        given = getattr(self.assigned, name, None) if name in _STAND_IN else None
        if given is not None:
            return np.full(self.flown.count, float(given))
        return self.flown.at(name, part, self.flown.points[0]["turn_starts"])

    def _heading_reference(self, part: int) -> Floats:
        """Where ``part`` should end: the entry heading and the turns until then, signed as it turns."""
        flown, turns = self.flown, self.definition.turns
        entry = flown.points[0]["turn_starts"]
        heading = kernels.sample(flown.values["heading_true"], entry)
        if self.assigned.heading is not None and "heading_magnetic" in flown.values:
            magnetic = kernels.sample(flown.values["heading_magnetic"], entry)
            off = self.assigned.heading - magnetic
            heading = heading + np.arctan2(np.sin(off), np.cos(off))
        turned = sum(flown.signs[earlier] * turns.angle for earlier in range(part + 1))
        return np.asarray(flown.signs[part] * (heading + turned))

    def target(self, measure: Measure) -> float:
        """The assigned or published target [SI]; ``nan`` where there is neither."""
        if measure.quantity.name == "bank_into_turn" and self.assigned.bank is not None:
            return abs(self.assigned.bank)
        figure = self.standard.figure(self.definition.kind, measure.target or "")
        return float("nan") if figure is None else figure * measure.quantity.scale

    def note(self, measure: Measure) -> str | None:
        """What stood in for a value that was not assigned."""
        name = measure.quantity.name
        if measure.against == "entry" and name in _STAND_IN and getattr(self.assigned, name) is None:
            return _STAND_IN[name]
        if measure.against == "own" and getattr(self.assigned, name, None) is None:
            in_turns = f"its own mean over the {self.definition.title.lower()} stands in: none was assigned"
            return _OWN.get(name) if self.definition.progress == "time" else in_turns
        if measure.against == "target" and self.assigned.bank is None:
            target = self.target(measure) / DEGREE
            return None if np.isnan(target) else f"about {target:.0f}° stands in: no bank was assigned"
        ground = self.flown.ground
        if name in _PLACED and ground is not None and not ground.given:
            return "about the place fitted to this flight: none was given"
        return None
