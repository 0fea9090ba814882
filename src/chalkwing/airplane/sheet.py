"""The airplane sheet: one airplane's numbers in SI, and the few that follow from them at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane.bridge import point_mass, thrust_power, torque_thrust
from chalkwing.airplane.priors import generic_priors
from chalkwing.dynamics import PointMass
from chalkwing.errors import OutsideModel
from chalkwing.units import STANDARD_GRAVITY, Floats, Q

Propeller = Literal["fixed_pitch", "constant_speed"]


@dataclass(frozen=True)
class AirplaneSheet:
    """One airplane, clean, at one mass. SI and radians; every airspeed is calibrated.

    ``zero_lift_drag`` and ``span_efficiency`` (Oswald's) make the polar CD = CD0 + CL²/(pi A e);
    ``lift_slope`` [1/rad] and ``zero_lift_angle`` [rad, measured from the attitude reference, usually
    negative] make the lift line, which ends at ``lift_max``. ``power`` [W] is rated power at sea level of all
    engines together. ``stall_speed`` and ``maneuvering_speed`` [m/s] hold at ``mass`` [kg], clean.
    ``generic`` marks a sheet that is of no type; ``assumed`` names what its file left to common practice;
    ``sources`` tells where each number comes from.
    """

    name: str
    title: str
    generic: bool
    engines: int
    propeller: Propeller
    mass: float
    wing_area: float
    wing_span: float
    zero_lift_drag: float
    span_efficiency: float
    lift_slope: float
    zero_lift_angle: float
    lift_max: float
    power: float
    propeller_efficiency: float
    stall_speed: float
    maneuvering_speed: float
    given_best_glide_speed: float | None = None
    given_glide_ratio: float | None = None
    indicated_to_calibrated: tuple[tuple[float, ...], tuple[float, ...]] | None = None
    assumed: tuple[str, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict, compare=False)

    @property
    def wing_loading(self) -> float:
        """Weight over wing area [Pa]."""
        return self.mass * STANDARD_GRAVITY / self.wing_area

    @property
    def aspect_ratio(self) -> float:
        """Span squared over wing area."""
        return self.wing_span**2 / self.wing_area

    @property
    def induced_drag(self) -> float:
        """The factor of CL² in the polar: 1/(pi A e)."""
        return 1.0 / (np.pi * self.aspect_ratio * self.span_efficiency)

    @property
    def best_glide_speed(self) -> float:
        """Calibrated airspeed of best glide [m/s]: the handbook's, else that of least drag on the polar."""
        if self.given_best_glide_speed is not None:
            return self.given_best_glide_speed
        lift = np.sqrt(self.zero_lift_drag / self.induced_drag)
        # Equivalent and calibrated airspeed differ by under 0.1 kt at these speeds and altitudes.
        return float(np.sqrt(2.0 * self.wing_loading / (SEA_LEVEL_DENSITY * lift)))

    @property
    def glide_ratio(self) -> float:
        """Distance over height at best glide: the handbook's, else the polar's largest L/D."""
        if self.given_glide_ratio is not None:
            return self.given_glide_ratio
        return float(0.5 / np.sqrt(self.zero_lift_drag * self.induced_drag))

    @property
    def propeller_drag_area(self) -> float:
        """Drag area [m²] of the windmilling propellers with the throttle closed: common practice."""
        return self.engines * generic_priors().propeller_drag_area.mean

    @property
    def power_dropoff(self) -> float:
        """The share of sea-level power that friction takes whatever the density: common practice."""
        return generic_priors().power_dropoff.mean

    @property
    def torque_thrust(self) -> float:
        """Of a fixed-pitch propeller: static thrust [N] at full throttle and sea level; else 0.

        Fixed by ``propeller_efficiency`` at the maneuvering speed, where maneuvers begin.
        """
        if self.propeller == "constant_speed":
            return 0.0
        return torque_thrust(
            power=self.power,
            propeller_efficiency=self.propeller_efficiency,
            propeller_drag_area=self.propeller_drag_area,
            true_airspeed=self.maneuvering_speed,
        )

    @property
    def thrust_power(self) -> float:
        """Of a constant-speed propeller: ``dynamics.thrust``'s power [W] at full throttle; else 0."""
        if self.propeller == "fixed_pitch":
            return 0.0
        return thrust_power(
            power=self.power,
            propeller_efficiency=self.propeller_efficiency,
            true_airspeed=self.maneuvering_speed,
        )

    def point_mass(self, mass: float | None = None) -> PointMass:
        """The airplane at ``mass`` [kg] (the sheet's unless given) for ``chalkwing.dynamics``; clean.

        ``mass`` may be an optimizer's symbol: the formulas are plain arithmetic.
        """
        return point_mass(self, self.mass if mass is None else mass)

    def speed_at_mass(self, speed: float, mass: float) -> float:
        """A stall, maneuvering or glide speed [m/s] of this sheet, brought to another mass [kg].

        All three are flown at one angle of attack, so that speed goes with the root of mass. Source: [PHAK]
        ch. 5.
        """
        if not mass > 0:
            raise OutsideModel(f"mass of {mass:g} kg is no mass.", next_step="Give it in kg, above zero.")
        return float(speed * np.sqrt(mass / self.mass))

    def calibrated(self, indicated: Q) -> Q:
        """Calibrated airspeed [m/s] from indicated [m/s]; beyond the table its last correction holds.

        Raises
        ------
        OutsideModel
            The sheet has no correction table.
        """
        shown, true_to_pressure = self._correction()
        return _corrected(indicated, shown, true_to_pressure)

    def indicated(self, calibrated: Q) -> Q:
        """Indicated airspeed [m/s] from calibrated [m/s]; undoes :meth:`calibrated`."""
        shown, true_to_pressure = self._correction()
        return _corrected(calibrated, true_to_pressure, shown)

    def _correction(self) -> tuple[Floats, Floats]:
        if self.indicated_to_calibrated is None:
            raise OutsideModel(
                f"airplane sheet {self.name} has no airspeed correction, so indicated airspeed is not known.",
                next_step="Add a table indicated_to_calibrated from the flight manual, or work in KCAS.",
            )
        shown, true_to_pressure = self.indicated_to_calibrated
        return np.array(shown), np.array(true_to_pressure)


def _corrected(speed: Q, given: Floats, wanted: Floats) -> Q:
    """Add the correction, interpolated within the table and held constant beyond its ends."""
    result: Q = speed + np.interp(speed, given, wanted - given)
    return result
