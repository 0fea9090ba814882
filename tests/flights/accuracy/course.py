"""What counts as flown in whole lessons and in ordinary flights, kind by kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from tests.flights.accuracy.lesson import TURN_OF, Lesson
from tests.flights.truth import TruthManeuver

from chalkwing.find import Occurrence

THREE = ("lazy_eight", "chandelle", "steep_turn")
"""All that the older lessons ask for; what else may be found in them their truth does not tell."""
KINDS = (
    *THREE,
    "steep_spiral",
    "eights_on_pylons",
    "turns_around_a_point",
    "s_turns",
    "rectangular_course",
    "slow_flight",
    "power_off_stall",
    "power_on_stall",
    "accelerated_stall",
    "power_off_180",
    "emergency_descent",
    "clearing_turns",
)
HARD_BY_TRACK = (
    "power_off_stall",
    "power_on_stall",
    "accelerated_stall",
    "slow_flight",
    "clearing_turns",
    "power_off_180",
)
"""Of these a track alone is asked for less."""
WHOLE_TURNING = {
    **TURN_OF,
    "steep_spiral": 6 * np.pi,
    "turns_around_a_point": 2 * np.pi,
    "clearing_turns": np.pi,
    "power_off_180": np.pi,
}
WHOLE_PARTS = {"s_turns": 2, "eights_on_pylons": 2, "rectangular_course": 4}
WHOLE_SECONDS = {"slow_flight": 60.0, "emergency_descent": 40.0}


def target(kind: str, column: str) -> float:
    """F1 asked for."""
    if column == "avionics":
        return 0.97
    return 0.80 if kind in HARD_BY_TRACK else 0.93


def share_flown(lesson: Lesson, maneuver: TruthManeuver) -> float:
    """How much was flown of a maneuver that was given up; a stall that never came near is none at all."""
    if maneuver.status == "complete":
        return 1.0
    kind = maneuver.kind
    if kind in WHOLE_TURNING:
        ends = np.array([[part.start, part.end] for part in maneuver.parts])
        turned = np.abs(np.diff(lesson.at("heading_true", ends), axis=1)).sum()
        return float(turned / WHOLE_TURNING[kind])
    if kind in WHOLE_PARTS:
        return len(maneuver.parts) / WHOLE_PARTS[kind]
    if kind in WHOLE_SECONDS:
        return (maneuver.end - maneuver.start) / WHOLE_SECONDS[kind]
    return 0.0


def counted(lesson: Lesson, found: Sequence[Occurrence]) -> list[Occurrence]:
    """What of the findings this lesson's truth can confirm or deny."""
    whole = "lesson" in lesson.flight.facts
    return [one for one in found if whole or one.kind in THREE]


def bait(one: Occurrence, legs: Sequence[Mapping[str, Any]], shift: float) -> str:
    """The label of the piece of ordinary flying that lies under a finding for the longest."""
    lengths: dict[str, float] = {}
    for leg in legs:
        common = min(one.end + shift, leg["end"]) - max(one.start + shift, leg["start"])
        lengths[leg["label"]] = lengths.get(leg["label"], 0.0) + max(common, 0.0)
    return max(lengths, key=lambda label: lengths[label], default="none")
