"""A maneuver as it is defined, seen from above, with its points: what it is, not what anyone flew."""

from __future__ import annotations

import textwrap

import numpy as np

from chalkwing.drawing.labels import Box, Label, place, write
from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.maneuvers.schema import Definition, Mark, Point
from chalkwing.maneuvers.vocabulary import EVENTS
from chalkwing.units import DEGREE, Floats

WIDTH, HEIGHT = 640.0, 420.0
_STEPS = 90
_EVENTS = {
    "turn_starts": 0.0,
    "rolled_in": 0.08,
    "established": 0.1,
    "settled": 0.12,
    "rollout_starts": 0.9,
    "turn_stops": 1.0,
    "ends": 1.0,
}
"""Shares of a part at which events usually fall; others are spread between their neighbors."""
_BY_THE_DAY = frozenset({"downwind", "upwind", "crosses_line", "next_turn_starts"})
"""Where these fall depends on the wind and on what lies below: no drawing of the definition can tell."""
_CORNERS = 4
_LONG_PAUSE = 4.0
"""Level flight between two parts that is worth a line of its own [s]."""


def definition_sketch(definition: Definition, *, style: Style) -> str:
    """The path from above as SVG, each part in its chalk, with the points of the first part named.

    The shape is that of steady turns in still air, in no scale; what goes by time is a line from top to
    bottom.
    """
    canvas = Canvas(WIDTH, HEIGHT, title=f"{definition.title}, as defined", ground=style.palette.ground)
    if _turns(definition):
        _draw_from_above(canvas, definition, style)
        said = "From above, in still air, in no scale."
    else:
        _draw_in_order(canvas, definition, style)
        said = "From top to bottom in the order of time, in no scale."
    away = [each.title.lower() for each in definition.points if each.where.event in _BY_THE_DAY]
    said += f" Not drawn, for the day decides: {', '.join(away)}." if away else ""
    canvas.text(
        (0.8 * style.text, 1.6 * style.text), definition.title, size=style.title, color=style.palette.ink
    )
    for row, line in enumerate(textwrap.wrap(said, 86)[::-1]):
        foot = (0.8 * style.text, HEIGHT - (0.8 + 1.2 * row) * style.text)
        canvas.text(foot, line, size=style.text, color=style.palette.soft)
    return canvas.to_svg()


def drawn_points(definition: Definition) -> tuple[Point, ...]:
    """The points whose place the definition itself tells."""
    return tuple(each for each in definition.points if each.where.event not in _BY_THE_DAY)


def _draw_from_above(canvas: Canvas, definition: Definition, style: Style) -> None:
    pieces = _pieces(definition)
    fitted = _fitted([path for _, path in pieces], style)
    for (part, _), path in zip(pieces, fitted, strict=True):
        color = style.palette.soft if part == 0 else style.palette.chalk(part)
        width = style.plan if part == 0 else style.flown
        canvas.polyline([(float(x), float(y)) for x, y in path], color=color, width=width)
    _draw_points(
        canvas, definition, fitted[0], style, [(float(x), float(y)) for path in fitted for x, y in path]
    )


def _draw_in_order(canvas: Canvas, definition: Definition, style: Style) -> None:
    """Points down a line, each with its name; what goes by time has no shape from above."""
    points = drawn_points(definition)
    top, bottom, x = 4.0 * style.text, HEIGHT - 4.0 * style.text, 4.0 * style.text
    canvas.line((x, top), (x, bottom), color=style.palette.first, width=style.flown)
    for number, point in enumerate(points):
        y = top + (bottom - top) * number / max(len(points) - 1, 1)
        canvas.circle((x, y), 0.32 * style.text, fill=style.palette.ink)
        at = (x + 1.2 * style.text, y + 0.33 * style.text)
        canvas.text(
            at,
            f"{point.title}: {_shortened(place_said(definition, point.where))}",
            size=style.text,
            color=style.palette.ink,
        )


def place_said(definition: Definition, mark: Mark) -> str:
    """Where a mark lies, in words."""
    if mark.event is None:
        progress = mark.progress or 0.0
        return f"{progress / DEGREE:.0f}° are turned" if _turns(definition) else f"{progress:.0f} s"
    if not _turns(definition) and mark.event in ("turn_starts", "turn_stops", "ends"):
        return "it begins" if mark.event == "turn_starts" else "it ends"
    return EVENTS[mark.event].removeprefix("from where ").removeprefix("where ")


def _shortened(said: str) -> str:
    return said if len(said) <= 64 else f"{said[:63].rsplit(' ', 1)[0]} …"


def _turns(definition: Definition) -> bool:
    return definition.progress == "heading_change"


def _pieces(definition: Definition) -> list[tuple[int, Floats]]:
    """Number of the part (0 for level flight between two) and its east and north, (steps, 2).

    The first begins northward and turns right.
    """
    at, heading = np.zeros(2), 0.0
    made: list[tuple[int, Floats]] = []
    pause = definition.finder.pause
    for part in range(_drawn_parts(definition)):
        if part and pause is not None and pause.typical > _LONG_PAUSE:
            ahead = 1.5 * np.array([np.sin(heading), np.cos(heading)])
            made.append((0, np.stack([at, at + ahead])))
            at = at + ahead
        back = definition.turns.directions in ("alternating", "any") and part % 2
        sign = -1.0 if back else 1.0
        turned = heading + sign * np.linspace(0.0, definition.turns.angle, _STEPS)
        step = definition.turns.angle / (_STEPS - 1)
        middle = 0.5 * (turned[1:] + turned[:-1])
        walk = np.stack([np.sin(middle), np.cos(middle)], axis=1) * step
        made.append((part + 1, np.concatenate([at[None, :], at + np.cumsum(walk, axis=0)])))
        at, heading = made[-1][1][-1], float(turned[-1])
    return made


def _drawn_parts(definition: Definition) -> int:
    """The fewest that show how it goes on."""
    turns = definition.turns
    if turns.unbroken:
        return 1
    if definition.ground == "field":
        return min(turns.most, _CORNERS)
    return max(turns.count, min(turns.most, 2)) if turns.directions != "same" else turns.count


def _fitted(paths: list[Floats], style: Style) -> list[Floats]:
    """The paths in the picture's own units, with room for names around them."""
    everything = np.concatenate(paths)
    low, high = everything.min(axis=0), everything.max(axis=0)
    room = np.array([WIDTH - 12.0 * style.text, HEIGHT - 10.0 * style.text])
    scale = float(np.min(room / np.maximum(high - low, 1e-6)))
    middle = 0.5 * (low + high)
    center = np.array([0.5 * WIDTH, 0.5 * HEIGHT])
    return [center + (path - middle) * scale * np.array([1.0, -1.0]) for path in paths]


def _draw_points(canvas: Canvas, definition: Definition, path: Floats, style: Style, line: list[XY]) -> None:
    labels = []
    for point, share in zip(drawn_points(definition), shares(definition), strict=True):
        x, y = path[round(share * (_STEPS - 1))]
        at = (float(x), float(y))
        canvas.circle(at, 0.32 * style.text, fill=style.palette.ink)
        labels.append(Label(at, point.title, style.palette.ink, gap=0.6 * style.text))
    frame = Box(0.4 * style.text, 2.6 * style.text, WIDTH - 0.4 * style.text, HEIGHT - 2.2 * style.text)
    write(canvas, place(labels, size=style.text, frame=frame, lines=[line]), style)


def shares(definition: Definition) -> list[float]:
    """How far through a part each drawn point lies; what nothing tells is spread between its neighbors."""
    known = [_share(definition, point.where) for point in drawn_points(definition)]
    known[0], known[-1] = 0.0, 1.0
    places = [index for index, share in enumerate(known) if share is not None]
    spread = np.interp(np.arange(len(known)), places, [known[index] or 0.0 for index in places])
    return [float(share) for share in np.maximum.accumulate(spread)]


def _share(definition: Definition, mark: Mark) -> float | None:
    if mark.event is not None and (_turns(definition) or mark.event in ("turn_starts", "ends", "turn_stops")):
        return _EVENTS.get(mark.event)
    if mark.progress is not None and _turns(definition):
        return min(mark.progress / definition.turns.angle, 1.0)
    legs = [leg for leg in definition.legs if leg.outside == "no"]
    total, passed = sum(leg.duration.typical for leg in legs), 0.0
    for leg in legs:
        passed += leg.duration.typical
        if leg.until == mark:
            return passed / total
    return None
