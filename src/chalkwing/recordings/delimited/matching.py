"""From named columns to drafted channels: the best column for each channel, each column used once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from chalkwing.recordings.channels import KINDS, Datum
from chalkwing.recordings.delimited.column_map import ColumnMap
from chalkwing.recordings.delimited.drafts import (
    CANDIDATES,
    Draft,
    Drafts,
    dimension_of,
    unit_named,
    usual_unit,
    written_unit,
)
from chalkwing.recordings.delimited.names import Name, read_name
from chalkwing.recordings.delimited.numbers import angles, floats, without_sentinels
from chalkwing.recordings.delimited.rules import UNSURE, meanings
from chalkwing.recordings.delimited.sheet import Sheet
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, Floats

_SETTLED_LATER = {"geometric_altitude", "track", "heading_magnetic"}
_ZERO_IS_A_VALUE = {"flaps", "stall_warning", "throttle", "power", "wind_speed"}


@dataclass(frozen=True)
class Match:
    """A column that may be a channel, and how surely."""

    score: float
    index: int
    channel: str


def names_of(sheet: Sheet) -> tuple[Name, ...]:
    """The header cells of a sheet, taken apart."""
    units = sheet.header.units
    return tuple(
        read_name(written, units[k] if k < len(units) else "") for k, written in enumerate(sheet.header.names)
    )


def draft_channels(
    sheet: Sheet, names: tuple[Name, ...], mapped: ColumnMap, taken: frozenset[int], notes: Notebook
) -> Drafts:
    """Match columns to channels by the meaning of their names and read their numbers.

    ``taken`` are the indices of columns that tell the time.
    """
    barred = taken | mapped.ignored_columns
    options = [
        Match(score, index, channel)
        for index, name in enumerate(names)
        if index not in barred
        for channel, score in meanings(name)
        if channel not in mapped.ignored_channels
    ]
    wanted = sorted({match.index for match in options} | {column.index for column in mapped.columns.values()})
    numbers = _numbers(sheet, names, options, wanted, mapped)
    drafts: Drafts = {}
    used: set[int] = set()
    for channel, column in mapped.columns.items():
        drafts[channel] = _mapped(channel, names[column.index], column.index, numbers[column.index], mapped)
        used.add(column.index)
    for match in sorted(options, key=lambda m: (-m.score, m.index)):
        if match.channel in drafts or match.index in used:
            continue
        if _is_empty(numbers[match.index], match.channel):
            continue
        drafts[match.channel] = _draft(match, names[match.index], numbers[match.index])
        used.add(match.index)
    _note_guesses(drafts, notes)
    _note_unused(sheet, numbers, used | taken, notes)
    return drafts


def _numbers(
    sheet: Sheet, names: tuple[Name, ...], options: list[Match], wanted: list[int], mapped: ColumnMap
) -> dict[int, Floats]:
    numbers = floats(sheet.frame, wanted)
    places = {m.index for m in options if m.channel in {"latitude", "longitude"}}
    places |= {c.index for channel, c in mapped.columns.items() if channel in {"latitude", "longitude"}}
    for index in places:
        cells = sheet.column(index)
        if np.isfinite(numbers[index]).sum() < 0.5 * (len(cells) - cells.null_count()) or _lettered(cells):
            numbers[index], _ = angles(cells)
        numbers[index] = _signed(sheet, index, numbers[index])
    for index in numbers:
        numbers[index], _ = without_sentinels(numbers[index])
    return numbers


def _lettered(cells: pl.Series) -> bool:
    """Whether cells hold hemisphere letters, which the plain reading would drop."""
    sample = cells.drop_nulls().head(200)
    share = sample.str.contains(r"(?i)[NSEWO]").mean()
    return isinstance(share, float) and share > 0.3


def _signed(sheet: Sheet, index: int, values: Floats) -> Floats:
    """Apply a column of hemisphere letters that stands beside a coordinate."""
    for neighbor in (index + 1, index - 1):
        if 0 <= neighbor < len(sheet.header.names):
            letters = sheet.column(neighbor).str.strip_chars(' "').str.to_uppercase()
            kinds = set(letters.drop_nulls().unique().to_list()) if letters.n_unique() <= 4 else set()
            if kinds and (kinds <= {"N", "S"} or kinds <= {"E", "W", "O"}):
                negative = letters.is_in(["S", "W", "O"]).fill_null(False).to_numpy()
                return np.where(negative, -np.abs(values), values)
    return values


def _is_empty(values: Floats, channel: str) -> bool:
    good = np.isfinite(values)
    if good.sum() < 2:
        return True
    return bool((values[good] == 0.0).all()) and channel not in _ZERO_IS_A_VALUE


def _draft(match: Match, name: Name, raw: Floats) -> Draft:
    written = written_unit(match.channel, name.unit, name.unit_text)
    draft = Draft(
        match.channel,
        name.written,
        match.index,
        raw,
        1.0,
        stated=written is not None,
        sure=match.score >= UNSURE,
        said=usual_unit(match.channel, name.concepts),
        score=match.score,
        concepts=name.concepts,
        datum=_datum(match.channel, name),
    )
    if written is not None:
        draft.scale, draft.offset = written
        draft.said = _usual_spelling(match.channel, written, name.unit_text)
    else:
        _assume_usual(draft)
    return draft


def _assume_usual(draft: Draft) -> None:
    unit = unit_named(draft.said) if draft.said != "1" else None
    if unit is not None:
        draft.scale, draft.offset = unit.scale, unit.offset


def _usual_spelling(channel: str, written: tuple[float, float], text: str) -> str:
    """The unit's short name, by which alternatives are compared; the text itself where it has none."""
    for candidate in CANDIDATES.get(dimension_of(channel), ()):
        unit = unit_named(candidate)
        if np.isclose(unit.scale, written[0], rtol=1e-9) and np.isclose(unit.offset, written[1]):
            return candidate
    return text


def _datum(channel: str, name: Name) -> Datum:
    if channel != "geometric_altitude":
        return "unknown"
    if "ellipsoid" in name.concepts:
        return "ellipsoid"
    return "mean_sea_level" if "msl" in name.concepts else "unknown"


def _mapped(channel: str, name: Name, index: int, raw: Floats, mapped: ColumnMap) -> Draft:
    """A channel as the user assigns it; what the user leaves open is settled as for any other."""
    column = mapped.columns[channel]
    draft = _draft(Match(1.0, index, channel), name, raw)
    if column.unit is not None:
        written = written_unit(channel, column.unit, column.unit_text)
        draft.scale, draft.offset = written if written is not None else (draft.scale, draft.offset)
        draft.said = _usual_spelling(channel, (draft.scale, draft.offset), column.unit_text)
        draft.stated = True
    draft.fixed = True
    if channel == "flaps" and column.unit is None and not draft.stated:
        draft.scale = DEGREE
    draft.scale *= column.sign
    return draft


def _note_guesses(drafts: Drafts, notes: Notebook) -> None:
    settled_later = _SETTLED_LATER | ({"ground_speed"} if "latitude" in drafts else set())
    for draft in drafts.values():
        if draft.score < UNSURE and draft.channel not in settled_later and draft.channel in KINDS:
            notes.say(
                f"{draft.written!r} was taken as {KINDS[draft.channel].meaning}; its name leaves a doubt.",
                channel=draft.channel,
            )


def _note_unused(
    sheet: Sheet, numbers: dict[int, Floats], used: frozenset[int] | set[int], notes: Notebook
) -> None:
    """One note for the columns that were not used, one for those that hold nothing."""
    empty = [
        k
        for k in numbers
        if k not in used
        and (not np.isfinite(numbers[k]).any() or (numbers[k][np.isfinite(numbers[k])] == 0).all())
    ]
    if empty:
        notes.say(f"empty or all zero: {_listed(sheet, empty)}.")
    rest = [k for k, written in enumerate(sheet.header.names) if k not in used and k not in empty and written]
    if rest:
        notes.say(f"columns not used: {_listed(sheet, rest)}.")


def _listed(sheet: Sheet, indices: list[int]) -> str:
    shown = ", ".join(sheet.header.names[k] for k in indices[:40])
    return f"{shown} and {len(indices) - 40} more" if len(indices) > 40 else shown
