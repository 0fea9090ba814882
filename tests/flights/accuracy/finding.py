"""Which maneuvers flown were found, and how near their edges came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tests.flights.accuracy.course import THREE, share_flown
from tests.flights.accuracy.lesson import Lesson
from tests.flights.accuracy.unmeant import unmeant
from tests.flights.truth import TruthManeuver

from chalkwing.find import Occurrence

OVERLAP = 0.5
BEGUN = 0.4
"""What was given up before this share of its turning counts neither as missed nor, if found, as false."""


@dataclass(frozen=True)
class Matching:
    """Pairs of what was flown and what was found, times [s] on the truth's clock after ``shift``."""

    pairs: tuple[tuple[TruthManeuver, Occurrence], ...]
    missed: tuple[TruthManeuver, ...]
    false: tuple[Occurrence, ...]


def overlap(flown: TruthManeuver, found: Occurrence, shift: float) -> float:
    """Time in common over time in either."""
    start, end = found.start + shift, found.end + shift
    common = min(end, flown.end) - max(start, flown.start)
    return max(common, 0.0) / (max(end, flown.end) - min(start, flown.start))


def match(lesson: Lesson, found: Sequence[Occurrence], shift: float) -> Matching:
    """Each maneuver flown with the one of its kind that overlaps it most, by half at least.

    What was hardly begun, and what was flown without being meant, is neither right nor false.
    """
    left = list(found)
    pairs, missed = [], []
    begun = {id(one): share_flown(lesson, one) >= BEGUN for one in lesson.flight.maneuvers}
    for flown in lesson.flight.maneuvers:
        near = [one for one in left if one.kind == flown.kind and overlap(flown, one, shift) >= OVERLAP]
        best = max(near, key=lambda one: overlap(flown, one, shift), default=None)
        if best is not None:
            left.remove(best)
        if not begun[id(flown)]:
            continue
        if best is None:
            missed.append(flown)
        else:
            pairs.append((flown, best))
    hardly_begun = [one for one in lesson.flight.maneuvers if not begun[id(one)]]
    false = [one for one in left if not any(overlap(each, one, shift) > 0.0 for each in hardly_begun)]
    false = [one for one in false if _over_any(lesson, one, shift) or not unmeant(one, lesson, shift)]
    return Matching(tuple(pairs), tuple(missed), tuple(false))


def _over_any(lesson: Lesson, one: Occurrence, shift: float) -> bool:
    return any(overlap(flown, one, shift) > 0.0 for flown in lesson.flight.maneuvers)


def account(matching: Matching, shift: float, kinds: Sequence[str] = THREE) -> dict[str, object]:
    """What a result keeps: counts by kind, edge errors of what was complete and found complete, faults."""
    complete = [(one, it) for one, it in matching.pairs if one.status == it.status == "complete"]
    return {
        "counts": {
            kind: {
                "hits": sum(one.kind == kind for one, _ in matching.pairs),
                "missed": sum(one.kind == kind for one in matching.missed),
                "false": sum(one.kind == kind for one in matching.false),
            }
            for kind in kinds
        },
        "status_wrong": sum(one.status != it.status for one, it in matching.pairs),
        "direction_wrong": sum(one.direction != it.direction for one, it in matching.pairs),
        "edges": [
            (one.kind, it.start + shift - one.start, it.end + shift - one.end, it.probability)
            for one, it in complete
        ],
        "start_errors": [it.start + shift - one.start for one, it in complete],
        "end_errors": [it.end + shift - one.end for one, it in complete],
        "start_sds": [it.start_sd for _, it in complete],
        "end_sds": [it.end_sd for _, it in complete],
        "faults": [
            *(f"missed {one.kind} {one.start:.0f}-{one.end:.0f} s {one.status}" for one in matching.missed),
            *(f"false {told(it, shift)}" for it in matching.false),
        ],
    }


def told(found: Occurrence, shift: float = 0.0) -> str:
    """What was found, in a few words."""
    span = f"{found.start + shift:.0f}-{found.end + shift:.0f} s"
    return f"{found.direction} {found.kind} {span} {found.status} {found.probability:.2f}"
