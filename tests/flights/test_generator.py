"""The truth flights are themselves true: physics, repeatability, errors as asked, readable files."""

from __future__ import annotations

import csv
import io
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import numpy as np
import polars as pl
import pytest
from tests.flights import lessons
from tests.flights.airplanes import AIRPLANES
from tests.flights.goals import Chandelle, LazyEight, Leg, SteepTurn
from tests.flights.lessons import HANDS
from tests.flights.recorders import LAYOUTS, RECORDERS, record
from tests.flights.recorders.noise import SETTLED, samples, start_utc
from tests.flights.simulate import TICK, DepartedError, Simulator, Start
from tests.flights.truth import TruthFlight, load, measure_all
from tests.flights.weather import Air, Weather, random_weather

from chalkwing.units import DEGREE, FOOT, KNOT, STANDARD_GRAVITY

PERFECT = LazyEight(1, 30 * DEGREE, 10 * DEGREE, (0.0, 0.0), 0.0, (0.0, 0.0))


def calm() -> Weather:
    return replace(random_weather(5), gust_sd=0.0, wind_speed=0.0, shear=0.0, drift_sd=0.0)


def fly(
    controller: str,
    goals: list[object],
    weather: Weather,
    *,
    airplane: str = "c172p",
    roughness: float = 0.3,
    seed: int = 7,
) -> TruthFlight:
    model = AIRPLANES[airplane]
    start = Start(0.7, -1.7, 1300.0, 1.0, model.entry_speed, sum(model.load) / 2, 0.6)
    simulator = Simulator(model, weather, start)
    hand = HANDS[controller](simulator, seed=seed, roughness=roughness)
    altitude = simulator.state.altimeter
    settle = Leg("settle", altitude, model.entry_speed, duration=25, until_steady=True)
    flown = []
    for goal in goals:
        for one in (settle, goal):
            flown += hand.fly(one)  # type: ignore[arg-type]
    hand.fly(replace(settle, duration=5.0, until_steady=False))
    table = simulator.table()
    return TruthFlight(
        seed,
        controller,
        table,
        measure_all(flown, table),
        [],
        simulator.facts(),
        weather.as_dict(),
        [],
    )


@pytest.fixture(scope="module")
def windy() -> TruthFlight:
    weather = replace(random_weather(5), gust_sd=1.5 * KNOT, wind_speed=18 * KNOT, isa_deviation=20.0)
    goals = [PERFECT, SteepTurn(-1, 50 * DEGREE, 1, 0.0, 0.0, 0.0, 0.0, True, 0.0)]
    return fly("schedule", goals, weather)


def column(flight: TruthFlight, name: str) -> np.ndarray:
    return flight.table[name].to_numpy()


# Physics: the table against itself -------------------------------------------------------------------------


def test_position_is_the_integral_of_ground_velocity(windy: TruthFlight) -> None:
    # Radii of curvature of the WGS 84 ellipsoid from its defining constants (NIMA TR8350.2).
    a, e2 = 6378137.0, 6.69437999014e-3
    latitude, height = column(windy, "latitude"), column(windy, "geometric_altitude")
    across = a / np.sqrt(1 - e2 * np.sin(latitude) ** 2)
    along = across * (1 - e2) / (1 - e2 * np.sin(latitude) ** 2)
    north = np.gradient(latitude, TICK) * (along + height)
    east = np.gradient(column(windy, "longitude"), TICK) * (across + height) * np.cos(latitude)
    inner = slice(100, -100)
    # Central differences over 0.1 s of curved flight: 0.1 m/s is their truncation in the steep turn.
    assert np.abs(north - column(windy, "velocity_north"))[inner].max() < 0.1
    assert np.abs(east - column(windy, "velocity_east"))[inner].max() < 0.1
    assert np.abs(np.gradient(height, TICK) + column(windy, "velocity_down"))[inner].max() < 0.1


def air_velocity(flight: TruthFlight) -> np.ndarray:
    """North, east, down from airspeed, angles of attack and sideslip, and the Euler angles."""
    v, alpha, beta, bank, pitch, heading = (
        column(flight, name)
        for name in ("true_airspeed", "angle_of_attack", "sideslip", "bank", "pitch", "heading_true")
    )
    forward, right, down = (
        v * np.cos(alpha) * np.cos(beta),
        v * np.sin(beta),
        v * np.sin(alpha) * np.cos(beta),
    )
    level_right = right * np.cos(bank) - down * np.sin(bank)
    below = right * np.sin(bank) + down * np.cos(bank)
    ahead = forward * np.cos(pitch) + below * np.sin(pitch)
    return np.array(
        [
            ahead * np.cos(heading) - level_right * np.sin(heading),
            ahead * np.sin(heading) + level_right * np.cos(heading),
            below * np.cos(pitch) - forward * np.sin(pitch),
        ]
    )


def test_ground_velocity_is_air_velocity_plus_wind(windy: TruthFlight) -> None:
    ground = np.array([column(windy, f"velocity_{axis}") for axis in ("north", "east", "down")])
    wind = np.array([column(windy, f"wind_{axis}") for axis in ("north", "east", "down")])
    # The engine takes wind and motion within one 10 ms step of each other: 0.1 m/s at 10 m/s^2.
    assert np.abs(ground - air_velocity(windy) - wind)[:, 100:].max() < 0.1
    assert 10 * KNOT < np.hypot(wind[0], wind[1]).mean() < 26 * KNOT


def test_load_factor_is_what_the_path_asks_for(windy: TruthFlight) -> None:
    # Specific force from the path: acceleration minus gravity, taken along the cabin's upward axis.
    north, east, down = (np.gradient(column(windy, f"velocity_{a}"), TICK) for a in ("north", "east", "down"))
    bank, pitch, heading = (column(windy, name) for name in ("bank", "pitch", "heading_true"))
    up = -np.array(
        [
            np.cos(bank) * np.sin(pitch) * np.cos(heading) + np.sin(bank) * np.sin(heading),
            np.cos(bank) * np.sin(pitch) * np.sin(heading) - np.sin(bank) * np.cos(heading),
            np.cos(bank) * np.cos(pitch),
        ]
    )
    felt = (up[0] * north + up[1] * east + up[2] * (down - STANDARD_GRAVITY)) / STANDARD_GRAVITY
    miss = (felt - column(windy, "load_factor"))[200:-100]
    assert np.sqrt(np.mean(miss**2)) < 0.02
    assert abs(miss.mean()) < 0.004  # local gravity differs from the standard one by 0.1 %


def test_pressure_and_temperature_obey_hydrostatics_on_a_hot_day(windy: TruthFlight) -> None:
    height, pressure = column(windy, "geometric_altitude"), column(windy, "static_pressure")
    density, temperature = column(windy, "density"), column(windy, "outside_air_temperature")
    middle = int(np.argmax(height))
    slope = np.polyfit(height[300:], pressure[300:], 1)[0]
    assert slope == pytest.approx(-np.mean(density[300:]) * STANDARD_GRAVITY, rel=0.003)
    # 20 K above the standard 15 C less 6.5 K/km.
    assert temperature[middle] == pytest.approx(288.15 + 20 - 0.0065 * height[middle], abs=0.3)


def test_the_altimeter_reads_true_height_on_a_standard_day_with_its_setting() -> None:
    weather = replace(calm(), isa_deviation=0.0, sea_level_pressure=102600.0)
    flight = fly("schedule", [], weather)
    miss = column(flight, "altimeter_altitude") - column(flight, "geometric_altitude")
    # Geopotential against geometric height at 1300 m is 0.3 m; a setting moves the whole scale, within 0.1 %.
    assert np.abs(miss).max() < 3.0


def test_gusts_have_the_strength_and_length_asked_for() -> None:
    weather = replace(random_weather(5), gust_sd=2.0 * KNOT, gust_length=300.0)
    air = Air(weather, interval=TICK, airspeed=50.0)
    assert air.gust_north.std() == pytest.approx(2.0 * KNOT, rel=0.1)
    assert air.gust_east.std() == pytest.approx(2.0 * KNOT, rel=0.1)
    # First-order along the wind: correlation 1/e after length over airspeed, 6 s.
    lag = int(6.0 / TICK)
    series = air.gust_north / air.gust_north.std()
    assert np.mean(series[lag:] * series[:-lag]) == pytest.approx(np.exp(-1), abs=0.08)


# Lessons and pilots ----------------------------------------------------------------------------------------


def test_a_seed_decides_everything() -> None:
    weather = random_weather(9)
    first, again = (fly("human", [PERFECT], weather, roughness=0.8) for _ in range(2))
    other = fly("human", [PERFECT], weather, roughness=0.8, seed=8)
    assert first.table.equals(again.table)
    assert not first.table.equals(other.table)
    for name in RECORDERS:
        assert record(first, name, 3) == record(again, name, 3)
        assert record(first, name, 3) != record(first, name, 4)


@pytest.mark.parametrize("controller", HANDS)
def test_a_pilot_flies_the_errors_asked_for(controller: str) -> None:
    """Altitude and heading at the 180 points follow the goals; rough bounds, for a pilot is no autopilot."""
    asked = [(-180.0, 15.0), (60.0, -15.0), (180.0, 0.0)]
    goals = [
        replace(PERFECT, altitude_errors=(0.0, feet * FOOT), heading_errors=(0.0, degrees * DEGREE))
        for feet, degrees in asked
    ]
    flight = fly(controller, goals, calm(), roughness=0.2)
    for maneuver, (feet, degrees) in zip(flight.maneuvers, asked, strict=True):
        assert maneuver.status == "complete"
        assert [part.direction for part in maneuver.parts] == ["right", "left"]
        last = maneuver.parts[1]
        assert last.altitude_error / FOOT == pytest.approx(feet, abs=60)
        assert last.heading_error / DEGREE == pytest.approx(degrees, abs=9)


@pytest.mark.parametrize("controller", HANDS)
def test_maneuvers_look_like_the_handbook_s(controller: str) -> None:
    """FAA-H-8083-3C ch. 10: 30 degrees of bank, slowest and highest near 90; a chandelle ends slow."""
    goals = [
        PERFECT,
        SteepTurn(1, 50 * DEGREE, 1, 0.0, 0.0, 0.0, 0.0, True, 0.0),
        Chandelle(-1, 30 * DEGREE, 12 * DEGREE, 0.0),
    ]
    flight = fly(controller, goals, calm(), roughness=0.1)
    eight, steep, chandelle = flight.maneuvers
    time = column(flight, "time")
    for part in eight.parts:
        rows = flight.table.slice(
            np.searchsorted(time, part.start), np.searchsorted(time, part.end - part.start)
        )
        turned = np.abs(rows["heading_true"].to_numpy() - rows["heading_true"][0]) / DEGREE
        height = rows["altimeter_altitude"].to_numpy() / FOOT
        assert part.bank_max / DEGREE == pytest.approx(30, abs=3)
        assert 65 < turned[np.argmin(rows["calibrated_airspeed"].to_numpy())] < 110
        assert 65 < turned[np.argmax(height)] < 110
        assert 150 < height.max() - height[0] < 450
    held = flight.table.filter(pl.col("time").is_between(steep.start + 8, steep.end - 6))
    assert np.abs(held["bank"].to_numpy() / DEGREE - 50).max() < 5
    assert np.abs(held["altimeter_altitude"].to_numpy() - steep.entry_altitude).max() < 60 * FOOT
    finish = chandelle.entry_airspeed + chandelle.parts[0].airspeed_error
    assert 1.0 < finish / AIRPLANES["c172p"].stall_speed < 1.5
    assert chandelle.parts[0].altitude_error > 300 * FOOT


def test_a_departed_flight_is_counted_and_flown_again(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []

    def departs_once(seed: int, attempt: int, *rest: object) -> str:
        tried.append(attempt)
        if attempt == 0:
            raise DepartedError("spun in")
        return str(rest[-1])

    monkeypatch.setattr(lessons, "_fly", departs_once)
    assert lessons.lesson(1, "c172p", "human") == "['spun in']"
    assert tried == [0, 1]


def test_truth_survives_its_files(windy: TruthFlight, tmp_path) -> None:  # type: ignore[no-untyped-def]
    windy.save(tmp_path)
    back = load(tmp_path)
    # A goal's tuples come back as lists; everything else is the same.
    assert [replace(m, goal={}) for m in back.maneuvers] == [replace(m, goal={}) for m in windy.maneuvers]
    assert np.abs(back.table["bank"].to_numpy() - column(windy, "bank")).max() < 1e-6


# Recorders: files read with general-purpose tools ---------------------------------------------------------


def near_truth(flight: TruthFlight, time: np.ndarray, latitude_deg: np.ndarray, within: float) -> None:
    true = np.interp(time, column(flight, "time"), column(flight, "latitude"))
    # One second of latency at 60 m/s and 10 m of GPS error.
    assert np.abs(latitude_deg * DEGREE - true).max() * 6.371e6 < within
    assert len(time) > 100


@pytest.mark.parametrize("recorder", ["gpx", "gps", "kml"])
def test_xml_tracks(windy: TruthFlight, recorder: str) -> None:
    root = ElementTree.fromstring(record(windy, recorder, 1))
    local = [(element.tag.split("}")[1], element) for element in root.iter()]
    if recorder == "kml":
        stamps = [element.text for tag, element in local if tag == "when"]
        latitude = [float(str(element.text).split()[1]) for tag, element in local if tag == "coord"]
    else:
        stamps = [element.text for tag, element in local if tag == "time"]
        latitude = [float(element.attrib["lat"]) for tag, element in local if tag == "trkpt"]
    utc = np.array([np.datetime64(str(stamp).rstrip("Z")) for stamp in stamps])
    zero = np.datetime64(start_utc(windy).replace(tzinfo=None))
    time = (utc - zero) / np.timedelta64(1, "s")
    assert time[0] >= SETTLED - 0.01
    near_truth(windy, time, np.array(latitude), 80.0)


def test_igc_and_nmea(windy: TruthFlight) -> None:
    fixes = re.findall(
        r"^B(\d{6})(\d{2})(\d{5})N(\d{8})([EW])A(-?\d{4,5})(-?\d{4,5})005\r$",
        record(windy, "igc", 1).decode(),
        re.MULTILINE,
    )
    assert len(fixes) > 100
    heights = np.array([float(fix[5]) for fix in fixes])
    truth = column(windy, "pressure_altitude")
    assert truth.min() - 40 < heights.min() <= heights.max() < truth.max() + 40
    for line in record(windy, "nmea", 1).decode().split():
        body, given = line[1:].split("*")
        assert np.bitwise_xor.reduce(np.frombuffer(body.encode(), np.uint8)) == int(given, 16)


@pytest.mark.parametrize("recorder", ["adsb", "phone"])
def test_tables(windy: TruthFlight, recorder: str) -> None:
    rows = pl.read_csv(record(windy, recorder, 1))
    stamp = rows["time"] if recorder == "adsb" else rows["timestamp_ms"] / 1000
    near_truth(
        windy,
        stamp.to_numpy() - start_utc(windy).timestamp(),
        rows["lat" if recorder == "adsb" else "latitude"].to_numpy(),
        80.0,
    )
    if recorder == "adsb":
        assert (rows["baro_altitude_ft"] % 25 == 0).all()


def test_every_layout_of_the_avionics_log_reads_back(windy: TruthFlight) -> None:
    seen = set()
    for seed in range(16):
        text = record(windy, "avionics", seed).decode()
        for number, layout in enumerate(LAYOUTS):
            header = layout.separator.join(name for _, name, _ in layout.names[:4])
            if header in text:
                seen.add(number)
                lines = text.splitlines()[len(layout.preamble) :]
                rows = list(csv.DictReader(io.StringIO("\n".join(lines)), delimiter=layout.separator))
                rows = rows[layout.units_row :]
                name = {key: title for key, title, _ in layout.names}
                bank = np.array([float(row[name["bank"]].replace(",", ".")) for row in rows])
                true = np.interp(
                    samples(windy, seed=seed, salt=51).time,
                    column(windy, "time"),
                    column(windy, "bank") / DEGREE,
                )
                # Zero to 2 deg, slow error to 0.9 deg, 0.4 s of latency in rolls.
                assert np.sqrt(np.mean((bank - true) ** 2)) < 4
                assert 20 <= len(rows[0]) <= 60
    assert seen == set(range(len(LAYOUTS)))
