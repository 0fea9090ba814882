"""Columns to a Recording: the one place where clocks are mended, repeats dropped and quality measured."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np
import polars as pl

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import cleaning, clock
from chalkwing.recordings.channels import KINDS, Datum
from chalkwing.recordings.clock import Ints
from chalkwing.recordings.recording import Channel, Note, Recording
from chalkwing.units import Floats

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EARLIEST, _LATEST = 0.0, 4.1e9


@dataclass(frozen=True)
class Column:
    """One column as a reader understood it: SI values, ``nan`` where a row has none, and its origin."""

    values: Floats
    source: str
    sure: bool = True
    datum: Datum = "unknown"
    origin: str = "measured"


def build(
    *,
    time: Floats,
    columns: Mapping[str, Column],
    source: str,
    reader: str,
    data: bytes,
    utc: bool,
    lines: Ints | None = None,
    notes: Iterable[Note] = (),
) -> Recording:
    """A Recording from columns in the order of the file.

    Parameters
    ----------
    time : array, shape (n,)
        [s]; since 1970-01-01 UTC when ``utc`` is True, from any origin otherwise; ``nan`` where unknown.
        It may repeat and run backward: that is mended here, and noted.
    columns
        Canonical channel name to column of shape (n,), SI and radians. All-``nan`` columns are left out.
    data
        The bytes read, for the hash.
    lines : int array, shape (n,), optional
        Line of the file that each row came from, for the notes.

    Raises
    ------
    UnreadableRecording
        Fewer than two rows with a time and a value remain.
    """
    noted = list(notes)
    keep = _usable(time, columns, utc, lines, noted)
    order, faults = clock.in_order(time[keep], None if lines is None else lines[keep])
    noted += faults
    rows = keep[order]
    values = {name: column.values[rows] for name, column in columns.items()}
    values = _believable(values, columns, noted)
    if len(rows) < 2 or not values:
        held = "no value in any channel" if len(rows) else "no row with a time"
        what = f"only {len(rows)} row with a time" if len(rows) == 1 else held
        raise UnreadableRecording(
            f"there is nothing to use in it: {what}.",
            where=source,
            next_step="Check that the file is complete and is the one you meant.",
        )
    when, values = _one_row_per_instant(time[rows], values, noted)
    values = _new_only(when - when[0], values, noted)
    if len(when) < 2:
        raise UnreadableRecording(
            "all rows are of one and the same time.",
            where=source,
            next_step="Check that the recorder's clock was running.",
        )
    return _assembled(when, values, columns, source, reader, data, utc, noted)


def _usable(
    time: Floats, columns: Mapping[str, Column], utc: bool, lines: Ints | None, noted: list[Note]
) -> Ints:
    """Rows with a possible time and at least one value."""
    timed = np.isfinite(time)
    if utc:
        timed &= (time > _EARLIEST) & (time < _LATEST)
    missing = int(np.sum(~timed))
    if missing and len(time):
        where = None if lines is None else int(lines[np.flatnonzero(~timed)[0]])
        rows = "one row has" if missing == 1 else f"{missing} rows have"
        noted.append(Note(f"{rows} no usable time and were left out.", line=where))
    filled = np.zeros(len(time), dtype=bool)
    for column in columns.values():
        filled |= np.isfinite(column.values)
    return np.flatnonzero(timed & filled)


def _believable(
    values: dict[str, Floats], columns: Mapping[str, Column], noted: list[Note]
) -> dict[str, Floats]:
    """Channels with impossible values removed, in canonical order; channels left empty are dropped."""
    kept: dict[str, Floats] = {}
    for name in KINDS:
        if name not in values:
            continue
        kept[name], refused = cleaning.within_range(name, values[name])
        if refused:
            kind = KINDS[name]
            noted.append(
                Note(
                    f"{refused} values of {name} (from {columns[name].source}) lie outside what is possible "
                    f"({kind.low:g} to {kind.high:g} {kind.unit}) and were left out.",
                    channel=name,
                )
            )
    if "latitude" in kept and "longitude" in kept:
        _without_zeros(kept, noted)
    return {name: column for name, column in kept.items() if np.isfinite(column).any()}


def _without_zeros(values: dict[str, Floats], noted: list[Note]) -> None:
    zeros = cleaning.unfixed(values["latitude"], values["longitude"])
    if zeros.any():
        noted.append(Note(f"{zeros.sum()} rows without a position fix (0, 0).", channel="latitude"))
        _blank(values, zeros)


def _blank(values: dict[str, Floats], where: cleaning.Mask) -> None:
    for name in ("latitude", "longitude"):
        values[name] = np.where(where, np.nan, values[name])


def _one_row_per_instant(
    time: Floats, values: dict[str, Floats], noted: list[Note]
) -> tuple[Floats, dict[str, Floats]]:
    """Strictly increasing times: stamps spread, exact repeats dropped, pieces of one instant merged."""
    if not np.any(np.diff(time) == 0):
        return time, values
    table = pl.DataFrame({"time": time, **values}, nan_to_null=True)
    distinct = table.unique(maintain_order=True)
    # Where most rows of a stamp are the same row again, rows are doubled; else the clock is coarse, and what
    # repeats was at rest.
    doubled = 2 * (table.height - distinct.height) > int(np.sum(np.diff(time) == 0))
    table = distinct if doubled else table
    if doubled:
        count = len(time) - table.height
        noted.append(Note(f"{count} rows repeat another row exactly and were left out."))
    carries = table.select(pl.exclude("time").is_not_null()).to_numpy()
    spread, notes = clock.spread_repeats(table["time"].to_numpy(), carries)
    noted += notes
    table = table.with_columns(time=pl.Series(spread))
    merged = table.group_by("time", maintain_order=True).agg(pl.all().drop_nulls().first())
    if merged.height < table.height:
        count = table.height - merged.height
        noted.append(Note(f"{count} rows have the time of the row before; they were merged with it."))
    columns = {name: merged[name].fill_null(float("nan")).to_numpy() for name in values}
    return merged["time"].to_numpy(), columns


def _new_only(time: Floats, values: dict[str, Floats], noted: list[Note]) -> dict[str, Floats]:
    """Values with stray fixes and repeats of old values blanked."""
    if "latitude" in values and "longitude" in values:
        stray = cleaning.stray_fixes(time, values["latitude"], values["longitude"])
        if stray.any():
            first = float(time[np.flatnonzero(stray)[0]])
            noted.append(
                Note(
                    f"{stray.sum()} positions that no airplane could have reached were left out "
                    f"(the first {first:.1f} s after the start).",
                    channel="latitude",
                )
            )
            _blank(values, stray)
        stale = cleaning.stale_fixes(time, values["latitude"], values["longitude"])
        if stale.any():
            noted.append(
                Note(
                    f"{stale.sum()} positions repeat the one before although the airplane moved; "
                    "they were left out.",
                    channel="latitude",
                )
            )
            _blank(values, stale)
    for name in values:
        held = cleaning.held_repeats(values[name])
        if held.any():
            values[name] = np.where(held, np.nan, values[name])
    return values


def _assembled(
    time: Floats,
    values: dict[str, Floats],
    columns: Mapping[str, Column],
    source: str,
    reader: str,
    data: bytes,
    utc: bool,
    noted: list[Note],
) -> Recording:
    from_start = time - time[0]
    channels = {
        name: Channel(
            name=name,
            source=columns[name].source,
            rate=_rate(from_start, values[name]),
            resolution=cleaning.step_of(values[name]),
            sure=columns[name].sure,
            datum=columns[name].datum,
            origin=columns[name].origin,
        )
        for name in values
    }
    gaps = clock.gaps_in(from_start)
    if gaps:
        longest = max(gap.end - gap.start for gap in gaps)
        count = "one gap" if len(gaps) == 1 else f"{len(gaps)} gaps"
        noted.append(Note(f"{count} without rows, the longest {longest:.1f} s."))
    return Recording(
        table=pl.DataFrame({"time": from_start, **values}, nan_to_null=True),
        channels=channels,
        source=source,
        reader=reader,
        sha256=hashlib.sha256(data).hexdigest(),
        rows=len(time),
        start_utc=_EPOCH + timedelta(seconds=float(time[0])) if utc else None,
        notes=tuple(noted),
        gaps=gaps,
    )


def _rate(time: Floats, values: Floats) -> float:
    interval = clock.usual_interval(time[np.isfinite(values)])
    return 1.0 / interval if np.isfinite(interval) else 0.0


def with_notes(recording: Recording, notes: Iterable[Note]) -> Recording:
    """The same recording with further notes in front of its own."""
    return replace(recording, notes=(*notes, *recording.notes))
