"""The numbers an airplane sheet may hold: their units in the file, and what is believable for an airplane."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chalkwing.units import DEGREE, FOOT, HORSEPOWER, KNOT, POUND

_SPEED = {"kcas": KNOT, "mps": 1.0}


@dataclass(frozen=True)
class Figure:
    """A number of a sheet: ``units`` maps a key's ending to its scale in SI; ``low`` and ``high`` are SI."""

    name: str
    units: Mapping[str, float]
    low: float
    high: float
    required: bool = True

    @property
    def keys(self) -> dict[str, float]:
        """The keys under which a file may give it, with their scales: ``mass_lb``, ``mass_kg``."""
        return {f"{self.name}_{unit}" if unit else self.name: scale for unit, scale in self.units.items()}


FIGURES: tuple[Figure, ...] = (
    Figure("mass", {"lb": POUND, "kg": 1.0}, 150.0, 6_000.0),
    Figure("wing_area", {"ft2": FOOT**2, "m2": 1.0}, 5.0, 60.0),
    Figure("wing_span", {"ft": FOOT, "m": 1.0}, 5.0, 30.0),
    Figure("power", {"hp": HORSEPOWER, "kw": 1000.0}, 15e3, 1e6),
    Figure("stall_speed", _SPEED, 12.0, 60.0),
    Figure("maneuvering_speed", _SPEED, 20.0, 130.0),
    Figure("zero_lift_drag", {"": 1.0}, 0.008, 0.08, required=False),
    Figure("span_efficiency", {"": 1.0}, 0.4, 1.0, required=False),
    Figure("lift_slope", {"per_rad": 1.0, "per_deg": 1.0 / DEGREE}, 3.0, 7.0, required=False),
    Figure("zero_lift_angle", {"deg": DEGREE}, -10 * DEGREE, 3 * DEGREE, required=False),
    Figure("lift_max", {"": 1.0}, 0.8, 2.6, required=False),
    Figure("propeller_efficiency", {"": 1.0}, 0.3, 0.92, required=False),
    Figure("best_glide_speed", _SPEED, 15.0, 90.0, required=False),
    Figure("glide_ratio", {"": 1.0}, 4.0, 40.0, required=False),
)
KEYS: dict[str, tuple[Figure, float]] = {
    key: (figure, scale) for figure in FIGURES for key, scale in figure.keys.items()
}
WING_LOADING_LOW, WING_LOADING_HIGH = 150.0, 2_500.0
"""Believable wing loadings [Pa]: 3 to 52 lb/ft². Own bounds, wide enough for anything a school flies."""
