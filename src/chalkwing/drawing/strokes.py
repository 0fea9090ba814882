"""The grammar of lines: flown, plan, doubt, samples, points and beads, each drawn in one way everywhere."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TypeVar

from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.views.traces import Trace

BEAD_S = 5.0
"""Beads every 5 s: far apart is fast."""
DOUBT = 1.96
"""Standard deviations to each side of a band that holds the truth 95 times in 100."""
_DASH = "6 3.5"
_DOTS = 160
"""Raw rows of one part that can be told apart in a picture."""
Row = TypeVar("Row")


def color_of(trace: Trace, style: Style, *, alone: bool) -> str:
    """The chalk of the trace's half; a plan beside something flown steps back into soft ink."""
    if trace.role == "plan" and not alone:
        return style.palette.soft
    return style.palette.chalk(trace.chalk or trace.part)


def draw_line(canvas: Canvas, points: Sequence[XY], trace: Trace, style: Style, *, alone: bool) -> None:
    """The line of a trace; the second half is a double line, to tell them apart without color."""
    flown = trace.role == "flown"
    width = style.flown if flown else style.plan
    dash, cap = (None, "round") if flown else (_DASH, "butt")
    color = color_of(trace, style, alone=alone)
    doubled = style.doubled and (trace.chalk or trace.part) % 2 == 0
    canvas.polyline(points, color=color, width=2.4 * width if doubled else width, dash=dash, cap=cap)
    if doubled:
        canvas.polyline(points, color=style.palette.ground, width=0.8 * width, dash=dash, cap=cap)


def draw_band(
    canvas: Canvas, line: Sequence[XY], reaches: Sequence[float], color: str, *, wider_than: float
) -> None:
    """A faint band about a line, ``reaches`` to each side: doubt, never a tolerance.

    Drawn only where it is wider than the line itself.
    """
    seen = [2.0 * reach > wider_than for reach in reaches]
    for wide, run in itertools.groupby(range(len(line)), key=seen.__getitem__):
        rows = thinned([(*line[k], reaches[k]) for k in run], most=120)
        if wide and len(rows) > 1:
            under = [(x, y + reach) for x, y, reach in rows]
            over = [(x, y - reach) for x, y, reach in rows]
            canvas.polygon([*under, *reversed(over)], fill=color, opacity=0.18)


def draw_samples(canvas: Canvas, xs: Sequence[float], ys: Sequence[float], color: str, style: Style) -> None:
    """Raw recorded rows as small dots."""
    if len(xs):
        canvas.dots(thinned(path(xs, ys), most=_DOTS), 0.10 * style.text, fill=color)


def draw_beads(canvas: Canvas, points: Sequence[XY], trace: Trace, style: Style, *, alone: bool) -> None:
    """Time along a line."""
    color = color_of(trace, style, alone=alone)
    for k in trace.beads(BEAD_S):
        canvas.circle(points[k], 0.14 * style.text, fill=style.palette.ground, color=color, width=1.1)


def draw_point(canvas: Canvas, at: XY, color: str, style: Style) -> None:
    """One of the points 45, 90, 135, 180: an open circle on the line."""
    canvas.circle(
        at, 0.34 * style.text, fill=style.palette.ground, color=color, width=max(1.6, 0.12 * style.text)
    )


def path(xs: Sequence[float], ys: Sequence[float]) -> list[XY]:
    """Two columns as points."""
    return list(zip(xs, ys, strict=True))


def thinned(points: Sequence[Row], most: int = 240) -> list[Row]:
    """At most about ``most`` points of a line, its end among them: more cannot be seen."""
    step = max(1, -(-len(points) // most))
    return [*points[:-1:step], points[-1]]
