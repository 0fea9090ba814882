"""Airplanes whose recordings read differently, by what the book holds of each lesson that was judged.

A judged lesson keeps, at every point of its maneuvers, the raw value beside the reconstructed one, which is
made of all instruments and the physics between them. Where they differ throughout, an instrument does:

- **bank**, recorded less reconstructed, counted to the right: the reconstruction has turn rate and load
  factor beside it, and on a simulated recording an error of 3 degrees shows whole.
- **pitch**, recorded less reconstructed: of an error of 2 degrees 0.9 shows, as little holds it but itself.
- **stall speed**: the day's stall speed less that of the airplane's own sheet.

Airspeed and altitude cannot be told this way: the reconstruction takes them as they are recorded (an error of
5 kt, or of 100 ft, does not show at all). Airplanes are held toward each other as instructors are
(`chalkwing.book.apart`); a lesson is one value.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, undefer

from chalkwing.book.apart import above_other_groups
from chalkwing.book.judgings import unpacked
from chalkwing.book.tables import Airplane, Judging, Lesson
from chalkwing.words import amount

LEAST_LESSONS, LEAST_AIRPLANES, LEAST_POINTS = 3, 2, 4
"""Of an airplane with fewer lessons, of fewer airplanes and of a lesson with fewer points nothing is told."""
_TURNING = {"steep_turn": 1, "chandelle": 1, "lazy_eight": -1}
"""Maneuvers whose points tell which way each part turns: 1 all one way, -1 each the other way."""
CANNOT = (
    "Recorded attitude is held against the reconstruction, which knows bank well, by turn rate and load "
    "factor, and pitch less well: about half of a pitch error shows. Errors of airspeed, altimeter and GPS "
    "do not show at all; a wrong airspeed shows as a stall speed other than the sheet's, but so does "
    "loading, and the way stalls are flown. Airplanes are compared with each other: an error that all share "
    "is not told."
)


@dataclass(frozen=True)
class Kind:
    """One thing that is compared: unit, how far airplanes may be believed apart, and what is worth a word."""

    name: str
    title: str
    unit: str
    scale: float
    noteworthy: float
    least: float
    more: str
    less: str


BANK = Kind("bank", "Bank, recorded", "deg", 1.5, 1.0, 0.02, "further right", "further left")
PITCH = Kind("pitch", "Pitch, recorded", "deg", 1.0, 0.5, 0.02, "higher", "lower")
STALL = Kind("stall_speed", "Stall speed beside the sheet", "kt", 2.0, 2.0, 0.5, "higher", "lower")
KINDS = (BANK, PITCH, STALL)
"""Sizes from which a difference is named are common practice, no source."""


@dataclass(frozen=True)
class Reading:
    """One airplane: how far it reads above the others in ``unit`` with the 90 % interval, or why nothing."""

    airplane: str
    lessons: int
    above: float | None
    low: float | None
    high: float | None
    said: str


def reading_said(one: Reading, unit: str) -> str:
    """One airplane's line: what it reads, with its interval."""
    if one.above is None or one.low is None or one.high is None:
        return f"{one.airplane}: {one.said}."
    middle, low, high = (amount(each, unit, signed=True) for each in (one.above, one.low, one.high))
    return f"{one.airplane}: {one.said} ({middle}, 90 % interval {low} to {high}; {one.lessons} lessons)."


@dataclass(frozen=True)
class Compared:
    """One thing compared over the airplanes; ``reason`` says why nothing is told."""

    kind: str
    title: str
    unit: str
    airplanes: tuple[Reading, ...]
    reason: str | None


def readings(session: Session) -> list[Compared]:
    """Every comparison; one that the book does not bear says why."""
    values: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for registration, document in _documents(session):
        for kind, found in (
            (BANK, _bank(document)),
            (PITCH, _pitch(document)),
            (STALL, _stall(document)),
        ):
            if found is not None:
                values[kind.name].append((registration, found))
    return [compared(kind, values[kind.name]) for kind in KINDS]


def _documents(session: Session) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Registration and debrief of every judging in force, one at a time."""
    chosen = (
        select(Judging, Airplane.registration)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .join(Airplane, Airplane.id == Lesson.airplane_id)
        .where(Judging.in_force)
        .order_by(Lesson.id)
        .options(undefer(Judging.document))
    )
    for judging, registration in session.execute(chosen.execution_options(yield_per=16)):
        yield registration, unpacked(judging)


def compared(kind: Kind, values: Sequence[tuple[str, float]]) -> Compared:
    """One thing over the airplanes, from a value of each lesson: each with enough against the others."""
    by_airplane: dict[str, list[float]] = defaultdict(list)
    for name, value in values:
        by_airplane[name].append(value)
    enough = sorted(name for name, each in by_airplane.items() if len(each) >= LEAST_LESSONS)
    few = [
        Reading(name, len(each), None, None, None, f"too few lessons to say: {len(each)} of {LEAST_LESSONS}")
        for name, each in sorted(by_airplane.items())
        if name not in enough
    ]
    if len(enough) < LEAST_AIRPLANES:
        reason = f"too few airplanes with {LEAST_LESSONS} lessons that show it: {len(enough)} of at least "
        return Compared(kind.name, kind.title, kind.unit, tuple(few), f"{reason}{LEAST_AIRPLANES}")
    column = np.array([value for name in enough for value in by_airplane[name]])
    group = np.array([k for k, name in enumerate(enough) for _ in by_airplane[name]])
    apart = above_other_groups(column, group, groups=len(enough), scale=kind.scale, least=kind.least)
    middle, (low, high) = apart.middle, apart.interval(0.9)
    told = [
        Reading(
            name,
            len(by_airplane[name]),
            float(middle[k]),
            float(low[k]),
            float(high[k]),
            _said(kind, middle[k], low[k], high[k]),
        )
        for k, name in enumerate(enough)
    ]
    return Compared(kind.name, kind.title, kind.unit, (*told, *few), None)


def _said(kind: Kind, middle: float, low: float, high: float) -> str:
    if low > 0.0 and middle >= kind.noteworthy:
        return f"reads {kind.more} than the others"
    if high < 0.0 and middle <= -kind.noteworthy:
        return f"reads {kind.less} than the others"
    return "reads like the others, as far as its lessons tell"


# --- What a lesson holds ------------------------------------------------------------------------------------


def _bank(document: Mapping[str, Any]) -> float | None:
    """How far to the right the recorded bank reads of the reconstructed one [deg], mean over points."""
    found = []
    for flown in document["maneuvers"]:
        turning = _TURNING.get(flown["kind"])
        if turning is None or flown["direction"] not in ("left", "right"):
            continue
        first = 1.0 if flown["direction"] == "right" else -1.0
        for point in flown["points"]:
            off = _off(point["bank_into_turn_deg"])
            if off is not None:
                found.append(first * turning ** (point["half"] - 1) * off)
    return _mean(found)


def _pitch(document: Mapping[str, Any]) -> float | None:
    """How far above the reconstructed pitch the recorded one reads [deg], the mean over points."""
    points = [point for flown in document["maneuvers"] for point in flown["points"]]
    return _mean([off for point in points if (off := _off(point["pitch_deg"])) is not None])


def _off(quantity: Mapping[str, Any]) -> float | None:
    """The recorded value less the reconstructed one; None where the instrument was not recorded."""
    if quantity["origin"] != "measured" or quantity.get("recorded") is None:
        return None
    return float(quantity["recorded"] - quantity["value"])


def _mean(found: Sequence[float]) -> float | None:
    return sum(found) / len(found) if len(found) >= LEAST_POINTS else None


def _stall(document: Mapping[str, Any]) -> float | None:
    """The mean difference of the lesson's stall speeds from those of the sheet [kt]."""
    found = [
        each["difference_kt"]
        for each in document.get("stall_speeds", ())
        if each["stalls"] and each["difference_kt"] is not None
    ]
    return sum(found) / len(found) if found else None
