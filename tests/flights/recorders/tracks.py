"""Satellite tracks in the open formats: GPX, IGC, NMEA 0183 and KML."""

from __future__ import annotations

import datetime as dt

import numpy as np
from tests.flights.recorders.noise import GpsFix, Samples, gps, samples, stamps, undulation
from tests.flights.truth import TruthFlight

from chalkwing.units import DEGREE, KNOT


def gpx_track(truth: TruthFlight, seed: int) -> bytes:
    """GPX 1.1, position and altitude only; one in three writes ellipsoid heights, against the standard."""
    rows = samples(truth, seed=seed, salt=61)
    fix = gps(rows, latency=float(rows.rng.uniform(0, 1)), velocity_lag=0.0)
    return _gpx(rows, fix, speed=False)


def gps_track(truth: TruthFlight, seed: int) -> bytes:
    """GPX 1.0, whose track points may carry speed [m/s] and course [deg true]."""
    rows = samples(truth, seed=seed, salt=62)
    lag = float(rows.rng.choice([0.0, 0.5, 1.0]))
    fix = gps(rows, latency=float(rows.rng.uniform(0, 0.6)), velocity_lag=lag)
    return _gpx(rows, fix, speed=True)


def _gpx(rows: Samples, fix: GpsFix, *, speed: bool) -> bytes:
    ellipsoid = rows.rng.random() < 0.33
    altitude = fix.altitude_ellipsoid if ellipsoid else fix.altitude_mean_sea_level
    version = "1.0" if speed else "1.1"
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        (
            f'<gpx version="{version}" creator="pocket tracker" '
            f'xmlns="http://www.topografix.com/GPX/{version.replace(".", "/")}">'
        ),
        "<trk><name>lesson</name><trkseg>",
    ]
    track, ground = fix.track / DEGREE, fix.ground_speed
    for k, stamp in enumerate(stamps(rows)):
        extra = f"<course>{track[k]:.1f}</course><speed>{ground[k]:.2f}</speed>" if speed else ""
        lines.append(
            f'<trkpt lat="{fix.latitude[k] / DEGREE:.7f}" lon="{fix.longitude[k] / DEGREE:.7f}">'
            f"<ele>{altitude[k]:.1f}</ele><time>{_iso(stamp)}</time>{extra}</trkpt>"
        )
    return ("\n".join([*lines, "</trkseg></trk></gpx>"]) + "\n").encode()


def igc_log(truth: TruthFlight, seed: int) -> bytes:
    """IGC with both altitudes, one fix a second: whole seconds, position to a thousandth of a minute."""
    rows = samples(truth, seed=seed, salt=63)
    rows = Samples(truth, np.ceil(rows.time) - stamps(rows)[0].microsecond / 1e6 + 1e-9, rows.rng)
    fix = gps(rows, latency=float(rows.rng.uniform(0, 0.5)), velocity_lag=0.0)
    pressure = rows.take("pressure_altitude", lag=0.5) + rows.rng.normal(0, 8) + rows.white(0.4)
    utc = stamps(rows)
    lines = [
        "AXXX001",
        f"HFDTE{utc[0]:%d%m%y}",
        "HFFXA010",
        "HFPLTPILOTINCHARGE:not recorded",
        "HFGTYGLIDERTYPE:training airplane",
        "HFDTM100GPSDATUM:WGS-1984",
        "I013638FXA",
    ]
    for k, stamp in enumerate(utc):
        north = _minutes(fix.latitude[k] / DEGREE, 2, "NS")
        east = _minutes(fix.longitude[k] / DEGREE, 3, "EW")
        lines.append(
            f"B{stamp:%H%M%S}{north}{east}A{_five(pressure[k])}{_five(fix.altitude_ellipsoid[k])}005"
        )
    return ("\r\n".join(lines) + "\r\n").encode()


def nmea_log(truth: TruthFlight, seed: int) -> bytes:
    """NMEA 0183 sentences RMC and GGA, once a second, with checksums."""
    rows = samples(truth, seed=seed, salt=64)
    fix = gps(rows, latency=float(rows.rng.uniform(0, 0.5)), velocity_lag=float(rows.rng.choice([0.0, 0.7])))
    lines = []
    height = undulation(truth)
    for k, stamp in enumerate(stamps(rows)):
        clock = f"{stamp:%H%M%S}.{stamp.microsecond // 10000:02d}"
        place = f"{_nmea(fix.latitude[k] / DEGREE, 2, 'NS')},{_nmea(fix.longitude[k] / DEGREE, 3, 'EW')}"
        speed, course = fix.ground_speed[k] / KNOT, fix.track[k] / DEGREE
        lines.append(_sentence(f"GPRMC,{clock},A,{place},{speed:.2f},{course:.1f},{stamp:%d%m%y},,"))
        lines.append(
            _sentence(
                f"GPGGA,{clock},{place},1,10,0.9,{fix.altitude_mean_sea_level[k]:.1f},M,{height:.1f},M,,"
            )
        )
    return ("\r\n".join(lines) + "\r\n").encode()


def kml_track(truth: TruthFlight, seed: int) -> bytes:
    """KML 2.2 with a timed track in the gx extension."""
    rows = samples(truth, seed=seed, salt=65)
    fix = gps(rows, latency=float(rows.rng.uniform(0, 1)), velocity_lag=0.0)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2">',
        "<Document><Placemark><gx:Track><altitudeMode>absolute</altitudeMode>",
    ]
    lines += [f"<when>{_iso(stamp)}</when>" for stamp in stamps(rows)]
    lines += [
        f"<gx:coord>{fix.longitude[k] / DEGREE:.7f} {fix.latitude[k] / DEGREE:.7f} "
        f"{fix.altitude_mean_sea_level[k]:.1f}</gx:coord>"
        for k in range(len(rows.time))
    ]
    return ("\n".join([*lines, "</gx:Track></Placemark></Document></kml>"]) + "\n").encode()


def _iso(stamp: dt.datetime) -> str:
    return f"{stamp:%Y-%m-%dT%H:%M:%S}.{stamp.microsecond // 1000:03d}Z"


def _minutes(degrees: float, width: int, letters: str) -> str:
    thousandths = round(abs(degrees) * 60000)
    return f"{thousandths // 60000:0{width}d}{thousandths % 60000:05d}{letters[int(degrees < 0)]}"


def _nmea(degrees: float, width: int, letters: str) -> str:
    whole = int(abs(degrees))
    return f"{whole:0{width}d}{(abs(degrees) - whole) * 60:09.6f},{letters[int(degrees < 0)]}"


def _five(meters: float) -> str:
    return f"{round(meters):05d}" if meters >= 0 else f"-{-round(meters):04d}"


def _sentence(body: str) -> str:
    total = 0
    for letter in body:
        total ^= ord(letter)
    return f"${body}*{total:02X}"
