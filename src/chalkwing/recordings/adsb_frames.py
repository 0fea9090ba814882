"""Raw Mode S frames in hexadecimal with the time each was received, one a line.

Frames are decoded by pyModeS one at a time: its stream decoder rejects velocities whose track turns faster
than 10 degrees a second, which steep turns do. Positions come from even and odd CPR pairs, then locally
from the last position (RTCA DO-260B, A.1.7). Velocity components are taken from the frame itself, in whole
knots, since speed and track made of them are rounded once more.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from chalkwing.errors import UndecidedRecording
from chalkwing.recordings import text
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.channels import Datum
from chalkwing.recordings.notebook import Notebook
from chalkwing.recordings.recording import Recording
from chalkwing.recordings.timestamps import utc_seconds
from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT

_HEX = re.compile(r"(?<![0-9A-Za-z.])(?:0x)?([0-9A-Fa-f]{28}|[0-9A-Fa-f]{14})(?![0-9A-Za-z.])")
_COUNTED = re.compile(r"@([0-9A-Fa-f]{12})([0-9A-Fa-f]{28}|[0-9A-Fa-f]{14});")
_DATED = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d+)?(?:Z|[+-]\d\d:?\d\d)?")
_NUMBER = re.compile(r"(?<![0-9A-Za-z.:-])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?![0-9A-Za-z.:])")
_COUNTER_RATE = 12e6
"""The counters that receivers put in front of frames (``@...;``) run at this rate [1/s]: common practice."""
_PAIR_WINDOW = 10.0
"""An even and an odd frame further apart may lie in different zones [s] (DO-260B A.1.7.3)."""
_REFERENCE_WINDOW = 60.0
"""A position this old still tells its successor's zone: 180 NM are not flown in it [s]."""
_FIRST_DATED = 1e8


@dataclass(frozen=True)
class _Frame:
    time: float
    text: str
    line: int


@dataclass
class _Rows:
    """Decoded values: one row a frame, columns filled where the frame has them."""

    values: dict[str, dict[int, float]] = field(default_factory=dict)

    def put(self, channel: str, row: int, value: float | None, factor: float = 1.0) -> None:
        if value is not None:
            self.values.setdefault(channel, {})[row] = value * factor


class _FramesReader:
    """Reads lines such as ``time,frame`` or ``time *frame;`` with the columns in any order."""

    name = "Mode S frames"

    def recognizes(self, head: bytes) -> float:
        """By the share of lines that hold one frame; extended squitters (DF17, DF18) make it sure."""
        if text.is_binary(head):
            return 0.0
        lines = [line for line in text.lines_of(head)[:400] if line.strip()]
        found = [match.group(1) for line in lines if (match := _HEX.search(line.replace("@", " ")))]
        found += [match.group(2) for line in lines if (match := _COUNTED.search(line))]
        squitters = sum(frame[:2].upper() in _SQUITTER_STARTS for frame in found)
        share = len(found) / max(len(lines), 1)
        return 0.97 if squitters >= 3 and share > 0.5 else 0.5 if squitters and share > 0.3 else 0.0

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """The frames of one aircraft: the one the column map names as ``aircraft``, else the most heard."""
        notebook = Notebook()
        frames = list(_frames(text.lines_of(data), notebook))
        if not frames:
            raise UndecidedRecording(
                "its frames have no receive times, so no speed or turn can be told.",
                where=source,
                next_step="Record the time of each frame beside it: time,frame on each line.",
            )
        aircraft = _chosen(frames, column_map, source, notebook)
        kept, rows = _decoded(frames, aircraft, notebook)
        time = np.array([frame.time for frame in kept])
        if np.nanmedian(time) > 1e11:
            time = time / 1000.0  # milliseconds since 1970
        return build(
            time=time,
            columns=_columns(rows, len(kept)),
            source=source,
            reader=self.name,
            data=data,
            utc=bool(np.nanmedian(time) > _FIRST_DATED),
            lines=np.array([frame.line for frame in kept]),
            notes=notebook.notes(),
        )


_SQUITTER_STARTS = {f"{first:02X}" for first in (*range(0x88, 0x90), *range(0x90, 0x98))}


def _frames(lines: Sequence[str], notebook: Notebook) -> Iterator[_Frame]:
    for number, line in enumerate(lines, start=1):
        if counted := _COUNTED.search(line):
            yield _Frame(int(counted.group(1), 16) / _COUNTER_RATE, counted.group(2).upper(), number)
            continue
        frame = _frame_in(line)
        if frame is None:
            if number > 1 and line.strip():
                notebook.fault("there is no Mode S frame in this line.", number)
            continue
        time = _time_in(line[: frame.start(1)] + " " + line[frame.end(1) :])
        if np.isnan(time):
            notebook.fault("the frame in this line has no receive time.", number)
        else:
            yield _Frame(time, frame.group(1).upper(), number)


def _frame_in(line: str) -> re.Match[str] | None:
    """The frame of a line: the longest, then the lettered candidate, since a time may be 14 digits too."""
    found = list(_HEX.finditer(line))
    return max(found, key=lambda m: (len(m.group(1)), not m.group(1).isdigit()), default=None)


def _time_in(rest: str) -> float:
    if dated := _DATED.search(rest):
        return utc_seconds(dated.group(0))[0]
    number = _NUMBER.search(rest)
    return float(number.group(0)) if number else float("nan")


def _chosen(
    frames: Sequence[_Frame], column_map: Mapping[str, object] | None, source: str, notebook: Notebook
) -> str:
    """The address to decode: positions are counted by type code, without decoding them."""
    heard = Counter(
        frame.text[2:8]
        for frame in frames
        if frame.text[:2] in _SQUITTER_STARTS and len(frame.text) == 28 and _carries_position(frame.text)
    )
    wanted = (column_map or {}).get("aircraft")
    if wanted is not None:
        if str(wanted).upper() in heard:
            return str(wanted).upper()
        known = ", ".join(address for address, _ in heard.most_common(10)) or "none"
        raise UndecidedRecording(
            f"no position of the aircraft {wanted} was received; positions of: {known}.",
            where=source,
            next_step="Set aircraft in the column map to one of those 24-bit addresses.",
        )
    if not heard:
        raise UndecidedRecording(
            "none of its frames carries a position (extended squitter, DF17 or DF18).",
            where=source,
            next_step="Record all downlink formats, not only the replies to radar.",
        )
    (first, count), *others = heard.most_common()
    if others:
        listed = ", ".join(f"{address} ({number})" for address, number in others[:5])
        notebook.say(
            f"of {len(heard)} aircraft {first} was taken, with {count} positions; others: {listed}. "
            'Name one as aircraft = "..." in the column map to read it instead.'
        )
    return first


def _carries_position(frame: str) -> bool:
    kind = int(frame[8:10], 16) >> 3
    return 5 <= kind <= 18 or 20 <= kind <= 22


def _decoded(frames: Sequence[_Frame], aircraft: str, notebook: Notebook) -> tuple[list[_Frame], _Rows]:
    from pyModeS import DecodeError, Message

    kept: list[_Frame] = []
    decoder = _Decoder()
    for frame in frames:
        squitter = frame.text[:2] in _SQUITTER_STARTS
        if squitter and frame.text[2:8] != aircraft:
            continue
        try:
            message = Message(frame.text)
            if message.icao != aircraft or message.df == 11:
                continue
            if message.crc_valid is False:
                notebook.fault("the parity of this frame is wrong; it was left out.", frame.line)
                continue
            found = message.decode(known=decoder.known())
        except (DecodeError, ValueError, IndexError, KeyError, StopIteration):
            notebook.fault("this frame cannot be decoded; it was left out.", frame.line)
            continue
        decoder.take(len(kept), frame, found)
        kept.append(frame)
    decoder.say(notebook)
    return kept, decoder.rows


class _Decoder:
    """What frames of one aircraft say, each understood with the help of those before it."""

    def __init__(self) -> None:
        self.rows = _Rows()
        self._halves: dict[tuple[str, int], tuple[float, int, int]] = {}
        self._position: tuple[float, float, float] | None = None
        self._velocity: tuple[float, float, float] | None = None
        self._pressure_altitude: tuple[float, float] | None = None
        self._refused = 0

    def known(self) -> dict[str, Any] | None:
        """Recent state, by which pyModeS tells Comm-B registers apart."""
        if self._velocity is None:
            return None
        _, speed, track = self._velocity
        return {"groundspeed": speed, "track": track, "tas": speed, "ias": speed, "heading": track}

    def take(self, row: int, frame: _Frame, found: Mapping[str, Any]) -> None:
        """Put the values of one decoded frame into ``row``."""
        register, df = found.get("bds"), found["df"]
        if df in (17, 18):
            if register in ("0,5", "0,6"):
                self._take_position(row, frame.time, str(register), found)
            elif register == "0,9":
                self._take_velocity(row, frame, found)
            return
        self._take_reply_altitude(row, frame.time, found.get("altitude"))
        if register == "5,0":
            self._take_track_and_turn(row, frame.time, found)
        elif register == "6,0":
            self._take_heading_and_speed(row, frame.time, found)

    def say(self, notebook: Notebook) -> None:
        """Note what was refused for contradicting the aircraft's own broadcasts, and what is not certain."""
        for channel, (source, sure, _) in _SOURCES.items():
            if channel in self.rows.values and not sure:
                notebook.say(
                    f"{channel} comes from {source}: which register a reply carries is told by its content.",
                    channel=channel,
                )
        if self._refused:
            notebook.say(
                f"{self._refused} replies contradict the aircraft's own broadcasts and were left out."
            )

    def _take_position(self, row: int, time: float, register: str, found: Mapping[str, Any]) -> None:
        altitude = found.get("altitude")
        if register == "0,5" and altitude is not None:
            if found["typecode"] >= 20:
                # pyModeS turns whole meters into whole feet, rounding down.
                self.rows.put("geometric_altitude", row, float(np.ceil(altitude * FOOT)))
            else:
                self.rows.put("pressure_altitude", row, altitude, FOOT)
                self._pressure_altitude = (time, altitude)
        if register == "0,6":
            self.rows.put("ground_speed", row, found.get("groundspeed"), KNOT)
            self.rows.put("track", row, found.get("track"), DEGREE)
        place = self._located(time, register, found)
        if place is not None:
            self.rows.put("latitude", row, place[0], DEGREE)
            self.rows.put("longitude", row, place[1], DEGREE)
            self._position = (time, *place)

    def _located(self, time: float, register: str, found: Mapping[str, Any]) -> tuple[float, float] | None:
        from pyModeS.position import airborne_position_with_ref, surface_position_with_ref

        parity, lat, lon = found["cpr_format"], found["cpr_lat"], found["cpr_lon"]
        self._halves[register, parity] = (time, lat, lon)
        recent = self._position is not None and 0 <= time - self._position[0] <= _REFERENCE_WINDOW
        if register == "0,6":
            # On the ground the zones are small: only the airborne positions before tell which one it is.
            if not recent or self._position is None:
                return None
            return surface_position_with_ref(parity, lat, lon, *self._position[1:])
        from_pair = self._paired(time, register, parity)
        if not recent or self._position is None:
            return from_pair
        near = airborne_position_with_ref(parity, lat, lon, *self._position[1:])
        if from_pair is not None and max(abs(near[0] - from_pair[0]), abs(near[1] - from_pair[1])) > 0.1:
            # The old reference or this pair is wrong; believe neither and begin anew.
            self._position = None
            self._halves.clear()
            return None
        return near

    def _paired(self, time: float, register: str, parity: int) -> tuple[float, float] | None:
        from pyModeS.position import airborne_position_pair

        even, odd = self._halves.get((register, 0)), self._halves.get((register, 1))
        if even is None or odd is None or abs(even[0] - odd[0]) > _PAIR_WINDOW:
            return None
        return airborne_position_pair(*even[1:], *odd[1:], even_is_newer=parity == 0)

    def _take_velocity(self, row: int, frame: _Frame, found: Mapping[str, Any]) -> None:
        if found["subtype"] in (1, 2) and found.get("groundspeed") is not None:
            east, north = _components(frame.text, found["subtype"])
            self.rows.put("velocity_east", row, east, KNOT)
            self.rows.put("velocity_north", row, north, KNOT)
            track = float(np.degrees(np.arctan2(east, north)) % 360)
            self._velocity = (frame.time, float(np.hypot(east, north)), track)
        elif found["subtype"] in (3, 4):
            kind = "true_airspeed" if found.get("airspeed_type") == "TAS" else "indicated_airspeed"
            self.rows.put(kind, row, found.get("airspeed"), KNOT)
            self.rows.put("heading_magnetic", row, found.get("heading"), DEGREE)
        self.rows.put("vertical_speed", row, found.get("vertical_rate"), FOOT_PER_MINUTE)
        difference, recent = found.get("geo_minus_baro"), self._pressure_altitude
        if difference is not None and recent is not None and 0 <= frame.time - recent[0] <= 1.5:
            self.rows.put("geometric_altitude", row, recent[1] + difference, FOOT)

    def _take_reply_altitude(self, row: int, time: float, altitude: float | None) -> None:
        """Altitude of a reply, whose address is only its parity: kept when it fits the broadcasts."""
        recent = self._pressure_altitude
        if altitude is None or recent is None or not 0 <= time - recent[0] <= 30:
            return
        if abs(altitude - recent[1]) > 200 + 100 * (time - recent[0]):
            self._refused += 1
            return
        self.rows.put("pressure_altitude", row, altitude, FOOT)

    def _agrees(self, time: float, speed: float | None, track: float | None) -> bool:
        if self._velocity is None or speed is None or track is None or not 0 <= time - self._velocity[0] <= 5:
            return False
        _, known_speed, known_track = self._velocity
        turned = abs((track - known_track + 180) % 360 - 180)
        elapsed = time - self._velocity[0]
        return abs(speed - known_speed) <= 10 + 5 * elapsed and turned <= 15 + 25 * elapsed

    def _take_track_and_turn(self, row: int, time: float, found: Mapping[str, Any]) -> None:
        """BDS 5,0, accepted only when its speed and track are the ones the aircraft broadcasts."""
        if not self._agrees(time, found.get("groundspeed"), found.get("true_track")):
            self._refused += 1
            return
        self.rows.put("bank", row, found.get("roll"), DEGREE)
        self.rows.put("true_airspeed", row, found.get("true_airspeed"), KNOT)

    def _take_heading_and_speed(self, row: int, time: float, found: Mapping[str, Any]) -> None:
        """BDS 6,0 has nothing to check it by but its rough likeness to the broadcast velocity."""
        heading, speed = found.get("magnetic_heading"), found.get("indicated_airspeed")
        if heading is None or speed is None or self._velocity is None:
            return
        turned = abs((heading - self._velocity[2] + 180) % 360 - 180)
        likely = 0.4 * self._velocity[1] < speed < 2.0 * self._velocity[1] and turned < 60
        if not likely or time - self._velocity[0] > 5:
            self._refused += 1
            return
        self.rows.put("heading_magnetic", row, heading, DEGREE)
        self.rows.put("indicated_airspeed", row, speed, KNOT)


def _components(frame: str, subtype: int) -> tuple[int, int]:
    """East and north velocity [kt] of an airborne velocity frame (DO-260B 2.2.3.2.6.1)."""
    payload = int(frame[8:22], 16)
    scale = 4 if subtype == 2 else 1
    east = (((payload >> 32) & 0x3FF) - 1) * scale * (-1 if (payload >> 42) & 1 else 1)
    north = (((payload >> 21) & 0x3FF) - 1) * scale * (-1 if (payload >> 31) & 1 else 1)
    return east, north


_SOURCES: dict[str, tuple[str, bool, Datum]] = {
    "latitude": ("CPR position", True, "unknown"),
    "longitude": ("CPR position", True, "unknown"),
    "geometric_altitude": ("GNSS height, or pressure altitude and its difference to it", True, "ellipsoid"),
    "pressure_altitude": ("barometric altitude", True, "unknown"),
    "velocity_north": ("airborne velocity", True, "unknown"),
    "velocity_east": ("airborne velocity", True, "unknown"),
    "vertical_speed": ("airborne velocity, vertical rate", True, "unknown"),
    "ground_speed": ("surface movement", True, "unknown"),
    "track": ("surface track", True, "unknown"),
    "bank": ("BDS 5,0 roll", False, "unknown"),
    "true_airspeed": ("BDS 5,0 or airborne velocity", False, "unknown"),
    "heading_magnetic": ("BDS 6,0 or airborne velocity", False, "unknown"),
    "indicated_airspeed": ("BDS 6,0 or airborne velocity", False, "unknown"),
}


def _columns(rows: _Rows, count: int) -> dict[str, Column]:
    columns = {}
    for name, found in rows.values.items():
        values = np.full(count, np.nan)
        values[list(found)] = list(found.values())
        source, sure, datum = _SOURCES[name]
        columns[name] = Column(values, source, sure=sure, datum=datum)
    return columns


READER = _FramesReader()
