"""Moments as people write them, by the clock or in seconds, and the clock that turns them into seconds."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from chalkwing.errors import UnfitCorrection

MINUTE, DAY = 60.0, 86400.0
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2}(?:\.\d+)?))?\s*(?P<zone>[zZ]|UTC|[+-]\d{2}:\d{2})?"
)
_OFFSET = re.compile(r"([+-])(\d{2}):(\d{2})")


@dataclass(frozen=True)
class Moment:
    """Either ``seconds`` from the earliest row, or the time of day as written: ``10:42``, ``08:42:05Z``.

    A zone behind the clock time overrides the zone of the file; a time to the minute means that minute.
    """

    seconds: float | None = None
    clock: str | None = None

    def __str__(self) -> str:
        return self.clock if self.clock is not None else f"{self.seconds:g} s"


@dataclass(frozen=True)
class Span:
    """What a moment covers [s from the earliest row]: one instant, or the minute that was written."""

    start: float
    end: float

    def gap(self, start: float, end: float) -> float:
        """Seconds between this span and a stretch; 0 where they touch."""
        return max(start - self.end, self.start - end, 0.0)

    def common(self, start: float, end: float) -> float:
        """Seconds that this span shares with a stretch; an instant inside shares an instant."""
        return min(end, self.end) - max(start, self.start)


def read_clock(text: str) -> str | None:
    """The time of day in ``text`` as it is kept, None where it is none.

    >>> read_clock("9:42"), read_clock("10:42:05 Z"), read_clock("25:00")
    ('09:42', '10:42:05Z', None)
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None or int(match["hour"]) > 23 or int(match["minute"]) > 59:
        return None
    if match["second"] and float(match["second"]) >= 60.0:
        return None
    second = f":{match['second']}" if match["second"] else ""
    zone = (match["zone"] or "").upper().replace("UTC", "Z")
    return f"{int(match['hour']):02d}:{match['minute']}{second}{zone}"


def read_zone(text: str) -> tzinfo | None:
    """``UTC``, ``+02:00`` or the name of a zone; None where it is none of them."""
    if text.upper() in ("UTC", "Z"):
        return UTC
    offset = _OFFSET.fullmatch(text)
    if offset is not None:
        sign = -1 if offset[1] == "-" else 1
        hours, minutes = int(offset[2]), int(offset[3])
        return timezone(sign * timedelta(hours=hours, minutes=minutes)) if hours < 24 > minutes / 60 else None
    try:
        return ZoneInfo(text)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


@dataclass(frozen=True)
class Clock:
    """The clock of the recordings given: ``start_utc`` is the time at 0 s, ``end`` the last row [s].

    ``zone`` is where times without one are kept, UTC unless given. ``origin`` [s] is where the seconds of a
    correction count from: 0, or the first row of the recording that the corrections were made for.
    """

    start_utc: datetime | None
    end: float
    zone: str | None = None
    origin: float = 0.0

    def span(self, moment: Moment, *, anywhere: bool = False) -> Span:
        """What ``moment`` covers; refuses a time outside the recordings unless it may lie ``anywhere``."""
        if moment.clock is None:
            at = (moment.seconds or 0.0) + self.origin
            return Span(at, at) if anywhere else self._inside(Span(at, at), moment)
        if self.start_utc is None:
            raise UnfitCorrection(
                f"{moment} is a time of day, and this recording has no date and time of its own.",
                fault="outside",
                next_step="Give seconds from its first row instead, such as 245s.",
            )
        told = self._by_the_clock(moment.clock, self.start_utc)
        return told if anywhere else self._inside(told, moment)

    def told(self, seconds: float) -> str:
        """A time of the recordings as a person reads it."""
        if self.start_utc is None:
            return f"{seconds:.0f} s"
        return f"{(self.start_utc + timedelta(seconds=seconds)).astimezone(self._zone()):%H:%M:%S}"

    def _by_the_clock(self, clock: str, start_utc: datetime) -> Span:
        """The minute or second of that day, of those about the recording, that lies nearest to it."""
        match = _CLOCK.fullmatch(clock)
        assert match is not None  # read_clock made it
        zone = read_zone(match["zone"]) if match["zone"] else self._zone()
        second = float(match["second"] or 0.0)
        at = time(int(match["hour"]), int(match["minute"]), int(second), tzinfo=zone)
        begun = start_utc.astimezone(zone)
        days = (
            begun.date() + timedelta(days=shift) for shift in range(-1, 2 + math.ceil(self.end / 86400.0))
        )
        starts = [(datetime.combine(day, at) - start_utc).total_seconds() + second % 1.0 for day in days]
        lasts = 0.0 if match["second"] else MINUTE
        return min((Span(each, each + lasts) for each in starts), key=lambda span: span.gap(0.0, self.end))

    def _inside(self, span: Span, moment: Moment) -> Span:
        if not math.isfinite(span.start) or span.gap(0.0, self.end) > 0.0:
            raise UnfitCorrection(
                f"{moment} lies outside the recording, which runs from {self.told(0.0)} to "
                f"{self.told(self.end)}{self._zone_told()}.",
                fault="outside",
                next_step="Check the time, and the zone in which it was written.",
            )
        return span

    def _zone(self) -> tzinfo:
        return (read_zone(self.zone) if self.zone else None) or UTC

    def _zone_told(self) -> str:
        return "" if self.start_utc is None else f" ({self.zone or 'UTC'})"
