"""GPX 1.0 and 1.1: timed track points, with whatever their extensions attach.

Source of the form: the GPX 1.0 and 1.1 schema descriptions (topografix.com/GPX). Elevation is prescribed as
meters, of no certain datum; ``speed`` is m/s and ``course`` degrees true.
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
from chalkwing.recordings.path import path_speed
from chalkwing.recordings.recording import Recording
from chalkwing.recordings.timestamps import utc_seconds
from chalkwing.units import DEGREE, Floats

_ROOT = re.compile(rb"<(?:\w+:)?gpx[\s>]")
_NAN = float("nan")


class _Track(safexml.Walker):
    """Collects track points column by column."""

    def __init__(self, notebook: Notebook) -> None:
        super().__init__()
        self.notebook = notebook
        self.rows: dict[str, list[float]] = {key: [] for key in ("time", "latitude", "longitude", "ele")}
        self.lines: list[int] = []
        self.parts: list[int] = []
        self.part = 0
        self.untimed = 0
        self.attached: dict[str, dict[int, float]] = {}
        self._point: dict[str, float] | None = None
        self._zoned = True

    def enter(self, name: str, attributes: Mapping[str, str]) -> None:
        if name == "trkseg" or (name == "trk" and not self.lines):
            self.part += 1
        elif name == "trkpt":
            self._point = {
                "latitude": _number(attributes.get("lat", "")) * DEGREE,
                "longitude": _number(attributes.get("lon", "")) * DEGREE,
            }

    def leave(self, name: str, content: str) -> None:
        if self._point is None:
            return
        if name == "trkpt":
            self._finish(self._point)
            self._point = None
        elif name == "time" and self.path[-2] == "trkpt":
            self._point["time"], zoned = utc_seconds(content)
            self._zoned &= zoned
            if content and np.isnan(self._point["time"]):
                self.notebook.fault(f"the time {content[:40]!r} cannot be read.", self.line)
        elif name == "ele":
            self._point["ele"] = _number(content)
        elif content and meaning_of(name) is not None:
            self._point[name] = _number(content)

    def _finish(self, point: dict[str, float]) -> None:
        if np.isnan(point["latitude"]) or np.isnan(point["longitude"]):
            self.notebook.fault("a track point without a readable position.", self.line)
        if "time" not in point:
            self.untimed += 1
        row = len(self.lines)
        for key, column in self.rows.items():
            column.append(point.pop(key, _NAN))
        for name, value in point.items():
            self.attached.setdefault(name, {})[row] = value
        self.lines.append(self.line)
        self.parts.append(self.part)

    @property
    def says_zone(self) -> bool:
        """Whether every time stamp named its zone."""
        return self._zoned


class _GpxReader:
    """Reads GPX of any version."""

    name = "GPX"

    def recognizes(self, head: bytes) -> float:
        """Certain when the root element is there."""
        plain = head.replace(b"\0", b"")
        return 1.0 if _ROOT.search(plain) else 0.0

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """All timed track points of the file, in order of time; routes and waypoints are no recording."""
        notebook = Notebook()
        track = _Track(notebook)
        damage = safexml.walk(data, track, source=source)
        _require_times(track, source, damage is not None)
        time = np.array(track.rows["time"])
        order = _by_part(time, np.array(track.parts), notebook)
        time = time[order]
        latitude, longitude = (np.array(track.rows[key])[order] for key in ("latitude", "longitude"))
        columns = {
            "latitude": Column(latitude, "trkpt lat"),
            "longitude": Column(longitude, "trkpt lon"),
            "geometric_altitude": Column(np.array(track.rows["ele"])[order], "ele"),
        }
        found = {name: _dense(values, len(order))[order] for name, values in track.attached.items()}
        speed = path_speed(time, latitude, longitude)
        columns |= columns_of(found, path_speed=speed, notebook=notebook)
        _say(track, notebook)
        return build(
            time=time,
            columns=columns,
            source=source,
            reader=self.name,
            data=data,
            utc=True,
            lines=np.array(track.lines)[order],
            notes=((damage,) if damage else ()) + notebook.notes(),
        )


def _require_times(track: _Track, source: str, damaged: bool) -> None:
    if not track.lines:
        what = "it is damaged before the first track point." if damaged else "it holds no track points."
        raise UnreadableRecording(
            what, where=source, next_step="Export the recorded track, not a route or waypoints."
        )
    if not np.isfinite(track.rows["time"]).any():
        raise UndecidedRecording(
            "its track points have no times, so no speed or turn can be told.",
            where=source,
            next_step="Export the track again with times.",
        )


def _say(track: _Track, notebook: Notebook) -> None:
    if track.untimed:
        notebook.say(f"{track.untimed} track points have no time.")
    if not track.says_zone:
        notebook.say("the times name no zone; taken as UTC, as the form prescribes.")
    if np.isfinite(track.rows["ele"]).any():
        notebook.say(
            "elevations may be above the ellipsoid or above mean sea level: GPX does not say.",
            channel="geometric_altitude",
        )


def _by_part(
    time: Floats, parts: np.ndarray[tuple[int], np.dtype[np.int64]], notebook: Notebook
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Rows with the segments put in order of their first time; files list segments in any order."""
    labels = np.unique(parts)
    starts = {}
    for label in labels:
        times = time[parts == label]
        times = times[np.isfinite(times)]
        starts[label] = times[0] if len(times) else np.inf
    in_order = sorted(labels, key=lambda label: starts[label])
    if in_order != list(labels):
        notebook.say(f"the {len(labels)} track segments were put in order of time.")
    return np.concatenate([np.flatnonzero(parts == label) for label in in_order])


def _dense(values: Mapping[int, float], count: int) -> Floats:
    column = np.full(count, np.nan)
    column[list(values)] = list(values.values())
    return column


def _number(content: str) -> float:
    try:
        return float(content)
    except ValueError:
        return _NAN


READER = _GpxReader()
