"""One airplane at one mass in one day's air: what every solver of a maneuver starts from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from chalkwing import air
from chalkwing.airplane import AirplaneSheet
from chalkwing.conditions import Conditions
from chalkwing.dynamics import (
    PointMass,
    angle_of_attack,
    lift_coefficient,
)
from chalkwing.dynamics import stall_speed as true_stall_speed
from chalkwing.reference.throttle import throttle_for_excess
from chalkwing.refly import AirColumn
from chalkwing.units import STANDARD_GRAVITY, Floats, Q, ft_to_m

DEFAULT_HEIGHT = ft_to_m(2500.0)
"""Height [m] above the elevation at which a maneuver is solved unless told otherwise. Common practice."""

_DEEP, _HIGH, _SPACING = 1500.0, 1500.0, 25.0


@dataclass(frozen=True)
class Situation:
    """``mass`` [kg]; ``entry_altitude`` [m] as the altimeter shows it; ``entry_heading`` [rad, true].

    ``altitude_given`` is false where the entry altitude is only a default, which a maneuver that solves for
    its own height (a pivotal altitude, room above a floor) puts another in place of.
    """

    sheet: AirplaneSheet
    mass: float
    conditions: Conditions
    entry_altitude: float
    entry_heading: float = 0.0
    altitude_given: bool = True

    @cached_property
    def airplane(self) -> PointMass:
        """What the equations of motion must know, clean."""
        return self.sheet.point_mass(self.mass)

    @cached_property
    def stall_airplane(self) -> PointMass:
        """The same with the largest lift that the sheet's stall speed means: margins are those over that."""
        pressure = 0.5 * air.SEA_LEVEL_DENSITY * self.level_stall_speed**2
        lift = self.mass * STANDARD_GRAVITY / (pressure * self.sheet.wing_area)
        return self.airplane._replace(max_lift=lift)

    @cached_property
    def pressure_altitude(self) -> float:
        """Pressure altitude at entry [m]."""
        return float(self.conditions.pressure_altitude(self.entry_altitude))

    @cached_property
    def stretch(self) -> float:
        """Geometric over pressure altitude change: T / T_standard, from the hydrostatic equation."""
        standard: float = air.standard_temperature(self.pressure_altitude)
        return (standard + self.conditions.isa_deviation) / standard

    @cached_property
    def level_stall_speed(self) -> float:
        """Calibrated 1 g stall speed [m/s], clean, at this mass."""
        return self.sheet.speed_at_mass(self.sheet.stall_speed, self.mass)

    def density(self, height_change: Q | float = 0.0) -> Q:
        """Density [kg/m³] a geometric height [m] above the entry."""
        altitude = self.pressure_altitude + np.divide(height_change, self.stretch)
        density: Q = air.density(pressure_altitude=altitude, isa_deviation=self.conditions.isa_deviation)
        return density

    def true_from_calibrated(self, calibrated_airspeed: Q | float, height_change: Q | float = 0.0) -> Q:
        """True airspeed [m/s] at a geometric height [m] above the entry."""
        speed: Q = air.true_from_calibrated(
            calibrated_airspeed=calibrated_airspeed,
            pressure_altitude=self.pressure_altitude + np.divide(height_change, self.stretch),
            isa_deviation=self.conditions.isa_deviation,
        )
        return speed

    def calibrated_from_true(self, true_airspeed: Q | float, height_change: Q | float = 0.0) -> Q:
        """Calibrated airspeed [m/s] at a geometric height [m] above the entry."""
        speed: Q = air.calibrated_from_true(
            true_airspeed=true_airspeed,
            pressure_altitude=self.pressure_altitude + np.divide(height_change, self.stretch),
            isa_deviation=self.conditions.isa_deviation,
        )
        return speed

    def wind(self, height_change: Q | float = 0.0) -> tuple[Q, Q]:
        """Velocity of the air toward north and east [m/s], that high [m] above the entry."""
        altitude = np.add(self.entry_altitude, np.divide(height_change, self.stretch))
        found: tuple[Q, Q] = self.conditions.wind_components(altitude)
        return found

    def column(self, *, wind: bool = False) -> AirColumn:
        """The air as the re-flying kernel wants it, height 0 at the entry; calm unless ``wind``."""
        height: Floats = np.arange(-_DEEP, _HIGH + _SPACING, _SPACING)
        density: Floats = self.density(height)
        calm: Floats = np.zeros_like(height)
        if not wind:
            return AirColumn(height, density, calm, calm)
        north: Floats
        east: Floats
        north, east = self.wind(height)
        return AirColumn(height, density, north, east)

    @cached_property
    def windy_column(self) -> AirColumn:
        """:meth:`column` with the wind: laws are flown through it many times over."""
        return self.column(wind=True)

    def level_attack(self, true_airspeed: float, load: float = 1.0) -> float:
        """Angle of attack [rad] of level flight: the entry pitch attitude with the wings level."""
        lift = lift_coefficient(self.airplane, load, self.density(), true_airspeed)
        return float(angle_of_attack(self.airplane, lift))

    def level_throttle(self, true_airspeed: Q, *, load: float = 1.0) -> Q:
        """The throttle that holds a true airspeed [m/s] in level flight at a load factor; may exceed 1."""
        none: Q = 0.0 * true_airspeed
        density: Q = float(self.density()) + none
        throttle: Q = throttle_for_excess(
            self.airplane, excess=none, load=load + none, density=density, speed=true_airspeed
        )
        return throttle

    def stall_true_airspeed(self, load: float = 1.0) -> float:
        """True airspeed [m/s] at which the wing stalls at a load factor, at entry height."""
        return true_stall_speed(self.airplane, load, float(self.density()))
