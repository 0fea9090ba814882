"""The numbers an airplane sheet may hold: their units in the file, and what is believable for an airplane."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chalkwing.units import (
    DEGREE,
    FOOT,
    FOOT_PER_MINUTE,
    HORSEPOWER,
    KNOT,
    LITER,
    POUND,
    REVOLUTION,
    US_GALLON,
)

_SPEED = {"kcas": KNOT, "kias": KNOT, "mps": 1.0}
_MASS = {"lb": POUND, "kg": 1.0}
_INCH = FOOT / 12.0
INDICATED = "_kias"
"""Keys that end so are indicated airspeeds, and pass through the sheet's correction table."""


@dataclass(frozen=True)
class Figure:
    """A number of a sheet: ``units`` maps a key's ending to its scale in SI; ``low`` and ``high`` are SI."""

    name: str
    units: Mapping[str, float]
    low: float
    high: float
    required: bool = False

    @property
    def keys(self) -> dict[str, float]:
        """The keys under which a file may give it, with their scales: ``mass_lb``, ``mass_kg``."""
        return {f"{self.name}_{unit}" if unit else self.name: scale for unit, scale in self.units.items()}


@dataclass(frozen=True)
class RowKind:
    """A table that a file may repeat, ``[[name]]``: its numbers, and texts with the words they may be.

    A text whose words are empty may say anything. ``one_of`` names numbers of which a row needs one.
    """

    name: str
    figures: tuple[Figure, ...]
    texts: Mapping[str, tuple[str, ...]]
    required_texts: tuple[str, ...] = ()
    one_of: tuple[str, ...] = ()


def _speed(name: str, low: float = 12.0, high: float = 150.0, *, required: bool = False) -> Figure:
    return Figure(name, _SPEED, low, high, required)


def _mass(name: str, *, required: bool = False) -> Figure:
    return Figure(name, _MASS, 150.0, 6_000.0, required)


FIGURES: tuple[Figure, ...] = (
    _mass("mass", required=True),
    _mass("maximum_mass"),
    _mass("minimum_mass"),
    _mass("empty_mass"),
    _mass("utility_mass"),
    Figure("wing_area", {"ft2": FOOT**2, "m2": 1.0}, 5.0, 60.0, required=True),
    Figure("wing_span", {"ft": FOOT, "m": 1.0}, 5.0, 30.0, required=True),
    Figure("power", {"hp": HORSEPOWER, "kw": 1000.0}, 15e3, 1e6, required=True),
    Figure("rated_engine_speed", {"rpm": REVOLUTION / 60.0}, 130.0, 680.0),
    Figure("propeller_diameter", {"in": _INCH, "ft": FOOT, "m": 1.0}, 1.0, 3.0),
    _speed("stall_speed", 12.0, 60.0),
    _speed("stall_speed_landing", 12.0, 60.0),
    _speed("stall_warning_speed", 12.0, 70.0),
    _speed("maneuvering_speed", 20.0, 130.0),
    _speed("flaps_extended_speed"),
    _speed("gear_operating_speed"),
    _speed("gear_extended_speed"),
    _speed("normal_operating_speed"),
    _speed("never_exceed_speed", 25.0, 160.0),
    Figure("limit_load_positive", {"": 1.0}, 2.0, 12.0),
    Figure("limit_load_negative", {"": 1.0}, -10.0, -0.5),
    Figure("limit_load_flaps", {"": 1.0}, 1.0, 6.0),
    Figure("zero_lift_drag", {"": 1.0}, 0.008, 0.08),
    Figure("span_efficiency", {"": 1.0}, 0.4, 1.0),
    Figure("lift_slope", {"per_rad": 1.0, "per_deg": 1.0 / DEGREE}, 3.0, 7.0),
    Figure("zero_lift_angle", {"deg": DEGREE}, -10 * DEGREE, 3 * DEGREE),
    Figure("lift_max", {"": 1.0}, 0.8, 2.6),
    Figure("propeller_efficiency", {"": 1.0}, 0.3, 0.92),
    Figure("propeller_drag_area", {"ft2": FOOT**2, "m2": 1.0}, 1e-3, 2.0),
    Figure("propeller_drag_open", {"ft2": FOOT**2, "m2": 1.0}, 0.0, 2.0),
    Figure("power_dropoff", {"": 1.0}, 0.0, 0.3),
    _speed("best_glide_speed", 15.0, 90.0),
    Figure("glide_ratio", {"": 1.0}, 4.0, 40.0),
    Figure("usable_fuel", {"gal": US_GALLON, "l": LITER}, 0.01, 1.5),
    _mass("baggage"),
)
KEYS: dict[str, tuple[Figure, float]] = {
    key: (figure, scale) for figure in FIGURES for key, scale in figure.keys.items()
}

_ALTITUDE = Figure("pressure_altitude", {"ft": FOOT, "m": 1.0}, -500.0, 7_000.0)
_DEVIATION = Figure("isa_deviation", {"c": 1.0}, -60.0, 60.0)
_ROW_MASS = _mass("mass")
_ROW_SPEED = _speed("speed", required=True)
_CATEGORY_WORDS = ("normal", "utility", "acrobatic", "commuter", "light_sport", "experimental")

ROWS: tuple[RowKind, ...] = (
    RowKind(
        "stall",
        (_speed("speed", 12.0, 60.0, required=True), _ROW_MASS),
        {"configuration": ("clean", "landing"), "center_of_gravity": (), "source": ()},
        required_texts=("configuration",),
    ),
    RowKind(
        "maneuvering",
        (_speed("speed", 20.0, 130.0, required=True), _mass("mass", required=True)),
        {"source": ()},
    ),
    RowKind(
        "level_flight",
        (
            _ALTITUDE,
            _DEVIATION,
            Figure("true_airspeed", {"ktas": KNOT, "mps": 1.0}, 20.0, 180.0),
            _speed("speed", 20.0),
            Figure("power_percent", {"": 0.01}, 0.2, 1.0),
            Figure("engine_speed", {"rpm": REVOLUTION / 60.0}, 130.0, 680.0),
            _ROW_MASS,
        ),
        {"source": ()},
        one_of=("true_airspeed", "speed"),
    ),
    RowKind(
        "climb",
        (
            _ALTITUDE,
            _DEVIATION,
            _ROW_SPEED,
            Figure("rate", {"fpm": FOOT_PER_MINUTE, "mps": 1.0}, 0.1, 20.0, required=True),
            _ROW_MASS,
        ),
        {"source": ()},
    ),
    RowKind(
        "glide",
        (_speed("speed", 15.0, 90.0, required=True), Figure("ratio", {"": 1.0}, 4.0, 40.0), _ROW_MASS),
        {"source": ()},
    ),
    RowKind(
        "level_attitude",
        (_ROW_SPEED, Figure("pitch", {"deg": DEGREE}, -15 * DEGREE, 25 * DEGREE, required=True), _ROW_MASS),
        {"source": ()},
    ),
    RowKind("recommended_entry", (_ROW_SPEED,), {"maneuver": (), "source": ()}, ("maneuver",)),
    RowKind(
        "center_of_gravity_limit",
        (
            _mass("mass", required=True),
            Figure("forward", {"in": _INCH, "m": 1.0}, -1.0, 10.0, required=True),
            Figure("aft", {"in": _INCH, "m": 1.0}, -1.0, 10.0, required=True),
        ),
        {"source": ()},
    ),
)
WORDS: dict[str, tuple[str, ...]] = {
    "propeller": ("fixed_pitch", "constant_speed"),
    "category": _CATEGORY_WORDS,
    "engine": ("normally_aspirated", "turbocharged", "electric"),
}
"""Keys of which the value is one of a few words."""

WING_LOADING_LOW, WING_LOADING_HIGH = 150.0, 2_500.0
"""Believable wing loadings [Pa]: 3 to 52 lb/ft². Own bounds, wide enough for anything a school flies."""
