"""Decoded transponder messages in columns, one aircraft or several, and positions in one cell."""

from __future__ import annotations

import numpy as np
import pytest
from tests.recordings.delimited.flight import START, degrees, feet, fpm, knots, known_flight, table, text

from chalkwing.recordings import Recording
from chalkwing.recordings.delimited import READER
from chalkwing.units import wrap_angle

FLIGHT = known_flight().every(1.0)
COUNT = len(FLIGHT)


def metric() -> dict[str, list[str]]:
    return {
        "time": [str(round(START.timestamp() + t)) for t in FLIGHT.time],
        "icao24": ["4b1a2c"] * COUNT,
        "lat": text(degrees(FLIGHT.latitude), 6),
        "lon": text(degrees(FLIGHT.longitude), 6),
        "velocity": text(FLIGHT.ground_speed, 2),
        "heading": text(degrees(FLIGHT.track), 2),
        "vertrate": text(FLIGHT.vertical_speed, 2),
        "onground": ["False"] * COUNT,
        "baroaltitude": text(FLIGHT.pressure_altitude, 2),
        "geoaltitude": text(FLIGHT.geometric_altitude, 2),
    }


def read(content: str) -> Recording:
    return READER.read(content.encode(), source="receiver.csv")


def assert_is_the_flight(recording: Recording) -> None:
    for channel, tolerance in (
        ("ground_speed", 0.3),
        ("track", 0.01),
        ("pressure_altitude", 8.0),
        ("vertical_speed", 0.2),
    ):
        time, values = recording.samples(channel)
        truth = getattr(FLIGHT, channel)[np.round(time).astype(int)]
        error = wrap_angle(values - truth) if channel == "track" else values - truth
        assert np.abs(error).max() < tolerance, channel


def test_a_metric_table() -> None:
    recording = read(table(metric()))
    assert_is_the_flight(recording)
    assert recording.start_utc == START
    assert recording.channels["geometric_altitude"].datum == "ellipsoid"
    assert "altimeter_altitude" not in recording


def test_a_table_in_feet_and_knots() -> None:
    columns = metric()
    for name in ("velocity", "heading", "vertrate", "baroaltitude", "geoaltitude"):
        del columns[name]
    columns |= {
        "alt_baro": text(25 * np.round(feet(FLIGHT.pressure_altitude) / 25), 0),
        "alt_geom": text(25 * np.round(feet(FLIGHT.geometric_altitude) / 25), 0),
        "gs": text(knots(FLIGHT.ground_speed), 1),
        "track": text(degrees(FLIGHT.track), 2),
        "baro_rate": text(64 * np.round(fpm(FLIGHT.vertical_speed) / 64), 0),
    }
    recording = read(table(columns))
    assert_is_the_flight(recording)


def test_of_several_aircraft_the_one_with_most_rows_is_read() -> None:
    other = metric() | {"icao24": ["3c66aa"] * COUNT, "lat": text(degrees(FLIGHT.latitude) + 0.3, 6)}
    lines = table(metric()).split("\n")[:-1]
    rows = sorted(lines[1:] + table(other).split("\n")[1:300], key=lambda line: line[:10])
    recording = read("\n".join([lines[0], *rows]) + "\n")
    assert recording.rows == COUNT
    assert_is_the_flight(recording)
    assert any("2 aircraft" in str(note) for note in recording.notes)


def test_a_position_in_one_cell_is_parted() -> None:
    columns = metric()
    pairs = zip(columns.pop("lat"), columns.pop("lon"), strict=True)
    columns["Position"] = [f'"{latitude},{longitude}"' for latitude, longitude in pairs]
    recording = read(table(columns))
    assert recording.table["latitude"][7] == pytest.approx(FLIGHT.latitude[7], abs=1e-8)
    assert_is_the_flight(recording)
