"""The yardstick of one attempt: the Reference for the airplane, mass and air in which it was flown.

    Motion + Occurrence + airplane sheet --solve--> Reference --> what each point is shown against

It is a plan shown beside what was flown, never a limit: no verdict comes from it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from chalkwing.air import isa_deviation
from chalkwing.airplane import AirplaneSheet
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import ChalkwingError
from chalkwing.find import Occurrence
from chalkwing.motion import Motion
from chalkwing.reference import Reference, ReferencePoint, solvable, solve
from chalkwing.units import DEGREE, FOOT, KNOT

SPEED_STEP, ALTITUDE_STEP, TEMPERATURE_STEP = 0.5 * KNOT, 50.0 * FOOT, 1.0
"""Entries are rounded to this before solving [m/s, m, K]: attempts alike share one Reference."""
FULL_THROTTLE = "the power does not hold this airspeed in the turn: planned at full throttle, speed falling"
_NAMED_OTHERWISE = {"360": "end"}
"""Points of the definitions that the Reference calls by another name."""


@dataclass(frozen=True)
class Yardstick:
    """``reference`` is None where none could be solved; ``note`` then says why. ``mass`` [kg]."""

    reference: Reference | None
    mass: float
    mass_from: str
    temperature_from: str
    note: str | None = None

    def told(self) -> Mapping[str, str | float | None]:
        """The plan's own numbers for the contract, each name with its unit."""
        plan = self.reference
        throttle = None if plan is None or not len(plan.time) else float(plan["throttle"][0])
        return {
            "mass_kg": self.mass,
            "mass_from": self.mass_from,
            "temperature_from": self.temperature_from,
            "isa_deviation_c": None if plan is None else plan.conditions.isa_deviation,
            "throttle": throttle,
            "note": self.note,
        }

    def at(self, half: int, name: str, *, entry_altitude: float) -> Mapping[str, float | str] | None:
        """The plan at one point of one half; altitude counts from the entry altitude that was flown [m]."""
        plan = self.reference
        if plan is None:
            return None
        name = _NAMED_OTHERWISE.get(name, name)
        for point in plan.points:
            if (point.part, point.name) == (half, name):
                return _point_told(point, plan.sheet, entry_altitude)
        return None


def _point_told(
    point: ReferencePoint, sheet: AirplaneSheet, entry_altitude: float
) -> Mapping[str, float | str]:
    correctable = bool(sheet.indicated_to_calibrated)
    speed = sheet.indicated(point.calibrated_airspeed) if correctable else point.calibrated_airspeed
    return {
        "heading_change_deg": point.heading_change / DEGREE,
        "bank_into_turn_deg": point.bank_into_turn / DEGREE,
        "pitch_deg": point.pitch / DEGREE,
        "airspeed_kt": float(speed) / KNOT,
        "airspeed_kind": "indicated" if correctable else "calibrated",
        "altitude_ft": (entry_altitude + point.altitude_change) / FOOT,
        "load_factor": point.load_factor,
    }


def yardstick(
    motion: Motion,
    occurrence: Occurrence,
    *,
    sheet: AirplaneSheet,
    mass: float | None = None,
    bank: float | None = None,
) -> Yardstick | None:
    """The Reference for one attempt, entered as it was entered.

    Parameters
    ----------
    mass : float, optional
        [kg]; the sheet's unless given, and the result says which.
    bank : float, optional
        Steepest bank of the plan [rad]; the maneuver's own unless given.

    Returns
    -------
    yardstick : Yardstick or None
        None for an attempt that was broken off, or a kind without a solver.
    """
    if (
        occurrence.status != "complete"
        or occurrence.kind not in _SETTINGS
        or occurrence.kind not in solvable()
    ):
        return None
    altitude = round(motion.at("pressure_altitude", occurrence.start) / ALTITUDE_STEP) * ALTITUDE_STEP
    speed = round(motion.at("calibrated_airspeed", occurrence.start) / SPEED_STEP) * SPEED_STEP
    deviation, temperature_from = _warmth(motion, occurrence, altitude)
    stick = Yardstick(
        reference=None,
        mass=sheet.mass if mass is None else mass,
        mass_from="the sheet" if mass is None else "given",
        temperature_from=temperature_from,
    )
    refusals = []
    for settings in _SETTINGS[occurrence.kind](speed, bank):
        try:
            plan = _solved(
                occurrence.kind, sheet, stick.mass, altitude, deviation,
                occurrence.direction == "left", _wind(motion, occurrence), tuple(sorted(settings.items())),
            )  # fmt: skip
        except ChalkwingError as refusal:
            refusals.append(str(refusal))
        else:
            return replace(stick, reference=plan, note=FULL_THROTTLE if refusals else None)
    return replace(stick, note=refusals[0])


def _warmth(motion: Motion, occurrence: Occurrence, altitude: float) -> tuple[float, str]:
    """Air temperature against standard [K, whole], and where it is from."""
    time, kelvin = motion.recording.samples("outside_air_temperature")
    during = kelvin[(time >= occurrence.start) & (time <= occurrence.end)]
    if not len(during):
        return 0.0, "assumed standard"
    deviation = float(isa_deviation(pressure_altitude=altitude, temperature=float(np.median(during))))
    return round(deviation / TEMPERATURE_STEP) * TEMPERATURE_STEP, "recorded"


def _wind(motion: Motion, occurrence: Occurrence) -> tuple[float, float]:
    """Where the mean wind came from [rad true, whole degrees] and its speed [m/s, whole knots]."""
    middle = 0.5 * (occurrence.start + occurrence.end)
    north, east = motion.at("wind_north", middle), motion.at("wind_east", middle)
    comes_from = round(float(np.arctan2(-east, -north)) / DEGREE) % 360
    return comes_from * DEGREE, round(float(np.hypot(north, east)) / KNOT) * KNOT


Settings = dict[str, float | str]

_SETTINGS: Mapping[str, Callable[[float, float | None], tuple[Settings, ...]]] = {
    "lazy_eight": lambda speed, bank: (_asked("maximum_bank", bank) | {"entry_speed": speed},),
    "chandelle": lambda speed, bank: (_asked("bank", bank) | {"entry_speed": speed},),
    "steep_turn": lambda speed, bank: (
        _asked("bank", bank) | {"airspeed": speed},
        _asked("bank", bank) | {"airspeed": speed, "power": "as_set", "throttle": 1.0},
    ),
}
"""How each kind's solver is told entry airspeed and bank; what to try next where that cannot be flown."""


def _asked(name: str, value: float | None) -> Settings:
    return {} if value is None else {name: value}


@lru_cache(maxsize=64)
def _solved(
    kind: str,
    sheet: AirplaneSheet,
    mass: float,
    altitude: float,
    deviation: float,
    leftward: bool,
    wind: tuple[float, float],
    settings: tuple[tuple[str, float | str], ...],
) -> Reference:
    conditions = Conditions(isa_deviation=deviation, winds=(WindLevel(altitude, *wind),))
    return solve(
        kind,
        sheet=sheet,
        mass=mass,
        conditions=conditions,
        direction="left" if leftward else "right",
        entry_altitude=altitude,
        **dict(settings),  # type: ignore[arg-type]  # a solver's own settings, checked there by name
    )
