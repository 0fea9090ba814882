"""The quantities that pictures show: where each comes from in a Motion and in a Reference, and its unit."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.units import DEGREE, FOOT, KNOT


@dataclass(frozen=True)
class Shown:
    """One quantity of a maneuver in a pilot unit (``scale`` is its SI value).

    ``source`` names it in a Motion, ``planned`` in a Reference (None: a plan has none), ``channels`` the
    recorded channels whose raw rows are the same quantity. ``turned``: the sign counts toward the turn.
    ``from_entry``: counted from its value at the maneuver's entry.
    """

    name: str
    source: str
    scale: float
    planned: str | None = None
    channels: tuple[str, ...] = ()
    turned: bool = False
    from_entry: bool = False


SHOWN: tuple[Shown, ...] = (
    Shown("bank_into_turn_deg", "bank", DEGREE, "bank_into_turn", ("bank",), turned=True),
    Shown("pitch_from_level_deg", "pitch", DEGREE, "pitch", ("pitch",)),
    Shown("airspeed_kt", "airspeed", KNOT, "calibrated_airspeed"),
    Shown("altitude_change_ft", "altitude", FOOT, "altitude_change", from_entry=True),
    Shown("load_factor_g", "load_factor", 1.0, "load_factor", ("load_factor",)),
    Shown("roll_rate_into_turn_deg_per_s", "roll_rate", DEGREE, "roll_rate", turned=True),
    Shown("pitch_rate_deg_per_s", "pitch_rate", DEGREE, "pitch_rate"),
    Shown("lateral_load_g", "lateral_load", 1.0, None, ("lateral_load",)),
    Shown("power_percent", "power", 0.01, None, ("power",)),
    Shown("specific_energy_change_ft", "specific_energy", FOOT, "specific_energy", from_entry=True),
)
"""In the order in which profiles show them."""

PLACES = ("ground_north_ft", "ground_east_ft", "air_north_ft", "air_east_ft")
"""Where the airplane was, from the entry: over the ground, and through the moving air."""
