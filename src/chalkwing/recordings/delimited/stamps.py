"""Time stamps as text: what form a column's cells have, and their seconds."""

from __future__ import annotations

import re
from datetime import date
from enum import Enum

import numpy as np
import polars as pl

from chalkwing.units import Floats

DAY = 86400.0
_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan januar janvier enero ene january",
            "feb februar fevrier fev febrero february",
            "mar marz mrz mars marzo march",
            "apr april avril avr abril abr",
            "may mai mayo",
            "jun juni juin junio june",
            "jul juli juillet juil julio july",
            "aug august aout agosto ago",
            "sep sept september septembre septiembre",
            "oct okt oktober octobre octubre october",
            "nov november novembre noviembre",
            "dec dez dezember decembre diciembre dic december",
        ),
        start=1,
    )
    for name in names.split()
}
_TIME = r"(?P<h>\d{1,2}):(?P<m>\d{1,2})(?::(?P<s>\d{1,2}(?:[.,:]\d+)?))?\s*(?P<ap>[AaPp])?\.?(?:[Mm]\.?)?"
_ZONE = r"\s*(?P<z>Z|z|UTC|GMT|[+-]\d{1,2}:?\d{2}|[+-]\d{1,2})?"
_DATE = (
    r"(?P<date>\d{1,4}[-/. ]\d{1,2}[-/. ]\d{1,4}\.?|\d{8}|\d{1,2}[-/. ]\p{L}{3,9}\.?[-/., ]+\d{2,4}"
    r"|\p{L}{3,9}\.? \d{1,2},? \d{4})"
)
_DATETIME = rf"^\s*{_DATE}\s*[T ,_]?\s*{_TIME}{_ZONE}\s*$"
_COMPACT = r"^\s*(?P<date>\d{8})T?(?P<h>\d{2})(?P<m>\d{2})(?P<s>\d{2}(?:[.,]\d+)?)(?P<ap>)(?P<z>Z)?\s*$"
_ONLY_TIME = rf"^\s*{_TIME}{_ZONE}\s*$"
_TRUNCATED = r"^\s*(?P<m>\d{1,3}):(?P<s>\d{1,2}[.,]\d+)\s*$"


class Form(Enum):
    """The form of a column's cells."""

    DATETIME = _DATETIME
    COMPACT = _COMPACT
    TRUNCATED = _TRUNCATED
    TIME = _ONLY_TIME
    DATE = rf"^\s*{_DATE}\s*$"
    ZONE = r"^\s*(?:UTC|GMT)?\s*(?P<z>[+-]\d{1,2}:?\d{2}|Z|UTC|GMT)\s*$"
    NUMBER = r"^\s*[-+]?\d+(?:[.,]\d*)?(?:[eE][-+]?\d+)?\s*$"


def form_of(cells: pl.Series) -> Form | None:
    """The form that at least nine of ten filled cells of a sample have; None where there is none."""
    filled = cells.drop_nulls()
    sample = filled.gather_every(max(len(filled) // 60, 1)).str.strip_chars(' "')
    if not len(sample):
        return None
    numbers = sample.str.contains(Form.NUMBER.value).mean()
    for form in (Form.COMPACT, Form.DATETIME, Form.TRUNCATED, Form.TIME, Form.DATE, Form.ZONE, Form.NUMBER):
        share = sample.str.contains(form.value).mean()
        if isinstance(share, float) and share >= 0.9:
            if form is Form.DATE and isinstance(numbers, float) and numbers > 0.9 and not _all_dates(sample):
                continue
            if form is Form.COMPACT and not _compact_dates(sample):
                continue
            return form
    return None


def _all_dates(sample: pl.Series) -> bool:
    return all(_triple(text) is not None and _ymd_or_dmy(text) for text in sample.unique().to_list())


def _compact_dates(sample: pl.Series) -> bool:
    return all(_ymd_or_dmy(text.strip()[:8]) for text in sample.unique().to_list())


def _ymd_or_dmy(text: str) -> bool:
    """Whether eight digits can be a date at all."""
    digits = text.strip()
    return len(digits) >= 8 and (
        ("1980" <= digits[:4] <= "2099" and "01" <= digits[4:6] <= "12") or "1980" <= digits[4:8] <= "2099"
    )


def day_numbers(texts: pl.Series, *, day_first: bool | None) -> tuple[Floats, bool]:
    """Days since 1970 of date cells, shape (n,), and whether the order of day and month was a guess.

    ``day_first`` is the habit to fall back on where the cells leave the order open.
    """
    unique = [text for text in texts.unique().to_list() if text]
    triples = {text: triple for text in unique if (triple := _triple(text)) is not None}
    order, guessed = _order(list(triples.values()), texts=list(triples), day_first=day_first)
    known = {text: _day_number(triple, order) for text, triple in triples.items()}
    mapped = texts.replace_strict(known, default=None, return_dtype=pl.Float64)
    return mapped.to_numpy().astype(np.float64), guessed


def _triple(text: str) -> tuple[int, int, int] | None:
    """Three numbers of a date as written; a month's name becomes its number in second place."""
    bare = text.strip(' ".')
    if re.fullmatch(r"\d{8}", bare):
        return (
            (int(bare[:4]), int(bare[4:6]), int(bare[6:]))
            if "1980" <= bare[:4] <= "2099"
            else (int(bare[:2]), int(bare[2:4]), int(bare[4:]))
        )
    named = re.search(r"[^\W\d_]{3,9}", bare)
    numbers = [int(n) for n in re.findall(r"\d+", bare)]
    if named:
        month = _MONTHS.get(_ascii(named[0]))
        return (numbers[0], month, numbers[1]) if month and len(numbers) == 2 else None
    return (numbers[0], numbers[1], numbers[2]) if len(numbers) == 3 else None


def _ascii(word: str) -> str:
    table = str.maketrans("äéûôèêü", "aeuoeeu")
    return word.lower().translate(table)


def _order(
    triples: list[tuple[int, int, int]], *, texts: list[str], day_first: bool | None
) -> tuple[str, bool]:
    """``"ymd"``, ``"dmy"`` or ``"mdy"``, and whether that was a guess."""
    if not triples:
        return "ymd", False
    first, second, third = (np.array(column) for column in zip(*triples, strict=True))
    if first.max() > 31:
        return ("ymd", False) if second.max() <= 12 else ("ydm", False)
    if any(re.search(r"[^\W\d_]{3}", text) for text in texts):
        return "dmy", False
    if first.max() > 12:
        return ("dmy", False) if third.max() > 31 or second.max() <= 12 else ("ymd", False)
    if second.max() > 12:
        return "mdy", False
    if any("." in text for text in texts):
        return "dmy", False
    # A day that advances by one while the other number stays tells which is the day.
    if len(triples) > 1 and len(np.unique(first)) != len(np.unique(second)):
        return ("dmy" if len(np.unique(first)) > len(np.unique(second)) else "mdy"), False
    if first[0] == second[0]:
        return "mdy", False
    return ("dmy" if day_first else "mdy"), True


def _day_number(triple: tuple[int, int, int], order: str) -> float | None:
    parts = dict(zip(order, triple, strict=True))
    year = parts["y"] + (2000 if parts["y"] < 80 else 1900 if parts["y"] < 100 else 0)
    try:
        return float(date(year, parts["m"], parts["d"]).toordinal() - date(1970, 1, 1).toordinal())
    except (ValueError, OverflowError):
        return None


def parts_of(cells: pl.Series, form: Form) -> pl.DataFrame:
    """The named groups of ``form`` in every cell, as strings."""
    return cells.str.extract_groups(form.value).struct.unnest()


def seconds_of_day(parts: pl.DataFrame) -> Floats:
    """Seconds since midnight from the groups ``h``, ``m``, ``s``, ``ap``, shape (n,); ``nan`` if absent."""
    hours, minutes = (
        _float(parts[name]) if name in parts.columns else np.zeros(parts.height) for name in "hm"
    )
    seconds = _float(parts["s"].str.replace(r"[,:](\d+)$", ".$1"))
    seconds = np.where(np.isnan(seconds) & ~np.isnan(minutes), 0.0, seconds)
    if "ap" in parts.columns:
        half = parts["ap"].str.to_lowercase()
        told = half.is_not_null() & (half != "")
        if told.any():
            afternoon = (half == "p").fill_null(False).to_numpy()
            hours = np.where(told.to_numpy(), np.mod(hours, 12.0) + 12.0 * afternoon, hours)
    return np.asarray(hours * 3600.0 + minutes * 60.0 + seconds)


def zone_seconds(cells: pl.Series) -> Floats:
    """Offsets from UTC in seconds, shape (n,): ``-05:00``, ``+0200``, ``Z``; ``nan`` if none is written."""
    known = {text: zone_of(text) for text in cells.unique().to_list() if text}
    return cells.replace_strict(known, default=None, return_dtype=pl.Float64).to_numpy().astype(np.float64)


def zone_of(text: str) -> float | None:
    """The offset that one text writes [s], or None.

    >>> zone_of("-05:30")
    -19800.0
    """
    bare = text.strip(' "').upper()
    bare = re.sub(r"^(?:UTC|GMT)(?=[+-])", "", bare)
    if bare in {"Z", "UTC", "GMT"}:
        return 0.0
    match = re.fullmatch(r"([+-]?)(\d{1,2})(?::?(\d{2}))?(?::?\d{2})?", bare)
    if match:
        seconds = int(match[2]) * 3600.0 + int(match[3] or 0) * 60.0
        return -seconds if match[1] == "-" else seconds
    fraction = re.fullmatch(r"[+-]?\d{1,2}[.,]\d+", bare)
    return float(bare.replace(",", ".")) * 3600.0 if fraction else None


def _float(cells: pl.Series) -> Floats:
    return (
        cells.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False).to_numpy().astype(np.float64)
    )
