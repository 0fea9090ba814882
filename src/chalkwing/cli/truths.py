"""The demo's comparison: which maneuvers were found, and how near their values came to the truth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from chalkwing.debriefs import Debrief, ElementReport, ManeuverReport
from chalkwing.refly.figures import FLOWN_WELL, FlownManeuver
from chalkwing.refly.scenario import Lesson
from chalkwing.refly.truth import TrueValue, true_values
from chalkwing.words import SURE

SAME = 0.5
"""Overlap (intersection over union) from which a found maneuver is taken for a flown one."""


@dataclass(frozen=True)
class TrueManeuver:
    """A maneuver as it was really flown; ``found_as`` is its place in the debrief's list, if it was found."""

    kind: str
    remark: str
    start_s: float
    end_s: float
    values: tuple[TrueValue, ...]
    found_as: int | None

    @property
    def faulty(self) -> bool:
        """Whether it was flown with a fault on purpose."""
        return self.remark != FLOWN_WELL


@dataclass(frozen=True)
class Compared:
    """The truth beside a debrief."""

    maneuvers: tuple[TrueManeuver, ...]
    debrief: Debrief

    @property
    def by_place(self) -> Mapping[int, Mapping[tuple[str, int | None], float]]:
        """True values by the found maneuver's place in the debrief."""
        return {
            true.found_as: {(value.id, value.half): value.value for value in true.values}
            for true in self.maneuvers
            if true.found_as is not None
        }

    def pairs(self) -> Iterator[tuple[TrueValue, ElementReport]]:
        """Every true value with the element that judged it."""
        for true in self.maneuvers:
            if true.found_as is None:
                continue
            for value in true.values:
                for element in self.debrief.maneuvers[true.found_as].elements:
                    if element.id == value.id and element.half in (value.half, value.half or 1):
                        yield value, element

    def said(self) -> Iterator[str]:
        """The comparison in sentences."""
        found = sum(true.found_as is not None for true in self.maneuvers)
        extra = len(self.debrief.maneuvers) - found
        yield (
            f"Of {len(self.maneuvers)} maneuvers flown {found} were found"
            + (f", and {extra} more that nobody flew." if extra else ", and none that nobody flew.")
        )
        off = [
            abs(value.value - element.value) / element.sd
            for value, element in self.pairs()
            if element.value is not None and element.sd
        ]
        near = sum(each <= SURE for each in off)
        yield f"Of {len(off)} values {near} lie within their ± of the truth (about 95 in 100 should)."
        wrong = [element.title for value, element in self.pairs() if contradicts(value, element)]
        yield f"Verdicts that contradict the truth: {len(wrong)}{': ' + '; '.join(wrong) if wrong else ''}."
        faults = [f"{true.kind.replace('_', ' ')}: {true.remark}" for true in self.maneuvers if true.faulty]
        yield f"Faults flown on purpose: {'; '.join(faults)}."


def contradicts(value: TrueValue, element: ElementReport) -> bool:
    """Whether a verdict on a point value says the opposite of the truth.

    Held limits are left out: a brief, corrected excursion is met though its worst value is outside.
    """
    if element.limit is None or element.excursions is not None or element.verdict in (None, "cannot_tell"):
        return False
    low, high = element.limit
    inside = (low is None or value.value >= low) and (high is None or value.value <= high)
    return inside != (element.verdict == "met")


def compare(debrief: Debrief, lesson: Lesson) -> Compared:
    """Set ``debrief`` beside the truth of the ``lesson`` that was recorded."""
    kind = debrief.flights[0].altitude_kind
    maneuvers = tuple(
        TrueManeuver(
            kind=flown.kind,
            remark=flown.remark,
            start_s=flown.start,
            end_s=flown.end,
            values=true_values(
                lesson, flown, altitude_kind="altimeter" if kind == "altimeter" else "geometric"
            ),
            found_as=_found_as(flown, debrief.maneuvers),
        )
        for flown in lesson.maneuvers
    )
    return Compared(maneuvers, debrief)


def _found_as(flown: FlownManeuver, found: tuple[ManeuverReport, ...]) -> int | None:
    for place, report in enumerate(found):
        common = min(flown.end, report.end_s) - max(flown.start, report.start_s)
        either = max(flown.end, report.end_s) - min(flown.start, report.start_s)
        if report.kind == flown.kind and common >= SAME * either:
            return place
    return None
