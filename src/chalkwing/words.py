"""How numbers, limits, times and verdicts are said to people: words first, marks beside them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta

from chalkwing.debriefs import Debrief, ElementReport, Verdict, WindReport

MARKS: dict[Verdict, str] = {"met": "●", "not_met": "○", "cannot_tell": "◌"}
"""A closed, an open and a dotted ring."""
WORDS: dict[Verdict, str] = {"met": "met", "not_met": "not met", "cannot_tell": "cannot tell"}
MINUS = "\u2212"
SURE = 1.96
"""How many sd to each side hold the true value 95 times in 100: what is told to people behind a ±."""
DOUBT_SAID = "± is the 95 % range."

UNITS: dict[str, tuple[str, int]] = {
    "ft": (" ft", 0),
    "kt": (" kt", 1),
    "deg": ("°", 1),
    "deg_per_s": ("°/s", 1),
    "ft_per_min": (" ft/min", 0),
    "ft_per_s": (" ft/s", 1),
    "kt_per_s": (" kt/s", 1),
    "g": (" g", 2),
    "g_per_s": (" g/s", 2),
    "s": (" s", 1),
    "percent": (" %", 0),
    "rpm": (" rpm", 0),
    "seen": ("", 0),
    "count": ("", 0),
}
"""What follows a number, and how many decimals it is worth, by the unit of an element."""


def number(value: float, decimals: int = 0, *, signed: bool = False) -> str:
    """A number with a true minus sign, thousands set off, and never a negative zero.

    >>> number(-12.34, 1), number(0.04, 1, signed=True), number(1234.6), number(7.25, 1, signed=True)
    ('−12.3', '0.0', '1,235', '+7.2')
    """
    rounded = round(value, decimals) + 0.0
    text = f"{abs(rounded):,.{decimals}f}"
    if rounded < 0:
        return MINUS + text
    return f"+{text}" if signed and rounded > 0 else text


def amount(value: float, unit: str, *, signed: bool = False) -> str:
    """A value with its unit.

    >>> amount(92.4, "ft"), amount(-3.04, "deg")
    ('92 ft', '−3.0°')
    """
    if unit == "seen":
        return "seen" if value >= 0.5 else "not seen"
    suffix, decimals = UNITS[unit]
    return number(value, decimals, signed=signed) + suffix


def with_doubt(value: float, sd: float | None, unit: str, *, signed: bool = False) -> str:
    """A value with the 95 % range that its sd makes, and its unit.

    >>> with_doubt(-148.2, 4.4, "ft", signed=True)
    '−148 ±9 ft'
    """
    if unit == "seen" or sd is None:
        return amount(value, unit, signed=signed)
    suffix, decimals = UNITS[unit]
    return f"{number(value, decimals, signed=signed)} ±{number(SURE * sd, decimals)}{suffix}"


def band(limit: tuple[float | None, float | None], unit: str) -> str:
    """A limit as it is published.

    >>> band((-100, 100), "ft"), band((0, 5), "kt"), band((1500, None), "ft"), band((None, 60), "deg")
    ('±100 ft', '0 to +5 kt', 'at least 1,500 ft', 'at most 60°')
    """
    low, high = limit
    suffix = UNITS[unit][0]
    if low is None and high is None:
        return "none"
    if high is None and low is not None:
        return f"at least {_bare(low)}{suffix}"
    if low is None and high is not None:
        return f"at most {_bare(high)}{suffix}"
    if low is not None and high is not None and low == -high:
        return f"±{_bare(high)}{suffix}"
    return f"{_bare(low or 0, signed=True)} to {_bare(high or 0, signed=True)}{suffix}"


def _bare(value: float, *, signed: bool = False) -> str:
    return number(value, 0 if value == round(value) else 1, signed=signed)


def margin(element: ElementReport) -> float | None:
    """How far inside its limit the value lies; negative outside."""
    if element.value is None or element.limit is None:
        return None
    low, high = element.limit
    sides = [element.value - low] if low is not None else []
    sides += [high - element.value] if high is not None else []
    return min(sides) if sides else None


def clock(start_utc: str | None, seconds: float) -> str:
    """Time of day where the recording has one, else seconds from the earliest row.

    >>> clock("2026-05-14T14:05:00Z", 61.2), clock(None, 61.2)
    ('14:06:01', '61 s')
    """
    if start_utc is None:
        return f"{seconds:.0f} s"
    moment = datetime.fromisoformat(start_utc) + timedelta(seconds=seconds)
    return f"{moment:%H:%M:%S}"


def lasting(seconds: float) -> str:
    """A duration as people say it.

    >>> lasting(48.2), lasting(886), lasting(7260)
    ('48 s', '14 min 46 s', '2 h 1 min')
    """
    whole = round(seconds)
    if whole < 100:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


def listed(words: Sequence[str]) -> str:
    """Words with commas and an "and".

    >>> listed(["altitude", "bank", "heading"])
    'altitude, bank and heading'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def sentence(text: str) -> str:
    """A phrase as a sentence, with true minus signs.

    >>> sentence("never outside; -4 ft at most")
    'Never outside; −4 ft at most.'
    """
    text = re.sub(r"(?<![\w.])-(?=\d)", MINUS, text)
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def wind_from(row: WindReport) -> str:
    """Where the wind came from, with its 95 % range."""
    return f"from {row.from_deg_true:03.0f}° true ±{SURE * row.from_deg_true_sd:.0f}°"


def wind_speed(row: WindReport) -> str:
    """How strong it was, with its 95 % range."""
    return f"{row.speed_kt:.0f} ±{SURE * row.speed_kt_sd:.1f} kt"


def noted(debrief: Debrief) -> list[str]:
    """What was noted of the recordings and their flights, as sentences, each once."""
    several = len(debrief.flights) > 1
    notes = [note for recording in debrief.recordings for note in recording.notes]
    of_all = set.intersection(*(set(each.notes) for each in debrief.flights)) if debrief.flights else set()
    for number, flight in enumerate(debrief.flights, start=1):
        # Two flights of one file may be told the same with other numbers: each says which it is.
        notes += [
            f"flight {number}: {note}" if several and note not in of_all else note for note in flight.notes
        ]
    return [sentence(note) for note in dict.fromkeys([*notes, *debrief.notes])]


def short_title(element: ElementReport) -> str:
    """An element's title without what it is held against.

    >>> from types import SimpleNamespace
    >>> short_title(SimpleNamespace(title="Altitude at the 180° point, against entry"))
    'Altitude at the 180° point'
    """
    return element.title.split(",", maxsplit=1)[0]


def table_title(element: ElementReport) -> str:
    """The same still shorter, for a column.

    >>> from types import SimpleNamespace
    >>> table_title(SimpleNamespace(title="Altitude at the 180° point, against entry"))
    'Altitude at 180°'
    >>> table_title(SimpleNamespace(title="Touchdown beyond the point"))
    'Touchdown beyond the point'
    """
    short = short_title(element)
    return short.replace(" at the ", " at ").removesuffix(" point") if " at the " in short else short


_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")


def half_name(half: int, word: str = "half") -> str:
    """``first half`` and so on; other parts by their own word.

    >>> half_name(2), half_name(7, "turn"), half_name(22, "turn")
    ('second half', '7th turn', '22nd turn')
    """
    if half <= len(_ORDINALS):
        return f"{_ORDINALS[half - 1]} {word}"
    ending = "th" if half // 10 % 10 == 1 else {1: "st", 2: "nd", 3: "rd"}.get(half % 10, "th")
    return f"{half}{ending} {word}"
