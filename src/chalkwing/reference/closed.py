"""A solved turn kept as a schedule, to be flown again: as solved, at another throttle, on another day."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.dynamics import PointMass
from chalkwing.reference.assembling import side_of
from chalkwing.reference.flown import FlownPart, level_start
from chalkwing.reference.half_turn import Half
from chalkwing.reference.reference import Direction
from chalkwing.reference.situation import Situation
from chalkwing.refly import AirColumn
from chalkwing.refly.legs import LegSchedule


@dataclass(frozen=True)
class Closed:
    """A schedule by time within each leg, entered level at ``entry_speed`` (calibrated) [m/s].

    ``turns`` such turns follow one another, to alternating sides. ``seed`` is the optimizer's solution, if
    one found it, to start the next one from.
    """

    schedule: LegSchedule
    entry_speed: float
    turns: int
    seed: Half | None = None


def fly_closed(
    situation: Situation,
    closed: Closed,
    direction: Direction,
    *,
    turns: int | None = None,
    column: AirColumn | None = None,
    airplane: PointMass | None = None,
    steps: int | None = None,
) -> list[FlownPart]:
    """Fly the schedule, each turn from where the last one ended.

    Through still air unless a ``column`` is given; in the situation's airplane unless another is; in as many
    ``steps`` as given. The nose is told from level flight at the entry, in this situation. Raises
    OutsideModel where the wing cannot give what the schedule asks.
    """
    true: float = situation.true_from_calibrated(closed.entry_speed)
    level = situation.level_attack(float(true))
    start, time, side = level_start(situation, float(true)), 0.0, direction
    parts: list[FlownPart] = []
    for _ in range(closed.turns if turns is None else turns):
        flown = closed.schedule.fly(
            start,
            airplane=situation.airplane if airplane is None else airplane,
            column=situation.column() if column is None else column,
            level_pitch=level,
            direction=side,
            steps=steps,
        )
        parts.append(FlownPart(flown, side_of(side), time))
        start, time, side = flown.end, parts[-1].end, _other(side)
    return parts


def _other(side: Direction) -> Direction:
    return "left" if side == "right" else "right"
