"""The airplane sheet: one airplane's numbers in SI, the model fitted to them, and what follows at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from chalkwing.airplane import predict
from chalkwing.airplane.bridge import Frame, point_mass
from chalkwing.airplane.correction import Table, calibrated_from_indicated, indicated_from_calibrated
from chalkwing.airplane.fit import Fit
from chalkwing.airplane.handbook import Configuration, Handbook, maneuvering_speed
from chalkwing.dynamics import PointMass, drag, thrust
from chalkwing.errors import OutsideModel
from chalkwing.units import KNOT, STANDARD_GRAVITY, Q

Propeller = Literal["fixed_pitch", "constant_speed"]
Engine = Literal["normally_aspirated", "turbocharged", "electric"]

USUAL_WARNING = 5.0 * KNOT
"""How far above the stall the warning sounds where the sheet does not say: the least that 14 CFR 23.207 asked
before amendment 64, from memory."""


@dataclass(frozen=True)
class AirplaneSheet:
    """One airplane, clean. SI and radians; every airspeed is calibrated.

    ``mass`` [kg] is where numbers hold that name no mass of their own; ``minimum_mass`` and ``maximum_mass``
    bound what is flown. ``zero_lift_drag`` and ``span_efficiency`` (Oswald's) make the airframe's polar CD =
    CD0 + CL²/(pi A e); on top comes the propeller's drag area [m²], ``propeller_drag_area`` windmilling with
    the throttle closed and ``propeller_drag_open`` full open. ``lift_slope`` [1/rad] and ``zero_lift_angle``
    [rad, measured from the attitude reference, usually negative] make the lift line, which ends at
    ``lift_max``. ``power`` [W] is rated power at sea level of all engines together;
    ``propeller_efficiency`` is the share of it that is useful at the maneuvering speed with the throttle full
    open. ``stall_speed`` and ``maneuvering_speed`` [m/s] hold at ``mass``, clean.

    ``handbook`` holds the manual's rows, ``fit`` how the model agrees with them. ``generic`` marks a sheet
    that is of no type; ``assumed`` names what its file left to common practice; ``sources`` tells where each
    number comes from. Speeds that are None were not given.
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
    minimum_mass: float
    maximum_mass: float
    limit_load_positive: float
    limit_load_negative: float
    propeller_drag_area: float
    propeller_drag_open: float
    power_dropoff: float
    fit: Fit = field(compare=False)
    handbook: Handbook = field(compare=False)
    engine: Engine = "normally_aspirated"
    category: str = "normal"
    empty_mass: float | None = None
    utility_mass: float | None = None
    baggage: float | None = None
    usable_fuel: float | None = None
    rated_engine_speed: float | None = None
    propeller_diameter: float | None = None
    lift_max_landing: float | None = None
    stall_speed_landing: float | None = None
    stall_warning_speed: float | None = None
    flaps_extended_speed: float | None = None
    gear_operating_speed: float | None = None
    gear_extended_speed: float | None = None
    normal_operating_speed: float | None = None
    never_exceed_speed: float | None = None
    limit_load_flaps: float | None = None
    given_best_glide_speed: float | None = None
    given_glide_ratio: float | None = None
    indicated_to_calibrated: Table | None = None
    notes: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict, compare=False)

    # --- The wing and the polar -------------------------------------------------------------------------

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

    # --- The model --------------------------------------------------------------------------------------

    @property
    def frame(self) -> Frame:
        """Geometry and power, for the bridge to ``dynamics``."""
        governed = self.propeller == "constant_speed"
        return Frame(self.wing_area, self.wing_span, self.power, governed, self.maneuvering_speed)

    def point_mass(self, mass: float | None = None) -> PointMass:
        """The airplane at ``mass`` [kg] (the sheet's unless given) for ``chalkwing.dynamics``; clean.

        ``mass`` may be an optimizer's symbol: the formulas are plain arithmetic.
        """
        numbers = {
            "zero_lift_drag": self.zero_lift_drag,
            "span_efficiency": self.span_efficiency,
            "lift_slope": self.lift_slope,
            "zero_lift_angle": self.zero_lift_angle,
            "lift_max": self.lift_max,
            "propeller_efficiency": self.propeller_efficiency,
            "propeller_drag_area": self.propeller_drag_area,
            "propeller_drag_open": self.propeller_drag_open,
            "power_dropoff": self.power_dropoff,
        }
        return point_mass(self.frame, numbers, mass=self.mass if mass is None else mass)

    def thrust(self, *, true_airspeed: Q, density: Q, throttle: Q) -> Q:
        """Thrust of all propellers [N]; ``throttle`` is the share of full-throttle torque, 0 to 1."""
        pull: Q = thrust(self.point_mass(), throttle, density, true_airspeed)
        return pull

    def drag(self, *, true_airspeed: Q, density: Q, load_factor: Q, mass: float | None = None) -> Q:
        """Drag of the airframe [N] at a load factor; the windmilling propeller's is part of the thrust."""
        pull: Q = drag(self.point_mass(mass), load_factor, density, true_airspeed)
        return pull

    @property
    def best_glide_speed(self) -> float:
        """Calibrated airspeed of best glide [m/s] at ``mass``: the handbook's, else the model's."""
        if self.given_best_glide_speed is not None:
            return self.given_best_glide_speed
        return predict.best_glide(self.point_mass())[0]

    @property
    def glide_ratio(self) -> float:
        """Distance over height at best glide, propeller windmilling: the handbook's, else the model's."""
        if self.given_glide_ratio is not None:
            return self.given_glide_ratio
        return predict.best_glide(self.point_mass())[1]

    # --- Speeds and loads -------------------------------------------------------------------------------

    def speed_at_mass(self, speed: float, mass: float) -> float:
        """A stall, maneuvering or glide speed [m/s] of this sheet, brought to another mass [kg].

        All three are flown at one angle of attack, so that speed goes with the root of mass. Source: [PHAK]
        ch. 5.
        """
        if not mass > 0:
            raise OutsideModel(f"mass of {mass:g} kg is no mass.", next_step="Give it in kg, above zero.")
        return float(speed * np.sqrt(mass / self.mass))

    def stall_speed_at(
        self, *, mass: float, load_factor: Q | float = 1.0, configuration: Configuration = "clean"
    ) -> Q:
        """Calibrated stall speed [m/s] at a mass [kg] and load factor; it goes with the root of both.

        Raises
        ------
        OutsideModel
            The landing configuration, of which the sheet gives no stall speed.
        """
        level = self.stall_speed if configuration == "clean" else self.stall_speed_landing
        if level is None:
            raise OutsideModel(
                f"airplane sheet {self.name} gives no stall speed in landing configuration.",
                next_step="Add stall_speed_landing_kcas from the flight manual.",
            )
        speed: Q = np.multiply(self.speed_at_mass(level, mass), np.sqrt(load_factor))
        return speed

    def stall_warning_speed_at(self, *, mass: float, load_factor: Q | float = 1.0) -> Q:
        """Calibrated airspeed [m/s] at which the stall warning sounds, clean.

        A vane feels the angle of attack, so that the onset goes with mass and load factor as the stall does.
        Where the sheet does not say, 5 kt above the stall at its own mass (:data:`USUAL_WARNING`).
        """
        onset = self.stall_warning_speed or self.stall_speed + USUAL_WARNING
        speed: Q = np.multiply(self.speed_at_mass(onset, mass), np.sqrt(load_factor))
        return speed

    def maneuvering_speed_at(self, mass: float) -> float:
        """VA or VO [m/s] at a mass [kg]: between the manual's masses linear, else with the root of mass."""
        rows = self.handbook.maneuvering
        return maneuvering_speed(rows, mass) if rows else self.speed_at_mass(self.maneuvering_speed, mass)

    def best_glide_speed_at(self, mass: float) -> float:
        """Calibrated airspeed of best glide [m/s] at a mass [kg]."""
        return self.speed_at_mass(self.best_glide_speed, mass)

    def recommended_entry_speed(self, kind: str) -> float | None:
        """The manual's entry speed [m/s] for a kind of maneuver; None where it gives none."""
        return dict(self.handbook.recommended_entries).get(kind)

    # --- The airspeed indicator -------------------------------------------------------------------------

    def calibrated(self, indicated: Q) -> Q:
        """Calibrated airspeed [m/s] from indicated [m/s]; beyond the table its last correction holds.

        Raises
        ------
        OutsideModel
            The sheet has no correction table.
        """
        speed: Q = calibrated_from_indicated(indicated, self._correction())
        return speed

    def indicated(self, calibrated: Q) -> Q:
        """Indicated airspeed [m/s] from calibrated [m/s]; undoes :meth:`calibrated`."""
        speed: Q = indicated_from_calibrated(calibrated, self._correction())
        return speed

    def _correction(self) -> Table:
        if self.indicated_to_calibrated is None:
            raise OutsideModel(
                f"airplane sheet {self.name} has no airspeed correction, so indicated airspeed is not known.",
                next_step="Add a table indicated_to_calibrated from the flight manual, or work in KCAS.",
            )
        return self.indicated_to_calibrated
