"""The Reference: a maneuver solved for one airplane, mass and day, with its margins and sensitivities."""

from __future__ import annotations

from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg, ReferencePoint
from chalkwing.reference.registry import solvable, solve, solves
from chalkwing.reference.situation import Situation
from chalkwing.reference.what_if import Outcome, Sensitivity

__all__ = [
    "Direction",
    "Fact",
    "Outcome",
    "Reference",
    "ReferenceLeg",
    "ReferencePoint",
    "Sensitivity",
    "Situation",
    "solvable",
    "solve",
    "solves",
]
