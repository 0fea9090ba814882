"""A published limit: a bracket at the point or edge where it applies, with its number."""

from __future__ import annotations

from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas

_ARM = 0.42
"""Length of a bracket's arms, in the size of the text."""


def draw_upright(
    canvas: Canvas,
    style: Style,
    x: float,
    ends: tuple[float | None, float | None],
    frame: tuple[float, float],
) -> XY:
    """A bracket ``]`` beside what it holds; an open end runs to the edge of ``frame`` without an arm.

    ``ends`` are where the low and the high limit lie; returns the place its number belongs to.
    """
    low, high = (edge if end is None else end for end, edge in zip(ends, frame, strict=True))
    arm, ink = _ARM * style.text, style.palette.ink
    canvas.line((x, low), (x, high), color=ink, width=1.4)
    for end, y in zip(ends, (low, high), strict=True):
        if end is not None:
            canvas.line((x - arm, y), (x, y), color=ink, width=1.4)
    return x, high if ends[1] is not None else low


def draw_lying(canvas: Canvas, style: Style, y: float, low: float, high: float) -> XY:
    """A bracket along the heading axis; returns its middle."""
    arm, ink = _ARM * style.text, style.palette.ink
    canvas.line((low, y), (high, y), color=ink, width=1.4)
    for x in (low, high):
        canvas.line((x, y - arm), (x, y), color=ink, width=1.4)
    return 0.5 * (low + high), y
