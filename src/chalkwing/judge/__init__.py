"""The judge: elements of a published standard held against an Occurrence, on joint posterior draws."""

from chalkwing.judge.ground_reference import GroundPlace, GroundReference
from chalkwing.judge.judgement import (
    Assigned,
    ElementResult,
    Excursions,
    Judgement,
    PointResult,
    Value,
    Verdict,
)
from chalkwing.judge.judging import judge
from chalkwing.judge.stall_speed import BreakSpeed, DayStallSpeed, day_stall_speeds
from chalkwing.judge.terrain import LevelGround, Terrain

__all__ = [
    "Assigned",
    "BreakSpeed",
    "DayStallSpeed",
    "ElementResult",
    "Excursions",
    "GroundPlace",
    "GroundReference",
    "Judgement",
    "LevelGround",
    "PointResult",
    "Terrain",
    "Value",
    "Verdict",
    "day_stall_speeds",
    "judge",
]
