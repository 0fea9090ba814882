"""Where published limits stand in the pictures: at their point, or at the edge of what is held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing import words
from chalkwing.debriefs import ElementReport, PointReport
from chalkwing.judge import Assigned
from chalkwing.maneuvers import Definition, Standard
from chalkwing.maneuvers.schema import Measure
from chalkwing.units import DEGREE, FOOT, KNOT
from chalkwing.views.traces import Trace
from chalkwing.views.view import LimitMark

_DRAWN = {
    "altitude": "altitude_change_ft",
    "altitude_change": "altitude_change_ft",
    "airspeed": "airspeed_kt",
    "bank_into_turn": "bank_into_turn_deg",
    "bank": "bank_into_turn_deg",
    "heading": "heading_change_deg",
    "load_factor": "load_factor_g",
}
"""The picture's quantity by that of the measure; limits of other quantities stand in the table only."""


@dataclass(frozen=True)
class Held:
    """What a maneuver was held against, and where its points fell."""

    definition: Definition
    standard: Standard
    assigned: Assigned
    points: Sequence[PointReport]
    flown: Sequence[Trace]
    start_s: float

    def marks(self, elements: Sequence[ElementReport]) -> tuple[LimitMark, ...]:
        """Each limit once, in the order of the elements."""
        found: list[LimitMark] = []
        for element in elements:
            mark = self._mark(element)
            if mark is not None and not any(_same(mark, other) for other in found):
                found.append(mark)
        return tuple(found)

    def _mark(self, element: ElementReport) -> LimitMark | None:
        measure = self.definition.measure(element.id)
        if element.limit is None or measure is None or measure.quantity.name not in _DRAWN:
            return None
        about = self._about(element, measure)
        if about is None:
            return None
        low, high = element.limit
        turned, time = self._place(element, measure)
        return LimitMark(
            element=element.id,
            quantity=_DRAWN[measure.quantity.name],
            half=element.half,
            heading_change_deg=turned,
            time_s=time,
            low=None if low is None else about + low,
            high=None if high is None else about + high,
            said=words.band(element.limit, element.unit),
        )

    def _about(self, element: ElementReport, measure: Measure) -> float | None:
        """What the limit is counted from, on the picture's scale; None where that cannot be said."""
        name = measure.quantity.name
        if name == "heading":
            return self._reference_heading(element)
        if measure.against == "none":
            return 0.0
        if measure.against == "target":
            return self._target(measure)
        if measure.against != "entry" or not self.points:
            return None
        if name in ("altitude", "altitude_change"):
            assigned, entry = self.assigned.altitude, self.points[0].altitude_ft.value
            return 0.0 if assigned is None else assigned / FOOT - entry
        if name == "airspeed":
            assigned = self.assigned.airspeed
            return self.points[0].airspeed_kt.value if assigned is None else assigned / KNOT
        return None

    def _target(self, measure: Measure) -> float | None:
        if measure.quantity.name == "bank_into_turn" and self.assigned.bank is not None:
            return abs(self.assigned.bank) / DEGREE
        return self.standard.figure(self.definition.kind, measure.target or "")

    def _reference_heading(self, element: ElementReport) -> float | None:
        """The heading change at which the turn should stop: what was flown less how far past it was."""
        point = self._end(element.half)
        if point is None or element.value is None:
            return None
        return point.heading_change_deg - element.value

    def _end(self, half: int | None) -> PointReport | None:
        these = [point for point in self.points if point.half == (half or 1)]
        return these[-1] if these else None

    def _place(self, element: ElementReport, measure: Measure) -> tuple[float, float]:
        """Heading change and time of the point, or of the end of what is held."""
        name = measure.point or measure.window.last
        for point in self.points:
            if point.half == (element.half or 1) and point.name == name:
                return point.heading_change_deg, point.t_s - self.start_s
        trace = self.flown[(element.half or len(self.flown)) - 1 if element.half else -1]
        return float(trace.heading_change_deg[-1]), float(trace.time_s[-1])


def _same(one: LimitMark, other: LimitMark) -> bool:
    """The same limit of the other half, at about the same place in the picture."""
    near = abs(one.heading_change_deg - other.heading_change_deg) < 10.0
    alike = (one.element, one.quantity, one.said) == (other.element, other.quantity, other.said)
    return alike and near and one.quantity != "heading_change_deg"
