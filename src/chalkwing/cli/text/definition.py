"""A maneuver explained: parts, legs and points, limits with their source, errors with what helps."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing import words
from chalkwing.drawing.definition_sketch import drawn_points, place_said, shares
from chalkwing.maneuvers import Definition, Measure, Standard
from chalkwing.maneuvers.schema import Alike, Expectation, Leg, Point
from chalkwing.maneuvers.standards import Limit
from chalkwing.maneuvers.vocabulary import GROUND_KINDS
from chalkwing.units import DEGREE

INDENT = 3


def print_list(console: Console, known: Sequence[Definition], standard: Standard) -> None:
    """Every maneuver in a line: its name here, its title, how many limits the standard holds."""
    table = _table()
    for each in known:
        count = len(list(_limits(each, standard)))
        said = f"{count} limit{'' if count == 1 else 's'}" if count else "facts only"
        table.add_row(each.kind, f"{each.title}: {parts_said(each)}; {said}")
    console.print(table)
    console.print(Text(f"Held against: {standard.title} ({standard.document}, {standard.edition}).", "dim"))


def print_definition(console: Console, definition: Definition, standard: Standard) -> None:
    """The whole explanation."""
    console.print(Text(definition.title, style="bold"))
    console.print(_under(definition.summary))
    console.print(_under(f"{parts_said(definition).capitalize()}.{_ground_said(definition)}"))
    if definition.finder.alike is not None:
        console.print(_under(_alike_said(definition.finder.alike)))
    console.print(_under(f"Sources: {definition.source}.", style="dim"))
    _section(console, "Picture")
    for line in strip(definition, width=console.width - INDENT):
        console.print(Text(" " * INDENT + line))
    _rows(console, "Legs", [(leg.title, _leg_said(definition, leg)) for leg in definition.legs])
    _rows(console, "Points", [(point.title, _point_said(definition, point)) for point in definition.points])
    _print_limits(console, definition, standard)
    _section(console, "Facts, for which nothing is published")
    facts = [
        measure.title for measure in definition.measures if standard.limit(definition.kind, measure) is None
    ]
    console.print(_under(f"{'; '.join(facts)}."))
    if definition.errors:
        _section(console, "Common errors")
    for error in definition.errors:
        console.print(_under(error.title, style="bold"))
        console.print(_under(f"Shows: {error.shows} Helps: {error.correction}", indent=2 * INDENT))


def _print_limits(console: Console, definition: Definition, standard: Standard) -> None:
    limits = list(_limits(definition, standard))
    _rows(
        console,
        "Elements and their limits",
        [(one.title, words.band(held.band, one.unit)) for one, held in limits],
    )
    sources = dict.fromkeys(source_said(held) for _, held in limits)
    said = f"{'; '.join(sources)}." if sources else f"{standard.title} publishes none for this maneuver."
    console.print(_under(said, style="dim"))


def _limits(definition: Definition, standard: Standard) -> Iterator[tuple[Measure, Limit]]:
    for measure in definition.measures:
        limit = standard.limit(definition.kind, measure)
        if limit is not None:
            yield measure, limit


def source_said(limit: Limit) -> str:
    """Document, edition and task."""
    return ", ".join(part for part in (limit.document, limit.edition, limit.task) if part)


def parts_said(definition: Definition) -> str:
    """How a maneuver is made up, in words."""
    turns = definition.turns
    if definition.progress != "heading_change":
        return "one stretch of time"
    count = f"{turns.count}" if turns.most == turns.count else f"{turns.count} to {turns.most}"
    angle = f"{turns.angle / DEGREE:.0f}°"
    if turns.unbroken:
        return f"{count} times {angle} in one turn"
    if turns.most == 1:
        return f"one turn of about {angle}"
    ways = {"alternating": "one way and the other", "same": "the same way", "any": "either way"}
    return f"{count} turns of about {angle}, {ways[turns.directions]}"


def _ground_said(definition: Definition) -> str:
    return f" Flown by {GROUND_KINDS[definition.ground]}." if definition.ground != "none" else ""


def _alike_said(alike: Alike) -> str:
    return (
        f"In a recording it looks like {alike.what}. Alone in a flight it is taken for that and left out; "
        "a correction adds it."
    )


def _leg_said(definition: Definition, leg: Leg) -> str:
    typical = f"{leg.duration.typical:.0f}"
    if leg.outside == "after":
        unfinished = ". Not flown so, the maneuver was broken off" if leg.needed else ""
        return f"the {typical} s after it{unfinished}"
    if leg.outside == "before":
        return f"the {typical} s before it"
    return (
        f"{leg.duration.low:.0f} to {leg.duration.high:.0f} s, about {typical}, "
        f"until {place_said(definition, leg.until)}"
    )


def _point_said(definition: Definition, point: Point) -> str:
    expected = "; ".join(_expected_said(each) for each in point.expected)
    where = place_said(definition, point.where)
    return f"{where}. Expected: {expected}" if expected else where


def _expected_said(expected: Expectation) -> str:
    name = expected.quantity.name.replace("_", " ")
    if expected.word is not None:
        return f"{name} {expected.word} ({expected.source})"
    value = (expected.about or 0.0) / expected.quantity.scale
    return f"{name} about {words.amount(value, expected.quantity.unit)} ({expected.source})"


# --- the strip: one part from left to right -----------------------------------------------------------------


def strip(definition: Definition, *, width: int) -> list[str]:
    """One part drawn in letters: numbered rings on a line, then what each is called.

    Rings lie where progress or the legs' usual times put them; what depends on the day is left out.
    """
    points = drawn_points(definition)
    places = _places(shares(definition), width - 1)
    line, names, listed = ["─"] * width, [" "] * width, []
    for number, (point, at) in enumerate(zip(points, places, strict=True), start=1):
        line[at] = "●" if number in (1, len(places)) else "○"
        label = str(number)
        start = min(at, width - len(label))
        names[start : start + len(label)] = label
        listed.append(f"{number} {point.title.lower()}")
    return ["".join(line), "".join(names).rstrip(), *textwrap.wrap(", ".join(listed), width)]


def _places(spread: Sequence[float], last: int) -> list[int]:
    """Columns of the points, two apart at least."""
    columns = [round(share * last) for share in spread]
    for k in range(1, len(columns)):
        columns[k] = min(max(columns[k], columns[k - 1] + 2), last - 2 * (len(columns) - 1 - k))
    return columns


# --- for machines -------------------------------------------------------------------------------------------


def listing(definition: Definition, standard: Standard) -> dict[str, object]:
    """One line of the list."""
    return {
        "kind": definition.kind,
        "title": definition.title,
        "summary": definition.summary,
        "progress": definition.progress,
        "parts": parts_said(definition),
        "limits": len(list(_limits(definition, standard))),
    }


def explained(definition: Definition, standard: Standard) -> dict[str, object]:
    """The whole explanation."""
    return listing(definition, standard) | {
        "schema": 1,
        "source": definition.source,
        "standard": standard.name,
        "legs": [
            {
                "name": leg.name,
                "title": leg.title,
                "until": place_said(definition, leg.until),
                "outside": leg.outside,
                "needed": leg.needed,
                "duration_s": [leg.duration.low, leg.duration.typical, leg.duration.high],
            }
            for leg in definition.legs
        ],
        "points": [
            {
                "name": point.name,
                "title": point.title,
                "where": place_said(definition, point.where),
                "expected": [_expected_said(each) for each in point.expected],
            }
            for point in definition.points
        ],
        "elements": [_measure(each, standard.limit(definition.kind, each)) for each in definition.measures],
        "errors": [
            {"id": each.id, "title": each.title, "shows": each.shows, "correction": each.correction}
            for each in definition.errors
        ],
    }


def _measure(measure: Measure, limit: Limit | None) -> dict[str, object]:
    made: dict[str, object] = {"id": measure.id, "title": measure.title, "unit": measure.unit}
    if limit is None:
        return made | dict.fromkeys(("limit", "document", "edition", "task"))
    ends = [None if end is None or not math.isfinite(end) else end for end in limit.band]
    return made | {"limit": ends, "document": limit.document, "edition": limit.edition, "task": limit.task}


def _table() -> Table:
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0), pad_edge=False, show_edge=False)
    table.add_column(overflow="fold", ratio=2)
    table.add_column(overflow="fold", ratio=3)
    return table


def _section(console: Console, title: str) -> None:
    console.print()
    console.print(Text(title, style="dim"))


def _rows(console: Console, title: str, rows: Sequence[tuple[str, str]]) -> None:
    _section(console, title)
    table = _table()
    for left, right in rows:
        table.add_row(left, right)
    console.print(Padding(table, (0, 0, 0, INDENT), expand=False))


def _under(said: str, *, style: str = "", indent: int = INDENT) -> Padding:
    return Padding(Text(said, style=style), (0, 0, 0, indent), expand=False)
