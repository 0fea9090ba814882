"""The user's own word on what a log's columns hold, read from TOML and checked in one go.

zone = "+02:00"                       # of local times, where the log does not say
ignore = ["Heading", "wind_from"]     # columns or channels to leave out
[columns]
pitch = "Pitch"                       # channel = column
bank = {column = "Roll", unit = "rad", sign = -1}
[time]
column = "Counter"                    # and date = "Day", unit = "ms", zone = "+02:00"
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from chalkwing.errors import Fault, FaultyColumnMap
from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited.drafts import dimension_of, written_unit
from chalkwing.recordings.delimited.stamps import zone_of
from chalkwing.unit_text import Unit, read_unit

ZoneRule = Callable[[float], float]
"""Offset from UTC [s] at a local time [s from 1970-01-01]."""

_TOP = {"columns", "time", "ignore", "zone"}
_COLUMN = {"column", "unit", "sign"}
_TIME = {"column", "date", "unit", "zone"}


@dataclass(frozen=True)
class MappedColumn:
    """One channel that the user assigns: the index of its column, its unit if given, and its sign."""

    index: int
    unit: Unit | None = None
    unit_text: str = ""
    sign: float = 1.0


@dataclass(frozen=True)
class ColumnMap:
    """A checked column map for one log."""

    columns: Mapping[str, MappedColumn] = field(default_factory=dict)
    ignored_columns: frozenset[int] = frozenset()
    ignored_channels: frozenset[str] = frozenset()
    zone: ZoneRule | None = None
    time_columns: tuple[int, ...] = ()
    time_scale: float | None = None


def read_column_map(given: Mapping[str, object] | None, names: tuple[str, ...], *, source: str) -> ColumnMap:
    """Check a column map against the names of a log's columns.

    Raises
    ------
    FaultyColumnMap
        Lists every fault: unknown keys, channels and units, and columns that the log does not have.
    """
    if not given:
        return ColumnMap()
    reading = _Reading(names)
    for key in given.keys() - _TOP:
        reading.fault(key, f"no such key. Known: {', '.join(sorted(_TOP))}.")
    columns = reading.columns(given.get("columns", {}))
    time = reading.table(given.get("time", {}), "time", _TIME)
    ignored = reading.ignored(given.get("ignore", []))
    zone = reading.zone(given.get("zone"), "zone") or reading.zone(time.get("zone"), "time.zone")
    at = [reading.column(time[key], f"time.{key}") for key in ("column", "date") if key in time]
    scale = reading.time_unit(time.get("unit"))
    if reading.faults:
        raise FaultyColumnMap(
            where=f"column map for {source}",
            faults=reading.faults,
            next_step=f"Columns of the log: {', '.join(repr(name) for name in names if name)}.",
        )
    return ColumnMap(columns, ignored[0], ignored[1], zone, tuple(i for i in at if i is not None), scale)


_FARTHEST = 14 * 3600.0
"""No zone is farther from UTC [s]."""


def zone_rule(text: str) -> ZoneRule | None:
    """The offset of a zone at a local time, from what a person writes; None where that is no zone."""
    fixed = zone_of(text)
    if fixed is not None:
        return (lambda _: fixed) if abs(fixed) <= _FARTHEST else None
    try:
        place = ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        # OSError: the name of a whole region is a folder of zones.
        return None
    return lambda local: _offset_at(place, local)


class _Reading:
    """Gathers faults so that all are told at once."""

    def __init__(self, names: tuple[str, ...]) -> None:
        self.names = names
        self.faults: list[Fault] = []

    def fault(self, path: str, message: str) -> None:
        self.faults.append(Fault(path, message))

    def table(self, value: object, path: str, known: set[str]) -> dict[str, object]:
        if not isinstance(value, Mapping):
            self.fault(path, "must be a table.")
            return {}
        for key in value.keys() - known:
            self.fault(f"{path}.{key}", f"no such key. Known: {', '.join(sorted(known))}.")
        return {key: item for key, item in value.items() if key in known}

    def columns(self, value: object) -> dict[str, MappedColumn]:
        if not isinstance(value, Mapping):
            self.fault("columns", "must be a table of channel = column.")
            return {}
        found = {}
        for channel, item in value.items():
            path = f"columns.{channel}"
            if channel not in KINDS:
                self.fault(path, f"no channel is called so. Known: {', '.join(KINDS)}.")
                continue
            mapped = self._one(channel, {"column": item} if isinstance(item, str) else item, path)
            if mapped is not None:
                found[str(channel)] = mapped
        return found

    def _one(self, channel: str, value: object, path: str) -> MappedColumn | None:
        table = self.table(value, path, _COLUMN)
        if "column" not in table:
            self.fault(path, "names no column.")
            return None
        index = self.column(table["column"], f"{path}.column")
        sign = table.get("sign", 1)
        if sign not in (1, -1):
            self.fault(f"{path}.sign", f"must be 1 or -1, not {sign!r}.")
        text = table.get("unit")
        unit = read_unit(text) if isinstance(text, str) else None
        if text is not None and (
            unit is None or written_unit(channel, unit, str(text)) is None or not _fits(channel, unit)
        ):
            self.fault(f"{path}.unit", f"{text!r} is no unit of {channel.replace('_', ' ')}.")
        if index is None:
            return None
        return MappedColumn(index, unit, str(text or ""), -1.0 if sign == -1 else 1.0)

    def column(self, value: object, path: str) -> int | None:
        wanted = str(value).strip().lower()
        for index, name in enumerate(self.names):
            if name.strip().lower() == wanted:
                return index
        self.fault(path, f"the log has no column {value!r}.")
        return None

    def ignored(self, value: object) -> tuple[frozenset[int], frozenset[str]]:
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self.fault("ignore", "must be a list of column or channel names.")
            return frozenset(), frozenset()
        channels = frozenset(item for item in value if item in KINDS)
        columns = [self.column(item, "ignore") for item in value if item not in KINDS]
        return frozenset(index for index in columns if index is not None), channels

    def zone(self, value: object, path: str) -> ZoneRule | None:
        if value is None:
            return None
        rule = zone_rule(str(value))
        if rule is None:
            self.fault(path, f"{value!r} is neither an offset such as '+02:00' nor a known zone name.")
        return rule

    def time_unit(self, value: object) -> float | None:
        if value is None:
            return None
        unit = read_unit(str(value))
        if unit is None or unit.kind != "time":
            self.fault("time.unit", f"{value!r} is no unit of time; s, ms and us are.")
            return None
        return unit.scale


def _fits(channel: str, unit: Unit) -> bool:
    dimension = dimension_of(channel)
    kinds = {"vertical": {"speed"}, "rpm": {"angular_rate"}, "load": {"load", "ratio"}, "": {unit.kind}}
    allowed = kinds.get(dimension, {dimension}) | ({"time"} if dimension in {"speed", "vertical"} else set())
    return unit.kind in allowed or (channel == "flaps" and unit.kind == "ratio")


def _offset_at(place: ZoneInfo, local: float) -> float:
    moment = datetime.fromtimestamp(local, tz=UTC).replace(tzinfo=place)
    offset = moment.utcoffset()
    return offset.total_seconds() if offset is not None else 0.0
