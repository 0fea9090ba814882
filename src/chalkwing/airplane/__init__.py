"""Airplane sheets: the handbook numbers of one airplane, and what is believed of one without a sheet."""

from __future__ import annotations

from chalkwing.airplane.loading import load_sheet, sheet_names
from chalkwing.airplane.priors import GenericPriors, Spread, generic_priors
from chalkwing.airplane.sheet import AirplaneSheet, Propeller

__all__ = [
    "AirplaneSheet",
    "GenericPriors",
    "Propeller",
    "Spread",
    "generic_priors",
    "load_sheet",
    "sheet_names",
]
