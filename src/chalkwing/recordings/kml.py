"""KML with times: ``gx:Track`` (also inside ``gx:MultiTrack``), and placemarks that carry a time each.

Source of the form: OGC KML 2.2/2.3. ``absolute`` altitude is meters above mean sea level there; angles of a
track are heading, tilt and roll in degrees, heading from true north.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

import numpy as np

from chalkwing.errors import UndecidedRecording, UnreadableRecording
from chalkwing.recordings import safexml
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.named_values import columns_of, meaning_of
from chalkwing.recordings.notebook import Notebook
from chalkwing.recordings.path import path_speed, path_turn_rate
from chalkwing.recordings.recording import Recording
from chalkwing.recordings.timestamps import utc_seconds
from chalkwing.units import DEGREE, Floats

_ROOT = re.compile(rb"<(?:\w+:)?kml[\s>]")
_NAN = float("nan")
_ALTITUDE_OF = {
    "absolute": "geometric_altitude",
    "relativetoground": "height_above_ground",
}


class _Places(safexml.Walker):
    """Collects timed positions, a whole track or placemark at a time."""

    def __init__(self, notebook: Notebook) -> None:
        super().__init__()
        self.notebook = notebook
        self.when: list[float] = []
        self.lines: list[int] = []
        self.coordinates: list[tuple[float, ...]] = []
        self.angles: list[tuple[float, ...]] = []
        self.altitude_modes: list[str] = []
        self.attached: dict[str, dict[int, float]] = {}
        self.untimed = 0
        self._begin_part()
        self._array = ""

    def _begin_part(self) -> None:
        self._when: list[float] = []
        self._span: dict[str, float] = {}
        self._found: list[tuple[float, ...]] = []
        self._turned: list[tuple[float, ...]] = []
        self._where: list[int] = []
        self._mode = "clamptoground"
        self._values: dict[str, list[float]] = {}

    def enter(self, name: str, attributes: Mapping[str, str]) -> None:
        if name in {"track", "placemark"}:
            if name == "placemark" or "placemark" not in self.path[:-1]:
                self._begin_part()
        elif name in {"simplearraydata", "data"}:
            self._array = attributes.get("name", "")

    def leave(self, name: str, content: str) -> None:
        if "lookat" in self.path or "camera" in self.path:
            return
        if name == "when":
            self._time(content)
        elif name in {"begin", "end"} and "timespan" in self.path:
            self._span[name] = utc_seconds(content)[0]
        elif name == "coord":
            self._found.append(_numbers(content.split(), 3))
            self._where.append(self.line)
        elif name == "coordinates":
            self._found += [_numbers(each.split(","), 3) for each in content.split()]
            self._where += [self.line] * (len(self._found) - len(self._where))
        elif name == "angles":
            self._turned.append(_numbers(content.split(), 3))
        elif name == "altitudemode":
            self._mode = content.lower()
        elif name == "value" and self._array and meaning_of(self._array):
            self._values.setdefault(self._array, []).extend(_numbers([content], 1))
        elif name == "track":
            self._finish_track()
        elif name == "placemark":
            self._finish_placemark()

    def finish(self) -> None:
        """Take in what a damaged file left unfinished."""
        self._finish_track() if "track" in self.path else self._finish_placemark()

    def _time(self, content: str) -> None:
        seconds = utc_seconds(content)[0]
        if np.isnan(seconds):
            self.notebook.fault(f"the time {content[:40]!r} cannot be read.", self.line)
        self._when.append(seconds)

    def _finish_track(self) -> None:
        count = min(len(self._when), len(self._found))
        if len(self._when) != len(self._found):
            self.notebook.say(
                f"a track has {len(self._when)} times for {len(self._found)} positions; "
                f"the first {count} of each were paired.",
                line=self.line,
            )
        self._take(self._when[:count], self._found[:count], self._where[:count])
        self._found, self._when, self._where = [], [], []

    def _finish_placemark(self) -> None:
        """A placemark of one or two points with a time for each end; longer lines have no times within."""
        times = self._when or [self._span.get("begin", _NAN), self._span.get("end", _NAN)]
        times = [time for time in times if not np.isnan(time)]
        if not self._found:
            return
        if len(self._found) <= 2 and times:
            ends = [times[0], times[-1]][: len(self._found)]
            self._take(ends, self._found, self._where)
        else:
            self.untimed += len(self._found)
        self._found, self._when, self._where, self._span = [], [], [], {}

    def _take(self, when: list[float], found: list[tuple[float, ...]], where: list[int]) -> None:
        row = len(self.when)
        self.when += when
        self.lines += where
        self.coordinates += found
        missing = (_NAN, _NAN, _NAN)
        self.angles += (self._turned + [missing] * len(found))[: len(found)]
        self.altitude_modes += [self._mode] * len(found)
        for name, values in self._values.items():
            column = self.attached.setdefault(name, {})
            column.update({row + i: value for i, value in enumerate(values[: len(found)])})
        self._turned, self._values = [], {}


class _KmlReader:
    """Reads KML; KMZ is a zip of it."""

    name = "KML"

    def recognizes(self, head: bytes) -> float:
        """Certain when the root element is there."""
        return 1.0 if _ROOT.search(head.replace(b"\0", b"")) else 0.0

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """All timed positions, in the order of the file."""
        notebook = Notebook()
        places = _Places(notebook)
        damage = safexml.walk(data, places, source=source)
        if damage is not None:
            places.finish()
        _require_times(places, source)
        time = np.array(places.when)
        longitude, latitude, altitude = np.array(places.coordinates).T
        latitude, longitude = latitude * DEGREE, longitude * DEGREE
        columns = {
            "latitude": Column(latitude, "coordinates"),
            "longitude": Column(longitude, "coordinates"),
        }
        columns |= _altitudes(altitude, places.altitude_modes, notebook)
        columns |= _attitude(np.array(places.angles), time, latitude, longitude, notebook)
        found = {name: _dense(values, len(time)) for name, values in places.attached.items()}
        speed = path_speed(time, latitude, longitude)
        attached = columns_of(found, path_speed=speed, notebook=notebook)
        columns |= {name: column for name, column in attached.items() if name not in columns}
        return build(
            time=time,
            columns=columns,
            source=source,
            reader=self.name,
            data=data,
            utc=True,
            lines=np.array(places.lines),
            notes=((damage,) if damage else ()) + notebook.notes(),
        )


def _require_times(places: _Places, source: str) -> None:
    if places.when:
        if places.untimed:
            places.notebook.say(f"{places.untimed} positions of lines without times were left out.")
        return
    if places.untimed:
        raise UndecidedRecording(
            "its line has no times for its points, so no speed or turn can be told.",
            where=source,
            next_step="Export it as a timed track (gx:Track), or as GPX.",
        )
    raise UnreadableRecording(
        "it holds no timed track.", where=source, next_step="Export the recorded track with times."
    )


def _altitudes(altitude: Floats, modes: list[str], notebook: Notebook) -> dict[str, Column]:
    columns: dict[str, Column] = {}
    mode = np.array(modes)
    for written, name in _ALTITUDE_OF.items():
        values = np.where(mode == written, altitude, np.nan)
        if np.isfinite(values).any():
            absolute = name == "geometric_altitude"
            columns[name] = Column(
                values, f"coordinates, {written}", datum="mean_sea_level" if absolute else "unknown"
            )
    if not columns and np.any(np.nan_to_num(altitude) != 0):
        notebook.say(
            "altitudes are marked as clamped to the ground; they were taken as measured, which is a guess.",
            channel="geometric_altitude",
        )
        columns["geometric_altitude"] = Column(altitude, "coordinates", sure=False)
    return columns


def _attitude(
    angles: Floats, time: Floats, latitude: Floats, longitude: Floats, notebook: Notebook
) -> dict[str, Column]:
    """Heading, pitch and bank from ``gx:angles``; the sign of roll by the turns it goes with."""
    heading, tilt, roll = (angles * DEGREE).T
    columns: dict[str, Column] = {}
    if np.nanmax(np.abs(np.append(heading, 0))) > 0:
        columns["heading_true"] = Column(heading, "gx:angles heading", sure=False)
    if np.nanmax(np.abs(np.append(tilt, 0))) > 0:
        columns["pitch"] = Column(tilt, "gx:angles tilt", sure=False)
    if np.nanmax(np.abs(np.append(roll, 0))) > 0:
        sign = _sign_by_turns(roll, path_turn_rate(time, latitude, longitude))
        if sign < 0:
            notebook.say(
                "roll is positive to the left, as the turns show; its sign was changed.", channel="bank"
            )
        columns["bank"] = Column(sign * roll, "gx:angles roll", sure=False)
    if columns:
        notebook.say(
            "the angles of the track were taken for the airplane's attitude, heading from true north."
        )
    return columns


def _sign_by_turns(bank: Floats, turn_rate: Floats) -> float:
    """1 when right turns go with positive bank or it cannot be told, -1 when clearly with negative."""
    turning = np.isfinite(bank) & np.isfinite(turn_rate) & (np.abs(turn_rate) > 0.03) & (np.abs(bank) > 0.1)
    if turning.sum() < 10:
        return 1.0
    agree = float(np.mean(np.sign(bank[turning]) == np.sign(turn_rate[turning])))
    return -1.0 if agree < 0.2 else 1.0


def _dense(values: Mapping[int, float], count: int) -> Floats:
    column = np.full(count, np.nan)
    column[list(values)] = list(values.values())
    return column


def _numbers(parts: list[str], count: int) -> tuple[float, ...]:
    """``count`` numbers, ``nan`` where one is missing or unreadable."""
    numbers = []
    for part in (*parts[:count], *[""] * (count - len(parts))):
        try:
            numbers.append(float(part))
        except ValueError:
            numbers.append(_NAN)
    return tuple(numbers)


READER = _KmlReader()
