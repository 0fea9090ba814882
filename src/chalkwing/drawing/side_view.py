"""The side view: how high, seen from beside the path; the heights are stretched, and it says how much."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.drawing.labels import Box, Label, box_at, place, write
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, padded, ticks
from chalkwing.drawing.strokes import color_of, draw_beads, draw_line, draw_point, path, thinned
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.units import Floats
from chalkwing.views.traces import Trace

HEIGHT = "altitude_change_ft"
_MOST = 10.0
"""Heights are never stretched more than this."""


def side_view(traces: Sequence[Trace], *, size: tuple[float, float], style: Style, up_deg_true: float) -> str:
    """Altitude from entry over the ground distance across or along the entry heading, whichever is longer.

    Parameters
    ----------
    traces
        With ``altitude_change_ft``, ``ground_north_ft`` and ``ground_east_ft``.
    size
        Width and height [CSS px].
    up_deg_true
        The entry heading [deg]: the picture looks along it, or across it from its left side.
    """
    width, height = size
    canvas = Canvas(width, height, title="Side view: altitude from entry, seen from beside the path")
    look = _Look.of(traces, up_deg_true)
    top, bottom = 3.2 * style.text, height - 0.8 * style.text
    left, right = 4.2 * style.text, width - 3.0 * style.text
    across, up = _scales(traces, look, Box(left, top, right, bottom), style)
    stretch = abs(up(1.0) - up(0.0)) / abs(across(1.0) - across(0.0))
    taken = _draw_title(canvas, style, f"{look.said}, heights ×{stretch:.1f}")
    canvas.open_group("side", **look.data(across), **up.data())
    _draw_heights(canvas, style, up, left, right)
    _draw_paths(canvas, style, traces, look, across, up, taken)
    canvas.close_group()
    return canvas.to_svg()


@dataclass(frozen=True)
class _Look:
    """The horizontal direction that runs to the right in the picture: ``north`` and ``east`` of a unit."""

    north: float
    east: float
    said: str

    @classmethod
    def of(cls, traces: Sequence[Trace], up_deg_true: float) -> _Look:
        up = math.radians(up_deg_true)
        along = cls(math.cos(up), math.sin(up), "from the right of the entry")
        across = cls(-math.sin(up), math.cos(up), "looking along the entry")
        return max((across, along), key=lambda look: look.length(traces))

    def length(self, traces: Sequence[Trace]) -> float:
        return float(np.ptp(np.concatenate([self.of_trace(trace) for trace in traces])))

    def of_trace(self, trace: Trace) -> Floats:
        """Distance to the right [ft]."""
        found: Floats = (
            trace.values["ground_north_ft"] * self.north + trace.values["ground_east_ft"] * self.east
        )
        return found

    def data(self, across: Scale) -> dict[str, float]:
        """x = (xn north + xe east) / 1000 + x0, as the plan."""
        per_foot = across(1.0) - across(0.0)
        return {
            "xn": 1000.0 * per_foot * self.north,
            "xe": 1000.0 * per_foot * self.east,
            "x0": across(0.0),
        }


def _scales(traces: Sequence[Trace], look: _Look, room: Box, style: Style) -> tuple[Scale, Scale]:
    places = np.concatenate([look.of_trace(trace) for trace in traces])
    heights = np.concatenate([trace.values[HEIGHT] for trace in traces])
    wide = max(float(np.ptp(places)), 100.0)
    low, high = padded(min(0.0, float(heights.min())), max(0.0, float(heights.max())), least=60.0)
    air = 1.3 * style.text / (room.bottom - room.top) * (high - low)
    low, high = low - air, high + air
    pixel = (room.right - room.left) / wide
    most = _MOST * pixel * (high - low)
    spare = max(0.0, (room.bottom - room.top) - most)
    middle = 0.5 * float(places.min() + places.max())
    half = 0.5 * wide
    across = Scale(middle - half, middle + half, room.left, room.right)
    return across, Scale(low, high, room.bottom - 0.5 * spare, room.top + 0.5 * spare)


def _draw_title(canvas: Canvas, style: Style, said: str) -> list[Box]:
    at, under = (
        (0.2 * style.text, 1.15 * style.title),
        (0.2 * style.text, 1.15 * style.title + 1.3 * style.text),
    )
    canvas.text(at, "From the side", size=style.title, color=style.palette.ink, weight=600)
    canvas.text(under, said, size=style.text, color=style.palette.soft)
    return [box_at(at, "From the side", 1.06 * style.title), box_at(under, said, style.text)]


def _draw_heights(canvas: Canvas, style: Style, up: Scale, left: float, right: float) -> None:
    room = abs(up(up.high) - up(up.low)) / (1.4 * style.text)
    step = nice_step(up.high - up.low, most=max(1, min(4, int(room))))
    for value in ticks(up.low, up.high, step=step):
        if value == 0.0:
            continue
        y = up(value)
        canvas.line((left, y), (right, y), color=style.palette.grid, width=1.0)
        sign = "+" if value > 0 else "\u2212"
        at = (left - 0.4 * style.text, y + 0.33 * style.text)
        said = f"{sign}{abs(value):,.0f}"
        canvas.text(at, said, size=style.text, color=style.palette.soft, anchor="end")
    y = up(0.0)
    canvas.line((left, y), (right, y), color=style.palette.ink, width=1.2)
    at = (right + 0.3 * style.text, y + 0.3 * style.text)
    canvas.text(at, "entry", size=style.text, color=style.palette.ink)
    canvas.text(
        (left - 0.4 * style.text, y + 0.33 * style.text), "ft", size=style.text, color=style.palette.soft,
        anchor="end",
    )  # fmt: skip


def _draw_paths(
    canvas: Canvas,
    style: Style,
    traces: Sequence[Trace],
    look: _Look,
    across: Scale,
    up: Scale,
    taken: Sequence[Box],
) -> None:
    lines: list[list[XY]] = []
    labels: list[Label] = []
    alone = all(trace.role == "plan" for trace in traces)
    for trace in traces:
        line = path(across.all(look.of_trace(trace)), up.all(trace.values[HEIGHT]))
        lines.append(line)
        draw_line(canvas, thinned(line), trace, style, alone=alone)
        if alone or trace.role == "flown":
            draw_beads(canvas, line, trace, style, alone=alone)
    for trace, line in zip(traces, lines, strict=True):
        color = color_of(trace, style, alone=alone)
        for mark in trace.marks if alone or trace.role == "flown" else ():
            if mark.told:
                at = line[int(np.argmin(np.abs(trace.time_s - mark.time_s)))]
                draw_point(canvas, at, color, style)
                labels.append(Label(at, mark.said, color, gap=0.7 * style.text))
    frame = Box(across.start, 2.9 * style.text, canvas.width, canvas.height)
    write(canvas, place(labels, size=style.text, frame=frame, lines=lines, taken=taken), style)
