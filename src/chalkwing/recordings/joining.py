"""Several recordings of one flight made one: files of one recorder end to end, two recorders merged."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import polars as pl

from chalkwing.recordings import clock
from chalkwing.recordings.alignment import Alignment, aligned
from chalkwing.recordings.cleaning import EARTH_RADIUS
from chalkwing.recordings.recording import Channel, Note, Recording
from chalkwing.units import Floats

LONGEST_PAUSE = 1800.0
"""Files of one recorder further apart than this are recordings of their own [s]."""
_FASTEST, _NEARBY = 150.0, 2000.0
_FILLED_AFTER = 3.0
"""A second recorder fills the first one's silence once it has lasted this long [s]."""

_SAME_QUANTITY = (
    {"ground_speed", "track", "velocity_north", "velocity_east"},
    {"static_pressure", "pressure_altitude", "altimeter_altitude"},
    {"latitude", "longitude"},
)
_NEVER_FILLED = {"geometric_altitude", "pressure_altitude", "altimeter_altitude", "static_pressure"}
"""Two recorders' altitudes differ by a constant: a gap filled from the other would be a step."""
_WORTH = {
    "bank": 4.0, "pitch": 4.0, "indicated_airspeed": 4.0, "pressure_altitude": 3.0, "latitude": 3.0,
    "heading_magnetic": 2.0, "heading_true": 2.0, "true_airspeed": 2.0, "load_factor": 2.0,
}  # fmt: skip


def joined(recordings: Sequence[Recording]) -> tuple[Recording, ...]:
    """One recording for each continuous recorder or flight, on one time base, in order of time.

    Recordings of other days or places stay apart. Times count from the earliest row of all recordings whose
    date is known; a recording without a date counts from its own first row.
    """
    different = _without_copies(recordings)
    in_order = sorted(different, key=lambda r: (r.start_utc is None, r.start_utc and r.start_utc.timestamp()))
    chains: list[Recording] = []
    for recording in in_order:
        for place, chain in enumerate(chains):
            if _continues(chain, recording):
                chains[place] = _end_to_end(chain, recording)
                break
        else:
            chains.append(recording)
    merged: list[Recording] = []
    for chain in chains:
        for place, other in enumerate(merged):
            together = _by_motion(other, chain)
            if together is not None:
                merged[place] = together
                break
        else:
            merged.append(chain)
    return _on_one_time_base(merged)


def _without_copies(recordings: Sequence[Recording]) -> list[Recording]:
    kept: dict[str, Recording] = {}
    for recording in recordings:
        copy = kept.get(recording.sha256)
        if copy is None:
            kept[recording.sha256] = recording
        else:
            note = Note(f"{recording.source} is the same file again and was left out.")
            kept[recording.sha256] = replace(copy, notes=(*copy.notes, note))
    return list(kept.values())


def _shift_by_clock(first: Recording, second: Recording) -> float | None:
    """What to add to the second's times by the two clocks [s]; None without two dates."""
    if first.start_utc is None or second.start_utc is None:
        return None
    return (second.start_utc - first.start_utc).total_seconds()


def _continues(first: Recording, second: Recording) -> bool:
    """Whether ``second`` is the same recorder's next file: same form and columns, soon after, near by."""
    shift = _shift_by_clock(first, second)
    if shift is None or first.reader != second.reader or not _same_columns(first, second):
        return False
    pause = shift + float(second.time[0]) - float(first.time[-1])
    if pause > LONGEST_PAUSE:
        return False
    if pause < 0:
        return _repeats(first, second, shift)
    return _way_between(first, second) <= _FASTEST * pause + _NEARBY


def _same_columns(first: Recording, second: Recording) -> bool:
    one = {(channel.name, channel.source) for channel in first.channels.values()}
    other = {(channel.name, channel.source) for channel in second.channels.values()}
    return len(one & other) >= 0.6 * len(one | other)


def _repeats(first: Recording, second: Recording, shift: float) -> bool:
    """Whether the rows that overlap in time are the very same values, as two exports of one log are."""
    later = second.table.with_columns(time=(pl.col("time") + shift).round(3))
    common = first.table.with_columns(time=pl.col("time").round(3)).join(later, on="time", suffix="_later")
    names = [name for name in first.channels if name in second.channels]
    if common.height < 5 or not names:
        return False
    differences = common.select(
        ((pl.col(name) - pl.col(f"{name}_later")).abs() < 1e-9).fill_null(value=True).alias(name)
        for name in names
    )
    same = differences.select(pl.all_horizontal(pl.all()).mean()).item()
    return bool(same > 0.9)


def _way_between(first: Recording, second: Recording) -> float:
    """Distance from the last fix of the first to the first fix of the second [m]; 0 without fixes."""
    if "latitude" not in first or "latitude" not in second:
        return 0.0
    last = first.table.select("latitude", "longitude").drop_nulls().tail(1).row(0)
    next_ = second.table.select("latitude", "longitude").drop_nulls().head(1).row(0)
    north, east = next_[0] - last[0], (next_[1] - last[1]) * np.cos(last[0])
    return float(EARTH_RADIUS * np.hypot(north, east))


def _end_to_end(first: Recording, second: Recording) -> Recording:
    shift = _shift_by_clock(first, second) or 0.0
    later = second.table.with_columns(pl.col("time") + shift)
    end = float(first.time[-1])
    fresh = later.filter(pl.col("time") > end + 1e-6)
    repeated = later.height - fresh.height
    if fresh.height:
        pause = float(fresh["time"][0]) - end
        said = f"{second.source} follows {first.source} after {pause:.1f} s; they were put end to end."
    else:
        said = f"{second.source} holds nothing that {first.source} does not hold; it was left out."
    if repeated and fresh.height:
        said += f" {repeated} rows that both hold were taken once."
    table = pl.concat([first.table, fresh], how="diagonal")
    channels = {**second.channels, **first.channels}
    return _combined(first, second, table, channels, Note(said))


def _combined(
    first: Recording, second: Recording, table: pl.DataFrame, channels: dict[str, Channel], note: Note
) -> Recording:
    """A recording that replaces two; its hash is that of their hashes, its notes name their sources."""
    parts = (*(first.parts or (first,)), *(second.parts or (second,)))
    carried = [_named(part_note, first, second) for part_note in first.notes]
    carried += [_named(part_note, second, first) for part_note in second.notes]
    ordered = [name for name in channels if name in table.columns]
    table = table.select("time", *ordered)
    return replace(
        first,
        table=table,
        channels={name: channels[name] for name in ordered},
        source=" + ".join(part.source for part in parts),
        reader=first.reader if first.reader == second.reader else f"{first.reader} + {second.reader}",
        sha256=hashlib.sha256("".join(part.sha256 for part in parts).encode()).hexdigest(),
        rows=table.height,
        gaps=clock.gaps_in(table["time"].to_numpy()),
        notes=(note, *carried),
        parts=parts,
    )


def _named(note: Note, owner: Recording, other: Recording) -> Note:
    """A note under its file's name, unless it comes from a joining and has the names in it already."""
    if owner.parts or owner.source == other.source:
        return note
    return replace(note, message=f"{owner.source}: {note.message}")


def _by_motion(first: Recording, second: Recording) -> Recording | None:
    """Two recorders of one flight as one, or None when their motion does not agree anywhere."""
    guess = _shift_by_clock(first, second)
    if guess is not None and not _near_in_time(first, second, guess):
        return None
    found = aligned(first, second, guess=guess)
    if found is None:
        return None
    if _quality(second) > _quality(first):
        return _merged(second, first, replace(found, offset=-found.offset), None if guess is None else -guess)
    return _merged(first, second, found, guess)


def _near_in_time(first: Recording, second: Recording, guess: float) -> bool:
    """Whether the recordings could overlap if one clock kept local time: zones reach 14 hours."""
    start, end = guess + float(second.time[0]), guess + float(second.time[-1])
    reach = 14.5 * 3600
    return start - reach < float(first.time[-1]) and end + reach > float(first.time[0])


def _quality(recording: Recording) -> float:
    """What a recording is worth as the one whose channels win: what it measures, and how often."""
    return sum(
        _WORTH.get(name, 0.5) * (1.0 if channel.sure else 0.5) * math.sqrt(min(channel.rate, 10.0))
        for name, channel in recording.channels.items()
        if channel.origin == "measured"
    )


def _merged(better: Recording, other: Recording, found: Alignment, guess: float | None) -> Recording:
    """All rows of both, the better one's channels complete, the other's where those are missing."""
    table = other.table.with_columns(pl.col("time") + found.offset)
    kept = _missing_channels(better, other)
    filled = [name for name in other.channels if name in better.channels and name not in _NEVER_FILLED]
    columns = {name: pl.col(name) for name in kept}
    silent = {name: _silences(better, name, table["time"].to_numpy()) for name in filled}
    filled = [name for name in filled if silent[name].any()]
    for name in filled:
        columns[name] = pl.when(pl.Series(silent[name])).then(pl.col(name)).otherwise(None)
    addition = table.select("time", *[expression.alias(name) for name, expression in columns.items()])
    everything = pl.concat([better.table, addition], how="diagonal").sort("time", maintain_order=True)
    names = [*better.channels, *kept]
    merged = everything.group_by("time", maintain_order=True).agg(pl.col(names).drop_nulls().first())
    merged = merged.filter(pl.any_horizontal(pl.col(names).is_not_null()))
    channels = {**better.channels, **{name: other.channels[name] for name in kept}}
    return _combined(better, other, merged, channels, _told(better, other, found, guess, kept, filled))


def _missing_channels(better: Recording, other: Recording) -> list[str]:
    """The other's channels that the better one has in no form."""
    covered = set(better.channels)
    for group in _SAME_QUANTITY:
        if covered & group:
            covered |= group
    return [name for name in other.channels if name not in covered]


def _silences(recording: Recording, name: str, at: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Where ``at`` lies in a silence of the channel: between values well over a usual interval apart."""
    time, _ = recording.samples(name)
    if not len(time):
        return np.ones(len(at), dtype=bool)
    limit = max(_FILLED_AFTER, 3 / max(recording.channels[name].rate, 1e-3))
    after = np.searchsorted(time, at)
    before_time = np.where(after > 0, time[np.maximum(after - 1, 0)], -np.inf)
    after_time = np.where(after < len(time), time[np.minimum(after, len(time) - 1)], np.inf)
    return np.asarray((after_time - before_time > limit) & (at > before_time) & (at < after_time))


def _told(
    better: Recording,
    other: Recording,
    found: Alignment,
    guess: float | None,
    kept: Sequence[str],
    filled: Sequence[str],
) -> Note:
    said = (
        f"{other.source} recorded the same flight as {better.source}: its times were shifted by "
        f"{found.offset - (guess or 0.0):+.2f} s (sd {found.sd:.2f} s)"
        f"{' against its clock' if guess is not None else ''}, "
        f"found from {', '.join(found.signals)} over {found.overlap:.0f} s "
        f"(correlation {found.correlation:.2f}). "
    )
    said += f"From it come: {', '.join(kept)}." if kept else "All its channels are in the better recording."
    if filled:
        said += f" It fills gaps of: {', '.join(filled)}."
    return Note(said)


def _on_one_time_base(recordings: Sequence[Recording]) -> tuple[Recording, ...]:
    """Times from the earliest row of all that have a date."""
    shifted: list[Recording] = []
    firsts = [_first_row(recording) for recording in recordings]
    dated = [first for first in firsts if first is not None]
    origin = min(dated) if dated else None
    for recording, first in zip(recordings, firsts, strict=True):
        start = float(recording.time[0])
        if first is not None and origin is not None:
            shift = (first - origin).total_seconds() - start
            shifted.append(_moved(replace(recording, start_utc=origin), shift))
            continue
        alone = _moved(recording, -start)
        if len(recordings) > 1:
            note = Note(f"{recording.source} has no date: its times count from its own first row.")
            alone = replace(alone, notes=(*alone.notes, note))
        shifted.append(alone)
    return tuple(shifted)


def _first_row(recording: Recording) -> datetime | None:
    if recording.start_utc is None:
        return None
    return recording.start_utc + timedelta(seconds=float(recording.time[0]))


def _moved(recording: Recording, shift: float) -> Recording:
    if shift == 0.0:
        return recording
    gaps = tuple(replace(gap, start=gap.start + shift, end=gap.end + shift) for gap in recording.gaps)
    return replace(recording, table=recording.table.with_columns(pl.col("time") + shift), gaps=gaps)
