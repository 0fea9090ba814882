"""One element over a student's attempts: values with their doubt, verdicts by their rings, and the limits."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing import words
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, padded, ticks
from chalkwing.drawing.svg import XY, Canvas

Limits = tuple[float | None, float | None]
_MOST = 40
"""Attempts that are drawn, the newest: more would stand too close to be told apart."""
_RADIUS = 0.34
"""Radius of a ring, in the size of the text."""


@dataclass(frozen=True)
class Attempted:
    """One attempt: value and sd in the element's unit, verdict, limit, and what its lesson is called."""

    value: float | None
    sd: float | None
    verdict: str
    limit: Limits
    lesson: int


def attempts_picture(
    tried: Sequence[Attempted], *, title: str, unit: str, size: tuple[float, float], style: Style
) -> str:
    """The picture as SVG, the oldest attempt on the left; each lesson's number stands below its first."""
    shown = [each for each in tried if each.value is not None][-_MOST:]
    width, height = size
    canvas = Canvas(width, height, title=f"{title}, attempt by attempt")
    text = style.text
    up = _vertical(shown, top=1.2 * text, bottom=height - 1.7 * text)
    left = 0.8 * text + max(text_width(label, text) for _, label in _labels(up, unit))
    across = Scale(0.5, max(len(shown), 8) + 0.5, left, width - 0.5 * text)
    _draw_grid(canvas, style, across, up, unit)
    _draw_lessons(canvas, style, across, shown, y=height - 0.35 * text)
    for place, each in enumerate(shown, start=1):
        _draw_limit(canvas, style, across(place), each.limit, up, arm=0.32 * (across(2) - across(1)))
        _draw_attempt(canvas, style, across(place), each, up)
    return canvas.to_svg()


def _vertical(shown: Sequence[Attempted], *, top: float, bottom: float) -> Scale:
    ends = [(each.value or 0.0) + side * (each.sd or 0.0) for each in shown for side in (-2.0, 2.0)]
    ends += [end for each in shown for end in each.limit if end is not None]
    low, high = padded(min(ends, default=0.0), max(ends, default=1.0), least=1e-3)
    return Scale(low, high, bottom, top)


def _labels(up: Scale, unit: str) -> list[tuple[float, str]]:
    marks = ticks(up.low, up.high, step=nice_step(up.high - up.low, most=4))
    return [(value, words.amount(value, unit)) for value in marks]


def _draw_grid(canvas: Canvas, style: Style, across: Scale, up: Scale, unit: str) -> None:
    for value, label in _labels(up, unit):
        y = up(value)
        canvas.line((across.start, y), (across.end, y), color=style.palette.grid, width=1.0)
        at = (across.start - 0.4 * style.text, y + 0.33 * style.text)
        canvas.text(at, label, size=style.text, color=style.palette.soft, anchor="end")


def _draw_lessons(
    canvas: Canvas, style: Style, across: Scale, shown: Sequence[Attempted], *, y: float
) -> None:
    """The number of a lesson below its first attempt, where there is room for it."""
    free = -math.inf
    for place, each in enumerate(shown, start=1):
        if place > 1 and shown[place - 2].lesson == each.lesson:
            continue
        label = str(each.lesson)
        half = 0.5 * text_width(label, style.text)
        x = max(across(place), half)
        if x - half > free:
            canvas.text((x, y), label, size=style.text, color=style.palette.soft, anchor="middle")
            free = x + half + 0.4 * style.text


def _draw_limit(canvas: Canvas, style: Style, x: float, limit: Limits, up: Scale, *, arm: float) -> None:
    """The arms of a bracket, at the attempt that it holds for."""
    for end in limit:
        if end is not None:
            y = up(end)
            canvas.line((x - arm, y), (x + arm, y), color=style.palette.ink, width=1.4)


def _draw_attempt(canvas: Canvas, style: Style, x: float, each: Attempted, up: Scale) -> None:
    value, sd = each.value or 0.0, each.sd or 0.0
    at, radius, color = (x, up(value)), _RADIUS * style.text, style.palette.first
    reach = abs(up(value + 1.96 * sd) - up(value))
    if reach > radius:
        for side in (-1.0, 1.0):
            near, far = (x, at[1] + side * radius), (x, at[1] + side * reach)
            canvas.line(near, far, color=color, width=1.2)
    _draw_ring(canvas, each.verdict, at, radius, color=color, ground=style.palette.ground)


def _draw_ring(canvas: Canvas, verdict: str, at: XY, radius: float, *, color: str, ground: str) -> None:
    """A closed ring filled, an open and a dotted one: told apart without color."""
    if verdict == "met":
        canvas.circle(at, radius, fill=color, color=color, width=2.0)
    elif verdict == "not_met":
        canvas.circle(at, radius, fill=ground, color=color, width=2.2)
    else:
        canvas.circle(at, radius, fill=ground)
        canvas.dots([_on(at, radius, 0.25 * math.pi * k) for k in range(8)], 1.3, fill=color)


def _on(at: XY, radius: float, angle: float) -> XY:
    return at[0] + radius * math.cos(angle), at[1] + radius * math.sin(angle)
