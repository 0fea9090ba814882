"""A delimited file as a table of strings: where its header is, how it is separated, what its rows are."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import polars as pl

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings.delimited.header import Header, find_header, names_known
from chalkwing.recordings.delimited.separators import Separator, find_separator, is_text_line, value_share
from chalkwing.recordings.notebook import Notebook

COMMENT = re.compile(r"\s*(?:#|//|;|!|\*\*|%(?!\w))")
FEWEST_ROWS = 10


@dataclass(frozen=True)
class Sheet:
    """The rows of a delimited file as text, with the header cells and the line each row stood on."""

    frame: pl.DataFrame
    """One String column per header cell, named ``c0``, ``c1``, ...; empty cells are null."""
    header: Header
    lines: npt.NDArray[np.int64]
    preamble: tuple[str, ...] = field(repr=False, default=())

    def column(self, index: int) -> pl.Series:
        """The cells of column ``index``."""
        return self.frame[f"c{index}"]


def read_sheet(text: str, *, source: str, notes: Notebook) -> Sheet:
    """Find the table in ``text`` and cut it into cells.

    Raises
    ------
    UnreadableRecording
        There is no table: no separator cuts the lines alike, or no header stands above the numbers.
    """
    lines = text.split("\n")
    separator = find_separator(lines)
    if separator is None:
        raise UnreadableRecording(
            "no table of numbers was found in this text.",
            where=source,
            next_step="A delimited log has one header line and one line per moment. Export it again as CSV.",
        )
    header = find_header(lines, separator)
    if header is None:
        raise UnreadableRecording(
            f"the {separator.width} columns of numbers have no header line that names them.",
            where=source,
            next_step="Add a first line with the column names, or export the log with its header.",
        )
    kept, numbers, changes = _rows(lines, header, separator, notes)
    if changes:
        return read_sheet(_longest_section(lines, header, changes, notes), source=source, notes=notes)
    width = max(len(header.names), separator.width)
    frame = _cut([lines[i] for i in kept], separator, width)
    if frame.height != len(kept):
        frame = _cut_by_hand([lines[i] for i in kept], separator, width)
    return Sheet(frame, header, numbers, tuple(lines[: header.line]))


def _rows(
    lines: list[str], header: Header, separator: Separator, notes: Notebook
) -> tuple[list[int], npt.NDArray[np.int64], list[int]]:
    """Indices of the lines that hold a row, their line numbers, and the lines at which other columns begin.

    What was passed over is noted.
    """
    first, last = header.first_row, len(lines)
    title = lines[header.line].strip().rstrip(separator.characters)
    usual = range(max(separator.width - 1, 1), separator.width + 2)
    leads = {_lead(line, separator) for line in lines[first : last : max((last - first) // 40, 1)]}
    kept: list[int] = []
    changes: list[int] = []
    for i in range(first, last):
        line = lines[i]
        if separator.count(line) in usual and (line[:1] in _DIGITS or _looks_alike(line, leads, separator)):
            kept.append(i)
        elif line.strip() and _names_other_columns(line, title, separator):
            changes.append(i)
        elif _is_row(i, line, title, separator, notes, is_last=i == last - 1):
            kept.append(i)
    return kept, np.array(kept, dtype=np.int64) + 1, changes


def _lead(line: str, separator: Separator) -> str:
    return line.partition(separator.mark)[0]


def _looks_alike(line: str, leads: set[str], separator: Separator) -> bool:
    """Whether a line begins as other rows do (a registration, a weekday) and ends in a digit."""
    return line[-1:].isdigit() and _lead(line, separator) in leads


def _names_other_columns(line: str, title: str, separator: Separator) -> bool:
    """Whether a line amid the rows is another header than the one at the top."""
    if line.strip().rstrip(separator.characters) == title or COMMENT.match(line):
        return False
    fields = separator.split(line)
    enough = max(3.0, 0.5 * len(fields))
    return len(fields) > 2 and is_text_line(fields) and names_known(tuple(fields)) >= enough


def _longest_section(lines: list[str], header: Header, changes: list[int], notes: Notebook) -> str:
    """The text of the longest stretch under one header; the others are blanked, so lines keep numbers."""
    start, stop = max(pairwise([header.line, *changes, len(lines)]), key=lambda pair: pair[1] - pair[0])
    notes.say(
        f"the columns change {len(changes)} time(s); only lines {start + 1} to {stop} are read.",
        line=changes[0] + 1,
    )
    return "\n".join([""] * start + lines[start:stop])


_DIGITS = frozenset("0123456789-+.")


def _is_row(i: int, line: str, title: str, separator: Separator, notes: Notebook, *, is_last: bool) -> bool:
    """Judge a line that does not look like the others."""
    bare = line.strip()
    if not bare.strip(separator.characters):
        return False
    if bare.rstrip(separator.characters) == title:
        notes.fault("the header is repeated: the recorder was restarted here.", i + 1)
        return False
    if COMMENT.match(line):
        notes.fault("a comment line was passed over.", i + 1)
        return False
    fields = separator.split(line)
    if is_last and len(fields) < separator.width - 1:
        notes.say("the last line is cut short: the file was truncated; the line was left out.", line=i + 1)
        return False
    if is_text_line(fields) or value_share(fields) < 0.5:
        notes.fault("a line that holds no values was passed over.", i + 1)
        return False
    if len(fields) < max(2, 0.4 * separator.width):
        notes.fault("a line with too few fields was left out.", i + 1)
        return False
    if len(fields) < separator.width - 1:
        notes.fault("a line has fewer fields than the header; those missing are taken as empty.", i + 1)
    return True


def _cut(rows: list[str], separator: Separator, width: int) -> pl.DataFrame:
    schema = {f"c{k}": pl.String for k in range(width)}
    if not rows:
        return pl.DataFrame(schema=schema)
    body = "\n".join(separator.normalized(rows))
    try:
        return pl.read_csv(
            body.encode("utf-8", errors="replace"),
            has_header=False,
            schema=schema,
            separator=separator.cut,
            quote_char='"' if separator.quoted else None,
            truncate_ragged_lines=True,
        )
    except pl.exceptions.PolarsError:
        return _cut_by_hand(rows, separator, width)


def _cut_by_hand(rows: list[str], separator: Separator, width: int) -> pl.DataFrame:
    """The slow way, for quoting that the fast parser refuses."""
    cut = []
    for row in rows:
        fields: list[str | None] = [field or None for field in separator.split(row)[:width]]
        cut.append(fields + [None] * (width - len(fields)))
    return pl.DataFrame(cut, schema={f"c{k}": pl.String for k in range(width)}, orient="row")
