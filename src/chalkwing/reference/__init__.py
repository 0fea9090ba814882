"""The Reference: a maneuver solved for one airplane, mass and day, with its margins and sensitivities."""

from __future__ import annotations

from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg, ReferencePoint
from chalkwing.reference.registry import solvable, solve, solves
from chalkwing.reference.situation import Situation

__all__ = [
    "Direction",
    "Fact",
    "Reference",
    "ReferenceLeg",
    "ReferencePoint",
    "Situation",
    "solvable",
    "solve",
    "solves",
]
