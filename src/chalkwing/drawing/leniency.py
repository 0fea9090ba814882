"""How far instructors mark above or below each other: one line for all, or one for each by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, ticks
from chalkwing.drawing.svg import Canvas
from chalkwing.words import number

_BESIDE = 0.06
"""Steps within which two rings would lie on each other."""
_LEAST = 1.0
"""The axis reaches at least so many steps either way: small differences shall look small."""


@dataclass(frozen=True)
class Lies:
    """One instructor: how far above the others [steps], with the ends of the interval; and the name."""

    name: str
    above: float
    low: float
    high: float


def leniency_picture(rows: Sequence[Lies], *, width: float, style: Style) -> str:
    """Each instructor on a line of his or her own, named at the left, with the interval, as SVG."""
    text = style.text
    left = max(text_width(row.name, text) for row in rows) + 1.2 * text
    height = (1.7 * len(rows) + 2.6) * text
    canvas = Canvas(width, height, title="How far each marks above or below the others")
    across = _axis(canvas, style, [end for row in rows for end in (row.low, row.high)], left, height)
    for place, row in enumerate(rows):
        y = (1.2 + 1.7 * place) * text
        canvas.text((0.0, y + 0.33 * text), row.name, size=text, color=style.palette.ink)
        canvas.line((across(row.low), y), (across(row.high), y), color=style.palette.first, width=1.6)
        canvas.circle((across(row.above), y), 0.34 * text, fill=style.palette.first)
    return canvas.to_svg()


def spread_picture(spread: Sequence[float], own: Lies | None, *, width: float, style: Style) -> str:
    """All instructors on one line without names; the reader's own on a line above it, with the interval."""
    text = style.text
    lanes = _lanes(spread)
    height = (3.6 + 0.8 * max(lanes, default=0) + (1.6 if own is not None else 0.0)) * text
    canvas = Canvas(width, height, title="How far all mark above or below each other, without names")
    words = ("you", "all")
    left = max(text_width(word, text) for word in words) + 1.2 * text
    ends = list(spread) + ([] if own is None else [own.low, own.high])
    across = _axis(canvas, style, ends, left, height)
    y = 1.0 * text
    if own is not None:
        canvas.text((0.0, y + 0.33 * text), words[0], size=text, color=style.palette.ink)
        canvas.line((across(own.low), y), (across(own.high), y), color=style.palette.second, width=1.6)
        canvas.circle((across(own.above), y), 0.34 * text, fill=style.palette.second)
        y += 1.6 * text
    canvas.text((0.0, y + 0.33 * text), words[1], size=text, color=style.palette.ink)
    for each, lane in zip(spread, lanes, strict=True):
        at = (across(each), y + 0.8 * lane * text)
        canvas.circle(at, 0.34 * text, fill=style.palette.ground, color=style.palette.first, width=2.0)
    return canvas.to_svg()


def _lanes(spread: Sequence[float]) -> list[int]:
    """Rings that would lie on each other stand one under the other."""
    lanes: list[int] = []
    for place, each in enumerate(spread):
        beside = {lanes[k] for k in range(place) if abs(spread[k] - each) < _BESIDE}
        lanes.append(next(lane for lane in range(len(beside) + 1) if lane not in beside))
    return lanes


def _axis(canvas: Canvas, style: Style, ends: Sequence[float], left: float, height: float) -> Scale:
    """Steps below the others on the left, above on the right; the middle is an ink line."""
    text = style.text
    reach = max([_LEAST, *(abs(end) for end in ends)]) * 1.05
    across = Scale(-reach, reach, left + text, canvas.width - text)
    low, bottom = height - 2.2 * text, height - 1.3 * text
    for value in ticks(-reach, reach, step=nice_step(2.0 * reach, most=5)):
        x, zero = across(value), abs(value) < 1e-9
        color = style.palette.ink if zero else style.palette.grid
        canvas.line((x, 0.2 * text), (x, low), color=color, width=1.2 if zero else 1.0)
        label = "like the others" if zero else number(value, 1, signed=True)
        canvas.text((x, bottom), label, size=text, color=style.palette.soft, anchor="middle")
    canvas.text((across.start, height - 0.25 * text), "below", size=text, color=style.palette.soft)
    canvas.text(
        (across.end, height - 0.25 * text),
        "steps above",
        size=text,
        color=style.palette.soft,
        anchor="end",
    )
    return across
