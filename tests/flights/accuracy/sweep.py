"""How much the finder hangs on each of its scalars: every one half as much and half as much again.

Measured on lessons and baits that served for tuning: on those that are reported it would be a look at them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields, replace
from functools import partial
from multiprocessing import Pool
from pathlib import Path
from types import ModuleType

from tests.flights.accuracy.finding import match
from tests.flights.accuracy.lesson import lesson_in
from tests.flights.accuracy.recorders import RECORDERS
from tests.flights.accuracy.statistics import f1_of
from tests.flights.accuracy.unmeant import unmeant
from tests.flights.accuracy.whole import found_in

from chalkwing.find import finder, links, outing, spells, weighed, whole
from chalkwing.find.tuning import DEFAULT, Tuning

FACTORS = (0.5, 1.5)
TUNED = tuple(field.name for field in fields(Tuning))
CONSTANTS: dict[str, ModuleType] = {
    "_CLEARS": links,
    "_TO_ENTRY": links,
    "_TOLD": finder,
    "_MEET": weighed,
    "_LESSON_RATE": outing,
    "_ORDINARY_RATE": outing,
    "_SHOWS_ITSELF": outing,
    "_AGAINST": outing,
    "_KINDS": outing,
    "_UNLIKE": spells,
    "_ABOVE_LOWEST": whole,
    "_UNEVEN_AT_MOST": whole,
}
"""Scalars that are no part of `Tuning`, and where they stand."""


@dataclass(frozen=True)
class Change:
    """One scalar times ``factor``; no name, no change."""

    name: str = ""
    factor: float = 1.0


@dataclass(frozen=True)
class Counts:
    """Maneuvers of the lessons found and missed, false ones in lessons and in baits."""

    found: int = 0
    missed: int = 0
    false: int = 0
    in_baits: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(
            self.found + other.found,
            self.missed + other.missed,
            self.false + other.false,
            self.in_baits + other.in_baits,
        )

    def told(self) -> str:
        return f"{f1_of(self.found, self.missed, self.false):.3f} ({self.false}, {self.in_baits})"


def table(
    lessons: Sequence[Path], baits: Sequence[Path], recorders: Sequence[str], *, kept: Path, processes: int
) -> str:
    """F1 (false in lessons, in baits) of each recorder, a slash between, for every scalar changed by half."""
    with Pool(processes) as pool:

        def row(change: Change) -> str:
            counted = []
            for recorder in recorders:
                one = partial(_counts, change, recorder, kept)
                parts = pool.map(
                    one, [*((each, False) for each in lessons), *((each, True) for each in baits)]
                )
                counted.append(sum(parts, Counts()).told())
            return " / ".join(counted)

        lines = [f"| none | {row(Change())} | |"]
        lines += [
            f"| {name} | {' | '.join(row(Change(name, factor)) for factor in FACTORS)} |"
            for name in (*TUNED, *CONSTANTS)
        ]
    head = f"| scalar | {' | '.join(f'x {factor:g}' for factor in FACTORS)} |"
    return "\n".join([head, "| --- | --- | --- |", *lines])


def _counts(change: Change, name: str, kept: Path, flight: tuple[Path, bool]) -> Counts:
    folder, is_bait = flight
    lesson, recorder = lesson_in(folder), RECORDERS[name]
    with changed(change) as tuning:
        flights, shift = found_in(lesson, recorder, kept, tuning=tuning)
    found = [one for _, several in flights for one in several]
    if is_bait:
        return Counts(in_baits=sum(not unmeant(one, lesson, shift) for one in found))
    matched = match(lesson, found, shift)
    return Counts(len(matched.pairs), len(matched.missed), len(matched.false))


@contextmanager
def changed(change: Change) -> Iterator[Tuning]:
    """The tuning with the change in it; what is no part of it is changed where it stands meanwhile."""
    if change.name in TUNED:
        yield replace(DEFAULT, **{change.name: getattr(DEFAULT, change.name) * change.factor})
    elif change.name:
        room = CONSTANTS[change.name]
        before = getattr(room, change.name)
        setattr(room, change.name, before * change.factor)
        try:
            yield DEFAULT
        finally:
            setattr(room, change.name, before)
    else:
        yield DEFAULT
