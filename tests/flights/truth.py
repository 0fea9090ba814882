"""The truth of a flight: its table, the maneuvers flown in it, the airplane and the day."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

ROLLED_OUT = np.radians(2.0)


@dataclass(frozen=True)
class TruthPart:
    """One turn of a maneuver: from its roll-in to where its turn stops [s], and what was flown, in SI.

    The turn stops where the wings pass level; after the last, where bank into the turn first falls to 2 deg.
    Errors are those at ``end``: altitude (altimeter) and calibrated airspeed against the maneuver's entry,
    heading past the reciprocal or entry heading in the direction of turn.
    """

    direction: str
    start: float
    end: float
    altitude_error: float
    airspeed_error: float
    heading_error: float
    bank_max: float
    passages: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class TruthManeuver:
    """``start`` is where the roll-in begins, ``end`` the wings-level rollout or where it was broken off [s].

    The roll-in begins at ``commanded``, or later where the bank first came back to level: the last row at
    1.5 degrees or less before 8 degrees of bank into the turn. ``tests.flights.course.measure`` measures the
    other maneuvers of the course: ``borders`` [s] by event, ``ground`` (places in radians, the rest in
    meters), ``values`` in SI.
    """

    kind: str
    direction: str
    commanded: float
    start: float
    end: float
    status: str
    entry_altitude: float
    entry_airspeed: float
    entry_heading: float
    parts: tuple[TruthPart, ...]
    chained: bool
    goal: dict[str, Any]
    borders: dict[str, float] = field(default_factory=dict)
    ground: dict[str, Any] = field(default_factory=dict)
    values: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Flown:
    """A pilot's own account of a maneuver: times of commands [s], before it is measured in the table."""

    kind: str
    directions: tuple[int, ...]
    starts: tuple[float, ...]
    stop: float
    status: str
    chained: bool
    chain_goes_on: bool
    half_turn: float
    goal: dict[str, Any]


@dataclass(frozen=True)
class TruthFlight:
    """Everything true about one flight; ``table`` has 20 rows a second (see ``Simulator.table``)."""

    seed: int
    controller: str
    table: pl.DataFrame
    maneuvers: list[TruthManeuver]
    legs: list[dict[str, Any]]
    facts: dict[str, Any]
    weather: dict[str, Any]
    reseeded: list[str]

    def save(self, directory: Path, *, every: int = 1) -> None:
        """Write ``truth.parquet``, of which ``every`` so many rows one is kept, and ``truth.json``."""
        directory.mkdir(parents=True, exist_ok=True)
        # Single precision keeps every column far finer than any recorder, except place and time.
        narrow = pl.all().exclude("time", "latitude", "longitude").cast(pl.Float32)
        self.table.gather_every(every).with_columns(narrow).write_parquet(
            directory / "truth.parquet", compression="zstd"
        )
        rest = {name: value for name, value in self.__dict__.items() if name != "table"}
        rest["maneuvers"] = [asdict(m) for m in self.maneuvers]
        (directory / "truth.json").write_text(json.dumps(rest, indent=1))


def load(directory: Path) -> TruthFlight:
    """Read back what ``save`` wrote."""
    rest = json.loads((directory / "truth.json").read_text())
    rest["maneuvers"] = [
        TruthManeuver(**{**m, "parts": tuple(TruthPart(**part) for part in m["parts"])})
        for m in rest["maneuvers"]
    ]
    table = pl.read_parquet(directory / "truth.parquet").with_columns(pl.all().cast(pl.Float64))
    return TruthFlight(table=table, **rest)


def measure_all(flown: list[Flown], table: pl.DataFrame) -> list[TruthManeuver]:
    """Measure the maneuvers of a flight in order; a chained one begins where the one before it ends."""
    found: list[TruthManeuver] = []
    for one in flown:
        found.append(measure(one, table, after=found[-1].end if one.chained else None))
    return found


def measure(flown: Flown, table: pl.DataFrame, *, after: float | None = None) -> TruthManeuver:
    """Find in the table where each turn of a maneuver stopped, and the errors there.

    ``after`` is the end of the maneuver this one is chained to [s].
    """
    time = table["time"].to_numpy()
    bank = table["bank"].to_numpy()
    heading = table["heading_true"].to_numpy()
    altitude = table["altimeter_altitude"].to_numpy()
    airspeed = table["calibrated_airspeed"].to_numpy()
    commanded = int(np.searchsorted(time, flown.starts[0]))
    if after is None:
        entry = _roll_in(bank * flown.directions[0], commanded)
    else:
        entry = int(np.searchsorted(time, after - 1e-6))
    parts = []
    begin = entry
    last = len(flown.directions) - 1
    for k, sign in enumerate(flown.directions):
        command_over = flown.starts[k + 1] if k < last else flown.stop
        passes = k < last or flown.chain_goes_on
        end = _turn_stops(bank * sign, begin, int(np.searchsorted(time, command_over)), passes=passes)
        if flown.status == "broken_off" and k == last:
            end = int(np.searchsorted(time, flown.stop))
        end_heading = heading[entry] + sum(flown.directions[: k + 1]) * flown.half_turn
        turned = sign * (heading - heading[begin])
        parts.append(
            TruthPart(
                direction="right" if sign > 0 else "left",
                start=float(time[begin]),
                end=float(time[end]),
                altitude_error=float(altitude[end] - altitude[entry]),
                airspeed_error=float(airspeed[end] - airspeed[entry]),
                heading_error=float(sign * (heading[end] - end_heading)),
                bank_max=float(np.max(sign * bank[begin : end + 1])),
                passages=_passages(turned[begin : end + 1], time[begin : end + 1]),
            )
        )
        begin = end
    return TruthManeuver(
        kind=flown.kind,
        direction="right" if flown.directions[0] > 0 else "left",
        commanded=float(time[commanded]),
        start=float(time[entry]),
        end=parts[-1].end,
        status=flown.status,
        entry_altitude=float(altitude[entry]),
        entry_airspeed=float(airspeed[entry]),
        entry_heading=float(heading[entry]),
        parts=tuple(parts),
        chained=flown.chained,
        goal=flown.goal,
    )


def _roll_in(bank_into_turn: np.ndarray, commanded: int) -> int:
    """Last row about level before the bank is plainly there."""
    banked = np.flatnonzero(bank_into_turn[commanded:] > np.radians(8))
    if not len(banked):
        return commanded
    level = np.flatnonzero(bank_into_turn[commanded : commanded + banked[0]] <= np.radians(1.5))
    return commanded + int(level[-1]) if len(level) else commanded


def _turn_stops(bank_into_turn: np.ndarray, begin: int, near: int, *, passes: bool) -> int:
    """First row after the last large bank where bank falls to level (or, in a rollout, to 2 degrees)."""
    stop = min(near + 160, len(bank_into_turn) - 1)
    window = bank_into_turn[begin : stop + 1]
    level = 0.0 if passes else ROLLED_OUT
    large = np.flatnonzero(window[: max(near - begin, 1)] > min(0.4 * window.max(), np.radians(12)))
    after = int(large[-1]) if len(large) else 0
    below = np.flatnonzero(window[after:] <= level)
    return begin + after + int(below[0]) if len(below) else near


def _passages(turned: np.ndarray, time: np.ndarray) -> dict[str, float]:
    """When each 45 degrees of turn was first passed [s]."""
    found = {}
    for degrees in (45, 90, 135):
        beyond = np.flatnonzero(turned >= np.radians(degrees))
        if len(beyond):
            found[str(degrees)] = float(time[beyond[0]])
    return found
