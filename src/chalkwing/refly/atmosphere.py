"""A day's air as a column: density from an altimeter setting and a temperature, wind by height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing import air
from chalkwing.refly.kernel import AirColumn
from chalkwing.units import STANDARD_SEA_LEVEL_PRESSURE, Floats

_SPACING = 50.0


@dataclass(frozen=True)
class WindLayer:
    """Wind at a height [m]: where it comes *from* [rad, true] and how fast [m/s]."""

    height: float
    comes_from: float
    speed: float


@dataclass(frozen=True)
class Day:
    """The pressure, temperature and wind of one day over one field.

    ``altimeter_setting`` [Pa], ``isa_deviation`` [K, the same at all heights], ``wind`` by rising height;
    ``top`` [m] is how high the column reaches.
    """

    altimeter_setting: float = STANDARD_SEA_LEVEL_PRESSURE
    isa_deviation: float = 0.0
    wind: Sequence[WindLayer] = ()
    top: float = 4000.0

    def column(self) -> AirColumn:
        """The same as arrays over height."""
        height = np.arange(0.0, self.top + _SPACING, _SPACING)
        density = air.density(
            pressure_altitude=self.pressure_altitude(height), isa_deviation=self.isa_deviation
        )
        north, east = self._wind(height)
        return AirColumn(height, density, north, east)

    def pressure_altitude(self, height: Floats) -> Floats:
        """Pressure altitude [m] at heights above mean sea level [m].

        A column warmer than standard is stretched: dz = (T / T_standard) dH_p, from the hydrostatic equation
        and the gas law; integrated from where the pressure is the altimeter setting. Geometric and
        geopotential height are taken as equal (0.02 % at 1,300 m).
        """
        lowest = float(air.pressure_altitude(self.altimeter_setting))
        levels = np.arange(lowest, lowest + self.top + 500.0, 10.0)
        stretch = 1.0 + self.isa_deviation / air.standard_temperature(levels)
        heights = np.concatenate(([0.0], np.cumsum(10.0 * 0.5 * (stretch[1:] + stretch[:-1]))))
        altitude: Floats = np.interp(height, heights, levels)
        return altitude

    def _wind(self, height: Floats) -> tuple[Floats, Floats]:
        if not self.wind:
            return np.zeros_like(height), np.zeros_like(height)
        at = [layer.height for layer in self.wind]
        north = [-layer.speed * np.cos(layer.comes_from) for layer in self.wind]
        east = [-layer.speed * np.sin(layer.comes_from) for layer in self.wind]
        return np.interp(height, at, north), np.interp(height, at, east)
