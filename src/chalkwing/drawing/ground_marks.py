"""What was flown by on the ground, in the plan: a pylon, a point, a road, with sight lines to it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from chalkwing.drawing.labels import Label
from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.views.ground import GroundMark
from chalkwing.views.traces import Trace

_NAMES = {"center": "middle of the turns", "side": "", "line": "line"}
_SIGHTED = ("point", "pylon")
"""What the wing's sight line is held on."""


def draw_ground_marks(
    canvas: Canvas, style: Style, marks: Sequence[GroundMark], place: Callable[[float, float], XY]
) -> list[Label]:
    """Lines as one ink line, points as a filled square; returns their names for placing."""
    ink, half = style.palette.ink, 0.26 * style.text
    labels: list[Label] = []
    for mark in marks:
        ends = [place(*end) for end in mark.ends]
        if len(ends) == 2:
            canvas.line(ends[0], ends[1], color=ink, width=1.6)
        else:
            x, y = ends[0]
            canvas.rectangle(x - half, y - half, 2.0 * half, 2.0 * half, fill=ink)
        name = _NAMES.get(mark.what, mark.what)
        if name and not any(label.text == name for label in labels):
            labels.append(Label(ends[-1], name, ink, gap=0.75 * style.text))
    return labels


def draw_sight_lines(
    canvas: Canvas,
    style: Style,
    marks: Sequence[GroundMark],
    place: Callable[[float, float], XY],
    trace: Trace,
    rows: Sequence[int],
) -> None:
    """From a point or pylon to the airplane at some rows of a part that was flown by it."""
    for mark in marks:
        if mark.what in _SIGHTED and trace.part in mark.parts:
            foot = place(*mark.ends[0])
            for k in rows:
                at = place(
                    float(trace.values["ground_north_ft"][k]), float(trace.values["ground_east_ft"][k])
                )
                canvas.line(foot, at, color=style.palette.soft, width=0.8)
