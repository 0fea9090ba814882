"""Tables that are not one column per quantity of one aircraft: several aircraft, or positions in one cell."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from chalkwing.recordings.delimited.names import tokens_of
from chalkwing.recordings.delimited.sheet import Sheet
from chalkwing.recordings.notebook import Notebook

_ADDRESS = frozenset(["icao", "icao24", "hex", "address", "addr", "modes", "icaoaddr"])
_CALLSIGN = frozenset(["callsign", "flight", "registration", "reg", "tail", "ident", "aircraft"])
_TRANSPONDER = _ADDRESS | {"squawk", "callsign", "onground", "adsb"}
_PAIR = r"^[\s\"(]*(?P<a>[-+]?\d{1,2}\.\d{3,})\s*[,; ]\s*(?P<b>[-+]?\d{1,3}\.\d{3,})[\s\")]*$"


def from_transponder(sheet: Sheet) -> bool:
    """Whether the columns are those of a receiver of transponder messages."""
    return any(token in _TRANSPONDER for name in sheet.header.names for token in tokens_of(name))


def one_aircraft(sheet: Sheet, notes: Notebook) -> Sheet:
    """Only the rows of the aircraft that has most of them, where a column tells several apart."""
    for known in (_ADDRESS, _CALLSIGN):
        for index, written in enumerate(sheet.header.names):
            if not known & set(tokens_of(written)):
                continue
            cells = sheet.column(index).str.strip_chars(' "')
            counts = cells.drop_nulls().value_counts(sort=True)
            several = 1 < counts.height <= max(2, sheet.frame.height // 10)
            if not several or cells.cast(pl.Float64, strict=False).is_not_null().mean() == 1.0:
                continue
            chosen = counts[cells.name][0]
            # A callsign is not in every message of its aircraft; an address is.
            keep = ((cells == chosen) | (cells.is_null() & (known is _CALLSIGN))).fill_null(False)
            notes.say(
                f"{written!r} names {counts.height} aircraft; only the rows of {chosen} "
                f"({int(keep.sum())}) are read."
            )
            return replace(sheet, frame=sheet.frame.filter(keep), lines=sheet.lines[keep.to_numpy()])
    return sheet


def parted_positions(sheet: Sheet) -> Sheet:
    """Latitude and longitude in columns of their own, where one cell holds both."""
    head = sheet.frame.head(50)
    paired = head.select(pl.all().str.contains(_PAIR).mean()).row(0)
    for index, share in enumerate(paired[: len(sheet.header.names)]):
        if share is not None and share > 0.9:
            cells = sheet.column(index)
            parts = cells.str.extract_groups(_PAIR).struct.unnest()
            width = sheet.frame.width
            frame = sheet.frame.with_columns(parts["a"].alias(f"c{width}"), parts["b"].alias(f"c{width + 1}"))
            padding = [""] * (width - len(sheet.header.names))
            named = [name if k != index else "" for k, name in enumerate(sheet.header.names)]
            names = (*named, *padding, "latitude", "longitude")
            return replace(sheet, frame=frame, header=replace(sheet.header, names=names))
    return sheet
