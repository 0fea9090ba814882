"""The columns of an exported motion: pilot units and references in every name; see docs/quantities.md."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from chalkwing.dynamics.wind import wind_told
from chalkwing.motion import Motion
from chalkwing.units import (
    DEGREE,
    FOOT,
    FOOT_PER_MINUTE,
    KNOT,
    Floats,
    wrap_compass,
)


@dataclass(frozen=True)
class Column:
    """One exported quantity: its name, the Motion's name, the SI value of its unit, and decimals kept."""

    name: str
    quantity: str
    unit: float
    decimals: int
    compass: bool = False


COLUMNS: tuple[Column, ...] = (
    Column("latitude_deg", "latitude", DEGREE, 7),
    Column("longitude_deg", "longitude", DEGREE, 7),
    Column("altitude_ft", "altitude", FOOT, 1),
    Column("geometric_altitude_ft", "geometric_altitude", FOOT, 1),
    Column("pressure_altitude_ft", "pressure_altitude", FOOT, 1),
    Column("bank_deg", "bank", DEGREE, 2),
    Column("pitch_deg", "pitch", DEGREE, 2),
    Column("heading_true_deg", "heading_true", DEGREE, 2, compass=True),
    Column("heading_magnetic_deg", "heading_magnetic", DEGREE, 2, compass=True),
    Column("ground_speed_kt", "ground_speed", KNOT, 2),
    Column("track_deg_true", "track", DEGREE, 2, compass=True),
    Column("calibrated_airspeed_kt", "calibrated_airspeed", KNOT, 2),
    Column("indicated_airspeed_kt", "indicated_airspeed", KNOT, 2),
    Column("true_airspeed_kt", "true_airspeed", KNOT, 2),
    Column("vertical_speed_fpm", "vertical_speed", FOOT_PER_MINUTE, 0),
    Column("turn_rate_deg_per_s", "turn_rate", DEGREE, 2),
    Column("roll_rate_deg_per_s", "roll_rate", DEGREE, 2),
    Column("pitch_rate_deg_per_s", "pitch_rate", DEGREE, 2),
    Column("load_factor", "load_factor", 1.0, 3),
    Column("lateral_load", "lateral_load", 1.0, 3),
    Column("path_angle_deg", "path_angle", DEGREE, 2),
    Column("angle_of_attack_deg", "angle_of_attack", DEGREE, 2),
    Column("specific_energy_ft", "specific_energy", FOOT, 1),
    Column("specific_energy_rate_fpm", "specific_energy_rate", FOOT_PER_MINUTE, 0),
    Column("power_percent", "power", 0.01, 1),
)
"""Each comes with ``<name>_sd``; a quantity that the Motion does not have is left empty."""

WIND = ("wind_from_deg_true", "wind_speed_kt")


def motion_table(motions: Sequence[tuple[Motion, float]]) -> pl.DataFrame:
    """All flights below each other; each Motion comes with the shift [s] of its clock to the earliest row."""
    return pl.concat([_flight_table(k, motion, shift) for k, (motion, shift) in enumerate(motions, start=1)])


def _flight_table(number: int, motion: Motion, shift: float) -> pl.DataFrame:
    series = [
        pl.Series("flight", np.full(len(motion.time), number, dtype=np.int32)),
        pl.Series("time_s", np.round(motion.time + shift, 3)),
        pl.Series("in_gap", motion.in_gap),
    ]
    for column in COLUMNS:
        series += _pair(column, motion)
    series += _wind(motion)
    return pl.DataFrame(series)


def _pair(column: Column, motion: Motion) -> list[pl.Series]:
    if column.quantity not in motion:
        empty = pl.Series(column.name, [None] * len(motion.time), dtype=pl.Float64)
        return [empty, empty.alias(f"{column.name}_sd")]
    values = motion[column.quantity]
    if column.compass:
        values = wrap_compass(values)
    sd = motion.sds[column.quantity] / column.unit
    # Two digits of an sd are kept where the value keeps none of its last.
    return [
        _series(column.name, values / column.unit, column.decimals),
        _series(f"{column.name}_sd", sd, column.decimals + (0 if column.decimals > 2 else 1)),
    ]


def _series(name: str, values: Floats, decimals: int) -> pl.Series:
    """Rounded; what is not finite is empty."""
    finite = np.where(np.isfinite(values), values, np.nan)
    return pl.Series(name, np.round(finite, decimals)).fill_nan(None)


def _wind(motion: Motion) -> list[pl.Series]:
    sds = motion.sds["wind_north"], motion.sds["wind_east"]
    comes_from, from_sd, speed, speed_sd = wind_told(motion["wind_north"], motion["wind_east"], *sds)
    direction, strength = WIND
    return [
        _series(direction, comes_from / DEGREE, 1),
        _series(f"{direction}_sd", from_sd / DEGREE, 1),
        _series(strength, speed / KNOT, 2),
        _series(f"{strength}_sd", speed_sd / KNOT, 2),
    ]
