"""What the debrief says of each element, beside what is true of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, cast

import numpy as np
from tests.flights.accuracy.lesson import Lesson, truth_motion
from tests.flights.truth import TruthManeuver

from chalkwing.find import Occurrence, Part
from chalkwing.find.occurrence import Border, Direction
from chalkwing.judge import ElementResult, Judgement, judge
from chalkwing.maneuvers import Definition, Standard
from chalkwing.maneuvers.vocabulary import EVENTS
from chalkwing.motion.motion import AltitudeKind, Motion
from chalkwing.units import DEGREE, FOOT, KNOT

AT_PART_END = {
    "altitude_at_180": "altitude",
    "airspeed_at_180": "airspeed",
    "heading_at_180": "heading",
    "rollout_heading": "heading",
}
"""Elements that are judged at the end of a part: their truth is measured there by the generator."""


@dataclass(frozen=True)
class TrueElement:
    """What is true of one element: its value in the element's unit, and whether the limit was met.

    ``ruled`` is what the judge itself reads from the perfect flight between the true edges. For held limits
    it is the truth; at points it tells how far the two definitions of an edge lie apart.
    """

    value: float
    met: bool
    ruled: float | None


@dataclass(frozen=True)
class Truth:
    """Answers what is true of the elements of a lesson's maneuvers."""

    lesson: Lesson
    definitions: dict[str, Definition]
    standard: Standard
    altitude_kind: AltitudeKind
    judged: dict[float, Judgement] = field(default_factory=dict)

    @cached_property
    def motion(self) -> Motion:
        return truth_motion(self.lesson, self.altitude_kind)

    def of(self, maneuver: TruthManeuver, element: ElementResult) -> TrueElement | None:
        """The truth of one element; None where the maneuver did not get that far."""
        assert element.limit is not None
        ruled = self._judged(maneuver).element(element.id, element.half)
        if element.id in AT_PART_END:
            value = self._at_part_end(maneuver, (element.half or 1) - 1, AT_PART_END[element.id])
            low, high = element.limit
            met = (low is None or value >= low) and (high is None or value <= high)
            return TrueElement(value, met, ruled.value)
        if ruled.value is None or ruled.verdict is None:
            return None
        return TrueElement(same_side(element, ruled), ruled.verdict == "met", ruled.value)

    def _at_part_end(self, maneuver: TruthManeuver, part: int, what: str) -> float:
        flown = maneuver.parts[part]
        if what == "heading":
            return flown.heading_error / DEGREE
        if what == "airspeed":
            return flown.airspeed_error / KNOT
        if self.altitude_kind == "altimeter":
            return flown.altitude_error / FOOT
        ends = np.array([maneuver.start, flown.end])
        return float(np.diff(self.lesson.at("geometric_altitude", ends))[0] / FOOT)

    def _judged(self, maneuver: TruthManeuver) -> Judgement:
        """The judge's own rules on the true series, between the true edges."""
        if maneuver.start not in self.judged:
            definition = self.definitions[maneuver.kind]
            occurrence = true_occurrence(maneuver)
            self.judged[maneuver.start] = judge(self.motion, occurrence, definition, self.standard, draws=1)
        return self.judged[maneuver.start]


def same_side(said: ElementResult, ruled: ElementResult) -> float | None:
    """What is true of the number told: of a deviation that is held, how far it truly went to the side told.

    Wings that rock 3° either way have no worse side, and which of both is told is chance.
    """
    if said.between is None or ruled.between is None or said.value is None:
        return ruled.value
    return min(zip(said.between, ruled.between, strict=True), key=lambda both: abs(both[0] - said.value))[1]


def true_occurrence(maneuver: TruthManeuver) -> Occurrence:
    """The maneuver as a finder without error would hand it over."""
    parts = tuple(
        Part(cast("Direction", part.direction), part.start, part.end, 0.0, 0.0) for part in maneuver.parts
    )
    borders = tuple(
        Border(event, time, 0.0)
        for event, time in sorted(_events(maneuver).items(), key=lambda border: border[1])
        if event in EVENTS
    )
    return Occurrence(
        kind=maneuver.kind,
        direction=parts[0].direction,
        start=maneuver.start,
        end=maneuver.end,
        start_sd=0.0,
        end_sd=0.0,
        probability=1.0,
        status="complete" if maneuver.status == "complete" else "broken_off",
        parts=parts,
        chained=maneuver.chained,
        borders=borders,
    )


def _events(maneuver: TruthManeuver) -> dict[str, float]:
    """The borders of a maneuver that goes by time; a stall's last is the lowest point of its recovery."""
    if maneuver.kind.endswith("_stall"):
        return {**maneuver.borders, "lowest": maneuver.end}
    if maneuver.kind == "slow_flight":
        return {"slowed": maneuver.borders["slowed"], "ends": maneuver.end}
    return maneuver.borders if maneuver.kind == "emergency_descent" else {}


def compare(truth: Truth, maneuver: TruthManeuver, judgement: Judgement) -> list[dict[str, Any]]:
    """A record for each element with a limit: what was said, what is true."""
    records = []
    for element in judgement.elements:
        if element.limit is None:
            continue
        true = truth.of(maneuver, element)
        if true is not None:
            records.append(
                {
                    "kind": maneuver.kind,
                    "id": element.id,
                    "half": element.half,
                    "start": maneuver.start,
                    "limit": element.limit,
                    "value": element.value,
                    "sd": element.sd,
                    "true_value": true.value,
                    "ruled_value": true.ruled,
                    "probability_met": element.probability_met,
                    "verdict": element.verdict,
                    "met": true.met,
                    "reason": element.reason,
                }
            )
    return records
