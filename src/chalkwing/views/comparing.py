"""Attempts at one kind of maneuver, made ready to lie over each other: turned alike, and row beside row.

Heading change and bank count into the turn, so that a left attempt lies on a right one as it is; its path
over the ground or through the air is turned to the same entry heading and, where it turned the other way,
mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import PurePath

from chalkwing.units import Floats
from chalkwing.views.table import FactRow, Row, table_of
from chalkwing.views.traces import Trace
from chalkwing.views.view import ManeuverView


@dataclass(frozen=True)
class Attempt:
    """One attempt and what it is called where several lie over each other."""

    name: str
    view: ManeuverView

    @property
    def turns_first(self) -> str:
        """The way of its first turn: "left" or "right"."""
        return self.view.directions[0]


@dataclass(frozen=True)
class ElementLine:
    """One element over the attempts: ``cells`` has None where an attempt was not held against it.

    ``limit`` is empty where attempts were held against different limits: then each cell tells its own.
    """

    title: str
    which: str
    limit: str
    cells: tuple[Row | None, ...]


@dataclass(frozen=True)
class FactLine:
    """One fact over the attempts; None where it has no value."""

    title: str
    cells: tuple[FactRow | None, ...]


_FLOWN = {"student": "student", "instructor": "instructor", "shared": "both", "unknown": "not said"}


def when_said(start_utc: str | None, view: ManeuverView, file: str) -> str:
    """Day and clock time of an attempt; without a clock the file and the number in it."""
    if start_utc is None:
        return f"{PurePath(file).stem[:16]}, no. {view.report.number}"
    moment = datetime.fromisoformat(start_utc.replace("Z", "+00:00")) + timedelta(seconds=view.report.start_s)
    return f"{moment.day} {moment:%b %H:%M}"


def names_of(views: Sequence[ManeuverView], whens: Sequence[str], numbers: Sequence[int]) -> list[str]:
    """Day and time of each, and what else tells them apart: the way it turned, who flew, its number."""
    ways = {view.directions[0] for view in views}
    flown = {view.report.flown_by for view in views}
    names = []
    for view, when in zip(views, whens, strict=True):
        more = [view.directions[0]] if len(ways) > 1 and view.report.direction != "none" else []
        more += [_FLOWN[view.report.flown_by]] if len(flown) > 1 else []
        names.append(" ".join([when, *more]))
    # Two that still read alike are told apart by their numbers.
    return [
        f"{name}, no. {number}" if names.count(name) > 1 else name
        for name, number in zip(names, numbers, strict=True)
    ]


def is_mirrored(attempts: Sequence[Attempt]) -> bool:
    """Whether attempts turn different ways, so that plans have to be mirrored."""
    return len({attempt.turns_first for attempt in attempts}) > 1


def laid_over(attempts: Sequence[Attempt]) -> list[list[Trace]]:
    """What was flown, a list an attempt: each in one chalk whole, named, its path turned to one entry.

    The plans stay on the attempts' own pages: two airplanes on two days have two.
    """
    mirrored = is_mirrored(attempts)
    found = []
    for chalk, attempt in enumerate(attempts, start=1):
        mirror = -1.0 if mirrored and attempt.turns_first == "left" else 1.0
        heading = math.radians(attempt.view.entry["heading_true_deg"])
        found.append([_alike(trace, attempt.name, chalk, heading, mirror) for trace in attempt.view.flown])
    return found


def _alike(trace: Trace, name: str, chalk: int, heading: float, mirror: float) -> Trace:
    return replace(
        trace,
        name=name,
        chalk=chalk,
        samples={},
        values=dict(trace.values) | _turned(trace.values, heading, mirror),
        marks=tuple(
            replace(mark, told=mark.told and trace.part == 1) for mark in trace.marks if mark.name.isdigit()
        ),
    )


def _turned(values: Mapping[str, Floats], heading: float, mirror: float) -> dict[str, Floats]:
    """Places with the entry heading as north."""
    found: dict[str, Floats] = {}
    for frame in ("ground", "air"):
        north, east = values[f"{frame}_north_ft"], values[f"{frame}_east_ft"]
        found[f"{frame}_north_ft"] = north * math.cos(heading) + east * math.sin(heading)
        found[f"{frame}_east_ft"] = mirror * (east * math.cos(heading) - north * math.sin(heading))
    return found


def element_lines(attempts: Sequence[Attempt]) -> list[ElementLine]:
    """The element tables side by side, in the order of the first that has each element."""
    tables = [{(row.id, row.half): row for row in table_of(each.view.report).rows} for each in attempts]
    keys = list(dict.fromkeys(key for table in tables for key in table))
    return [_element_line([table.get(key) for table in tables]) for key in _in_halves(keys)]


def _in_halves(keys: Sequence[tuple[str, int | None]]) -> Iterator[tuple[str, int | None]]:
    """The halves of an element beside each other, elements in their order."""
    for name in dict.fromkeys(name for name, _ in keys):
        yield from sorted((key for key in keys if key[0] == name), key=lambda key: key[1] or 0)


def _element_line(cells: list[Row | None]) -> ElementLine:
    known = [row for row in cells if row is not None]
    limits = {row.limit for row in known}
    limit = known[0].limit if len(limits) == 1 else ""
    return ElementLine(known[0].title, known[0].which, limit, tuple(cells))


def _facts(attempt: Attempt) -> tuple[FactRow, ...]:
    """All facts, those told first before the others."""
    table = table_of(attempt.view.report)
    return table.leading + table.facts


def fact_lines(attempts: Sequence[Attempt]) -> list[FactLine]:
    """The facts side by side."""
    tables = [{row.title: row for row in _facts(each)} for each in attempts]
    titles = dict.fromkeys(title for table in tables for title in table)
    return [FactLine(title, tuple(table.get(title) for table in tables)) for title in titles]
