"""Which column names speak of time, and what they say about it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from chalkwing.recordings.delimited.names import read_name, tokens_of
from chalkwing.recordings.delimited.rules import meanings

_CLOCK = frozenset(
    [
        "time",
        "zeit",
        "uhrzeit",
        "heure",
        "hora",
        "temps",
        "tiempo",
        "timestamp",
        "clock",
        "epoch",
        "unix",
        "elapsed",
        "tow",
        "itow",
        "utctime",
        "systime",
        "horodatage",
        "zeitstempel",
        "timer",
        "gpstime",
        "uptime",
        "datetime",
        "utc",
        "zulu",
        "gmt",
        "lokalzeit",
        "ortszeit",
        "laufzeit",
        "tod",
    ]
)
_COUNTS = frozenset(
    [
        "t",
        "ts",
        "seconds",
        "sec",
        "secs",
        "sekunden",
        "segundos",
        "secondes",
        "millis",
        "millisecond",
        "milliseconds",
        "microseconds",
        "usec",
        "msec",
        "ms",
        "us",
    ]
)
"""Words that name a clock only where nothing else gives the name a meaning: vn_ms is a velocity."""
_DATE = frozenset(["date", "datum", "fecha", "day", "jour", "tag", "dia", "lcldate"])
_ZONE = frozenset(
    ["offset", "ofst", "utcofst", "utcoffset", "zone", "tz", "timezone", "zeitzone", "fuseau", "huso"]
)
_UTC = frozenset(["utc", "zulu", "gmt", "z", "gps", "gnss", "tow", "utctime", "gpstime", "unix", "epoch"])
_LOCAL = frozenset(["local", "lcl", "lokal", "ortszeit", "lokalzeit", "locale", "loc", "lclt"])
_NOT_A_CLOCK = frozenset(
    [
        "flight",
        "engine",
        "hobbs",
        "tach",
        "block",
        "remaining",
        "remain",
        "empty",
        "dest",
        "rate",
        "reserve",
        "endurance",
        "to",
        "est",
        "fuel",
        "sunrise",
        "next",
        "age",
        "constant",
        "speed",
        "step",
        "interval",
        "valid",
    ]
)
_PARTS = {
    "year": "year annee jahr ano yy yyyy",
    "month": "month mois monat mes",
    "day": "day jour tag dia dd",
    "hour": "hour hours heure stunde hora hh hr",
    "minute": "minute minutes min minuto mn",
    "second": "second seconds sec seconde sekunde segundo ss",
    "millisecond": "millisecond milliseconds msec millis ms",
}


@dataclass(frozen=True)
class TimeName:
    """What a column name says of time: a clock, a date or a zone; in UTC, in local time, or not said."""

    clock: bool
    date: bool
    zone: bool
    utc: bool
    local: bool
    of_day: bool
    scale: float | None
    """Seconds per unit, where a unit is written."""


@lru_cache(maxsize=2048)
def time_name(written: str, unit_cell: str = "") -> TimeName:
    """Read a header cell as the name of a clock."""
    tokens = set(tokens_of(written))
    tokens |= {piece for token in tokens for piece in _cut(token)}
    name = read_name(written, unit_cell)
    scale = name.unit.scale if name.unit is not None and name.unit.kind == "time" else _scale(tokens)
    banned = bool(tokens & _NOT_A_CLOCK) and "of" not in tokens
    zone = bool(tokens & _ZONE)
    return TimeName(
        clock=(bool(tokens & _CLOCK) or (bool(tokens & _COUNTS) and not meanings(name)))
        and not banned
        and not zone,
        date=bool(tokens & _DATE) and not banned and "of" not in tokens,
        zone=zone,
        utc=bool(tokens & _UTC),
        local=bool(tokens & _LOCAL),
        of_day=bool(tokens & {"sod", "tod"}) or ("of" in tokens and "day" in tokens) or "midnight" in tokens,
        scale=scale,
    )


def is_time_name(written: str) -> bool:
    """Whether a name speaks of a clock, a date or a zone."""
    name = time_name(written)
    return name.clock or name.date or name.zone


@lru_cache(maxsize=2048)
def time_part(written: str) -> str | None:
    """``"year"``, ... ``"millisecond"`` where the column holds one part of a time, else None."""
    tokens = [token for token in tokens_of(written) if token not in _UTC | _LOCAL | {"time", "date"}]
    if len(tokens) != 1:
        return None
    return next((part for part, words in _PARTS.items() if tokens[0] in words.split()), None)


def _cut(token: str) -> tuple[str, ...]:
    """``utctime`` and ``timestamp`` hold two words."""
    for lead in ("utc", "gps", "local", "lcl", "zulu", "gmt", "system", "sys"):
        for tail in ("time", "date", "zeit", "offset", "ofst", "zone"):
            if token == lead + tail:
                return (lead, tail)
    return ()


def _scale(tokens: set[str]) -> float | None:
    if tokens & {"ms", "millis", "msec", "milliseconds", "millisecond"}:
        return 1e-3
    if tokens & {"us", "usec", "microseconds", "micros"}:
        return 1e-6
    return 1.0 if tokens & {"seconds", "sec", "secs", "s", "sekunden", "segundos"} else None
