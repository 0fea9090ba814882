"""The plan: the path over the ground seen from above, the entry heading up, with the wind."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from chalkwing.drawing.ground_marks import draw_ground_marks, draw_sight_lines
from chalkwing.drawing.labels import Box, Label, box_at, place, write
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import nice_step
from chalkwing.drawing.strokes import BEAD_S, color_of, draw_beads, draw_line, draw_point, path, thinned
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.units import Floats
from chalkwing.views.ground import GroundMark
from chalkwing.views.traces import Mark, Trace

Frame = Literal["ground", "air"]
"""Whose map the path is drawn on: the ground's, or that of the air mass that the wind carries along."""
_MILE_FT = 6076.12


@dataclass(frozen=True)
class Wind:
    """The wind at the maneuver's height: where it comes from, true [deg], and its speed [kt]."""

    from_deg_true: float
    speed_kt: float


def plan_view(
    traces: Sequence[Trace],
    *,
    size: tuple[float, float],
    style: Style,
    up_deg_true: float | None,
    wind: Wind | None,
    frame: Frame = "ground",
    says: Callable[[Mark], str] = lambda mark: mark.name,
    ground: Sequence[GroundMark] = (),
    under: tuple[Floats, Floats] | None = None,
    north: bool = True,
) -> str:
    """The picture as SVG.

    Parameters
    ----------
    traces
        With ``ground_north_ft`` and ``ground_east_ft`` from the entry (``air_...`` for that frame).
    up_deg_true
        The direction [deg] that points up the page: the entry heading. None where north of the traces is the
        entry heading already, each attempt's own: then neither north nor wind is drawn.
    wind
        Drawn as an arrow that flies the way the wind blows; None where the path is drawn in still air.
    says
        What stands beside a point.
    ground
        What was flown by on the ground, with sight lines from a point or pylon.
    under
        North and east [ft] of all that was flown, between the parts too: a thin line under them.
    north
        Whether the compass is drawn and the wind's direction written; without it nothing tells where it was.
    """
    width, height = size
    title = "Over the ground" if frame == "ground" else "Through the air"
    canvas = Canvas(width, height, title=f"Plan: path {title.lower()}, entry heading up")
    name = (0.2 * style.text, 1.15 * style.title)
    canvas.text(name, title, size=style.title, color=style.palette.ink, weight=600)
    room = Box(0.9 * style.text, 3.9 * style.text, width - 0.9 * style.text, height - 2.4 * style.text)
    ground = ground if frame == "ground" else ()
    fit = _Fit.of(traces, up_deg_true or 0.0, room, frame, ground)
    taken = [box_at(name, title, 1.06 * style.title)]
    canvas.open_group("plan", frame=frame, **fit.data())
    lines = [fit.points(trace) for trace in traces]
    said = "carried along with the wind" if frame == "air" else None
    full = [*lines, *([fit.place(*end) for end in mark.ends] for mark in ground)]
    if not north and wind is not None and said is None:
        said = _strength(wind)
    if up_deg_true is None:
        taken.append(_draw_saying(canvas, style, "every entry heading up"))
    else:
        blowing = None if frame == "air" else wind
        taken += _draw_compass(canvas, style, up_deg_true, blowing, full, said=said, north=north)
    taken.append(_draw_scale(canvas, style, fit))
    for trace in traces if ground else ():
        if trace.role == "flown":
            rows = [_row_of(trace, mark) for mark in trace.marks] or trace.beads(BEAD_S)
            draw_sight_lines(canvas, style, ground, fit.place, trace, rows)
    if under is not None:
        whole = [fit.place(float(n), float(e)) for n, e in zip(*under, strict=True)]
        canvas.polyline(thinned(whole), color=style.palette.soft, width=0.5 * style.flown)
    names = draw_ground_marks(canvas, style, ground, fit.place)
    _draw_paths(canvas, style, traces, lines, taken, says, names)
    canvas.close_group()
    return canvas.to_svg()


@dataclass(frozen=True)
class _Fit:
    """Turned so that ``up`` points up, scaled alike both ways, and centered in a room."""

    cosine: float
    sine: float
    scale: float
    shift: XY
    frame: Frame

    @classmethod
    def of(
        cls,
        traces: Sequence[Trace],
        up_deg_true: float,
        room: Box,
        frame: Frame,
        ground: Sequence[GroundMark],
    ) -> _Fit:
        up = math.radians(up_deg_true)
        bare = cls(math.cos(up), math.sin(up), 1.0, (0.0, 0.0), frame)
        marks = np.array([end for mark in ground for end in mark.ends]).reshape(-1, 2)
        every = [*(bare.turned(trace) for trace in traces), bare.turn(marks[:, 0], marks[:, 1])]
        xs, ys = (np.concatenate(parts) for parts in zip(*every, strict=True))
        across, along = max(float(np.ptp(xs)), 1.0), max(float(np.ptp(ys)), 1.0)
        scale = min((room.right - room.left) / across, (room.bottom - room.top) / along)
        middle = (0.5 * (room.left + room.right), 0.5 * (room.top + room.bottom))
        center = (0.5 * float(xs.max() + xs.min()), 0.5 * float(ys.max() + ys.min()))
        shift = (middle[0] - scale * center[0], middle[1] - scale * center[1])
        return cls(bare.cosine, bare.sine, scale, shift, frame)

    def data(self) -> dict[str, float]:
        """What takes a place [ft] onto the canvas, for a page's script.

        x = (xn north + xe east) / 1000 + x0, and y alike.
        """
        return {
            "xn": -1000.0 * self.scale * self.sine,
            "xe": 1000.0 * self.scale * self.cosine,
            "x0": self.shift[0],
            "yn": -1000.0 * self.scale * self.cosine,
            "ye": -1000.0 * self.scale * self.sine,
            "y0": self.shift[1],
        }

    def turned(self, trace: Trace) -> tuple[Floats, Floats]:
        """To the right and down the page [ft]."""
        return self.turn(trace.values[f"{self.frame}_north_ft"], trace.values[f"{self.frame}_east_ft"])

    def turn(self, north: Floats, east: Floats) -> tuple[Floats, Floats]:
        """Places [ft] to the right and down the page [ft]."""
        right: Floats = east * self.cosine - north * self.sine
        down: Floats = -(north * self.cosine + east * self.sine)
        return right, down

    def place(self, north: float, east: float) -> XY:
        """Where one place [ft] lies on the canvas."""
        right, down = self.turn(np.array(north), np.array(east))
        return self.scale * float(right) + self.shift[0], self.scale * float(down) + self.shift[1]

    def points(self, trace: Trace) -> list[XY]:
        right, down = self.turned(trace)
        return path(
            (self.scale * right + self.shift[0]).tolist(), (self.scale * down + self.shift[1]).tolist()
        )


def _draw_paths(
    canvas: Canvas,
    style: Style,
    traces: Sequence[Trace],
    lines: Sequence[list[XY]],
    taken: Sequence[Box],
    says: Callable[[Mark], str],
    names: Sequence[Label],
) -> None:
    alone = all(trace.role == "plan" for trace in traces)
    for trace, line in zip(traces, lines, strict=True):
        draw_line(canvas, thinned(line), trace, style, alone=alone)
        draw_beads(canvas, line, trace, style, alone=alone)
    labels: list[Label] = list(names)
    start = lines[0][0]
    canvas.circle(start, 0.3 * style.text, fill=style.palette.ink)
    labels.append(Label(start, "entry", style.palette.ink, gap=0.7 * style.text))
    for trace, line in zip(traces, lines, strict=True):
        color = color_of(trace, style, alone=alone)
        for mark in trace.marks if alone or trace.role == "flown" else ():
            if mark.name == "entry":
                continue
            at = line[_row_of(trace, mark)]
            draw_point(canvas, at, color, style)
            labels.append(Label(at, says(mark), color, gap=0.7 * style.text))
    frame = Box(0.0, 0.0, canvas.width, canvas.height)
    write(canvas, place(labels, size=style.text, frame=frame, lines=lines, taken=taken), style)


def _row_of(trace: Trace, mark: Mark) -> int:
    """The row at which a point was passed: by time where the trace was flown, by heading in a plan."""
    if trace.role == "flown":
        return int(np.argmin(np.abs(trace.time_s - mark.time_s)))
    return int(np.argmin(np.abs(trace.heading_change_deg - mark.heading_change_deg)))


def _draw_compass(
    canvas: Canvas,
    style: Style,
    up_deg_true: float,
    wind: Wind | None,
    lines: Sequence[Sequence[XY]],
    *,
    said: str | None,
    north: bool,
) -> list[Box]:
    """North, and the wind as an arrow that flies with it, in the upper right corner."""
    length = 2.6 * style.text
    said = said or _wind_said(wind)
    box = _draw_saying(canvas, style, said)
    corner = _free_corner(canvas, style, lines, length)
    if north:
        _draw_arrow(canvas, corner, math.radians(-up_deg_true), length, style, style.palette.soft, head=0.28)
        _draw_north(canvas, corner, math.radians(-up_deg_true), length, style)
    room = [Box(corner[0] - length, corner[1] - length, corner[0] + length, corner[1] + length), box]
    if wind is not None and round(wind.speed_kt) > 0:
        blows = math.radians(wind.from_deg_true + 180.0 - up_deg_true)
        _draw_arrow(canvas, corner, blows, 1.5 * length, style, style.palette.ink, head=0.5)
    return room


def _draw_saying(canvas: Canvas, style: Style, said: str) -> Box:
    """Words under the picture's name."""
    at = (0.2 * style.text, 1.15 * style.title + 1.3 * style.text)
    canvas.text(at, said, size=style.text, color=style.palette.ink)
    return box_at(at, said, style.text)


def _strength(wind: Wind) -> str:
    """How strong it blows; the arrow says from where."""
    return "calm" if round(wind.speed_kt) == 0 else f"wind {wind.speed_kt:.0f} kt, as the arrow flies"


def _wind_said(wind: Wind | None) -> str:
    """A wind's direction is written true, as a forecast gives it."""
    if wind is None:
        return "in still air"
    if round(wind.speed_kt) == 0:
        return "calm"
    return f"wind {round(wind.from_deg_true) % 360 or 360:03d}° true/{wind.speed_kt:.0f} kt"


def _free_corner(canvas: Canvas, style: Style, lines: Sequence[Sequence[XY]], length: float) -> XY:
    """The corner, or the middle of a circle, farthest from the path."""
    x, top, low = 1.1 * length, 3.6 * style.text + length, canvas.height - 2.0 * style.text - length
    across, down = (x, 0.5 * canvas.width, canvas.width - x), (top, 0.5 * (top + low), low)
    corners = [(a, b) for a in across for b in down]
    dots = np.array([dot for line in lines for dot in line])

    def room(corner: XY) -> float:
        return float(np.hypot(*(dots - np.array(corner)).T).min())

    return max(corners, key=room)


def _draw_arrow(
    canvas: Canvas, middle: XY, direction: float, length: float, style: Style, color: str, *, head: float
) -> None:
    """An arrow through a place; ``direction`` [rad] clockwise from up."""
    right, down = math.sin(direction), -math.cos(direction)
    half = 0.5 * length
    tail = (middle[0] - half * right, middle[1] - half * down)
    tip = (middle[0] + half * right, middle[1] + half * down)
    canvas.line(tail, tip, color=color, width=1.8 if head > 0.4 else 1.0)
    back, side = head * style.text * 1.5, head * style.text * 0.62
    base = (tip[0] - back * right, tip[1] - back * down)
    canvas.polygon(
        [
            tip,
            (base[0] - side * down, base[1] + side * right),
            (base[0] + side * down, base[1] - side * right),
        ],
        fill=color,
    )


def _draw_north(canvas: Canvas, middle: XY, direction: float, length: float, style: Style) -> None:
    reach = 0.5 * length + 0.65 * style.text
    at = (
        middle[0] + reach * math.sin(direction),
        middle[1] - reach * math.cos(direction) + 0.33 * style.text,
    )
    canvas.text(at, "N", size=style.text, color=style.palette.soft, anchor="middle")


def _draw_scale(canvas: Canvas, style: Style, fit: _Fit) -> Box:
    """A bar of a round length, lower left."""
    across = canvas.width / fit.scale / _MILE_FT
    length = nice_step(across, most=3, steps=(1.0, 2.0, 5.0, 10.0))
    if length > 0.5 * across:
        length /= 2.0
    pixels = length * _MILE_FT * fit.scale
    y, x = canvas.height - 0.5 * style.text, 0.4 * style.text
    for a, b in (((x, y), (x + pixels, y)), ((x, y - 4), (x, y)), ((x + pixels, y - 4), (x + pixels, y))):
        canvas.line(a, b, color=style.palette.soft, width=1.2)
    words = (x + pixels + 0.5 * style.text, y)
    canvas.text(words, f"{length:g} NM", size=style.text, color=style.palette.soft)
    box = box_at(words, f"{length:g} NM", style.text)
    return Box(x, box.top, box.right, box.bottom)
