"""Cells to floats: sentinels, decimal commas, units and hemisphere letters in the cells."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import polars as pl

from chalkwing.units import Floats

_SENTINELS = np.array(
    [
        sign * size
        for size in (
            99.99,
            999.0,
            999.9,
            999.99,
            9999.0,
            9999.9,
            9999.99,
            99999.0,
            99999.9,
            999999.0,
            9999999.0,
            32767.0,
            32768.0,
            65535.0,
            2147483647.0,
            2147483648.0,
            4294967295.0,
            1e9,
            1e10,
            1e12,
            1e20,
            1e30,
            9.9e37,
        )
        for sign in (1.0, -1.0)
    ]
)
_ANGLE = (
    r"^[\s\"]*(?P<a>[NSEWO])?\s*(?P<d>[-+]?\d+(?:[.,]\d+)?)(?:[°ºd:\s]+(?P<m>\d+(?:[.,]\d+)?))?"
    r"(?:['′m:\s]+(?P<s>\d+(?:[.,]\d+)?))?[°º'′\"″s\s]*(?P<b>[NSEWO])?[\s\"]*$"
)


def floats(frame: pl.DataFrame, indices: Sequence[int]) -> dict[int, Floats]:
    """Columns as floats, each of shape (n,); ``nan`` where a cell is empty or holds no number."""
    if not indices:
        return {}
    names = [f"c{k}" for k in indices]
    cast = frame.select(pl.col(names).cast(pl.Float64, strict=False))
    empty = frame.select(pl.col(names).null_count()).row(0)
    failed = cast.null_count().row(0)
    found = {}
    for k, name, absent, lost in zip(indices, names, empty, failed, strict=True):
        column = cast[name] if lost == absent else _rescued(frame[name], cast[name])
        values = column.to_numpy(writable=True).astype(np.float64, copy=False)
        values[np.isinf(values)] = np.nan
        found[k] = values
    return found


def _rescued(cells: pl.Series, cast: pl.Series) -> pl.Series:
    """Try again where the plain reading failed: decimal commas, a unit or a flag behind the number."""
    number = cells.str.extract(
        r"^[\s\"'+]*(-?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?)[\s\"]*(?:[%°º*]|°?[\p{L}/²]{0,6})?[\s\"']*$"
    )
    again = number.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False)
    words = cells.str.strip_chars(' "').str.to_lowercase()
    on = words.replace_strict(
        {"true": 1.0, "on": 1.0, "yes": 1.0, "false": 0.0, "off": 0.0, "no": 0.0, "up": 0.0},
        default=None,
        return_dtype=pl.Float64,
    )
    return cast.fill_null(again).fill_null(on)


def angles(cells: pl.Series) -> tuple[Floats, bool]:
    """Positions written with letters or in degrees, minutes and seconds, in degrees.

    Returns
    -------
    values : array, shape (n,)
        [deg], north and east positive; ``nan`` where a cell holds no position.
    lettered : bool
        Whether a hemisphere letter was met.
    """
    parts = cells.str.to_uppercase().str.extract_groups(_ANGLE).struct.unnest()
    degrees, minutes, seconds = (
        parts[name]
        .str.replace(",", ".", literal=True)
        .cast(pl.Float64, strict=False)
        .to_numpy()
        .astype(np.float64)
        for name in "dms"
    )
    size = np.abs(degrees) + np.nan_to_num(minutes) / 60.0 + np.nan_to_num(seconds) / 3600.0
    letter = parts.select(pl.coalesce("a", "b").alias("letter"))["letter"]
    negative = letter.is_in(["S", "W", "O"]).fill_null(False).to_numpy() | np.signbit(degrees)
    return np.where(negative, -size, size), bool(letter.is_not_null().any())


def without_sentinels(values: Floats) -> tuple[Floats, float | None]:
    """Replace a recorder's mark for "no value" by ``nan``; returns the mark that was met.

    A mark is one of the customary numbers that stands well apart from everything else in the column.
    """
    top, bottom = np.nanmax(values, initial=-np.inf), np.nanmin(values, initial=np.inf)
    met = None
    for extreme in (float(top), float(bottom)):
        if not np.isfinite(extreme) or not np.isclose(extreme, _SENTINELS, rtol=1e-9).any():
            continue
        marked = values == extreme
        rest = values[~marked & np.isfinite(values)]
        if not len(rest) or _apart(extreme, rest):
            values = np.where(marked, np.nan, values)
            met = extreme
    return values, met


def _apart(mark: float, rest: Floats) -> bool:
    low, high = float(np.quantile(rest, 0.01)), float(np.quantile(rest, 0.99))
    distance = max(low - mark, mark - high)
    return distance > max(0.5 * (high - low), 20.0)
