"""The timeline of a log: the best of its clocks for the order of the rows, anchored in UTC if possible."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import polars as pl

from chalkwing.recordings.delimited.clocks import Clock
from chalkwing.recordings.delimited.stamps import DAY, day_numbers
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import Floats


@dataclass(frozen=True)
class Timeline:
    """The clock that was chosen: seconds of each row, and the UTC instant of second 0 where it is known."""

    seconds: Floats
    origin: datetime | None
    period: float | None
    columns: frozenset[int]
    dated: bool
    """Whether the clock knows the date, so that its stretches can be put in order."""


def choose(clocks: list[Clock], notes: Notebook, *, interval: float | None) -> Timeline | None:
    """The best clock for the order of the rows, anchored in UTC by the best clock that knows the date.

    ``interval`` is the time between rows [s] as the motion tells it, for counters that write no unit.
    """
    usable = [
        clock for clock in clocks if clock.filled > 0.3 and clock.fineness > 0.0 and clock.disorder < 0.2
    ]
    if not usable:
        return None
    dated = max((c for c in usable if c.absolute), key=_worth, default=None)
    anchor = dated or max((c for c in usable if c.period == DAY), key=_worth, default=None)
    fine = max(usable, key=_worth)
    if anchor is not None and _worth(anchor) >= _worth(fine) - 0.15:
        fine = anchor
    seconds = fine.seconds
    if not fine.unit_known:
        seconds = seconds * _count_unit(fine, anchor, interval, notes)
    origin = None
    if dated is not None:
        shift = 0.0 if fine is dated else _shift(dated.seconds, seconds, clock_step(dated.seconds))
        if shift is not None:
            seconds = seconds + shift
            origin = _origin_of(dated, notes)
    used = frozenset(column for clock in clocks for column in clock.columns)
    for text in fine.assumed if fine is dated or dated is None else dated.assumed:
        notes.say(text)
    if dated is None:
        notes.say(f"the log gives no date with its times ({fine.label!r}); they count from the first row.")
    elif fine is not dated:
        notes.say(f"times within a second are taken from {fine.label!r}, the date from {dated.label!r}.")
    return Timeline(seconds, origin, fine.period, used, dated is not None)


def _worth(clock: Clock) -> float:
    """How well a clock orders the rows; a date counts a little."""
    return (
        clock.filled
        + clock.fineness
        - 5.0 * clock.disorder
        + 0.1 * clock.absolute
        + 0.05 * clock.unit_known
        + 0.02 * clock.said_utc
    )


def clock_step(seconds: Floats) -> float:
    """The usual step of a clock when it steps [s]."""
    steps = np.diff(seconds[np.isfinite(seconds)])
    steps = steps[steps > 0]
    return float(np.median(steps)) if len(steps) else 1.0


def _shift(absolute: Floats, counted: Floats, step: float) -> float | None:
    """What to add to a counter so that it agrees with a clock that shows the time cut to its step."""
    both = np.isfinite(absolute) & np.isfinite(counted)
    if both.sum() < 2:
        return None
    ahead = absolute[both] - counted[both]
    middle = float(np.median(ahead))
    near = ahead[np.abs(ahead - middle) <= 1.5 * step]
    return float(near.max()) if len(near) >= 0.8 * len(ahead) else None


def _count_unit(fine: Clock, anchor: Clock | None, interval: float | None, notes: Notebook) -> float:
    """Seconds of one count of a counter that writes no unit."""
    step = clock_step(fine.seconds)
    if anchor is not None and anchor is not fine:
        both = np.isfinite(anchor.seconds) & np.isfinite(fine.seconds)
        counted, passed = np.ptp(fine.seconds[both]), np.ptp(anchor.seconds[both])
        if counted > 0 and passed > 5:
            interval = float(passed / counted) * step
    scales = (1.0, 1e-3, 1e-6)
    if interval is not None and interval > 0:
        unit = min(scales, key=lambda scale: abs(np.log(scale * step / interval)))
        why = (
            "the other clock"
            if anchor is not None and anchor is not fine
            else "the distance covered at the recorded speed"
        )
    else:
        unit = next((scale for scale in scales if scale * step <= 15.0), 1e-6)
        why = f"rows {step:g} counts apart"
    if unit != 1.0:
        notes.say(
            f"{fine.label!r} counts {'milliseconds' if unit == 1e-3 else 'microseconds'}, judged by {why}."
        )
    return unit


def _origin_of(clock: Clock, notes: Notebook) -> datetime | None:
    if clock.local:
        notes.say(
            f"{clock.label!r} is local time and its offset from UTC is not recorded, so UTC is unknown. "
            "Give the zone (as +02:00) to have it."
        )
        return None
    if not clock.said_utc:
        notes.say(
            f"{clock.label!r} does not say whether it is UTC; taken as UTC. Give the zone if it is local "
            "time."
        )
    return datetime(1970, 1, 1, tzinfo=UTC)


def preamble_day(lines: tuple[str, ...], *, day_first: bool | None) -> float | None:
    """The date that the lines above the header state, in days since 1970."""
    for line in lines:
        if len(line) < 200 and any(
            word in line.lower() for word in ("date", "time", "datum", "fecha", "zulu", "utc", "day", "start")
        ):
            found = pl.Series([line]).str.extract(
                r"(\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{4})"
            )
            if found[0]:
                days, _ = day_numbers(found, day_first=day_first)
                if np.isfinite(days[0]):
                    return float(days[0])
    return None


def utc_of(origin: datetime | None, seconds: float) -> datetime | None:
    """The instant ``seconds`` after ``origin``."""
    return None if origin is None else origin + timedelta(seconds=round(seconds, 6))
