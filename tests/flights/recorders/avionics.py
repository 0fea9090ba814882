"""A panel's data log: one row a second, attitude, air data, GPS, engine; headers of our own invention."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
from tests.flights.airplanes import AIRPLANES
from tests.flights.recorders.noise import (
    Samples,
    delimited,
    gps,
    magnetic_variation,
    play,
    samples,
    stamps,
    step,
)
from tests.flights.simulate import altimeter_correction
from tests.flights.truth import TruthFlight

from chalkwing.units import DEGREE, FOOT, INCH_OF_MERCURY, KNOT, ZERO_CELSIUS

Texts = dict[str, list[str]]


@dataclass(frozen=True)
class Layout:
    """How a log names things: ``names`` are (our key, header, unit) in file order; others are not written."""

    preamble: tuple[str, ...]
    separator: str
    decimal_comma: bool
    units_row: bool
    time: str
    names: tuple[tuple[str, str, str], ...]
    filler: int


LAYOUTS: tuple[Layout, ...] = (
    Layout(
        preamble=("# lesson log of a training airplane", "# all times local"),
        separator=",",
        decimal_comma=False,
        units_row=True,
        time="split",
        names=(
            ("rpm", "Engine RPM", "rpm"),
            ("oat", "Air Temp", "deg C"),
            ("normal", "Normal Load", "g"),
            ("lateral", "Side Load", "g"),
            ("heading", "Magnetic Heading", "deg"),
            ("bank", "Bank Angle", "deg"),
            ("pitch", "Pitch Angle", "deg"),
            ("ias", "Indicated Airspeed", "kt"),
            ("altimeter", "Altimeter", "ft"),
            ("setting", "Altimeter Setting", "inHg"),
            ("pressure_altitude", "Pressure Altitude", "ft"),
            ("vertical_speed", "Climb Rate", "fpm"),
            ("latitude", "Latitude", "deg"),
            ("longitude", "Longitude", "deg"),
            ("altitude_msl", "GPS Altitude", "ft"),
            ("ground_speed", "Speed Over Ground", "kt"),
            ("track", "True Track", "deg"),
            ("variation", "Variation", "deg"),
        ),
        filler=30,
    ),
    Layout(
        preamble=(),
        separator=";",
        decimal_comma=True,
        units_row=False,
        time="iso",
        names=(
            ("bank", "Bank angle [deg]", ""),
            ("pitch", "Pitch attitude [deg]", ""),
            ("heading", "Heading magnetic [deg]", ""),
            ("ias", "Indicated airspeed [kt]", ""),
            ("pressure_altitude", "Pressure altitude [ft]", ""),
            ("vertical_speed", "Vertical speed [ft/min]", ""),
            ("normal", "Normal load [g]", ""),
            ("lateral", "Lateral load [g]", ""),
            ("latitude", "GPS latitude [deg]", ""),
            ("longitude", "GPS longitude [deg]", ""),
            ("altitude_ellipsoid", "GPS altitude [m]", "m"),
            ("ground_speed", "GPS speed [km/h]", "km/h"),
            ("track", "GPS course [deg]", ""),
            ("oat", "Outside air temp [C]", ""),
            ("rpm", "Engine speed [1/min]", ""),
        ),
        filler=5,
    ),
    Layout(
        preamble=("log opened by panel at power on", "channel list follows"),
        separator="\t",
        decimal_comma=False,
        units_row=False,
        time="seconds",
        names=(
            ("ias", "ias_kts", ""),
            ("altimeter", "baro_alt_ft", ""),
            ("setting", "baro_set_hpa", "hPa"),
            ("pressure_altitude", "palt_ft", ""),
            ("bank", "roll_deg", ""),
            ("pitch", "pitch_deg", ""),
            ("heading", "mag_hdg_deg", ""),
            ("normal", "g_normal", ""),
            ("lateral", "g_lateral", ""),
            ("oat", "oat_c", ""),
            ("latitude", "lat_deg", ""),
            ("longitude", "lon_deg", ""),
            ("altitude_msl", "gps_alt_ft", ""),
            ("velocity_north", "vel_n_mps", "m/s"),
            ("velocity_east", "vel_e_mps", "m/s"),
            ("velocity_up", "vel_up_mps", "m/s"),
            ("rpm", "rpm", ""),
        ),
        filler=16,
    ),
    Layout(
        preamble=(),
        separator=",",
        decimal_comma=False,
        units_row=False,
        time="of_day",
        names=(
            ("heading", "HDG", ""),
            ("bank", "ROLL", ""),
            ("pitch", "PITCH", ""),
            ("ias", "IAS", ""),
            ("altimeter", "BALT", ""),
            ("setting", "BARO", "inHg"),
            ("vertical_speed", "VS", ""),
            ("normal", "NZ", ""),
            ("lateral", "NY", ""),
            ("oat", "OAT", ""),
            ("rpm", "RPM", ""),
            ("latitude", "LAT", ""),
            ("longitude", "LON", ""),
            ("altitude_msl", "GALT", ""),
            ("ground_speed", "GS", ""),
            ("track", "TRK", ""),
        ),
        filler=24,
    ),
)


def position_error(airplane: str, calibrated: np.ndarray) -> np.ndarray:
    """Indicated minus calibrated airspeed [m/s] of a static port: reads low when slow, as in manuals.

    Zero at the maneuver entry speed, -3 kt at the stall: invented, of the size such tables have.
    """
    model = AIRPLANES[airplane]
    slow = (model.entry_speed - calibrated) / (model.entry_speed - model.stall_speed)
    return -3.0 * KNOT * np.clip(slow, -0.5, 1.2) ** 2 * np.sign(slow)


def avionics_log(truth: TruthFlight, seed: int) -> bytes:
    """The log as bytes; the seed also chooses the layout."""
    rows = samples(truth, seed=seed, salt=51)
    layout = LAYOUTS[int(rows.rng.integers(len(LAYOUTS)))]
    texts = _channels(rows)
    columns = _time_columns(layout, rows)
    fillers = _fillers(rows, layout.filler)
    for key, header, unit in layout.names:
        columns[header] = texts[key + ("@" + unit if key + "@" + unit in texts else "")]
    columns.update(fillers)
    text = delimited(columns, separator=layout.separator)
    if layout.decimal_comma:
        head, body = text.split("\n", 1)
        text = head + "\n" + body.replace(".", ",")
    lines = list(layout.preamble)
    head, body = text.split("\n", 1)
    lines.append(head)
    if layout.units_row:
        named = {header: unit for _, header, unit in layout.names}
        lines.append(layout.separator.join(named.get(name, "-") for name in head.split(layout.separator)))
    return ("\n".join(lines) + "\n" + body).encode()


def _channels(rows: Samples) -> Texts:
    rng, truth = rows.rng, rows.truth
    late = {name: float(rng.uniform(0, 1)) for name in ("gps", "air", "attitude", "load")}
    late["attitude"] *= 0.4
    fix = gps(rows, latency=late["gps"], velocity_lag=float(rng.choice([0.0, 0.5, 0.8])))
    attitude = {
        name: rows.take(name, latency=late["attitude"])
        + float(np.clip(rng.normal(0, 0.7), -2, 2)) * DEGREE
        + rows.slow(sd=rng.uniform(0.4, 0.9) * DEGREE, time=rng.uniform(20, 40))
        + rows.white(0.2 * DEGREE)
        for name in ("bank", "pitch")
    }
    pressure = _pressure_altitude(rows, late["air"])
    setting = truth.weather["sea_level_pressure"]
    speed_lag = rng.uniform(0.3, 0.8)
    return {
        "latitude": _fixed(fix.latitude / DEGREE, 7),
        "longitude": _fixed(fix.longitude / DEGREE, 7),
        "altitude_msl": _fixed(fix.altitude_mean_sea_level / FOOT, 0),
        "altitude_ellipsoid@m": _fixed(fix.altitude_ellipsoid, 1),
        "ground_speed": _fixed(fix.ground_speed / KNOT, 1),
        "ground_speed@km/h": _fixed(fix.ground_speed * 3.6, 1),
        "track": _fixed(fix.track / DEGREE, 1),
        "velocity_north@m/s": _fixed(fix.velocity_north, 2),
        "velocity_east@m/s": _fixed(fix.velocity_east, 2),
        "velocity_up@m/s": _fixed(fix.velocity_up, 2),
        "pressure_altitude": _fixed(pressure / FOOT, 0),
        "altimeter": _fixed((pressure + altimeter_correction(setting)) / FOOT, 0),
        "setting@inHg": _fixed(np.full(len(pressure), setting / INCH_OF_MERCURY), 2),
        "setting@hPa": _fixed(np.full(len(pressure), setting / 100), 0),
        "ias": _fixed(np.maximum(_indicated(rows, late["air"], speed_lag), 0) / KNOT, 1),
        "vertical_speed": _fixed(step(_vertical_speed(rows, late["air"]), 5), 0),
        "bank": _fixed(attitude["bank"] / DEGREE, 1),
        "pitch": _fixed(attitude["pitch"] / DEGREE, 1),
        "heading": _fixed(_heading(rows, late["attitude"]) / DEGREE % 360, 1),
        "variation": _fixed(np.full(len(pressure), magnetic_variation(truth) / DEGREE), 1),
        "normal": _fixed(_load(rows, "load_factor", late["load"], 0.03), 2),
        "lateral": _fixed(_load(rows, "lateral_load", late["load"], 0.012), 3),
        "oat": _fixed(_temperature(rows), 1),
        "rpm": _fixed(step(rows.take("engine_speed", lag=0.5) * 60 / (2 * np.pi) + rows.white(4), 10), 0),
    }


def _pressure_altitude(rows: Samples, latency: float) -> np.ndarray:
    true = rows.take("pressure_altitude", latency=latency, lag=float(rows.rng.uniform(0.1, 0.5)))
    error = rows.rng.normal(0, 25) * FOOT + rows.slow(sd=4 * FOOT, time=120) + rows.white(1.5 * FOOT)
    return play(true + error, 4 * FOOT)


def _indicated(rows: Samples, latency: float, lag: float) -> np.ndarray:
    calibrated = rows.take("calibrated_airspeed", latency=latency, lag=lag)
    scale = 1 + float(np.clip(rows.rng.normal(0, 0.008), -0.02, 0.02))
    bias = float(rows.rng.uniform(-1, 1)) * KNOT
    airplane = str(rows.truth.facts["airplane"])
    indicated = calibrated + position_error(airplane, calibrated)
    return indicated * scale + bias + rows.white(float(rows.rng.uniform(0.3, 0.5)) * KNOT)


def _vertical_speed(rows: Samples, latency: float) -> np.ndarray:
    climb = -rows.take("velocity_down", latency=latency, lag=float(rows.rng.uniform(0.5, 2.5)))
    return climb / FOOT * 60 + rows.white(20)


def _heading(rows: Samples, latency: float) -> np.ndarray:
    """Magnetic, with a fixed error, a slow one, and one that grows with the bank (magnetometer fusion)."""
    true = rows.take("heading_true", latency=latency)
    bank = rows.take("bank", latency=latency, lag=float(rows.rng.uniform(1, 5)))
    dip = rows.rng.normal(0, 2.5) * DEGREE * np.sin(bank) * np.cos(true) / np.sin(np.radians(40))
    fixed = rows.rng.normal(0, 1.2) * DEGREE
    slow = rows.slow(sd=rows.rng.uniform(0.7, 1.5) * DEGREE, time=25)
    return true - magnetic_variation(rows.truth) + fixed + slow + dip + rows.white(0.2 * DEGREE)


def _load(rows: Samples, name: str, latency: float, noise: float) -> np.ndarray:
    return rows.take(name, latency=latency, lag=0.2) + rows.rng.normal(0, noise / 2) + rows.white(noise)


def _temperature(rows: Samples) -> np.ndarray:
    ram = rows.take("true_airspeed") ** 2 / 2010
    return rows.take("outside_air_temperature", lag=20) + 0.7 * ram + rows.rng.normal(0, 1) - ZERO_CELSIUS


def _fillers(rows: Samples, count: int) -> Texts:
    """Columns that a panel also writes and this work does not need."""
    kinds = (
        ("Volts {}", 13.8, 0.1, 1),
        ("Oil Temp {}", 185.0, 3.0, 0),
        ("Oil Press {}", 72.0, 2.0, 0),
        ("CHT {}", 340.0, 10.0, 0),
        ("EGT {}", 1320.0, 20.0, 0),
        ("Fuel Qty {}", 18.0, 0.3, 1),
    )
    return {
        kinds[k % 6][0].format(k // 6 + 1): _fixed(
            kinds[k % 6][1] + rows.slow(sd=kinds[k % 6][2], time=90), kinds[k % 6][3]
        )
        for k in range(count)
    }


def _time_columns(layout: Layout, rows: Samples) -> Texts:
    utc = stamps(rows)
    if layout.time == "split":
        offset = "-05:00"
        return {
            "Date": [f"{t - FIVE_HOURS:%Y-%m-%d}" for t in utc],
            "Time": [f"{t - FIVE_HOURS:%H:%M:%S}" for t in utc],
            "UTC Offset": [offset] * len(utc),
        }
    if layout.time == "iso":
        return {"UTC": [f"{t:%Y-%m-%dT%H:%M:%S}.{t.microsecond // 1000:03d}Z" for t in utc]}
    if layout.time == "seconds":
        return {
            "t_s": _fixed(rows.time - rows.time[0], 2),
            "utc_date": [f"{t:%Y-%m-%d}" for t in utc],
            "utc_time": [f"{t:%H:%M:%S}" for t in utc],
        }
    return {"TIME": [f"{t:%H:%M:%S}" for t in utc]}


FIVE_HOURS = dt.timedelta(hours=5)


def _fixed(values: np.ndarray, digits: int) -> list[str]:
    return [f"{value:.{digits}f}" for value in values]
