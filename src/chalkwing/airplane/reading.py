"""One table of a sheet's file read into SI numbers; every fault is noted, none stops the reading."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from chalkwing.airplane.correction import Table, calibrated_from_indicated
from chalkwing.airplane.quantities import INDICATED, Figure, RowKind
from chalkwing.errors import Fault
from chalkwing.nearest import did_you_mean
from chalkwing.units import KNOT, Floats

_TABLE_KEYS = ("indicated_kt", "calibrated_kt", "source")


@dataclass
class Row:
    """One of a repeated table: its numbers (SI), texts, source, and where it stands."""

    path: str
    numbers: dict[str, float]
    texts: dict[str, str]
    source: str


@dataclass
class Reader:
    """What reading needs and finds: ``source`` stands for every number without its own."""

    source: str = ""
    correction: Table | None = None
    faults: list[Fault] = field(default_factory=list)
    sources: dict[str, str] = field(default_factory=dict)

    def fault(self, path: str, message: str) -> None:
        """Note a fault."""
        self.faults.append(Fault(path, message))

    def keys(self, table: Mapping[str, object], known: Iterable[str], path: str = "") -> None:
        """Note every key that is not known, with the nearest that is."""
        listed = list(known)
        for key in table:
            if key not in listed:
                near = did_you_mean(key, listed, most=1)
                hint = f"; {near}" if near else ""
                self.fault(f"{path}{key}", f"is no key of an airplane sheet{hint}")

    def text(self, table: Mapping[str, object], key: str, *, path: str = "", required: bool = False) -> str:
        """The text under ``key``; empty where there is none."""
        value = table.get(key)
        if isinstance(value, str) and value.strip():
            return value.strip()
        if value is not None or required:
            self.fault(f"{path}{key}", "is missing" if value is None else "must be text")
        return ""

    def word(
        self, table: Mapping[str, object], key: str, words: tuple[str, ...], *, path: str = "", required: bool
    ) -> str | None:
        """One of ``words``, or None."""
        value = table.get(key)
        if value in words:
            return str(value)
        if value is not None or required:
            said = "is missing" if value is None else f"is {value!r}, but"
            self.fault(f"{path}{key}", f"{said}{'; it' if value is None else ''} must be {_or(words)}")
        return None

    def numbers(
        self,
        table: Mapping[str, object],
        figures: Iterable[Figure],
        *,
        path: str = "",
        source: str | None = None,
    ) -> dict[str, float]:
        """Every number of ``table`` in SI, by its bare name; what cannot be used becomes a fault."""
        values: dict[str, float] = {}
        for figure in figures:
            given = [key for key in figure.keys if key in table]
            if len(given) > 1:
                self.fault(f"{path}{given[1]}", f"repeats {given[0]}; give it once")
            elif given:
                value = self._number(given[0], table[given[0]], figure, path, source)
                if value is not None:
                    values[figure.name] = value
            elif figure.required:
                self.fault(f"{path}{' or '.join(figure.keys)}", "is missing")
        return values

    def _number(self, key: str, entry: object, figure: Figure, path: str, source: str | None) -> float | None:
        """The SI value of ``1670`` or ``{ value = 1670, source = "..." }``."""
        own = self.source if source is None else source
        if isinstance(entry, Mapping):
            self.keys(entry, ("value", "source"), f"{path}{key}.")
            own = self.text(entry, "source", path=f"{path}{key}.") or own
            entry = entry.get("value")
        if isinstance(entry, bool) or not isinstance(entry, int | float) or not math.isfinite(entry):
            self.fault(f"{path}{key}", "must be a number, or { value = number, source = text }")
            return None
        if not own:
            self.fault(f"{path}{key}.source", "is missing, and the sheet gives no source for all of it")
        self.sources[f"{path}{figure.name}"] = own
        return self._in_range(key, float(entry), figure, path)

    def _in_range(self, key: str, entry: float, figure: Figure, path: str) -> float | None:
        scale = figure.keys[key]
        if not figure.low <= entry * scale <= figure.high:
            low, high = sorted((figure.low / scale, figure.high / scale))
            others = [k for k, s in figure.keys.items() if s != scale]
            fits = [k for k in others if figure.low <= entry * figure.keys[k] <= figure.high]
            hint = f" {entry:g} would be believable as {fits[0]}" if fits else ""
            self.fault(
                f"{path}{key}", f"is {entry:g}, outside {low:.4g} to {high:.4g}; is it in another unit?{hint}"
            )
            return None
        value = entry * scale
        if not key.endswith(INDICATED):
            return value
        if self.correction is None:
            self.fault(
                f"{path}{key}",
                "is indicated; that needs a table indicated_to_calibrated, or the value in kcas",
            )
            return None
        return float(calibrated_from_indicated(value, self.correction))

    def rows(self, tables: Mapping[str, object], kind: RowKind) -> list[Row]:
        """All rows of one kind; a row with a fault lacks what was faulty."""
        listed = tables.get(kind.name, [])
        if not isinstance(listed, list) or not all(isinstance(row, Mapping) for row in listed):
            self.fault(kind.name, f"must be one or more tables, each headed [[{kind.name}]]")
            return []
        return [self._row(row, kind, f"{kind.name}[{i}].") for i, row in enumerate(listed, start=1)]

    def _row(self, table: Mapping[str, object], kind: RowKind, path: str) -> Row:
        self.keys(table, (*kind.texts, *(key for figure in kind.figures for key in figure.keys)), path)
        source = self.text(table, "source", path=path) or self.source
        numbers = self.numbers(table, kind.figures, path=path, source=source)
        texts = {}
        for key, words in kind.texts.items():
            needed = key in kind.required_texts
            found = (
                self.word(table, key, words, path=path, required=needed)
                if words
                else self.text(table, key, path=path, required=needed)
            )
            texts[key] = found or ""
        given = [name for name in kind.one_of if name in numbers]
        if kind.one_of and len(given) != 1:
            self.fault(path.rstrip("."), f"needs one of {_or(kind.one_of)}, with its unit")
        return Row(path.rstrip("."), numbers, texts, source)

    def airspeed_table(self, table: object) -> Table | None:
        """The indicated-to-calibrated table [m/s]."""
        path = "indicated_to_calibrated"
        if table is None:
            return None
        if not isinstance(table, Mapping):
            self.fault(path, "must be a table with indicated_kt and calibrated_kt")
            return None
        self.keys(table, _TABLE_KEYS, f"{path}.")
        if not (self.text(table, "source", path=f"{path}.") or self.source):
            self.fault(f"{path}.source", "is missing, and the sheet gives no source for all of it")
        columns = [self._column(table.get(key), f"{path}.{key}") for key in _TABLE_KEYS[:2]]
        if any(len(column) == 0 for column in columns):
            return None
        if len(columns[0]) != len(columns[1]):
            self.fault(path, f"pairs {len(columns[0])} indicated with {len(columns[1])} calibrated speeds")
            return None
        if np.any(np.abs(columns[1] - columns[0]) > 25.0):
            self.fault(path, "corrects by more than 25 kt; is one column in another unit?")
        indicated, calibrated = (tuple(float(speed) for speed in column * KNOT) for column in columns)
        return indicated, calibrated

    def _column(self, value: object, path: str) -> Floats:
        numbers = value if isinstance(value, list) else []
        if len(numbers) < 2 or not all(_is_speed(each) for each in numbers):
            self.fault(path, "must list two or more speeds from 0 to 400 kt")
            return np.array([])
        column = np.array(numbers, dtype=float)
        if np.any(np.diff(column) <= 0):
            self.fault(path, "must rise from each speed to the next")
        return column


def _is_speed(value: object) -> bool:
    return not isinstance(value, bool) and isinstance(value, int | float) and 0 <= value <= 400


def _or(words: Iterable[str]) -> str:
    listed = list(words)
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"
