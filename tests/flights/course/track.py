"""The table of a flight as arrays, and what edges of turns mean in it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np
import polars as pl
from tests.flights.airplanes import CRITICAL_ANGLE
from tests.flights.course.procedures import Log
from tests.flights.truth import ROLLED_OUT, TruthPart

from chalkwing.units import DEGREE

LEVEL_ENOUGH, BANKED = np.radians(1.5), np.radians(8.0)
Measured = tuple[float, float, list[TruthPart], dict[str, float], dict[str, float], dict[str, Any]]
"""Start, end, parts, borders, values, ground."""


class Track:
    """The table's columns as arrays, and rows by time."""

    def __init__(self, table: pl.DataFrame, airplane: str, terrain: float = 0.0) -> None:
        names = (
            "time", "bank", "pitch", "heading_true", "altimeter_altitude", "calibrated_airspeed", "latitude",
            "longitude", "angle_of_attack", "load_factor", "velocity_down", "velocity_north", "velocity_east",
            "geometric_altitude", "throttle", "true_airspeed",
        )  # fmt: skip
        self.table, self.terrain = table, terrain
        self.columns = {name: table[name].to_numpy() for name in names}
        self.critical = CRITICAL_ANGLE[airplane]

    def __getitem__(self, name: str) -> np.ndarray:
        return self.columns[name]

    def row(self, time: float) -> int:
        return min(int(np.searchsorted(self["time"], time - 1e-6)), len(self["time"]) - 1)


def roll_in(track: Track, first: int, sign: int) -> int:
    """Last row about level before the bank is plainly there, from 2 s before row ``first`` on."""
    first = max(first - 40, 0)
    bank = sign * track["bank"][first:]
    banked = np.flatnonzero(bank > BANKED)
    if not len(banked):
        return first
    level = np.flatnonzero(bank[: banked[0]] <= LEVEL_ENOUGH)
    return first + (int(level[-1]) if len(level) else 0)


def rollout(track: Track, banked: int, sign: int) -> int:
    """First row at or after ``banked`` where bank into the turn has fallen to 2 degrees."""
    below = np.flatnonzero(sign * track["bank"][banked:] <= ROLLED_OUT)
    return banked + int(below[0]) if len(below) else len(track["bank"]) - 1


def part(track: Track, begin: int, end: int, sign: int, entry: int, wanted: float) -> TruthPart:
    """One turn as flown between two rows; ``wanted`` is the heading [rad] it should have ended on."""
    altitude, airspeed, heading = (
        track[name] for name in ("altimeter_altitude", "calibrated_airspeed", "heading_true")
    )
    turned = sign * (heading[begin : end + 1] - heading[begin])
    passages = {}
    for degrees in (45, 90, 135, 180, 270):
        beyond = np.flatnonzero(turned >= degrees * DEGREE)
        if len(beyond):
            passages[str(degrees)] = float(track["time"][begin + beyond[0]])
    return TruthPart(
        direction="right" if sign > 0 else "left",
        start=float(track["time"][begin]),
        end=float(track["time"][end]),
        altitude_error=float(altitude[end] - altitude[entry]),
        airspeed_error=float(airspeed[end] - airspeed[entry]),
        heading_error=float(sign * (heading[end] - wanted)),
        bank_max=float(np.max(sign * track["bank"][begin : end + 1])),
        passages=passages,
    )


def held(track: Track, first: int, last: int) -> dict[str, float]:
    """Worst departures from entry of what is held, and how steep it was."""
    rows = slice(first, last + 1)
    change = {
        name: track[column][rows] - track[column][first]
        for name, column in (("altitude", "altimeter_altitude"), ("airspeed", "calibrated_airspeed"))
    }
    bank = np.abs(track["bank"][rows])
    return {
        **{f"{name}_lowest": float(values.min()) for name, values in change.items()},
        **{f"{name}_highest": float(values.max()) for name, values in change.items()},
        "bank_max": float(bank.max()),
        "bank_mean": float(bank.mean()),
        "load_factor_max": float(track["load_factor"][rows].max()),
    }


def last_banked(track: Track, first: int, stop: int, sign: int) -> int:
    """Last row before ``stop`` (and a little after) with plain bank into the turn."""
    banked = np.flatnonzero(sign * track["bank"][first : stop + 1] > BANKED)
    return first + int(banked[-1]) if len(banked) else first


def whole(track: Track, first: int, last: int, log: Log) -> list[TruthPart]:
    sign = log.directions[0] if log.directions else 1
    one = part(track, first, max(last, first + 1), sign, first, float(track["heading_true"][first]))
    if not log.directions:
        one = TruthPart(**{**asdict(one), "direction": "none"})
    return [one]
