"""The judge: elements of a published standard held against an Occurrence, on joint posterior draws."""

from chalkwing.judge.flown import Terrain
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

__all__ = [
    "Assigned",
    "ElementResult",
    "Excursions",
    "GroundPlace",
    "GroundReference",
    "Judgement",
    "PointResult",
    "Terrain",
    "Value",
    "Verdict",
    "judge",
]
