"""The English layout with one thing changed at a time, and noisy flights that must be left alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.signal import lfilter
from tests.recordings.delimited.flight import (
    RADIUS,
    START,
    Flight,
    degrees,
    known_flight,
    stamps,
    table,
    text,
)
from tests.recordings.delimited.layouts import english

from chalkwing.recordings import Recording
from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited import READER
from chalkwing.units import Floats, wrap_angle

Columns = dict[str, list[str]]
Change = Callable[[Flight, Columns], "Columns | str | None"]
SATELLITE = ("Latitude", "Longitude", "GPS Altitude (ft)", "Ground Speed (kt)", "Track (deg true)")


def renamed(columns: Columns, old: str, new: str, cells: list[str] | None = None) -> Columns:
    """One column under another name, with other cells where given."""
    return {
        (new if name == old else name): (cells if name == old and cells is not None else kept)
        for name, kept in columns.items()
    }


def timed(name: str, cells: Callable[[Flight], list[str]]) -> Change:
    return lambda f, columns: renamed(columns, "UTC", name, cells(f))


def replaced(name: str, new: str, cells: Callable[[Flight], list[str]]) -> Change:
    return lambda f, columns: renamed(columns, name, new, cells(f))


def sparse_satellites(f: Flight, columns: Columns) -> Columns:
    for name in SATELLITE:
        columns[name] = [cell if k % 10 == 0 else "" for k, cell in enumerate(columns[name])]
    return renamed(columns, "UTC", "time (s)", text(f.time, 1))


def held_with_jitter(f: Flight, columns: Columns) -> Columns:
    rng = np.random.default_rng(1)
    ticks = np.cumsum(10 + rng.integers(-1, 2, len(f)))
    source = np.concatenate(([0], ticks))[np.searchsorted(ticks, np.arange(len(f)), side="right")]
    for name in SATELLITE:
        columns[name] = [columns[name][k] for k in source]
    return renamed(columns, "UTC", "time (s)", text(f.time, 1))


def dms(values: Floats, letters: str) -> list[str]:
    cells = []
    for value in degrees(values):
        size = abs(value)
        whole, minutes = int(size), int(60 * (size % 1))
        seconds = (size - whole - minutes / 60) * 3600
        cells.append(f"{whole}°{minutes:02d}'{seconds:07.4f}\"{letters[0] if value >= 0 else letters[1]}")
    return cells


def in_degrees_minutes_seconds(f: Flight, columns: Columns) -> Columns:
    return {**columns, "Latitude": dms(f.latitude, "NS"), "Longitude": dms(f.longitude, "EW")}


def doubled(_: Flight, columns: Columns) -> str:
    lines = table(columns).split("\n")[:-1]
    return "\n".join([lines[0], *(line for row in lines[1:] for line in (row, row))]) + "\n"


def new_columns_midway(_: Flight, columns: Columns) -> str:
    lines, other = table(columns).split("\n"), table(dict(reversed(columns.items()))).split("\n")
    return "\n".join([*lines[:400], other[0], *other[401:]])


def group_row_above(_: Flight, columns: Columns) -> str:
    return ",".join(["satellites"] * 6 + ["air data"] * (len(columns) - 6)) + "\n" + table(columns)


def blank_before_the_fix(_: Flight, columns: Columns) -> None:
    for name, cell in zip(SATELLITE, ("", "", "", "0.0", "0.0"), strict=True):
        columns[name][:30] = [cell] * 30


def attitude_only(_: Flight, columns: Columns) -> Columns:
    return {name: cells for name, cells in columns.items() if name not in SATELLITE}


CHANGES: dict[str, tuple[float, Change]] = {
    "ISO stamps with milliseconds and no zone": (
        0.1,
        timed("time", lambda f: [s[:-3] for s in stamps(f.time, "%Y-%m-%dT%H:%M:%S.%f")]),
    ),
    "elapsed hours, minutes, seconds": (
        0.5,
        timed(
            "Elapsed Time",
            lambda f: [f"{int(t) // 3600:02d}:{int(t) // 60 % 60:02d}:{t % 60:04.1f}" for t in f.time],
        ),
    ),
    "elapsed minutes": (1.0, timed("Time (min)", lambda f: text(f.time / 60, 5))),
    "Unix seconds": (0.2, timed("unix_time", lambda f: text(START.timestamp() + f.time, 3))),
    "milliseconds after a colon": (
        0.5,
        timed("UTC Time", lambda f: [s[:-3] for s in stamps(f.time, "%H:%M:%S:%f")]),
    ),
    "names of months": (1.0, timed("UTC Time", lambda f: stamps(f.time, "%d-%b-%Y %H:%M:%S"))),
    "names of months first": (
        1.0,
        timed("UTC Time", lambda f: [f'"{s}"' for s in stamps(f.time, "%b %d, %Y %H:%M:%S")]),
    ),
    "time of week": (0.2, timed("iTOW (ms)", lambda f: [str(570_000_000 + round(1e3 * t)) for t in f.time])),
    "date and time run together": (1.0, timed("Timestamp", lambda f: stamps(f.time, "%Y%m%d%H%M%S"))),
    "a counter of 32 bits that runs over": (
        0.1,
        timed(
            "timestamp_us", lambda f: [str((2**32 - 100_000_000 + round(1e6 * t)) % 2**32) for t in f.time]
        ),
    ),
    "local time beside UTC": (1.0, lambda f, c: {"Local Time": stamps(f.time, "%H:%M:%S", shift=7200), **c}),
    "satellites every tenth row": (0.1, sparse_satellites),
    "satellites held with jitter": (0.1, held_with_jitter),
    "degrees, minutes, seconds": (1.0, in_degrees_minutes_seconds),
    "every row twice": (1.0, doubled),
    "other columns midway": (1.0, new_columns_midway),
    "a row of groups above the header": (1.0, group_row_above),
    "blank positions and zero speed before the fix": (1.0, blank_before_the_fix),
    "attitude and air data only": (1.0, attitude_only),
    "no units anywhere": (1.0, lambda f, c: {name.split(" (")[0]: cells for name, cells in c.items()}),
    "a registration first": (1.0, lambda f, c: {"Aircraft": ["D-EXYZ"] * len(f), **c}),
    "feet labeled meters": (1.0, lambda f, c: renamed(c, "Pressure Altitude (ft)", "Pressure Altitude (m)")),
    "both altitudes in meters labeled feet": (
        1.0,
        lambda f, c: {
            **c,
            "Pressure Altitude (ft)": text(f.pressure_altitude, 1),
            "GPS Altitude (ft)": text(f.geometric_altitude, 1),
        },
    ),
    "km/h labeled knots": (
        1.0,
        replaced("IAS (kt)", "IAS (kt)", lambda f: text(f.indicated_airspeed * 3.6, 1)),
    ),
    "unlabeled mph": (1.0, replaced("IAS (kt)", "IAS", lambda f: text(f.indicated_airspeed * 2.236936, 1))),
    "unlabeled m/s": (1.0, replaced("IAS (kt)", "Airspeed", lambda f: text(f.indicated_airspeed, 2))),
    "m/s labeled ft/min": (1.0, replaced("VSI (fpm)", "VSI (fpm)", lambda f: text(f.vertical_speed, 2))),
    "pitch positive down": (
        1.0,
        replaced("Pitch (deg)", "Pitch (deg)", lambda f: text(-degrees(f.pitch), 2)),
    ),
    "radians labeled degrees": (1.0, replaced("Roll (deg)", "Roll (deg)", lambda f: text(f.bank, 4))),
    "degrees labeled radians": (1.0, lambda f, c: renamed(c, "Roll (deg)", "Roll (rad)")),
    "unlabeled kelvins": (1.0, replaced("OAT (C)", "OAT", lambda f: text(f.outside_air_temperature, 1))),
    "unlabeled m/s2": (1.0, replaced("Normal G", "accel z", lambda f: text(9.80665 * f.load_factor, 2))),
}
TOLERANCE = {"rad": 0.004, "m": 0.4, "m/s": 0.25, "K": 0.1, "rad/s": 0.1, "1": 0.003}


def errors(recording: Recording, flight: Flight) -> dict[str, float]:
    """Largest error of every channel whose truth is known."""
    found = {}
    for channel in recording.channels:
        values = getattr(flight, "pressure_altitude" if channel == "altimeter_altitude" else channel, None)
        if values is not None:
            time, read = recording.samples(channel)
            circular = KINDS[channel].unit == "rad"
            truth = np.interp(time, flight.time, np.unwrap(values) if circular else values)
            found[channel] = float(np.abs(wrap_angle(read - truth) if circular else read - truth).max())
    return found


@pytest.mark.parametrize("name", CHANGES)
def test_one_change_is_understood(name: str) -> None:
    interval, change = CHANGES[name]
    flight = known_flight()
    rows = flight.every(interval)
    columns = english(rows)
    content = change(rows, columns)
    written = content if isinstance(content, str) else table(columns if content is None else content)
    recording = READER.read(written.encode(), source="log.csv")
    said = "\n".join(map(str, recording.notes))
    found = errors(recording, flight)
    assert len(found) >= 9
    for channel, error in found.items():
        assert error <= TOLERANCE[KINDS[channel].unit], f"{channel}: {error:.4g}\n{said}"
    assert recording.start_utc is None or abs(recording.start_utc - START) <= timedelta(milliseconds=1)


@pytest.mark.parametrize("warmer", [-10.0, 0.0, 22.0])
@pytest.mark.parametrize("fahrenheit", [False, True])
def test_a_temperature_without_a_unit_is_told_by_its_height(warmer: float, fahrenheit: bool) -> None:
    # 31 °C at 3,000 ft, read as °F, would be a likelier day: its fall with height says no.
    flight = known_flight().every(1.0)
    air = flight.outside_air_temperature - 6.0 + warmer
    cells = 1.8 * air - 459.67 if fahrenheit else air - 273.15
    columns = renamed(english(flight), "OAT (C)", "OAT", text(cells, 1))
    recording = READER.read(table(columns).encode(), source="log.csv")
    _, read = recording.samples("outside_air_temperature")
    np.testing.assert_allclose(read, air, atol=0.1)


def noisy(flight: Flight, rng: np.random.Generator, interval: float) -> Flight:
    """The flight as a recorder sees it: slow and fast errors, a lagging airspeed, a heading off in turns."""

    def drift(size: float, memory: float) -> Floats:
        keep = np.exp(-interval / memory)
        shocks = rng.normal(size=len(flight)) * size * np.sqrt(1 - keep**2)
        return np.asarray(lfilter([1.0], [1.0, -keep], shocks))

    lagged = np.interp(flight.time - 0.7, flight.time, flight.indicated_airspeed)
    return replace(
        flight,
        latitude=flight.latitude + drift(2.0, 60) / RADIUS,
        longitude=flight.longitude + drift(2.0, 60) / RADIUS,
        geometric_altitude=flight.geometric_altitude + drift(4.0, 60),
        pressure_altitude=flight.pressure_altitude + drift(2.0, 5),
        ground_speed=flight.ground_speed + drift(0.2, 5),
        track=np.mod(flight.track + np.radians(drift(0.7, 5)), 2 * np.pi),
        indicated_airspeed=lagged + drift(1.5, 3) + rng.normal(0, 1, len(flight)),
        vertical_speed=flight.vertical_speed + drift(0.6, 3),
        bank=flight.bank + np.radians(2.0 + drift(1.5, 10)),
        pitch=flight.pitch + np.radians(-1.5 + drift(1.2, 10)),
        heading_magnetic=np.mod(flight.heading_magnetic + np.radians(drift(3.0, 10)), 2 * np.pi),
        load_factor=flight.load_factor + drift(0.1, 1),
    )


@pytest.mark.parametrize("interval", [0.2, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("part", [slice(None), slice(4800), slice(7400, 9400), slice(5000, 5900)])
@pytest.mark.parametrize("units", [True, False])
def test_noise_alone_changes_nothing(interval: float, part: slice, units: bool) -> None:
    # Parts: the whole flight; a climb and two turns; straight flight alone; level turning that is cut short.
    cut = known_flight().at(part)
    flight = replace(cut, time=cut.time - cut.time[0])
    rows = flight.every(interval)
    if len(rows) < 10:
        pytest.skip("too few rows at this interval")
    columns = english(noisy(rows, np.random.default_rng(5), interval))
    if not units:
        columns = {name.split(" (")[0]: cells for name, cells in columns.items()}
    recording = READER.read(table(columns).encode(), source="log.csv")
    said = "\n".join(map(str, recording.notes))
    for word in ("labeled", "turned", "Read as", "cannot be", "points exactly"):
        assert word not in said, said
    for channel, error in errors(recording, flight).items():
        limit = {"latitude": 1e-5, "longitude": 1e-5}.get(channel, 12 * TOLERANCE[KINDS[channel].unit])
        limit = max(limit, {"rad": 0.3, "m": 20.0, "m/s": 9.0, "1": 0.5}.get(KINDS[channel].unit, 0.0))
        assert error < limit, f"{channel}: {error:.4g}\n{said}"
