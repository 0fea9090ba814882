"""Airplane sheets: the handbook numbers of one airplane, and what is believed of one without a sheet."""

from __future__ import annotations

from chalkwing.airplane.fit import Fit, FittedNumber, Residual
from chalkwing.airplane.loading import load_sheet, sheet_names
from chalkwing.airplane.priors import GenericPriors, Spread, generic_priors
from chalkwing.airplane.sheet import AirplaneSheet, Engine, Propeller
from chalkwing.airplane.unfit import refuse_unfit, unfit_reason

__all__ = [
    "AirplaneSheet",
    "Engine",
    "Fit",
    "FittedNumber",
    "GenericPriors",
    "Propeller",
    "Residual",
    "Spread",
    "generic_priors",
    "load_sheet",
    "refuse_unfit",
    "sheet_names",
    "unfit_reason",
]
