"""One invented flight, known exactly, and its quantities in the units that recorders write."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import UTC, datetime, timedelta
from functools import lru_cache

import numpy as np

from chalkwing.units import FOOT, FOOT_PER_MINUTE, KNOT, STANDARD_GRAVITY, Floats

START = datetime(2025, 9, 13, 14, 20, 0, tzinfo=UTC)
RADIUS = 6371008.8
VARIATION = np.radians(4.0)
STEP = 0.05
TURNS = ((20, 50, 12), (120, 165, 45), (190, 245, -30), (300, 325, 40), (335, 360, -40), (430, 470, -20))
"""Start and end [s] and bank [deg] of each turn."""


@dataclass(frozen=True)
class Flight:
    """SI and radians; ``time`` in seconds from START. One array per quantity."""

    time: Floats
    latitude: Floats
    longitude: Floats
    geometric_altitude: Floats
    pressure_altitude: Floats
    ground_speed: Floats
    track: Floats
    velocity_north: Floats
    velocity_east: Floats
    vertical_speed: Floats
    indicated_airspeed: Floats
    true_airspeed: Floats
    bank: Floats
    pitch: Floats
    heading_true: Floats
    heading_magnetic: Floats
    load_factor: Floats
    outside_air_temperature: Floats
    engine_speed: Floats

    def __len__(self) -> int:
        return len(self.time)

    def at(self, index: slice | Floats) -> Flight:
        return Flight(**{field.name: getattr(self, field.name)[index] for field in fields(self)})

    def every(self, interval: float) -> Flight:
        """Rows ``interval`` seconds apart."""
        count = round(self.time[-1] / interval)
        return self.at(np.round(np.arange(count) * interval / STEP).astype(np.int64))


@lru_cache(maxsize=8)
def known_flight(*, latitude: float = 47.2, longitude: float = 8.3) -> Flight:
    """Ten minutes: a climb, a right 360 at 45 degrees, a left one at 30, a wingover each way, a descent."""
    time = np.arange(0.0, 600.0, STEP)
    bank = np.zeros_like(time)
    for start, stop, amount in TURNS:
        bank += np.radians(amount) * _window(time, start, stop)
    climb = 4.0 * _window(time, 10, 110) - 5.0 * _window(time, 480, 580)
    climb += 7.0 * np.sin(2 * np.pi * (time - 300) / 30) * _window(time, 300, 360)
    airspeed = 50.0 + 3.0 * np.sin(time / 40.0) - 0.6 * climb
    heading = np.radians(70.0) + np.cumsum(STANDARD_GRAVITY * np.tan(bank) / airspeed) * STEP
    north = airspeed * np.cos(heading) + 4.0
    east = airspeed * np.sin(heading) - 3.0
    lat0, lon0 = np.radians(latitude), np.radians(longitude)
    altitude = 900.0 + np.cumsum(climb) * STEP
    density = (1 - 2.25577e-5 * altitude) ** 4.2559
    load = 1.0 / np.cos(bank)
    attack = np.radians(3.0) * load * (50.0 / airspeed) ** 2
    return Flight(
        time=time,
        latitude=lat0 + np.cumsum(north) * STEP / RADIUS,
        longitude=lon0 + np.cumsum(east) * STEP / (RADIUS * np.cos(lat0)),
        geometric_altitude=altitude,
        pressure_altitude=altitude * 0.98 + 55.0,
        ground_speed=np.hypot(north, east),
        track=np.mod(np.arctan2(east, north), 2 * np.pi),
        velocity_north=north,
        velocity_east=east,
        vertical_speed=climb,
        indicated_airspeed=airspeed * np.sqrt(density),
        true_airspeed=airspeed,
        bank=bank,
        pitch=np.arcsin(climb / airspeed) + attack,
        heading_true=np.mod(heading, 2 * np.pi),
        heading_magnetic=np.mod(heading - VARIATION, 2 * np.pi),
        load_factor=load,
        outside_air_temperature=288.15 + 6.0 - 0.0065 * altitude,
        engine_speed=(2350.0 + 20.0 * np.sin(time / 7.0)) * 2 * np.pi / 60.0,
    )


def _window(time: Floats, start: float, stop: float) -> Floats:
    """1 between start and stop with smooth edges of about four seconds."""
    return 0.5 * (np.tanh((time - start) / 1.5) - np.tanh((time - stop) / 1.5))


def degrees(values: Floats) -> Floats:
    return np.degrees(values)


def feet(values: Floats) -> Floats:
    return values / FOOT


def knots(values: Floats) -> Floats:
    return values / KNOT


def fpm(values: Floats) -> Floats:
    return values / FOOT_PER_MINUTE


def celsius(values: Floats) -> Floats:
    return values - 273.15


def rpm(values: Floats) -> Floats:
    return values * 60.0 / (2 * np.pi)


def text(values: Iterable[float], decimals: int, *, comma: bool = False) -> list[str]:
    cells = [f"{value:.{decimals}f}" for value in values]
    return [cell.replace(".", ",") for cell in cells] if comma else cells


def stamps(time: Floats, pattern: str, *, shift: float = 0.0, cut: int | None = None) -> list[str]:
    """Times by ``strftime``; ``cut`` is the number of decimals of the seconds that ``%f`` keeps."""
    cells = []
    for seconds in time:
        moment = START + timedelta(seconds=round(float(seconds) + shift, 6))
        cell = moment.strftime(pattern)
        cells.append(cell if cut is None else cell[: len(cell) - 6 + cut] if cut else cell[:-7])
    return cells


def table(
    columns: dict[str, list[str]], *, mark: str = ",", preamble: str = "", units: list[str] | None = None
) -> str:
    """A delimited text of the columns under their names."""
    lines = [mark.join(columns)]
    if units is not None:
        lines.append(mark.join(units))
    lines += [mark.join(row) for row in zip(*columns.values(), strict=True)]
    return preamble + "\n".join(lines) + "\n"
