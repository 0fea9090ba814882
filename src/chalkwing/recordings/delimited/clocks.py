"""The clocks of a log: columns of dates, times, zones and counters, joined to seconds of each row."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from chalkwing.recordings.delimited.numbers import floats
from chalkwing.recordings.delimited.sheet import Sheet
from chalkwing.recordings.delimited.stamps import (
    DAY,
    Form,
    day_numbers,
    form_of,
    parts_of,
    seconds_of_day,
    zone_seconds,
)
from chalkwing.recordings.delimited.timewords import TimeName, time_name, time_part
from chalkwing.units import Floats

HOUR = 3600.0
_EPOCHS = ((1e8, 4e9, 1.0), (1e11, 4e12, 1e-3), (1e14, 4e15, 1e-6), (1e17, 4e18, 1e-9))
"""Ranges of Unix time in s, ms, us and ns, and the seconds of one count (1973 to 2096)."""
_SERIAL_DAYS = (36000.0, 80000.0)
"""Spreadsheet day numbers of the years 1998 to 2119; day 25569 is 1970-01-01."""


@dataclass(frozen=True)
class Clock:
    """Seconds of each row by one clock of the log.

    ``absolute`` says that they count from 1970-01-01 (in UTC, unless ``local``); ``period`` is what the
    clock rolls over after [s].
    """

    seconds: Floats
    columns: tuple[int, ...]
    label: str
    absolute: bool = False
    local: bool = False
    period: float | None = None
    unit_known: bool = True
    said_utc: bool = False
    assumed: tuple[str, ...] = field(default=())

    @property
    def filled(self) -> float:
        """Share of rows with a time."""
        return float(np.isfinite(self.seconds).mean()) if len(self.seconds) else 0.0

    @property
    def fineness(self) -> float:
        """Share of rows whose time is later than the row before's."""
        steps = np.diff(self.seconds)
        return float((steps > 0).mean()) if len(steps) else 0.0

    @property
    def disorder(self) -> float:
        """Share of rows whose time is earlier than the row before's, roll-overs aside."""
        steps = np.diff(self.seconds)
        back = steps < 0
        if self.period:
            back &= steps > -0.5 * self.period
        return float(back.mean()) if len(steps) else 0.0


@dataclass(frozen=True)
class Cell:
    """One column that may be a clock: its index, the form of its cells, what its name says."""

    index: int
    form: Form
    name: TimeName
    written: str


def clock_cells(sheet: Sheet, *, only: tuple[int, ...] = (), scale: float | None = None) -> list[Cell]:
    """Columns that tell a time, a date or a zone, by name or by the form of their cells.

    ``only`` are the columns that the user names, first the clock, then the date; ``scale`` the seconds of
    one count of the clock.
    """
    found = []
    units = sheet.header.units
    plain = _plain_numbers(sheet)
    for index, written in enumerate(sheet.header.names):
        if only and index not in only:
            continue
        name = time_name(written, units[index] if index < len(units) else "")
        if only:
            name = replace(name, clock=index == only[0], date=index in only[1:], scale=scale or name.scale)
        named = name.clock or name.date or name.zone
        if not named and index in plain:
            continue
        form = form_of(sheet.column(index))
        if (
            form is None
            or (form is Form.NUMBER and not named)
            or (form in {Form.TIME, Form.ZONE} and _banned(written))
        ):
            continue
        found.append(Cell(index, form, name, written))
    return found


def _plain_numbers(sheet: Sheet) -> frozenset[int]:
    """Columns of plain numbers, which tell no time unless their name says so."""
    sample = sheet.frame.gather_every(max(sheet.frame.height // 60, 1))
    cast = sample.select(pl.all().cast(pl.Float64, strict=False)).null_count().row(0)
    return frozenset(
        k for k, (a, b) in enumerate(zip(sample.null_count().row(0), cast, strict=True)) if b == a
    )


def _banned(written: str) -> bool:
    words = written.lower()
    return any(
        word in words for word in ("remain", "to dest", "to empty", "endurance", "switch", "ete", "eta")
    )


def clocks_of(
    sheet: Sheet, cells: list[Cell], *, day_first: bool | None, zone: Callable[[float], float] | None
) -> list[Clock]:
    """Every clock that the log's columns make, alone or together."""
    dates = [
        cell
        for cell in cells
        if cell.form is Form.DATE or (cell.form is Form.NUMBER and cell.name.date and not cell.name.clock)
    ]
    zones = [
        cell for cell in cells if cell.form is Form.ZONE or (cell.name.zone and cell.form is Form.NUMBER)
    ]
    offset = zone_seconds(sheet.column(zones[0].index)) if zones else None
    if offset is not None and zones[0].form is Form.NUMBER:
        offset = np.where(np.abs(offset) > 14 * HOUR, offset / 60.0, offset)
    clocks: list[Clock] = []
    for cell in cells:
        if cell.form in {Form.DATETIME, Form.COMPACT}:
            clocks.append(_from_datetime(sheet, cell, day_first=day_first))
        elif cell.form is Form.TRUNCATED and not cell.name.date:
            parts = parts_of(sheet.column(cell.index), cell.form)
            clocks.append(Clock(seconds_of_day(parts), (cell.index,), cell.written, period=HOUR))
        elif cell.form is Form.TIME:
            parts = parts_of(sheet.column(cell.index), cell.form)
            clocks.append(_dated(sheet, cell, seconds_of_day(parts), dates, day_first=day_first))
        elif cell.form is Form.NUMBER and cell.name.clock:
            clocks += _from_number(sheet, cell, dates, day_first=day_first)
    together = _from_parts(sheet)
    if together is not None:
        clocks.append(together)
    return [_to_utc(clock, offset, zone) for clock in clocks if clock.filled > 0.02]


def _from_datetime(sheet: Sheet, cell: Cell, *, day_first: bool | None) -> Clock:
    parts = parts_of(sheet.column(cell.index), cell.form)
    days, guessed = day_numbers(parts["date"], day_first=day_first)
    seconds = days * DAY + seconds_of_day(parts)
    offset = zone_seconds(parts["z"])
    told = np.isfinite(offset)
    seconds = seconds - np.where(told, offset, 0.0)
    utc = bool(told.any()) or cell.name.utc
    return Clock(
        seconds,
        (cell.index,),
        cell.written,
        absolute=True,
        local=not utc and cell.name.local,
        said_utc=utc,
        assumed=_order_note(cell.written, guessed),
    )


def _order_note(written: str, guessed: bool) -> tuple[str, ...]:
    if not guessed:
        return ()
    text = f"the dates in {written!r} leave open which number is the day; "
    return (text + "the habit of the header's language was followed.",)


def _dated(sheet: Sheet, cell: Cell, seconds: Floats, dates: list[Cell], *, day_first: bool | None) -> Clock:
    """A time of day, with the date that belongs to it where the log has one."""
    local, utc = cell.name.local, cell.name.utc
    if not dates:
        return Clock(seconds, (cell.index,), cell.written, local=local, said_utc=utc, period=DAY)
    best = min(dates, key=lambda d: (d.name.local != local, d.name.utc != utc, abs(d.index - cell.index)))
    days, guessed = _days_of(sheet, best, day_first=day_first)
    days = _carried(days)
    return Clock(
        days * DAY + seconds,
        (best.index, cell.index),
        f"{best.written} {cell.written}",
        absolute=bool(np.isfinite(days).any()),
        local=local or (best.name.local and not utc),
        said_utc=utc or best.name.utc,
        period=DAY,
        assumed=_order_note(best.written, guessed),
    )


def _days_of(sheet: Sheet, cell: Cell, *, day_first: bool | None) -> tuple[Floats, bool]:
    cells = sheet.column(cell.index)
    if cell.form is Form.NUMBER:
        six = cells.str.strip_chars(' "').str.zfill(6)
        late = six.str.slice(4, 2).cast(pl.Int32, strict=False)
        first = six.str.slice(0, 2).cast(pl.Int32, strict=False)
        # ddmmyy (as satellite receivers write) unless only yymmdd can be a date.
        year_first = bool(
            ((first > 31) | (late <= 12) & (first > 12) & (late < first)).fill_null(False).all()
        )
        order = (0, 2, 4) if year_first else (4, 2, 0)
        cells = pl.select(
            pl.concat_str(
                [
                    pl.lit("20") + six.str.slice(order[0], 2),
                    six.str.slice(order[1], 2),
                    six.str.slice(order[2], 2),
                ],
                separator="-",
            )
        ).to_series()
    return day_numbers(cells, day_first=day_first)


def _carried(days: Floats) -> Floats:
    """Missing dates take the one before."""
    return pl.Series(days).fill_nan(None).forward_fill().backward_fill().to_numpy().astype(np.float64)


def _from_number(sheet: Sheet, cell: Cell, dates: list[Cell], *, day_first: bool | None) -> list[Clock]:
    """A number that counts: Unix time, day serials, hhmmss, seconds of the day, or since some start."""
    values = _unwrapped_count(floats(sheet.frame, [cell.index])[cell.index])
    told = values[np.isfinite(values)]
    if len(told) < 2 or told.max() == told.min():
        return []
    middle = float(np.median(told))
    for low, high, scale in _EPOCHS:
        if low <= middle < high and _reads_as_epoch(cell, told, scale):
            return [Clock(values * scale, (cell.index,), cell.written, absolute=True, said_utc=True)]
    if (
        _SERIAL_DAYS[0] < middle < _SERIAL_DAYS[1]
        and np.ptp(told) < 30
        and not (told == np.round(told)).all()
    ):
        seconds = np.round((values - 25569.0) * DAY, 3)
        return [
            Clock(
                seconds,
                (cell.index,),
                cell.written,
                absolute=True,
                local=cell.name.local,
                said_utc=cell.name.utc,
            )
        ]
    if _is_hhmmss(told) and not (cell.name.scale and not cell.name.utc):
        whole = np.floor(values)
        seconds = (
            np.floor(whole / 1e4) * HOUR + np.mod(np.floor(whole / 1e2), 1e2) * 60.0 + np.mod(values, 1e2)
        )
        return [_dated(sheet, cell, seconds, dates, day_first=day_first)]
    if (
        (cell.name.of_day or (cell.name.utc and cell.name.scale == 1.0))
        and told.min() >= 0
        and told.max() <= DAY
    ):
        return [_dated(sheet, cell, values, dates, day_first=day_first)]
    return [
        Clock(
            values * (cell.name.scale or 1.0),
            (cell.index,),
            cell.written,
            unit_known=cell.name.scale is not None,
        )
    ]


def _unwrapped_count(values: Floats) -> Floats:
    """A counter of 16, 31 or 32 bits carried on past its end."""
    told = np.flatnonzero(np.isfinite(values))
    steps = np.diff(values[told])
    for size in (2.0**16, 2.0**31, 2.0**32):
        over = steps < -0.95 * size
        if over.any() and float(np.nanmax(values)) <= size:
            result = values.copy()
            result[told[1:]] += np.cumsum(over) * size
            return result
    return values


def _reads_as_epoch(cell: Cell, told: Floats, scale: float) -> bool:
    """A count of milliseconds since switch-on can be as large as Unix time; its spread gives it away."""
    if cell.name.scale is not None and not np.isclose(cell.name.scale, scale):
        return False
    return float(np.ptp(told)) * scale < 60 * DAY and (scale < 1.0 or float(told.min()) > 3e8)


def _is_hhmmss(values: Floats) -> bool:
    """Whether numbers are clock times written together: no 60 in minutes or seconds, and jumps of 41."""
    whole = np.floor(values)
    if (
        whole.min() < 0
        or whole.max() >= 240000
        or (np.mod(whole, 100) >= 60).any()
        or (np.mod(whole // 100, 100) >= 60).any()
    ):
        return False
    steps = np.diff(values)
    over = (np.diff(np.floor(values / 100.0)) > 0) & (steps > 0)
    return bool(over.any() and float(np.median(steps[over])) > 40.0) or (not over.any() and whole.min() > DAY)


def _from_parts(sheet: Sheet) -> Clock | None:
    """Year, month, day, hour, minute and second in columns of their own."""
    at: dict[str, int] = {}
    for index, written in enumerate(sheet.header.names):
        part = time_part(written)
        if part is not None:
            at.setdefault(part, index)
    if not {"hour", "minute", "second"} <= at.keys():
        return None
    values = floats(sheet.frame, list(at.values()))
    get = {part: values[index] for part, index in at.items()}
    seconds = get["hour"] * HOUR + get["minute"] * 60.0 + get["second"]
    if "millisecond" in get:
        seconds = seconds + get["millisecond"] * 1e-3
    dated = {"year", "month", "day"} <= at.keys()
    if dated:
        year = np.where(get["year"] < 100, get["year"] + 2000, get["year"])
        good = np.isfinite(year) & np.isfinite(get["month"]) & np.isfinite(get["day"])
        text = np.where(good, _iso(year, get["month"], get["day"]), "")
        days, _ = day_numbers(pl.Series(text.astype(str)), day_first=None)
        seconds = seconds + days * DAY
    names = " ".join(sheet.header.names[index] for index in at.values())
    return Clock(
        seconds, tuple(at.values()), names, absolute=dated, said_utc="utc" in names.lower(), period=DAY
    )


def _iso(year: Floats, month: Floats, day: Floats) -> npt.NDArray[np.str_]:
    y, m, d = (np.nan_to_num(part, nan=1.0).astype(np.int64).astype(str) for part in (year, month, day))
    return np.char.add(np.char.add(np.char.add(y, "-"), np.char.add(m, "-")), d)


def _to_utc(clock: Clock, offset: Floats | None, zone: Callable[[float], float] | None) -> Clock:
    """Take the offset from UTC off local times."""
    if clock.said_utc or (not clock.absolute and not clock.period):
        return clock
    if offset is not None and np.isfinite(offset).any():
        return replace(clock, seconds=clock.seconds - _carried(offset), local=False, said_utc=True)
    if zone is not None:
        return replace(
            clock,
            seconds=clock.seconds - zone(float(np.nanmedian(clock.seconds))),
            local=False,
            said_utc=True,
        )
    return clock
