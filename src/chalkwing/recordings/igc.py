"""IGC: the FAI's flight recorder form, with its extensions.

Source of the form: FAI/IGC, Technical Specification for GNSS Flight Recorders, Appendix A (A record to K
record). Columns are counted from 1 there and here in comments, from 0 in code.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import numpy.typing as npt

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import text
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.channels import Datum
from chalkwing.recordings.clock import DAY, Ints, days_since_statement
from chalkwing.recordings.igc_extensions import Extension, extension_columns
from chalkwing.recordings.notebook import Notebook
from chalkwing.recordings.path import path_speed
from chalkwing.recordings.recording import Recording
from chalkwing.units import DEGREE, Floats

Bytes = npt.NDArray[np.uint8]

_FIX = re.compile(
    r"B([01]\d|2[0-3])[0-5]\d[0-5]\d\d{7}[NS]\d{8}[EW][AV](-\d{4}|\d{5})(-\d{4}|\d{5})", re.ASCII
)
_FIX_BYTES = re.compile(rb"^B\d{6}\d{7}[NS]\d{8}[EW][AV]", re.MULTILINE)
_DATE = re.compile(r"H[FOP]DTE(?:DATE)?[:\s]*(\d\d)[-./]?(\d\d)[-./]?(\d\d)(?!\d)")
_EXTENSION = re.compile(r"(\d\d)(\d\d)([A-Z0-9]{3})")
_EPOCH = date(1970, 1, 1).toordinal()
_RECORDS = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZ")


@dataclass
class _Lines:
    """The lines that matter, sorted by record."""

    fixes: list[str] = field(default_factory=list)
    fix_lines: list[int] = field(default_factory=list)
    fix_days: list[float] = field(default_factory=list)
    data: list[str] = field(default_factory=list)
    data_lines: list[int] = field(default_factory=list)
    fix_extensions: tuple[Extension, ...] = ()
    data_extensions: tuple[Extension, ...] = ()
    satellite_datum: Datum = "unknown"
    pressure_is_standard: bool = True


class _IgcReader:
    """Reads IGC files of any recorder."""

    name = "IGC"

    def recognizes(self, head: bytes) -> float:
        """Certain with B records under a date; likely with several B records alone."""
        head = head.replace(b"\r", b"\n")
        fixes = len(_FIX_BYTES.findall(head))
        dated = re.search(rb"^H[FOP]DTE", head, re.MULTILINE) is not None
        if fixes and dated:
            return 1.0
        return 0.9 if fixes >= 3 else 0.5 if fixes or dated else 0.0

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """All fixes of the file with their extensions; K records fill their own rows."""
        notebook = Notebook()
        found = _sorted_lines(text.lines_of(data), notebook)
        if not found.fixes:
            raise UnreadableRecording(
                "it has the look of an IGC file but no readable fix (B record).",
                where=source,
                next_step="Copy it from the recorder again.",
            )
        time, dated = _times(found, notebook)
        columns = _columns(found, time, notebook)
        lines = np.array(found.fix_lines)
        time, columns, lines = _with_data_records(found, time, columns, lines, notebook)
        return build(
            time=time,
            columns=columns,
            source=source,
            reader=self.name,
            data=data,
            utc=dated,
            lines=lines,
            notes=notebook.notes(),
        )


def _sorted_lines(lines: list[str], notebook: Notebook) -> _Lines:
    found = _Lines()
    day = float("nan")
    fits = _FIX.match
    for number, line in enumerate(lines, start=1):
        if line.startswith("B"):
            if fits(line):
                found.fixes.append(line)
                found.fix_lines.append(number)
                found.fix_days.append(day)
                day = float("nan")
            else:
                notebook.fault("this fix (B record) is damaged and was left out.", number)
        elif line.startswith("K"):
            found.data.append(line)
            found.data_lines.append(number)
        elif stated := _DATE.match(line):
            day = _day_number(stated, number, notebook)
        elif line:
            _header(line, number, found, notebook)
    return found


def _day_number(stated: re.Match[str], number: int, notebook: Notebook) -> float:
    day, month, year = (int(part) for part in stated.groups())
    try:
        return float(date(year + (1900 if year >= 80 else 2000), month, day).toordinal() - _EPOCH)
    except ValueError:
        notebook.fault("the date in this line does not exist.", number)
        return float("nan")


def _header(line: str, number: int, found: _Lines, notebook: Notebook) -> None:
    record = line[0]
    if record in "IJ" and line[1:3].isdigit():
        extensions = tuple(
            Extension(code, int(first) - 1, int(last))
            for first, last, code in _EXTENSION.findall(line[3:])
            if 0 < int(first) <= int(last)
        )
        if record == "I":
            found.fix_extensions = extensions
        else:
            found.data_extensions = extensions
    elif record == "H":
        _datum(line, found)
    elif record not in _RECORDS:
        notebook.fault("this line is no record of the form; ignored.", number)


def _datum(line: str, found: _Lines) -> None:
    """Headers that say what the two altitudes are above: ``HFALG...:ELL`` and ``HFALP...:ISA``."""
    topic, _, says = line[2:].partition(":")
    says = says.upper().strip()
    if topic.startswith("ALG"):
        if "ELL" in says:
            found.satellite_datum = "ellipsoid"
        elif "GEO" in says or "MSL" in says:
            found.satellite_datum = "mean_sea_level"
    elif topic.startswith("ALP") and ("MSL" in says or "QNH" in says):
        found.pressure_is_standard = False


def _times(found: _Lines, notebook: Notebook) -> tuple[Floats, bool]:
    """Time of each fix [s], since 1970 where a date is stated, and whether one is."""
    grid = _as_bytes(found.fixes, 35)
    second = _second_of_day(grid)
    for extension in found.fix_extensions:
        if extension.code == "TDS":
            decimals = extension.whole_numbers(found.fixes)
            second = second + np.nan_to_num(decimals) / 10.0 ** (extension.end - extension.start)
    stated = np.array(found.fix_days)
    dated = bool(np.isfinite(stated).any())
    if not dated:
        notebook.say("no date (HFDTE record) is stated; times count from the first fix.")
    days = days_since_statement(second, stated)
    if np.ptp(days) > 0:
        notebook.say("the fixes pass midnight UTC.")
    return days * DAY + second, dated


def _columns(found: _Lines, time: Floats, notebook: Notebook) -> dict[str, Column]:
    grid = _as_bytes(found.fixes, 35)
    places = {extension.code: extension for extension in found.fix_extensions}
    latitude = _angle(grid, 7, 2, b"S", places.get("LAD"), found.fixes)
    longitude = _angle(grid, 15, 3, b"W", places.get("LOD"), found.fixes)
    columns = {
        "latitude": Column(latitude, "B record, latitude"),
        "longitude": Column(longitude, "B record, longitude"),
    }
    columns |= _altitudes(grid, found, notebook)
    columns |= extension_columns(
        found.fix_extensions,
        found.fixes,
        line_numbers=found.fix_lines,
        path_speed=path_speed(time, latitude, longitude),
        notebook=notebook,
    )
    return columns


def _altitudes(grid: Bytes, found: _Lines, notebook: Notebook) -> dict[str, Column]:
    pressure, satellite = _signed(grid[:, 25:30]), _signed(grid[:, 30:35])
    flat = grid[:, 24] == ord("V")
    if flat.any():
        notebook.say(
            f"{flat.sum()} fixes are two-dimensional or none (V): their satellite altitude was left out.",
            channel="geometric_altitude",
        )
        satellite = np.where(flat, np.nan, satellite)
    columns: dict[str, Column] = {}
    if np.any(pressure != 0):
        name = "pressure_altitude" if found.pressure_is_standard else "altimeter_altitude"
        columns[name] = Column(pressure, "B record, pressure altitude")
    else:
        notebook.say("no pressure altitude was recorded (all zero).", channel="pressure_altitude")
    if np.any(np.nan_to_num(satellite) != 0):
        columns["geometric_altitude"] = Column(
            satellite, "B record, GNSS altitude", datum=found.satellite_datum
        )
    else:
        notebook.say("no satellite altitude was recorded (all zero).", channel="geometric_altitude")
    if "geometric_altitude" in columns and found.satellite_datum == "unknown":
        notebook.say(
            "no header says what satellite altitude is measured from (ellipsoid or mean sea level).",
            channel="geometric_altitude",
        )
    return columns


def _with_data_records(
    found: _Lines, time: Floats, columns: dict[str, Column], lines: Ints, notebook: Notebook
) -> tuple[Floats, dict[str, Column], Ints]:
    """The fixes' rows with those of the K records put in their places by line."""
    whole = [i for i, line in enumerate(found.data) if line[1:7].isdigit() and len(line) > 7]
    rows = [found.data[i] for i in whole]
    extras = extension_columns(
        found.data_extensions,
        rows,
        line_numbers=[found.data_lines[i] for i in whole],
        path_speed=np.full(len(rows), np.nan),
        notebook=notebook,
    )
    extras = {name: column for name, column in extras.items() if name not in columns}
    if not extras:
        return time, columns, lines
    extra_lines = np.array([found.data_lines[i] for i in whole])
    second = _second_of_day(_as_bytes(rows, 7))
    # The day is that of the nearest fix: a K record belongs among the fixes around it.
    near = np.clip(np.searchsorted(lines, extra_lines), 0, len(time) - 1)
    extra_time = second + DAY * np.round((time[near] - second) / DAY)
    order = np.argsort(np.concatenate([time, extra_time]), kind="stable")
    blank, missing = np.full(len(rows), np.nan), np.full(len(time), np.nan)
    joined = {
        name: _merged(column, np.concatenate([column.values, blank])[order])
        for name, column in columns.items()
    }
    joined |= {
        name: _merged(column, np.concatenate([missing, column.values])[order])
        for name, column in extras.items()
    }
    return np.concatenate([time, extra_time])[order], joined, np.concatenate([lines, extra_lines])[order]


def _merged(column: Column, values: Floats) -> Column:
    return Column(values, column.source, column.sure, column.datum, column.origin)


def _as_bytes(lines: list[str], width: int) -> Bytes:
    """The first ``width`` characters of each line as an array of bytes, shape (lines, width)."""
    joined = "".join([line[:width] for line in lines]).encode("ascii", errors="replace")
    return np.frombuffer(joined, dtype=np.uint8).reshape(len(lines), width)


def _number(digits: Bytes) -> Floats:
    """Decimal digits of each row as a number."""
    powers = 10.0 ** np.arange(digits.shape[1] - 1, -1, -1)
    return np.asarray((digits - ord("0")).astype(float) @ powers)


def _signed(digits: Bytes) -> Floats:
    negative = digits[:, 0] == ord("-")
    plain = np.where(digits == ord("-"), ord("0"), digits).astype(np.uint8)
    return np.where(negative, -1.0, 1.0) * _number(plain)


def _second_of_day(grid: Bytes) -> Floats:
    return 3600 * _number(grid[:, 1:3]) + 60 * _number(grid[:, 3:5]) + _number(grid[:, 5:7])


def _angle(
    grid: Bytes, start: int, degree_digits: int, negative: bytes, more: Extension | None, fixes: list[str]
) -> Floats:
    """Degrees, minutes and thousandths at ``start`` to radians, with further decimals where recorded."""
    middle, end = start + degree_digits, start + degree_digits + 5
    minutes = _number(grid[:, middle:end]) / 1000
    if more is not None:
        minutes = minutes + np.nan_to_num(more.whole_numbers(fixes)) / 10.0 ** (3 + more.end - more.start)
    sign = np.where(grid[:, end] == negative[0], -1.0, 1.0)
    return np.asarray(sign * (_number(grid[:, start:middle]) + minutes / 60) * DEGREE)


READER = _IgcReader()
