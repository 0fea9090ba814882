"""Finds the line that names the columns, and the line that gives their units."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from chalkwing.recordings.delimited.names import read_name
from chalkwing.recordings.delimited.rules import meanings
from chalkwing.recordings.delimited.separators import Separator, is_value, value_share
from chalkwing.recordings.delimited.timewords import is_time_name
from chalkwing.unit_text import read_unit

_LEAD = re.compile(r"^\s*(?:#+|//+|%|!|\*+|;)\s*")
_LOOK_BACK = 6
_UNIT_LIKE = re.compile(
    r"(?i)[#\[(]*\s*(?:enum|bool|boolean|text|string|int|float|lcl|utc|yyyy.*|d{1,2}[/.].*|m{1,2}/.*|hh:?mm.*|h:m.*|-|\*+)\s*[\])]*"
)


@dataclass(frozen=True)
class Header:
    """Names and units of the columns; ``line`` is the index of the header, ``first_row`` of the data."""

    names: tuple[str, ...]
    units: tuple[str, ...]
    line: int
    first_row: int


def find_header(lines: list[str], separator: Separator) -> Header | None:
    """The header above the first line of values, None where the values have none."""
    first = _first_row(lines, separator)
    if first == len(lines):
        return None
    above = [i for i in range(max(first - 4 * _LOOK_BACK, 0), first) if lines[i].strip()][-_LOOK_BACK:]
    rows = {i: _cells(lines[i], separator) for i in above}
    rows = {i: cells for i, cells in rows.items() if len(cells) >= max(2, 0.5 * separator.width)}
    if not rows:
        return None
    named = {i: names_known(cells) for i, cells in rows.items()}
    as_units = {i: _units_known(cells) for i, cells in rows.items()}
    line = max(rows, key=lambda i: (named[i] - 0.7 * as_units[i], i))
    if named[line] == 0 and value_share(list(rows[line])) > 0.5:
        return None
    units = max((i for i in rows if i != line), key=lambda i: as_units[i], default=None)
    if units is not None and (as_units[units] < 2 or as_units[units] <= named[units]):
        units = None
    header = Header(rows[line], rows[units] if units is not None else (), line, first)
    return _fitted(header, lines[first], separator)


def _first_row(lines: list[str], separator: Separator) -> int:
    """The first line from which values go on: as wide as the others, mostly values, and followed by such."""
    fewest = max(2, int(0.6 * separator.width))
    for i, line in enumerate(lines):
        if line.strip() and separator.count(line) >= fewest:
            fields = separator.split(line)
            digits = sum(any(c.isdigit() for c in field) and is_value(field) for field in fields)
            # A row may hold nothing but its time, until the first sensor wakes up.
            enough = digits >= 2 or (digits == 1 and len(fields) == separator.width)
            if len(fields) >= fewest and enough and value_share(fields) >= 0.6:
                return i
    return len(lines)


def _cells(line: str, separator: Separator) -> tuple[str, ...]:
    """The cells of a header line, which may be commented out or separated in another way than the rows."""
    bare = _LEAD.sub("", line) if _LEAD.match(line) else line
    ways = [separator]
    ways += [Separator(mark, 0, '"' in line) for mark in (",", ";", "\t", "|")]
    ways += [Separator(" ", 0, pattern=pattern) for pattern in (r"[ \t]{2,}", r"[ \t]+")]
    cuts = [way.split(bare) for way in ways]
    best = min(cuts, key=lambda cells: abs(len(cells) - separator.width))
    own = cuts[0]
    chosen = own if abs(len(own) - separator.width) <= 1 else best
    return tuple(cell.strip().strip('"').strip() for cell in chosen)


def names_known(cells: tuple[str, ...]) -> float:
    """How many of the cells are names of columns as this package knows them."""
    known = 0.0
    for cell in cells:
        if cell and not is_value(cell):
            name = read_name(cell)
            known += 1.0 if meanings(name) or is_time_name(cell) else 0.1 + 0.3 * bool(name.concepts)
    return known


def _units_known(cells: tuple[str, ...]) -> float:
    return float(
        sum(
            bool(cell) and (read_unit(cell) is not None or _UNIT_LIKE.fullmatch(cell) is not None)
            for cell in cells
        )
    )


def _fitted(header: Header, row: str, separator: Separator) -> Header:
    """Give a header that names ``date time`` once the two cells that blanks cut it into."""
    fields = separator.split(row)
    if separator.pattern and len(header.names) == len(fields) - 1:
        for k in range(len(fields) - 1):
            if re.fullmatch(r"\d+[-/.]\d+[-/.]\d+", fields[k]) and ":" in fields[k + 1]:
                names = (*header.names[:k], "date", "time", *header.names[k + 1 :])
                units = (*header.units[:k], "", "", *header.units[k + 1 :]) if header.units else ()
                return replace(header, names=names, units=units)
    return header
