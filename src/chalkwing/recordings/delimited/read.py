"""The way through a delimited log: text to sheet to drafts to a Recording."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import polars as pl

from chalkwing.errors import UndecidedRecording, UnreadableRecording
from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.clock import gaps_in
from chalkwing.recordings.delimited.check_air import check_airspeeds, settle_by_range
from chalkwing.recordings.delimited.check_altitude import (
    check_vertical,
    name_bare_altitude,
    name_encoder_altitude,
)
from chalkwing.recordings.delimited.check_attitude import (
    check_climbing,
    check_load,
    check_turning,
    settle_headings,
)
from chalkwing.recordings.delimited.check_position import check_hemispheres, settle_positions
from chalkwing.recordings.delimited.check_speed import check_ground
from chalkwing.recordings.delimited.clocks import Clock, clock_cells, clocks_of
from chalkwing.recordings.delimited.column_map import ColumnMap, read_column_map
from chalkwing.recordings.delimited.drafts import CANDIDATES, Draft, Drafts, dimension_of
from chalkwing.recordings.delimited.header import find_header
from chalkwing.recordings.delimited.held import fresh_rows
from chalkwing.recordings.delimited.matching import draft_channels, names_of
from chalkwing.recordings.delimited.names import Name, read_name
from chalkwing.recordings.delimited.refusals import (
    FEWEST_ROWS,
    no_time,
    require_motion,
    time_backward,
    too_few,
)
from chalkwing.recordings.delimited.reshape import from_transponder, one_aircraft, parted_positions
from chalkwing.recordings.delimited.rows import Rows, put_in_time
from chalkwing.recordings.delimited.rules import meanings
from chalkwing.recordings.delimited.scene import Scene
from chalkwing.recordings.delimited.separators import find_separator
from chalkwing.recordings.delimited.sheet import Sheet, read_sheet
from chalkwing.recordings.delimited.stamps import DAY
from chalkwing.recordings.delimited.timeline import Timeline, choose, preamble_day, utc_of
from chalkwing.recordings.delimited.timewords import is_time_name
from chalkwing.recordings.delimited.wind import wind_from_components
from chalkwing.recordings.notebook import Notebook
from chalkwing.recordings.recording import Channel, Recording
from chalkwing.recordings.text import decoded, foreign_kind
from chalkwing.units import Floats, wrap_compass

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NEVER_HELD = {"flaps", "stall_warning", "magnetic_variation"}


class DelimitedReader:
    """Reads comma-, semicolon-, tab- or blank-separated logs of any maker."""

    name = "delimited log"

    def recognizes(self, head: bytes) -> float:
        """How surely these bytes are a delimited log: by its lines of values under a line of names."""
        if foreign_kind(head) is not None or head.lstrip()[:1] in {b"<", b"{", b"["}:
            return 0.0
        lines = _text(head).split("\n")
        separator = find_separator(lines)
        if separator is None:
            return 0.0
        header = find_header(lines, separator)
        if header is None:
            return 0.1
        known = sum(bool(meanings(read_name(name))) or is_time_name(name) for name in header.names if name)
        return min(0.25 + 0.1 * known, 0.8)

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """The whole file as a Recording; see ``recordings.reader.Reader``."""
        _refuse_foreign(data, source)
        notes = Notebook()
        sheet = read_sheet(_text(data), source=source, notes=notes)
        sheet = parted_positions(one_aircraft(sheet, notes))
        if sheet.frame.height < FEWEST_ROWS:
            raise too_few(sheet.frame.height, source=source, of=sheet.frame.height)
        mapped = read_column_map(column_map, sheet.header.names, source=source)
        names = names_of(sheet)
        timeline, drafts = _time_and_channels(sheet, names, mapped, source, notes)
        require_motion(drafts, names, source=source)
        rows = put_in_time(timeline, sheet.frame, sheet.lines, notes)
        if len(rows.seconds) < FEWEST_ROWS:
            raise too_few(len(rows.seconds), source=source, of=sheet.frame.height)
        time = rows.seconds - rows.seconds[0]
        drafts = _on_rows(drafts, rows)
        beats = _null_repeats(drafts, time, notes)
        if from_transponder(sheet):
            name_encoder_altitude(drafts, notes)
        drafts = _checked(drafts, time, notes)
        _within_range(drafts, sheet, rows, notes)
        _require_values(drafts, names, source)
        return _recording(drafts, time, beats, data, source, sheet, timeline, rows, notes)


def _text(data: bytes) -> str:
    text = decoded(data)
    if text.startswith("\ufeff"):
        text = text[1:]
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "")


def _refuse_foreign(data: bytes, source: str) -> None:
    if not data.strip(b" \t\r\n\0\xef\xbb\xbf"):
        raise UnreadableRecording(
            "the file is empty.", where=source, next_step="Copy it from the recorder again."
        )
    kind = foreign_kind(data[:65536])
    if kind is not None:
        raise UnreadableRecording(
            f"this is {kind}, not a delimited log.",
            where=source,
            next_step="Export the recording as CSV or GPX and try again.",
        )


def _time_and_channels(
    sheet: Sheet, names: tuple[Name, ...], mapped: ColumnMap, source: str, notes: Notebook
) -> tuple[Timeline, Drafts]:
    """The timeline of the rows, and the channels drafted from the columns that do not tell the time."""
    day_first = _day_first(names)
    cells = clock_cells(sheet, only=mapped.time_columns, scale=mapped.time_scale)
    clocks = clocks_of(sheet, cells, day_first=day_first, zone=mapped.zone)
    drafts = draft_channels(sheet, names, mapped, frozenset(cell.index for cell in cells), notes)
    timeline = choose(clocks, notes, interval=_interval(clocks, drafts))
    if timeline is None:
        backward = [clock for clock in clocks if clock.disorder >= 0.2]
        if backward:
            back = np.flatnonzero(np.diff(backward[0].seconds) < 0)
            raise time_backward(int(sheet.lines[back[0] + 1]), backward[0].disorder, source=source)
        raise no_time(names, source=source)
    if timeline.origin is None and timeline.period == DAY:
        day = preamble_day(sheet.preamble, day_first=day_first)
        if day is not None:
            notes.say("the date is taken from the lines above the header.")
            timeline = replace(timeline, seconds=timeline.seconds + day * DAY, origin=utc_of(EPOCH, 0.0))
    return timeline, drafts


_DAY_FIRST = frozenset(
    [
        "zeit",
        "uhrzeit",
        "datum",
        "hohe",
        "hoehe",
        "breite",
        "lange",
        "laenge",
        "kurs",
        "geschwindigkeit",
        "vitesse",
        "heure",
        "cap",
        "assiette",
        "velocidad",
        "fecha",
        "hora",
        "altitud",
        "latitud",
        "longitud",
        "rumbo",
        "druck",
        "steigen",
        "roulis",
        "querneigung",
    ]
)


def _day_first(names: tuple[Name, ...]) -> bool:
    """Whether the header is in a language whose dates begin with the day."""
    return any(word in _DAY_FIRST for name in names for word in name.words)


def _interval(clocks: list[Clock], drafts: Drafts) -> float | None:
    """Seconds between rows as positions in degrees and the recorded speed tell it; None where they do not."""
    if all(clock.unit_known for clock in clocks):
        return None
    latitude, longitude = drafts.get("latitude"), drafts.get("longitude")
    speed = next(
        (drafts[n] for n in ("ground_speed", "true_airspeed", "indicated_airspeed") if n in drafts), None
    )
    if latitude is None or longitude is None or speed is None:
        return None
    good = np.isfinite(latitude.raw) & np.isfinite(longitude.raw) & np.isfinite(speed.raw)
    y, x, v = np.radians(latitude.raw[good]), np.radians(longitude.raw[good]), speed.si[good]
    if len(y) < 20 or np.abs(y).max() > np.pi / 2:
        return None
    way = 6371008.8 * np.hypot(np.diff(y), np.diff(x) * np.cos(y[1:]))
    fast = v[1:] > 8.0
    return float(way[fast].sum() / v[1:][fast].sum()) if fast.sum() > 10 else None


def _on_rows(drafts: Drafts, rows: Rows) -> Drafts:
    placed: Drafts = {}
    for name, draft in drafts.items():
        raw = draft.raw[rows.index]
        if rows.merged is not None:
            joined = np.full(len(rows.seconds), np.nan)
            good = np.isfinite(raw)
            joined[rows.merged[good]] = raw[good]
            raw = joined
        placed[name] = replace(draft, raw=raw)
    return placed


def _null_repeats(drafts: Drafts, time: Floats, notes: Notebook) -> dict[str, float]:
    """Keep only the new values of channels that are written more often than measured."""
    masks, periods = fresh_rows(
        {name: draft.raw for name, draft in drafts.items() if name not in _NEVER_HELD}
    )
    spacing = float(np.median(np.diff(time)))
    for period in sorted(set(periods.values())):
        members = [name for name, beat in periods.items() if beat == period]
        listed = ", ".join(repr(drafts[name].written) for name in members)
        notes.say(
            f"{listed}: a new value about every {period:.3g} rows ({1 / (period * spacing):.2g} per "
            "second); the repeats between were left out."
        )
    for name, mask in masks.items():
        drafts[name].raw = np.where(mask, drafts[name].raw, np.nan)
    return periods


def _checked(drafts: Drafts, time: Floats, notes: Notebook) -> Drafts:
    """Hold every channel against the others; what follows uses what was settled before."""
    settle_positions(drafts, time, notes)
    scene = Scene(time, drafts)
    settle_by_range(scene, notes)
    check_hemispheres(scene, notes)
    check_ground(scene, notes)
    check_turning(scene, notes)
    check_vertical(scene, notes)
    name_bare_altitude(scene, notes)
    check_airspeeds(scene, notes)
    check_climbing(scene, notes)
    check_load(scene, notes)
    settle_headings(scene, notes)
    wind_from_components(scene, notes)
    _tell_assumed_units(scene.drafts, notes)
    return scene.drafts


def _tell_assumed_units(drafts: Drafts, notes: Notebook) -> None:
    """One note for the columns whose unit is nowhere written."""
    silent = [
        d for d in drafts.values() if not (d.stated or d.fixed) and dimension_of(d.channel) in CANDIDATES
    ]
    if silent:
        listed = ", ".join(f"{draft.written!r} ({draft.said})" for draft in silent)
        notes.say(f"no unit is written for {listed}: read in the units given here.")


def _within_range(drafts: Drafts, sheet: Sheet, rows: Rows, notes: Notebook) -> None:
    """Leave out values that cannot be, and channels of which hardly any can."""
    for name, draft in list(drafts.items()):
        kind = KINDS.get(name)
        if kind is None:
            del drafts[name]
            continue
        values = draft.si
        low, high = (-2.1 * np.pi, 4.1 * np.pi) if kind.circular else (kind.low, kind.high)
        wild = (values < low) | (values > high)
        told = int(np.isfinite(values).sum())
        if not wild.any():
            continue
        if wild.sum() > 0.5 * told:
            del drafts[name]
            notes.say(
                f"{draft.written!r}: {int(wild.sum())} of {told} values cannot be {kind.meaning}; the "
                "column was left out.",
                channel=name,
            )
            continue
        draft.raw = np.where(wild, np.nan, draft.raw)
        line = None if rows.merged is not None else int(sheet.lines[rows.index[np.flatnonzero(wild)[0]]])
        notes.say(
            f"{draft.written!r}: {int(wild.sum())} values cannot be {kind.meaning}; left out.",
            line=line,
            channel=name,
        )


def _require_values(drafts: Drafts, names: tuple[Name, ...], source: str) -> None:
    """Refuse a log whose columns are named well and hold nothing."""
    for name, draft in list(drafts.items()):
        if np.isfinite(draft.raw).sum() < 2:
            del drafts[name]
    if not drafts:
        raise UndecidedRecording(
            "the columns that matter hold no values at all.",
            where=source,
            next_step="Check that the recorder was receiving data.",
        )
    require_motion(drafts, names, source=source)


def _recording(
    drafts: Drafts,
    time: Floats,
    beats: dict[str, float],
    data: bytes,
    source: str,
    sheet: Sheet,
    timeline: Timeline,
    rows: Rows,
    notes: Notebook,
) -> Recording:
    kept = [name for name in KINDS if name in drafts]
    values = {name: _final(drafts[name]) for name in kept}
    table = pl.DataFrame({"time": time, **values}).with_columns(pl.col(kept).fill_nan(None))
    return Recording(
        table=table,
        channels={name: _channel(drafts[name], time, values[name]) for name in kept},
        source=source,
        reader=DelimitedReader.name,
        sha256=hashlib.sha256(data).hexdigest(),
        rows=table.height,
        start_utc=utc_of(timeline.origin, float(rows.seconds[0])),
        notes=notes.notes(),
        gaps=gaps_in(time),
    )


def _final(draft: Draft) -> Floats:
    return wrap_compass(draft.si) if KINDS[draft.channel].circular else draft.si


def _channel(draft: Draft, time: Floats, values: Floats) -> Channel:
    good = np.isfinite(values)
    steps = np.diff(time[good])
    moves = np.abs(np.diff(draft.raw[np.isfinite(draft.raw)]))
    moves = moves[moves > 1e-9 * max(float(np.nanmax(np.abs(draft.raw))), 1e-9)]
    return Channel(
        draft.channel,
        draft.written,
        rate=float(1.0 / np.median(steps)) if len(steps) else 0.0,
        resolution=float(moves.min() * abs(draft.scale)) if len(moves) else 0.0,
        sure=draft.sure,
        datum=draft.datum,
    )
