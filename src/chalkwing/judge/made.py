"""Quantities that definitions name and a Motion does not hold, made of those that it holds."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.judge.over_draws import mean_over
from chalkwing.units import Floats, wrap_angle

if TYPE_CHECKING:
    from chalkwing.judge.flown import Flown

SEA_LEVEL_DENSITY = 1.225
JUST_BEFORE = 1.5
"""Seconds before a break at which the bank is that of the stall's entry."""
LOOK_BACK = 1.0
"""Seconds before a break over which the stall speed is read."""
NEED_SHEET = frozenset(
    ("margin_over_stall", "margin_over_accelerated_stall", "stall_speed_over_sheet", "over_maneuvering_speed")
)

TURNED: dict[str, str] = {
    "heading": "heading_true",
    "bank_into_turn": "bank",
    "turn_rate_into_turn": "turn_rate",
    "roll_rate_into_turn": "roll_rate",
}
"""Quantities of the Motion whose sign is counted toward the turn."""

_SOURCES: dict[str, tuple[str, ...]] = {
    **{name: (source,) for name, source in TURNED.items()},
    "heading_change": ("heading_true",),
    "altitude_change": ("altitude",),
    "airspeed_change": ("airspeed",),
    "height_above_ground": ("geometric_altitude", "latitude", "longitude"),
    "margin_over_stall": ("calibrated_airspeed",),
    "margin_over_accelerated_stall": ("calibrated_airspeed", "load_factor"),
    "turns_flown": ("heading_true",),
    "tailwind": ("wind_north", "wind_east", "heading_true"),
    "wind_correction": ("heading_true", "track"),
    "stall_speed_1g": ("calibrated_airspeed", "load_factor"),
    "stall_speed_over_sheet": ("calibrated_airspeed", "load_factor"),
    "over_maneuvering_speed": ("calibrated_airspeed",),
    "over_climb_speed": ("calibrated_airspeed",),
    "wing_drop": ("bank",),
}
"""Quantities of the Motion from which a definition's quantity is made, where it is not one itself."""


def sources(name: str) -> tuple[str, ...]:
    """The quantities of a Motion that the definition's quantity ``name`` is made from."""
    return _SOURCES.get(name, (name,))


def _from_entry(source: str) -> Callable[[Flown, int], Floats]:
    def change(flown: Flown, part: int) -> Floats:
        entry = flown.at(source, part, flown.points[0]["turn_starts"])
        return flown.values[source] - entry[:, None]

    return change


def _heading_change(flown: Flown, part: int) -> Floats:
    return flown.signal("heading", part) - flown.heading_begun(part)[:, None]


def _height_above_ground(flown: Flown, part: int) -> Floats:
    assert flown.terrain is not None  # holds() was asked first
    return flown.values["geometric_altitude"] - flown.terrain


def _margin(flown: Flown, part: int) -> Floats:
    return flown.values["calibrated_airspeed"] - flown.level_stall_speed


def _accelerated_margin(flown: Flown, part: int) -> Floats:
    stall = flown.level_stall_speed * np.sqrt(np.maximum(flown.values["load_factor"], 0.0))
    return np.asarray(flown.values["calibrated_airspeed"] - stall)


def _tailwind(flown: Flown, part: int) -> Floats:
    heading, values = flown.values["heading_true"], flown.values
    return np.asarray(values["wind_north"] * np.cos(heading) + values["wind_east"] * np.sin(heading))


def _wind_correction(flown: Flown, part: int) -> Floats:
    return np.asarray(wrap_angle(flown.values["heading_true"] - flown.values["track"]))


def calibrated_by_sheet(flown: Flown) -> Floats:
    """Calibrated airspeed [m/s]: an indicated one that was recorded is put through the sheet's table."""
    measured = flown.motion.origins.get("indicated_airspeed") == "measured"
    if measured and corrects(flown.sheet) and "indicated_airspeed" in flown.values:
        assert flown.sheet is not None  # it corrects
        return np.asarray(flown.sheet.calibrated(flown.values["indicated_airspeed"]))
    return flown.values["calibrated_airspeed"]


def corrects(sheet: AirplaneSheet | None) -> bool:
    """Whether there is a sheet with an airspeed correction."""
    return sheet is not None and bool(sheet.indicated_to_calibrated)


def _stall_speed(flown: Flown, part: int) -> Floats:
    """V/sqrt(n), the mean of the second before: once the wing has let go, the load tells nothing more."""
    speed = calibrated_by_sheet(flown) / np.sqrt(np.maximum(flown.values["load_factor"], 0.3))
    return mean_over(speed, LOOK_BACK, 0.0, flown.interval)


def _wing_drop(flown: Flown, part: int) -> Floats:
    """Bank beyond the range from level to that just before the break, zero until then.

    Rolling level from a turn is no wing drop; a break placed a little late has part of the drop behind it.
    """
    bank = flown.values["bank"]
    until = flown.points[part]["breaks"] - JUST_BEFORE / flown.interval
    begun = flown.at("bank", part, until)[:, None]
    beyond = bank - np.clip(bank, np.minimum(begun, 0.0), np.maximum(begun, 0.0))
    return np.where(np.arange(bank.shape[1]) > until[:, None], beyond, 0.0)


def _stall_over_sheet(flown: Flown, part: int) -> Floats:
    return _stall_speed(flown, part) - flown.level_stall_speed


def _over_maneuvering(flown: Flown, part: int) -> Floats:
    assert flown.sheet is not None  # holds() was asked first
    return flown.values["calibrated_airspeed"] - flown.sheet.maneuvering_speed_at(flown.day_mass)


def _over_climb(flown: Flown, part: int) -> Floats:
    """Over the airspeed of the manual's climbs; calibrated and equivalent hardly differ at such heights."""
    assert flown.sheet is not None  # holds() was asked first
    climbs = flown.sheet.handbook.climbs
    speed = np.mean([row.true_airspeed * np.sqrt(row.density / SEA_LEVEL_DENSITY) for row in climbs])
    return np.asarray(flown.values["calibrated_airspeed"] - speed)


MAKERS: dict[str, Callable[[Flown, int], Floats]] = {
    "tailwind": _tailwind,
    "wind_correction": _wind_correction,
    "heading_change": _heading_change,
    "altitude_change": _from_entry("altitude"),
    "airspeed_change": _from_entry("airspeed"),
    "height_above_ground": _height_above_ground,
    "margin_over_stall": _margin,
    "margin_over_accelerated_stall": _accelerated_margin,
    "stall_speed_1g": _stall_speed,
    "wing_drop": _wing_drop,
    "stall_speed_over_sheet": _stall_over_sheet,
    "over_maneuvering_speed": _over_maneuvering,
    "over_climb_speed": _over_climb,
}
"""How each is made, for one part."""
