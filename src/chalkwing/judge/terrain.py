"""Ground of one elevation: what a user says of the area when there is no map of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.units import Floats

USUAL_SD = 20.0
"""Sd of the ground about the one figure given for an area [m] (our own: gentle country)."""


@dataclass(frozen=True)
class LevelGround:
    """The same ground everywhere: ``elevation`` above mean sea level [m], with its sd [m]."""

    elevation: float
    height_sd: float = USUAL_SD

    def height(self, *, latitude: Floats, longitude: Floats) -> Floats:
        """The elevation [m] at every place; shape of the places."""
        return np.full(np.broadcast(latitude, longitude).shape, self.elevation)
