"""Values that track files attach to a point under names of many makings, understood by name and by size."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from chalkwing.recordings.build import Column
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, HECTOPASCAL, KNOT, STANDARD_GRAVITY, ZERO_CELSIUS, Floats


@dataclass(frozen=True)
class Meaning:
    """What an attached value stands for: canonical channel, conversion to SI, and whether that is certain."""

    channel: str
    to_si: Callable[[Floats], Floats]
    sure: bool = True


def _plain(values: Floats) -> Floats:
    return values


def _degrees(values: Floats) -> Floats:
    return np.asarray(values * DEGREE)


def _variation(values: Floats) -> Floats:
    # GPX 1.1 gives variation as 0 to 360 degrees, so 350 means 10 degrees west.
    return np.asarray((np.mod(values + 180, 360) - 180) * DEGREE)


def _pressure(values: Floats) -> Floats:
    """Pascals, told from hectopascals by size."""
    return values * HECTOPASCAL if np.nanmedian(values) < 2000 else values


def _load(values: Floats) -> Floats:
    """Multiples of g, told from m/s² by size: level flight reads about 1 or about 9.8."""
    return values / STANDARD_GRAVITY if np.nanmedian(np.abs(values)) > 5 else values


def _celsius(values: Floats) -> Floats:
    return values if np.nanmedian(values) > 150 else values + ZERO_CELSIUS


_MEANINGS: dict[str, Meaning] = {}


def _define(meaning: Meaning, *names: str) -> None:
    _MEANINGS.update(dict.fromkeys(names, meaning))


_define(Meaning("ground_speed", _plain), "speed", "groundspeed", "gs", "gpsspeed", "velocity", "sog")
_define(Meaning("track", _degrees), "course", "track", "cog", "gpscourse", "courseoverground", "truetrack")
_define(Meaning("magnetic_variation", _variation), "magvar", "magneticvariation", "variation")
_define(Meaning("heading_magnetic", _degrees), "magneticheading", "headingmagnetic", "magheading", "hdm")
_define(Meaning("heading_magnetic", _degrees, sure=False), "heading", "hdg", "compass")
_define(Meaning("heading_true", _degrees), "trueheading", "headingtrue", "hdt")
_define(
    Meaning("static_pressure", _pressure), "pressure", "airpressure", "staticpressure", "baropressure", "baro"
)
_define(
    Meaning("pressure_altitude", _plain, sure=False),
    "pressurealtitude", "baroaltitude", "barometricaltitude", "altitudebaro", "baroalt", "palt", "pressalt",
)  # fmt: skip
_define(Meaning("vertical_speed", _plain), "verticalspeed", "vspeed", "climb", "vario", "climbrate", "vs")
_define(Meaning("indicated_airspeed", _plain), "indicatedairspeed", "ias")
_define(Meaning("calibrated_airspeed", _plain), "calibratedairspeed", "cas")
_define(Meaning("true_airspeed", _plain), "trueairspeed", "tas")
_define(Meaning("true_airspeed", _plain, sure=False), "airspeed")
_define(Meaning("bank", _degrees, sure=False), "roll", "bank", "bankangle", "rollangle")
_define(Meaning("pitch", _degrees), "pitch", "pitchangle")
_define(Meaning("load_factor", _load), "gforce", "gload", "loadfactor", "normalacceleration", "nz")
_define(
    Meaning("outside_air_temperature", _celsius), "oat", "outsideairtemperature", "sat", "statictemperature"
)

_SPEEDS = {"ground_speed", "indicated_airspeed", "calibrated_airspeed", "true_airspeed"}


def meaning_of(name: str) -> Meaning | None:
    """The meaning of an attached value by its local name, in any case and with any of the usual joiners."""
    return _MEANINGS.get(name.lower().replace("_", "").replace("-", "").replace(" ", ""))


def columns_of(found: Mapping[str, Floats], *, path_speed: Floats, notebook: Notebook) -> dict[str, Column]:
    """Columns from attached values as written.

    Parameters
    ----------
    found
        Local name to values, ``nan`` where a point has none; each of shape (n,).
    path_speed : array, shape (n,)
        Speed that the positions themselves show [m/s]; speeds written in another unit are found by it.
    """
    columns: dict[str, Column] = {}
    for name, values in found.items():
        meaning = meaning_of(name)
        if meaning is None or meaning.channel in columns or not np.isfinite(values).any():
            continue
        converted = meaning.to_si(values)
        if meaning.channel in _SPEEDS:
            converted = _in_meters_per_second(name, converted, path_speed, notebook)
        if not meaning.sure:
            notebook.say(
                f"{name!r} was taken for {meaning.channel}: the file does not say which kind it is.",
                channel=meaning.channel,
            )
        columns[meaning.channel] = Column(converted, source=name, sure=meaning.sure)
    return columns


def _in_meters_per_second(name: str, values: Floats, path_speed: Floats, notebook: Notebook) -> Floats:
    """Speeds checked against the path: m/s is prescribed, km/h and knots occur."""
    both = np.isfinite(values) & np.isfinite(path_speed) & (path_speed > 3)
    if both.sum() < 20:
        return values
    ratio = float(np.median(values[both] / path_speed[both]))
    for unit, factor in (("km/h", 1 / 3.6), ("knots", KNOT)):
        if abs(np.log(max(ratio, 1e-9) * factor)) < 0.12:
            notebook.say(f"{name!r} is written in {unit}, not m/s, as the positions show; converted.")
            return np.asarray(values * factor)
    return values
