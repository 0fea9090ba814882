"""The ground under a flight: a map of it, or the one elevation that a user gives for the area."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from chalkwing.units import Floats

USUAL_SD = 20.0
"""Sd of the ground about the one figure given for an area [m] (our own: gentle country)."""


class Terrain(Protocol):
    """The ground under a flight."""

    @property
    def height_sd(self) -> float:
        """Standard deviation of the terrain's height [m]."""
        ...

    def height(self, *, latitude: Floats, longitude: Floats) -> Floats:
        """Height of the ground above mean sea level [m] at places [rad]; ``nan`` where it is not known."""
        ...


@dataclass(frozen=True)
class LevelGround:
    """The same ground everywhere: ``elevation`` above mean sea level [m], with its sd [m]."""

    elevation: float
    height_sd: float = USUAL_SD

    def height(self, *, latitude: Floats, longitude: Floats) -> Floats:
        """The elevation [m] at every place; shape of the places."""
        return np.full(np.broadcast(latitude, longitude).shape, self.elevation)
