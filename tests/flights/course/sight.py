"""From the engine's state to what a pilot sees, in meters from where the flight began."""

from __future__ import annotations

import math

import numpy as np
from tests.flights.airplanes import CRITICAL_ANGLE
from tests.flights.course.aims import Seen
from tests.flights.simulate import Simulator

SEMI_MAJOR, ECCENTRICITY_SQUARED = 6378137.0, 6.69437999014e-3  # WGS 84
HORN_MARGIN = math.radians(
    3.0
)  # the warning sounds so far below the critical angle: common practice, no source


class Plane:
    """A plane that touches the ellipsoid at a place: good to 0.1 % within 20 km."""

    def __init__(self, latitude: float, longitude: float) -> None:
        self.latitude, self.longitude = latitude, longitude
        curved = 1 - ECCENTRICITY_SQUARED * math.sin(latitude) ** 2
        self.across = SEMI_MAJOR / math.sqrt(curved) * math.cos(latitude)
        self.along = SEMI_MAJOR * (1 - ECCENTRICITY_SQUARED) / curved**1.5

    def north_east(self, latitude: float, longitude: float) -> tuple[float, float]:
        return (latitude - self.latitude) * self.along, (longitude - self.longitude) * self.across

    def table(self, latitude: np.ndarray, longitude: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return (latitude - self.latitude) * self.along, (longitude - self.longitude) * self.across

    def place(self, north: float, east: float) -> tuple[float, float]:
        """Latitude and longitude [rad]."""
        return self.latitude + north / self.along, self.longitude + east / self.across


class Sight:
    """Looks out of one simulator."""

    def __init__(self, simulator: Simulator) -> None:
        self.sim = simulator
        s = simulator.state
        self.plane = Plane(s.latitude, s.longitude)  # type: ignore[attr-defined]  # filled by the engine
        self.wheels = simulator.fdm.get_property_manager().get_node("gear/wow")
        self.critical = CRITICAL_ANGLE[simulator.airplane.name]

    def seen(self) -> Seen:
        s = self.sim.state
        north, east = self.plane.north_east(s.latitude, s.longitude)
        height = s.geometric_altitude - (self.sim.terrain or 0.0)
        return Seen(
            time=s.time,
            north=north,
            east=east,
            velocity_north=s.velocity_north,
            velocity_east=s.velocity_east,
            heading=s.heading,
            bank=s.bank,
            pitch=s.pitch,
            altitude=s.altimeter,
            height=height,
            airspeed=s.calibrated_airspeed,
            true_airspeed=s.true_airspeed,
            climb=s.vertical_speed,
            horn=s.angle_of_attack > self.critical - HORN_MARGIN,
            buffet=s.angle_of_attack > self.critical,
            on_ground=height < 6.0 and self.wheels.get_double_value() > 0.5,
        )
