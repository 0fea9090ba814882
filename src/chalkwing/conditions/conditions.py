"""The conditions of a lesson: the area's elevation, the altimeter setting, temperature, wind, variation."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from chalkwing import air
from chalkwing.errors import OutsideModel
from chalkwing.units import STANDARD_SEA_LEVEL_PRESSURE, Q, require_within, wrap_compass


@dataclass(frozen=True)
class WindLevel:
    """The wind at an ``altitude`` above mean sea level [m]: ``wind_from`` true [rad], speed [m/s]."""

    altitude: float
    wind_from: float
    wind_speed: float

    def __post_init__(self) -> None:
        require_within("wind altitude", self.altitude, air.LOWEST, air.HIGHEST, "m", hint="Was it in feet?")
        require_within("wind direction", self.wind_from, 0.0, 2 * np.pi, "rad", hint="Was it in degrees?")
        require_within("wind speed", self.wind_speed, 0.0, 100.0, "m/s", hint="Was it in knots?")


@dataclass(frozen=True)
class Conditions:
    """What the air and the place are like. Calm standard air at sea level unless told otherwise.

    Parameters
    ----------
    elevation : float
        Of the field, above mean sea level [m].
    altimeter_setting : float
        QNH [Pa].
    isa_deviation : float
        Actual less standard temperature [K], taken as the same at all levels; :meth:`with_temperature` finds
        it from a thermometer.
    winds : tuple of WindLevel
        In any order; between two the wind's components are interpolated, beyond them the nearest holds.
    magnetic_variation : float
        East positive [rad].
    terrain_elevation : float or None
        Of the highest ground under the area to be flown in, above mean sea level [m]; see
        :attr:`highest_terrain`.
    ceiling : float or None
        Height of the lowest broken or overcast layer above the *field* [m], as it is reported; None where
        none was reported or none is known.
    visibility : float or None
        Horizontal [m]; a report of "10 km or more" is 10 km.
    notes : tuple of str
        What was assumed or left out on the way here, in words, to be shown with whatever is computed.

    Raises
    ------
    OutsideModel
        A value that can only be in another unit, or two winds at one altitude.
    """

    elevation: float = 0.0
    altimeter_setting: float = STANDARD_SEA_LEVEL_PRESSURE
    isa_deviation: float = 0.0
    winds: tuple[WindLevel, ...] = ()
    magnetic_variation: float = 0.0
    terrain_elevation: float | None = None
    ceiling: float | None = None
    visibility: float | None = None
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        require_within("elevation", self.elevation, -500.0, 6_000.0, "m", hint="Was it in feet?")
        require_within("ISA deviation", self.isa_deviation, -80.0, 80.0, "K")
        require_within(
            "magnetic variation", self.magnetic_variation, -np.pi, np.pi, "rad", hint="In degrees?"
        )
        if self.terrain_elevation is not None:
            require_within(
                "terrain elevation", self.terrain_elevation, -500.0, 9_000.0, "m", hint="Was it in feet?"
            )
        if self.ceiling is not None:
            require_within("ceiling", self.ceiling, 0.0, 20_000.0, "m", hint="Was it in feet?")
        if self.visibility is not None:
            require_within("visibility", self.visibility, 0.0, 300_000.0, "m")
        self.pressure_altitude(self.elevation)  # refuses a setting that can only be in another unit
        ordered = tuple(sorted(self.winds, key=lambda level: level.altitude))
        if len({level.altitude for level in ordered}) < len(ordered):
            raise OutsideModel(
                "two winds are given at one altitude.", next_step="Give one wind per altitude."
            )
        object.__setattr__(self, "winds", ordered)

    @classmethod
    def with_temperature(
        cls,
        *,
        temperature: float,
        temperature_altitude: float | None = None,
        elevation: float = 0.0,
        altimeter_setting: float = STANDARD_SEA_LEVEL_PRESSURE,
        winds: tuple[WindLevel, ...] = (),
        magnetic_variation: float = 0.0,
    ) -> Conditions:
        """Conditions from a thermometer [K] read at an altimeter altitude [m], the elevation unless given."""
        read_at = elevation if temperature_altitude is None else temperature_altitude
        level: float = air.pressure_altitude_of_reading(
            altimeter_altitude=read_at, altimeter_setting=altimeter_setting
        )
        deviation: float = air.isa_deviation(pressure_altitude=level, temperature=temperature)
        return cls(elevation, altimeter_setting, float(deviation), winds, magnetic_variation)

    def completed(
        self,
        *,
        terrain_elevation: float | None = None,
        ceiling: float | None = None,
        visibility: float | None = None,
        notes: tuple[str, ...] = (),
    ) -> Conditions:
        """The same with terrain, ceiling and visibility [m] where given, and with further notes."""
        return replace(
            self,
            terrain_elevation=self.terrain_elevation if terrain_elevation is None else terrain_elevation,
            ceiling=self.ceiling if ceiling is None else ceiling,
            visibility=self.visibility if visibility is None else visibility,
            notes=self.notes + notes,
        )

    @property
    def highest_terrain(self) -> float:
        """Elevation [m] of the highest ground under the area; the field's where none was given."""
        return self.elevation if self.terrain_elevation is None else self.terrain_elevation

    @property
    def ceiling_altitude(self) -> float | None:
        """The ceiling above mean sea level [m]; None where there is none or none is known."""
        return None if self.ceiling is None else self.elevation + self.ceiling

    def pressure_altitude(self, altimeter_altitude: Q | float) -> Q:
        """Pressure altitude [m] when the altimeter, set to this setting, shows ``altimeter_altitude`` [m]."""
        altitude: Q = air.pressure_altitude_of_reading(
            altimeter_altitude=altimeter_altitude, altimeter_setting=self.altimeter_setting
        )
        return altitude

    def altimeter_altitude(self, pressure_altitude: Q | float) -> Q:
        """What the altimeter, set to this setting, shows [m] at a pressure altitude [m]."""
        altitude: Q = air.altimeter_altitude(
            pressure_altitude=pressure_altitude, altimeter_setting=self.altimeter_setting
        )
        return altitude

    def density_altitude(self, altimeter_altitude: Q | float) -> Q:
        """Density altitude [m] where the altimeter shows ``altimeter_altitude`` [m]; dry air, exact."""
        level: Q = self.pressure_altitude(altimeter_altitude)
        altitude: Q = air.density_altitude(pressure_altitude=level, isa_deviation=self.isa_deviation)
        return altitude

    def true_airspeed(self, *, calibrated_airspeed: Q | float, altimeter_altitude: Q | float) -> Q:
        """True airspeed [m/s] at a calibrated airspeed [m/s] where the altimeter shows that altitude [m]."""
        level: Q = self.pressure_altitude(altimeter_altitude)
        speed: Q = air.true_from_calibrated(
            calibrated_airspeed=calibrated_airspeed, pressure_altitude=level, isa_deviation=self.isa_deviation
        )
        return speed

    def wind_components(self, altitude: Q) -> tuple[Q, Q]:
        """Velocity of the air toward north and east [m/s] at an altitude [m]; calm without winds."""
        require_within("altitude", altitude, air.LOWEST, air.HIGHEST, "m", hint="Was it in feet?")
        levels = self.winds or (WindLevel(0.0, 0.0, 0.0),)
        heights = [level.altitude for level in levels]
        north: Q = np.interp(altitude, heights, [-w.wind_speed * np.cos(w.wind_from) for w in levels])
        east: Q = np.interp(altitude, heights, [-w.wind_speed * np.sin(w.wind_from) for w in levels])
        return north, east

    def magnetic(self, true_direction: Q) -> Q:
        """The magnetic direction [rad, 0 to 2 pi) of a true direction [rad]."""
        return wrap_compass(true_direction - self.magnetic_variation)

    def true(self, magnetic_direction: Q) -> Q:
        """The true direction [rad, 0 to 2 pi) of a magnetic direction [rad]."""
        return wrap_compass(magnetic_direction + self.magnetic_variation)
