"""NMEA 0183: sentences of any talker, checksums verified, one row per epoch.

Source of the form: NMEA 0183 as described in public receiver manuals. A sentence with a UTC time (RMC, GGA,
GLL, GNS, ZDA) opens an epoch when its time is new; sentences without one (VTG, HDT, HDG, HDM) belong to the
epoch that is open.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import date

import numpy as np

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import text
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.channels import Datum
from chalkwing.recordings.clock import DAY, days_since_statement
from chalkwing.recordings.notebook import Notebook
from chalkwing.recordings.recording import Recording
from chalkwing.units import DEGREE, KNOT

_SENTENCE = re.compile(r"\$([A-Z]{2})([A-Z]{3}),([^*$!]*)(?:\*([0-9A-Fa-f]{2}))?", re.ASCII)
_HEAD = re.compile(rb"\$[A-Z]{2}(?:RMC|GGA|GLL|GNS|VTG|ZDA|HDT|HDG|HDM),")
_EPOCH = date(1970, 1, 1).toordinal()
_NAN = float("nan")

Fields = Sequence[str]
Row = dict[str, float]


class _NmeaReader:
    """Reads logs of NMEA sentences, with or without anything in front of them on the line."""

    name = "NMEA 0183"

    def recognizes(self, head: bytes) -> float:
        """By the number of sentences of known kinds."""
        count = len(_HEAD.findall(head))
        return 0.0 if not count else 0.95 if count >= 3 else 0.6

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """One row per epoch."""
        notebook = Notebook()
        rows, lines = _epochs(text.lines_of(data), notebook)
        if not rows:
            raise UnreadableRecording(
                "it has NMEA sentences but none with a time and a valid position fix.",
                where=source,
                next_step="Record RMC or GGA sentences with the receiver in view of the sky.",
            )
        second = np.array([row["second"] for row in rows])
        stated = np.array([row.get("day", _NAN) for row in rows])
        dated = bool(np.isfinite(stated).any())
        if not dated:
            notebook.say("no sentence states a date (RMC or ZDA); times count from the first epoch.")
        return build(
            time=days_since_statement(second, stated) * DAY + second,
            columns=_columns(rows, notebook),
            source=source,
            reader=self.name,
            data=data,
            utc=dated,
            lines=np.array(lines),
            notes=notebook.notes(),
        )


def _epochs(lines: Sequence[str], notebook: Notebook) -> tuple[list[Row], list[int]]:
    rows: list[Row] = []
    where: list[int] = []
    unread: Counter[str] = Counter()
    for number, line in enumerate(lines, start=1):
        for sentence in _SENTENCE.finditer(line):
            kind, body, checksum = sentence.group(2), sentence.group(3), sentence.group(4)
            if not _sums_up(sentence, checksum):
                notebook.fault("the checksum of this sentence is wrong; it was left out.", number)
                continue
            if kind not in _KINDS:
                unread[kind] += 1
                continue
            found = _parsed(kind, body.split(","), number, notebook)
            if "second" in found and (not rows or rows[-1]["second"] != found["second"]):
                rows.append({})
                where.append(number)
            if found and rows:
                rows[-1].update(found)
    if unread:
        listed = ", ".join(f"{count} {kind}" for kind, count in sorted(unread.items()))
        notebook.say(f"sentences of kinds that are not used: {listed}.")
    return rows, where


def _sums_up(sentence: re.Match[str], checksum: str | None) -> bool:
    """Whether the exclusive or of the characters between ``$`` and ``*`` is the checksum, if there is one."""
    if checksum is None:
        return True
    total = 0
    for byte in sentence.group(0)[1 : sentence.group(0).index("*")].encode("latin-1", errors="replace"):
        total ^= byte
    return total == int(checksum, 16)


def _parsed(kind: str, fields: Fields, number: int, notebook: Notebook) -> Row:
    try:
        return {name: value for name, value in _KINDS[kind](fields).items() if not np.isnan(value)}
    except (ValueError, IndexError):
        notebook.fault(f"this {kind} sentence is damaged and was left out.", number)
        return {}


def _rmc(fields: Fields) -> Row:
    if fields[1] != "A":
        return {}
    row = {
        "second": _second(fields[0]),
        "latitude": _angle(fields[2], fields[3]),
        "longitude": _angle(fields[4], fields[5]),
        "ground_speed": _number(fields[6]) * KNOT,
        "track": _number(fields[7]) * DEGREE,
        "day": _day(fields[8]),
    }
    if len(fields) > 10 and fields[9]:
        row["magnetic_variation"] = _number(fields[9]) * DEGREE * (-1 if fields[10][:1] == "W" else 1)
    return row


def _gga(fields: Fields) -> Row:
    if not fields[5] or int(fields[5]) == 0:
        return {}
    return {
        "second": _second(fields[0]),
        "latitude": _angle(fields[1], fields[2]),
        "longitude": _angle(fields[3], fields[4]),
        "geometric_altitude": _number(fields[8]),
        "geoid": _number(fields[10]),
    }


def _gns(fields: Fields) -> Row:
    if not fields[5].strip("N"):
        return {}
    return {
        "second": _second(fields[0]),
        "latitude": _angle(fields[1], fields[2]),
        "longitude": _angle(fields[3], fields[4]),
        "geometric_altitude": _number(fields[8]),
        "geoid": _number(fields[9]),
    }


def _gll(fields: Fields) -> Row:
    if fields[5] != "A":
        return {}
    return {
        "second": _second(fields[4]),
        "latitude": _angle(fields[0], fields[1]),
        "longitude": _angle(fields[2], fields[3]),
    }


def _vtg(fields: Fields) -> Row:
    if len(fields) > 8 and fields[8] == "N":
        return {}
    speed = _number(fields[4]) * KNOT
    return {
        "track": _number(fields[0]) * DEGREE,
        "ground_speed": _number(fields[6]) / 3.6 if np.isnan(speed) else speed,
    }


def _zda(fields: Fields) -> Row:
    day = date(int(fields[3]), int(fields[2]), int(fields[1])).toordinal() - _EPOCH
    return {"second": _second(fields[0]), "day": float(day)}


def _hdg(fields: Fields) -> Row:
    deviation = _number(fields[1]) if len(fields) > 2 else _NAN
    signed = np.nan_to_num(deviation) * (-1 if len(fields) > 2 and fields[2] == "W" else 1)
    return {"heading_magnetic": (_number(fields[0]) + signed) * DEGREE}


_KINDS: dict[str, Callable[[Fields], Row]] = {
    "RMC": _rmc,
    "GGA": _gga,
    "GNS": _gns,
    "GLL": _gll,
    "VTG": _vtg,
    "ZDA": _zda,
    "HDG": _hdg,
    "HDM": lambda fields: {"heading_magnetic": _number(fields[0]) * DEGREE},
    "HDT": lambda fields: {"heading_true": _number(fields[0]) * DEGREE},
}


def _columns(rows: Sequence[Row], notebook: Notebook) -> dict[str, Column]:
    names = sorted({name for row in rows for name in row} - {"second", "day", "geoid"})
    geoid = [row["geoid"] for row in rows if "geoid" in row]
    if geoid:
        notebook.say(
            f"satellite altitude is above mean sea level; the receiver put the geoid "
            f"{np.median(geoid):.1f} m above the ellipsoid.",
            channel="geometric_altitude",
        )
    columns = {}
    for name in names:
        values = np.array([row.get(name, _NAN) for row in rows])
        datum: Datum = "mean_sea_level" if name == "geometric_altitude" else "unknown"
        columns[name] = Column(values, source=_SOURCES.get(name, name), datum=datum)
    return columns


_SOURCES = {
    "latitude": "RMC/GGA latitude",
    "longitude": "RMC/GGA longitude",
    "ground_speed": "RMC/VTG speed",
    "track": "RMC/VTG course",
    "geometric_altitude": "GGA/GNS altitude",
    "magnetic_variation": "RMC variation",
    "heading_magnetic": "HDG/HDM heading",
    "heading_true": "HDT heading",
}


def _number(content: str) -> float:
    return float(content) if content else _NAN


def _second(content: str) -> float:
    """``hhmmss.ss`` to seconds of day; refuses what is no time of day."""
    hour, minute, second = int(content[0:2]), int(content[2:4]), float(content[4:])
    if hour > 23 or minute > 59 or not 0 <= second < 61:
        raise ValueError(content)
    return 3600 * hour + 60 * minute + second


def _day(content: str) -> float:
    """``ddmmyy`` to days since 1970-01-01; ``nan`` when empty."""
    if not content:
        return _NAN
    year = int(content[4:6])
    century = 1900 if year >= 80 else 2000
    return float(date(century + year, int(content[2:4]), int(content[0:2])).toordinal() - _EPOCH)


def _angle(content: str, hemisphere: str) -> float:
    """``dddmm.mmm`` and a hemisphere letter to radians; ``nan`` when empty."""
    if not content:
        return _NAN
    whole = content.partition(".")[0]
    degrees = int(whole[:-2] or 0) + float(content[len(whole) - 2 :]) / 60
    if hemisphere not in {"N", "S", "E", "W"}:
        raise ValueError(hemisphere)
    return (-degrees if hemisphere in {"S", "W"} else degrees) * DEGREE


READER = _NmeaReader()
