"""Corrections in one line each, as they are typed: ``10:42 rudder``, ``10:42 instructor``, ``10:42 bank=50``.

A time is one by the clock (``10:42``, ``10:42:05``, ``08:42Z``) or in seconds (``245s``); two joined by a
dash are a stretch.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import NoReturn, cast, get_args

from chalkwing.errors import Fault, FaultyCorrections
from chalkwing.find.corrections.model import (
    Add,
    Address,
    Asked,
    Assign,
    Drop,
    Ground,
    Label,
    Mark,
    Place,
    Rename,
    Stretch,
    Trim,
    What,
)
from chalkwing.find.corrections.moments import Moment, read_clock
from chalkwing.find.occurrence import Direction, FlownBy
from chalkwing.units import DEGREE, FOOT, KNOT

_TIME = r"(?:\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?[zZ]?|\d+(?:\.\d+)?\s*s)"
_ONE = re.compile(_TIME)
_RANGE = re.compile(rf"({_TIME})?\s*[-–]\s*({_TIME})?")
_WORD = re.compile(r"[A-Za-z_][\w-]*")
_NUMBER = r"[+-]?\d+(?:\.\d+)?"
_ASSIGNED: Mapping[str, tuple[str, str, float]] = {
    "altitude": ("altitude", "ft", FOOT),
    "airspeed": ("airspeed", "kt", KNOT),
    "heading": ("heading", "deg", DEGREE),
    "bank": ("bank", "deg", DEGREE),
}
_GROUND = {"point": (1, 1), "pylons": (1, 20), "line": (2, 2), "field": (3, 20)}


def read_phrase(act: str, text: str) -> What:
    """What ``text`` says for ``act``, one of `PHRASES`; refuses what it cannot read, with an example."""
    read, by_clock, in_seconds = PHRASES[act]
    try:
        return read(text.strip())
    except _Unread as unread:
        said = f"{unread}; write it like {by_clock!r}, or in seconds from the first row like {in_seconds!r}"
        fault = Fault(repr(text), said)
        raise FaultyCorrections(where=f"--{act}", faults=[fault]) from None


class _Unread(Exception):
    """Why a phrase cannot be read."""


def _refuse(why: str) -> NoReturn:
    raise _Unread(why)


def _moment(text: str) -> Moment:
    if text.endswith("s"):
        return Moment(seconds=float(text[:-1]))
    clock = read_clock(text)
    return Moment(clock=clock) if clock is not None else _refuse(f"{text!r} is no time of day")


def _first_time(text: str) -> tuple[Moment, str]:
    match = _ONE.match(text)
    if match is None:
        _refuse("it begins with no time")
    return _moment(match[0]), text[match.end() :].strip()


def _range(text: str) -> tuple[Moment | None, Moment | None, str]:
    match = _RANGE.match(text)
    if match is None or not (match[1] or match[2]):
        _refuse("it has no start and end")
    start, end = (None if each is None else _moment(each) for each in match.groups())
    return start, end, text[match.end() :].strip()


def _kind(text: str) -> str:
    """``Steep-Turn`` and ``steep turn`` are steep_turn: only the letters matter."""
    kind = re.sub(r"[\s-]+", "_", text.strip().lower())
    return kind if _WORD.fullmatch(kind) else _refuse(f"{text!r} is no maneuver's name")


def _add(text: str) -> Add:
    match = re.match(r"[^\d]+", text)
    if match is None:
        _refuse("it begins with no maneuver's name")
    start, end, rest = _range(text[match.end() :])
    if start is None or end is None:
        _refuse("it needs a start and an end")
    if rest not in ("", *get_args(Direction)):
        _refuse(f"{rest!r} is not left or right")
    return Add(_kind(match[0]), start, end, cast("Direction", rest) if rest else None)


def _drop(text: str) -> Drop:
    at, rest = _first_time(text)
    return Drop(Address(at, _kind(rest) if rest else None))


def _rename(text: str) -> Rename:
    at, rest = _first_time(text)
    return Rename(Address(at), _kind(rest))


def _trim(text: str) -> Trim:
    at, rest = _first_time(text)
    start, end, left = _range(rest)
    return Trim(Address(at), start, end) if not left else _refuse(f"{left!r} is too much")


def _flown_by(text: str) -> Label | Stretch:
    start = end = at = None
    if _RANGE.match(text):
        start, end, text = _range(text)
    elif _ONE.match(text):
        at, text = _first_time(text)
    who, _, name = text.partition(" ")
    if who not in get_args(FlownBy):
        _refuse(f"{who!r} is not student, instructor, shared or unknown")
    flown_by, name = cast("FlownBy", who), name.strip()
    if at is not None:
        return Label(Address(at), flown_by) if not name else _refuse("a name goes with a stretch")
    if name and flown_by not in ("student", "instructor"):
        _refuse(f"{name!r} is too much")
    student, instructor = (name or None if flown_by == each else None for each in ("student", "instructor"))
    return Stretch(start, end, student, instructor, flown_by)


def _settings(text: str) -> dict[str, str]:
    words = [word.partition("=") for word in text.split()]
    if not words or any(not sign or not value for _, sign, value in words):
        _refuse("it has no NAME=VALUE")
    return {name.lower(): value for name, _, value in words}


def _number(value: str, unit: str) -> float:
    match = re.fullmatch(rf"({_NUMBER})({unit})?", value)
    return float(match[1]) if match else _refuse(f"{value!r} is no number of {unit}")


def _assign(text: str) -> Assign:
    which = None
    if _ONE.match(text):
        at, text = _first_time(text)
        which = Address(at)
    given = {}
    for name, value in _settings(text).items():
        if name not in _ASSIGNED:
            _refuse(f"{name!r} is not one of {', '.join(_ASSIGNED)}")
        field, unit, scale = _ASSIGNED[name]
        given[field] = _number(value, unit) * scale
    return Assign(which, Asked(**given))


def _ground(text: str) -> Ground:
    at, text = _first_time(text)
    given = _settings(text)
    elevation = _number(given.pop("elevation"), "ft") * FOOT if "elevation" in given else None
    if len(given) != 1 or next(iter(given)) not in _GROUND:
        _refuse(f"it needs one of {', '.join(_GROUND)}")
    name, value = next(iter(given.items()))
    places = tuple(_place(each) for each in value.split(";"))
    least, most = _GROUND[name]
    if not least <= len(places) <= most:
        _refuse(f"a {name} has {least if least == most else f'{least} or more'} places")
    which = Address(at)
    if name == "line":
        return Ground(which, line=(places[0], places[1]), elevation=elevation)
    if name == "field":
        return Ground(which, corners=places, elevation=elevation)
    return Ground(which, points=places, elevation=elevation)


def _place(text: str) -> Place:
    match = re.fullmatch(rf"({_NUMBER}),({_NUMBER})", text)
    if match is None or abs(float(match[1])) > 90.0 or abs(float(match[2])) > 360.0:
        _refuse(f"{text!r} is no latitude,longitude in degrees")
    return float(match[1]) * DEGREE, float(match[2]) * DEGREE


def _mark(text: str) -> Mark:
    at, rest = _first_time(text)
    return Mark(at, rest) if rest else _refuse("it says nothing")


PHRASES: Mapping[str, tuple[Callable[[str], What], str, str]] = {
    "drop": (_drop, "10:42", "245s"),
    "rename": (_rename, "10:42 chandelle", "245s chandelle"),
    "trim": (_trim, "10:42 10:42:05-10:42:51", "245s 240s-286s"),
    "add": (_add, "steep_turn 10:42:05-10:42:51", "steep_turn 240s-286s"),
    "flown-by": (_flown_by, "10:42 instructor", "245s instructor"),
    "assign": (_assign, "10:42 altitude=3500 bank=50", "245s altitude=3500 bank=50"),
    "ground": (_ground, "10:42 point=41.20,-41.70", "245s point=41.20,-41.70"),
    "mark": (_mark, "10:42 rudder", "245s rudder"),
}
"""What may be typed, with an example by the clock and one in seconds, in the order in which it is laid over:
room is made before anything is added.
"""
