"""Recorder models: what a panel, or a pocket receiver, would have written down of a lesson.

The panel log is a delimited layout of our own; the track is GPX 1.0, whose points have speed and course
[GPX10]. Errors are of three kinds, by channel: a fixed offset drawn once, a slow wander, and a new error in
each row; their sizes are those of common light-airplane equipment (from memory and common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

import numpy as np

from chalkwing import air
from chalkwing.earth import LocalFrame, magnetic_variation
from chalkwing.refly import scenario
from chalkwing.refly.scenario import Lesson
from chalkwing.units import (
    Floats,
    kelvin_to_celsius,
    kt_to_mps,
    m_to_ft,
    mps_to_kt,
    rad_to_deg,
    wrap_compass,
)

RecorderName = Literal["avionics", "track"]
START = datetime(2026, 5, 14, 14, 5, 0, tzinfo=UTC)
_WANDER_TIME = 40.0


@dataclass(frozen=True)
class ChannelError:
    """Sd of the fixed offset, the slow wander and each row's own error, in the unit written; lag [s]."""

    offset: float
    wander: float
    row: float
    lag: float = 0.0


ERRORS: Mapping[str, ChannelError] = {
    "north_m": ChannelError(1.5, 1.0, 0.3),
    "east_m": ChannelError(1.5, 1.0, 0.3),
    "gps_alt_ft": ChannelError(10.0, 8.0, 2.0),
    "press_alt_ft": ChannelError(20.0, 3.0, 3.0),
    "gnd_spd_kt": ChannelError(0.0, 0.15, 0.2, lag=0.3),
    "track_deg": ChannelError(0.0, 0.2, 0.3, lag=0.3),
    "ias_kt": ChannelError(0.8, 0.4, 0.6, lag=0.1),
    "pitch_deg": ChannelError(0.4, 0.3, 0.15),
    "bank_deg": ChannelError(0.5, 0.4, 0.2),
    "mag_hdg_deg": ChannelError(1.5, 0.8, 0.3),
    "vs_fpm": ChannelError(10.0, 15.0, 20.0, lag=0.5),
    "norm_g": ChannelError(0.01, 0.005, 0.01),
    "oat_c": ChannelError(1.0, 0.3, 0.1),
    "rpm": ChannelError(5.0, 3.0, 4.0),
}


def record(
    lesson: Lesson,
    recorder: RecorderName,
    *,
    seed: int = 0,
    start: datetime = START,
    people: tuple[str, str | None] = (scenario.STUDENT, scenario.INSTRUCTOR),
) -> tuple[str, str]:
    """What ``recorder`` wrote of ``lesson``, begun at ``start``: a file name and its text.

    ``seed`` sets its errors; ``people`` are student and instructor, who is None on a solo flight.
    """
    rows = _rows(lesson, np.random.default_rng([seed, 1]))
    if recorder == "avionics":
        return "hollin-field-lesson.csv", _panel_log(rows, start, people)
    return "hollin-field-lesson.gpx", _track(rows, start)


def _rows(lesson: Lesson, random: np.random.Generator) -> dict[str, Floats]:
    """One row a second of every channel with its errors."""
    time = np.arange(0.0, lesson.time[-1], 1.0)
    exact = _exact(lesson)
    rows = {"time_s": time}
    for name, error in ERRORS.items():
        late = np.interp(time - error.lag, lesson.time, exact[name])
        rows[name] = late + error.offset * random.normal() + _noise(len(time), error, random)
    frame = LocalFrame(latitude=scenario.LATITUDE, longitude=scenario.LONGITUDE)
    latitude, longitude = frame.to_earth(rows.pop("north_m"), rows.pop("east_m"))
    rows["lat_deg"], rows["lon_deg"] = rad_to_deg(latitude), rad_to_deg(longitude)
    return rows


def _noise(count: int, error: ChannelError, random: np.random.Generator) -> Floats:
    """Slow wander (first-order Markov) plus each row's own error."""
    keep = np.exp(-1.0 / _WANDER_TIME)
    steps = random.normal(0.0, error.wander * np.sqrt(1.0 - keep * keep), count)
    wander = np.empty(count)
    wander[0] = error.wander * random.normal()
    for k in range(1, count):
        wander[k] = keep * wander[k - 1] + steps[k]
    noise: Floats = wander + random.normal(0.0, error.row, count)
    return noise


def _exact(lesson: Lesson) -> dict[str, Floats]:
    """Each channel without error, at the lesson's times, in the unit written; angles unwrapped."""
    values, height = lesson.values, lesson.values["geometric_altitude"]
    north, east = values["position_north"], values["position_east"]
    north_rate, east_rate = np.gradient(north, lesson.time), np.gradient(east, lesson.time)
    pressure = lesson.day.pressure_altitude(height)
    calibrated = air.calibrated_from_true(
        true_airspeed=values["true_airspeed"],
        pressure_altitude=pressure,
        isa_deviation=lesson.day.isa_deviation,
    )
    outside = air.temperature(pressure_altitude=pressure, isa_deviation=lesson.day.isa_deviation)
    variation, _ = magnetic_variation(
        latitude=scenario.LATITUDE, longitude=scenario.LONGITUDE, date=START.date()
    )
    return {
        "north_m": north,
        "east_m": east,
        "gps_alt_ft": m_to_ft(height),
        "press_alt_ft": m_to_ft(pressure),
        "gnd_spd_kt": mps_to_kt(np.hypot(north_rate, east_rate)),
        "track_deg": rad_to_deg(np.unwrap(np.arctan2(east_rate, north_rate))),
        "ias_kt": mps_to_kt(calibrated),
        "pitch_deg": rad_to_deg(values["pitch"]),
        "bank_deg": rad_to_deg(values["bank"]),
        "mag_hdg_deg": rad_to_deg(values["heading_true"] - variation),
        "vs_fpm": m_to_ft(np.gradient(height, lesson.time)) * 60.0,
        "norm_g": values["load_factor"] * np.cos(values["angle_of_attack"]),
        "oat_c": kelvin_to_celsius(outside),
        "rpm": _engine_speed(values["throttle"], values["true_airspeed"]),
    }


def _engine_speed(throttle: Floats, true_airspeed: Floats) -> Floats:
    """Engine speed [rpm] of a fixed-pitch propeller: it rises with airspeed at an unmoved throttle."""
    return 2150.0 * np.sqrt(np.maximum(throttle, 0.05)) + 4.5 * mps_to_kt(true_airspeed - kt_to_mps(65.0))


_PANEL = (
    ("Latitude", "deg", "lat_deg", "{:.6f}"),
    ("Longitude", "deg", "lon_deg", "{:.6f}"),
    ("GPS altitude", "ft MSL", "gps_alt_ft", "{:.0f}"),
    ("Pressure altitude", "ft", "press_alt_ft", "{:.0f}"),
    ("IAS", "kt", "ias_kt", "{:.1f}"),
    ("Ground speed", "kt", "gnd_spd_kt", "{:.1f}"),
    ("Track", "deg true", "track_deg", "{:.1f}"),
    ("Heading", "deg mag", "mag_hdg_deg", "{:.1f}"),
    ("Pitch", "deg", "pitch_deg", "{:.1f}"),
    ("Roll", "deg", "bank_deg", "{:.1f}"),
    ("Vertical speed", "ft/min", "vs_fpm", "{:.0f}"),
    ("Normal acceleration", "g", "norm_g", "{:.2f}"),
    ("OAT", "deg C", "oat_c", "{:.1f}"),
    ("RPM", "rpm", "rpm", "{:.0f}"),
)


def _panel_log(rows: dict[str, Floats], start: datetime, people: tuple[str, str | None]) -> str:
    """A delimited log with a preamble, a header row and a row of units."""
    head = [
        f"# {scenario.SCHOOL}: an invented lesson over {scenario.FIELD}",
        f"# Tern 180 {scenario.REGISTRATION}, {people[0]} {f'with {people[1]}' if people[1] else 'solo'}",
        ",".join(["UTC date", "UTC time", *(title for title, _, _, _ in _PANEL)]),
        ",".join(["yyyy-mm-dd", "hh:mm:ss", *(unit for _, unit, _, _ in _PANEL)]),
    ]
    wrapped = rows | {name: np.mod(rows[name], 360.0) for name in ("track_deg", "mag_hdg_deg")}
    columns = [[form.format(value) for value in wrapped[name]] for _, _, name, form in _PANEL]
    stamps = [start + timedelta(seconds=float(second)) for second in rows["time_s"]]
    lines = [
        ",".join([f"{stamp:%Y-%m-%d}", f"{stamp:%H:%M:%S}", *cells])
        for stamp, *cells in zip(stamps, *columns, strict=True)
    ]
    return "\n".join([*head, *lines]) + "\n"


def _track(rows: dict[str, Floats], start: datetime) -> str:
    """The same flight as a pocket receiver keeps it: GPX 1.0 with elevation, course and speed."""
    points = [
        f'<trkpt lat="{lat:.6f}" lon="{lon:.6f}"><ele>{feet * 0.3048:.1f}</ele>'
        f"<time>{start + timedelta(seconds=float(second)):%Y-%m-%dT%H:%M:%SZ}</time>"
        f"<course>{rad_to_deg(wrap_compass(np.radians(course))):.1f}</course>"
        f"<speed>{kt_to_mps(speed):.2f}</speed></trkpt>"
        for second, lat, lon, feet, course, speed in zip(
            rows["time_s"],
            rows["lat_deg"],
            rows["lon_deg"],
            rows["gps_alt_ft"],
            rows["track_deg"],
            rows["gnd_spd_kt"],
            strict=True,
        )
    ]
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.0" creator="chalkwing demo" xmlns="http://www.topografix.com/GPX/1/0">\n'
        f"<trk><name>An invented lesson over {scenario.FIELD}</name><trkseg>\n"
    )
    return head + "\n".join(points) + "\n</trkseg></trk>\n</gpx>\n"
