"""Maneuvers and standards as data: definitions, published limits, a school's overlay, and their registry."""

from chalkwing.maneuvers.registry import definition, definitions, standard, standards
from chalkwing.maneuvers.schema import Definition, Measure
from chalkwing.maneuvers.standards import HeldRules, Limit, Standard

__all__ = [
    "Definition",
    "HeldRules",
    "Limit",
    "Measure",
    "Standard",
    "definition",
    "definitions",
    "standard",
    "standards",
]
