"""One invented flight, known exactly, and the same flight written in every form."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from chalkwing.recordings import Recording
from chalkwing.units import Floats, wrap_angle

START = datetime(2024, 5, 17, 9, 30, tzinfo=UTC)
RADIUS = 6371008.8


@dataclass(frozen=True)
class Known:
    """SI and radians; ``time`` in seconds since 1970."""

    time: Floats
    latitude: Floats
    longitude: Floats
    altitude: Floats
    speed: Floats
    track: Floats
    climb: Floats
    bank: Floats

    def __len__(self) -> int:
        return len(self.time)

    def rows(self, chosen: slice | Floats) -> Known:
        return Known(**{name: getattr(self, name)[chosen] for name in self.__dataclass_fields__})

    def stamps(self) -> list[datetime]:
        return [datetime.fromtimestamp(round(float(t), 3), UTC) for t in self.time]


def known_flight(*, interval: float = 1.0, start: datetime = START, latitude: float = 47.2) -> Known:
    """Thirteen minutes: at rest, takeoff, climb, a right and a left 360 at 50 m/s, descent, landing, rest."""
    fine = np.arange(0.0, 780.0, 0.05)
    speed = np.interp(fine, (0, 60, 90, 700, 720, 780), (0, 0, 50, 50, 0, 0))
    climb = np.interp(fine, (0, 88, 98, 270, 280, 560, 570, 690, 700, 780), (0, 0, 4, 4, 0, 0, -5, -5, 0, 0))
    turn = np.zeros(len(fine))
    turn[(fine >= 300) & (fine < 360)] = 2 * np.pi / 60
    turn[(fine >= 420) & (fine < 480)] = -2 * np.pi / 60
    smooth = np.ones(81) / 81
    turn = np.convolve(turn, smooth, mode="same")
    track = np.radians(40.0) + np.cumsum(turn) * 0.05
    north = np.cumsum(speed * np.cos(track)) * 0.05
    east = np.cumsum(speed * np.sin(track)) * 0.05
    lat0, lon0 = np.radians(latitude), np.radians(8.3)
    rows = np.round(np.arange(0.0, 780.0 - interval, interval) / 0.05).astype(int)
    values = {
        "latitude": lat0 + north / RADIUS,
        "longitude": lon0 + east / (RADIUS * np.cos(lat0)),
        "altitude": 420.0 + np.cumsum(climb) * 0.05,
        "speed": speed,
        "track": np.mod(track, 2 * np.pi),
        "climb": climb,
        "bank": np.arctan(speed * turn / 9.80665),
    }
    picked = {name: column[rows] for name, column in values.items()}
    return Known(time=start.timestamp() + fine[rows], **picked)


def agrees(
    recording: Recording, channel: str, known: Known, truth: Floats, *, within: float, least: float = 0.9
) -> None:
    """Assert that a channel holds the truth at its times, angles around the circle, for most of the rows."""
    time, values = recording.samples(channel)
    assert recording.start_utc is not None
    when = recording.start_utc.timestamp() + time
    index = np.searchsorted(known.time, when - 1e-3).clip(0, len(known) - 1)
    assert np.abs(known.time[index] - when).max() < 2e-3
    assert len(values) >= least * len(known)
    error = values - truth[index]
    if channel in {"track", "heading_true", "heading_magnetic", "longitude"}:
        error = wrap_angle(error)
    assert np.abs(error).max() <= within, f"{channel}: {np.abs(error).max()} > {within}"


def _degrees_minutes(angle: float, width: int, decimals: int, signs: str) -> tuple[str, str]:
    hundredth = round(abs(np.degrees(angle)) * 60 * 10**decimals)
    degrees, minutes = divmod(hundredth, 60 * 10**decimals)
    return f"{degrees:0{width}d}{minutes:0{2 + decimals}d}", signs[0 if angle >= 0 else 1]


def as_igc(
    known: Known,
    *,
    date_line: str | None = "HFDTEDATE:{:%d%m%y},01",
    headers: tuple[str, ...] = (),
    extensions: str = "",
    extension: list[str] | None = None,
    validity: str = "A",
    undulation: float = 0.0,
) -> bytes:
    lines = ["AXYZ001", *([date_line.format(known.stamps()[0])] if date_line else []), *headers]
    lines += [extensions] if extensions else []
    for i, stamp in enumerate(known.stamps()):
        latitude, ns = _degrees_minutes(known.latitude[i], 2, 3, "NS")
        longitude, ew = _degrees_minutes(known.longitude[i], 3, 3, "EW")
        pressure, gnss = round(known.altitude[i]), round(known.altitude[i] + undulation)
        line = f"B{stamp:%H%M%S}{latitude}{ns}{longitude}{ew}{validity}{_five(pressure)}{_five(gnss)}"
        lines.append(line + (extension[i] if extension else ""))
    return ("\r\n".join([*lines, "GABCDEF"]) + "\r\n").encode()


def _five(meters: int) -> str:
    return f"{meters:05d}" if meters >= 0 else f"-{-meters:04d}"


def sentence(body: str) -> str:
    total = 0
    for byte in body.encode():
        total ^= byte
    return f"${body}*{total:02X}"


def as_nmea(known: Known, *, talker: str = "GP", date: bool = True, rmc: bool = True) -> bytes:
    lines = []
    for i, stamp in enumerate(known.stamps()):
        latitude, ns = _degrees_minutes(known.latitude[i], 2, 5, "NS")
        longitude, ew = _degrees_minutes(known.longitude[i], 3, 5, "EW")
        place = f"{latitude[:4]}.{latitude[4:]},{ns},{longitude[:5]}.{longitude[5:]},{ew}"
        clock = f"{stamp:%H%M%S}.{stamp.microsecond // 10000:02d}"
        knots, course = known.speed[i] * 3600 / 1852, np.degrees(known.track[i])
        if rmc:
            day = f"{stamp:%d%m%y}" if date else ""
            lines.append(sentence(f"{talker}RMC,{clock},A,{place},{knots:.3f},{course:.3f},{day},3.1,W,A"))
        lines.append(sentence(f"{talker}GGA,{clock},{place},1,09,0.9,{known.altitude[i]:.2f},M,47.6,M,,"))
        lines.append(sentence(f"{talker}VTG,{course:.3f},T,,M,{knots:.3f},N,{known.speed[i] * 3.6:.3f},K,A"))
    return ("\r\n".join(lines) + "\r\n").encode()


def as_gpx(known: Known, *, version: str = "1.1", speed_factor: float = 1.0, stamp: str = "Z") -> bytes:
    prefix = "p:" if version == "1.1" else ""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="{version}" creator="invented" xmlns="urn:gpx" xmlns:p="urn:point">',
        "<trk><name>a lesson</name><trkseg>",
    ]
    for i, moment in enumerate(known.stamps()):
        speed, course = known.speed[i] * speed_factor, np.degrees(known.track[i])
        pressure = 101325.0 * (1 - known.altitude[i] / 44330.77) ** 5.25588
        extra = f"<{prefix}speed>{speed:.3f}</{prefix}speed><{prefix}course>{course:.2f}</{prefix}course>"
        if version == "1.1":
            extra += f"<p:pressure>{pressure / 100:.3f}</p:pressure>"
            extra += f"<p:Roll>{np.degrees(known.bank[i]):.2f}</p:Roll>"
            extra = f"<extensions><p:point>{extra}</p:point></extensions>"
        when = f"{moment.replace(tzinfo=None).isoformat(timespec='milliseconds')}{stamp}"
        lines.append(
            f'<trkpt lat="{np.degrees(known.latitude[i]):.8f}" lon="{np.degrees(known.longitude[i]):.8f}">'
            f"<ele>{known.altitude[i]:.2f}</ele><time>{when}</time>{extra}</trkpt>"
        )
    return "\n".join([*lines, "</trkseg></trk></gpx>"]).encode()


def as_kml_track(known: Known, *, roll_sign: float = 1.0, mode: str = "absolute") -> bytes:
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2">',
        f"<Document><Placemark><gx:Track><altitudeMode>{mode}</altitudeMode>",
    ]
    for i, moment in enumerate(known.stamps()):
        lines.append(f"<when>{moment.isoformat()}</when>")
        lines.append(
            f"<gx:coord>{np.degrees(known.longitude[i]):.8f} {np.degrees(known.latitude[i]):.8f} "
            f"{known.altitude[i]:.2f}</gx:coord>"
        )
        heading, roll = np.degrees(known.track[i]), roll_sign * np.degrees(known.bank[i])
        lines.append(f"<gx:angles>{heading:.3f} 0 {roll:.3f}</gx:angles>")
    array = "".join(f"<gx:value>{speed:.3f}</gx:value>" for speed in known.speed)
    lines.append(
        '<ExtendedData><SchemaData><gx:SimpleArrayData name="speed">'
        f"{array}</gx:SimpleArrayData></SchemaData></ExtendedData>"
    )
    return "\n".join([*lines, "</gx:Track></Placemark></Document></kml>"]).encode()


def as_kml_segments(known: Known) -> bytes:
    """Each interval a placemark of its own with a time span, as some programs color a path."""
    lines = ['<kml xmlns="http://www.opengis.net/kml/2.2"><Document>']
    stamps = known.stamps()
    for i in range(0, len(known) - 1, 2):
        ends = " ".join(
            f"{np.degrees(known.longitude[k]):.8f},{np.degrees(known.latitude[k]):.8f},{known.altitude[k]:.2f}"
            for k in (i, i + 1)
        )
        lines.append(
            f"<Placemark><TimeSpan><begin>{stamps[i].isoformat()}</begin>"
            f"<end>{stamps[i + 1].isoformat()}</end></TimeSpan>"
            "<LineString><altitudeMode>absolute</altitudeMode>"
            f"<coordinates>{ends}</coordinates></LineString></Placemark>"
        )
    return "\n".join([*lines, "</Document></kml>"]).encode()
