"""Profiles against heading change, not time: one panel a quantity, the second half laid over the first.

Only a maneuver that does not turn one way (slow flight, a stall) is drawn against time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.drawing.brackets import draw_upright
from chalkwing.drawing.frames import Axis, heading_axis, time_axis
from chalkwing.drawing.labels import Box, Label, box_at, place, write
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.passages import NOTHING_ALONG, Passages
from chalkwing.drawing.scales import Scale, nice_step, padded, ticks
from chalkwing.drawing.strokes import (
    DOUBT,
    color_of,
    draw_band,
    draw_line,
    draw_point,
    draw_samples,
    path,
    thinned,
)
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.drawing.traces import distinct
from chalkwing.units import Floats
from chalkwing.views.traces import Against, Mark, Trace
from chalkwing.views.view import LimitMark
from chalkwing.words import MINUS


@dataclass(frozen=True)
class Panel:
    """One quantity of a profile figure: its name with unit, what it is called, and how its numbers end.

    ``level`` is drawn as one continuous line called ``level_name``; ``least`` is the smallest range shown.
    ``told``: numbers stand beside the points, with ``decimals``.
    """

    quantity: str
    title: str
    suffix: str
    least: float
    signed: bool = False
    level: float | None = None
    level_name: str = ""
    decimals: int = 0
    told: bool = True


BANK = Panel("bank_into_turn_deg", "Bank into the turn", "°", 10.0)
LOAD = Panel("load_factor_g", "Load factor", " g", 0.4, decimals=2)
ROLL_RATE = Panel(
    "roll_rate_into_turn_deg_per_s",
    "Roll rate into the turn",
    "°/s",
    4.0,
    signed=True,
    level=0.0,
    told=False,
)
PITCH_RATE = Panel("pitch_rate_deg_per_s", "Pitch rate", "°/s", 2.5, signed=True, level=0.0, told=False)
BALL = Panel(
    "lateral_load_g",
    "Ball: lateral load, right positive",
    " g",
    0.2,
    signed=True,
    level=0.0,
    level_name="0",
    decimals=2,
)
POWER = Panel("power_percent", "Power", "%", 10.0)
ENERGY = Panel(
    "specific_energy_change_ft",
    "Energy height from entry, ft",
    "",
    100.0,
    signed=True,
    level=0.0,
    level_name="entry",
)
PITCH = Panel("pitch_from_level_deg", "Pitch from level", "°", 6.0, signed=True)


def airspeed(kind: str, entry: float) -> Panel:
    """Airspeed, called KIAS or KCAS, with the entry speed as a line."""
    return Panel("airspeed_kt", f"Airspeed, {kind}", "", 10.0, level=entry, level_name="entry")


def altitude() -> Panel:
    """Altitude from entry [ft], with the entry altitude as a line."""
    return Panel(
        "altitude_change_ft",
        "Altitude from entry, ft",
        "",
        100.0,
        signed=True,
        level=0.0,
        level_name="entry",
    )


def profiles(
    traces: Sequence[Trace],
    panels: Sequence[Panel],
    *,
    size: tuple[float, float],
    style: Style,
    span_deg: float,
    against: Against = "heading",
    limits: Sequence[LimitMark] = (),
    reach: tuple[float, float] | None = None,
    scaled_to: Sequence[Trace] = (),
    passages: Passages = NOTHING_ALONG,
) -> str:
    """The panels one above the other, on the same heading axis as the nose path above them, as SVG.

    ``limits`` are bracketed where they apply; ``reach`` is that of the nose path. Axes have room for
    ``scaled_to`` too, where pictures stand beside each other. ``passages`` stand in rows above them.
    """
    width, height = size
    canvas = Canvas(width, height, title=f"Profiles against {against}")
    if against == "time":
        longest = max(float(trace.time_s[-1]) for trace in [*traces, *scaled_to])
        axis = time_axis(width, style, span_s=longest)
    else:
        marks = sorted({mark.nominal_deg for trace in traces for mark in trace.marks})
        axis = heading_axis(width, style, span_deg=span_deg, marks=marks, reach=reach)
    names, above = 1.6 * style.text, passages.height(axis, style)
    each = (height - names - above) / len(panels)
    passages.draw(canvas, style, axis, height - names)
    for k, panel in enumerate(panels):
        shown = [limit for limit in limits if limit.quantity == panel.quantity]
        ends = above + k * each, above + (k + 1) * each
        _Room(canvas, style, axis, against, panel, traces, shown, *ends, scaled_to).draw()
    axis.draw_names(canvas, style, height - 0.4 * style.text)
    return canvas.to_svg()


@dataclass(frozen=True)
class _Room:
    """One panel on its stretch of the canvas."""

    canvas: Canvas
    style: Style
    axis: Axis
    against: Against
    panel: Panel
    traces: Sequence[Trace]
    limits: Sequence[LimitMark]
    upper: float
    lower: float
    scaled_to: Sequence[Trace] = ()

    def draw(self) -> None:
        style, top = self.style, self.upper + 1.75 * self.style.text
        bottom = self.lower - 0.35 * style.text
        vertical = self._scale(top, bottom)
        at = (self.axis.left, self.upper + 1.15 * style.text)
        words = self._title(at[0])
        title = box_at(at, words, 1.05 * style.text)
        self.canvas.open_group(
            "panel",
            quantity=self.panel.quantity,
            along=self.against,
            **self.axis.data(),
            **vertical.data(),
            top=self.upper + 0.5 * style.text,
            value_x=title.right + 0.5 * style.text,
            value_y=at[1],
        )
        self.axis.draw_verticals(self.canvas, style, top - 0.4 * style.text, bottom)
        self.canvas.text(at, words, size=style.text, color=style.palette.ink, weight=600)
        self._draw_ticks(vertical)
        self._draw_level(vertical)
        kept = title._replace(right=title.right + style.reading * style.text)
        self._draw_traces(vertical, kept)
        self.canvas.close_group()

    def _title(self, left: float) -> str:
        """Without what stands in parentheses where there is no room for it and for the cursor's values."""
        full, room = self.panel.title, self.canvas.width - left - self.style.reading * self.style.text
        fits = text_width(full, 1.05 * self.style.text) <= room
        return full if fits else full.split(" (", maxsplit=1)[0]

    def _values(self, trace: Trace) -> Floats:
        return trace.values[self.panel.quantity]

    def _shown(self) -> tuple[float, float]:
        """The range of the values, and a little air."""
        known = [] if self.panel.level is None else [self.panel.level]
        known += [end for limit in self.limits for end in (limit.low, limit.high) if end is not None]
        every = [*self.traces, *self.scaled_to]
        shown = [trace for trace in every if self.panel.quantity in trace.values]
        low = min([*known, *(float(self._values(trace).min()) for trace in shown)])
        high = max([*known, *(float(self._values(trace).max()) for trace in shown)])
        return padded(low, high, least=self.panel.least, share=0.04)

    def _scale(self, top: float, bottom: float) -> Scale:
        low, high = self._shown()
        # Numbers over the highest values stand on the title's line; those below the lowest need room.
        room = 0.7 * self.style.text / max(bottom - top, 1.0) * (high - low)
        return Scale(low - room, high, bottom, top)

    def _draw_ticks(self, vertical: Scale) -> None:
        style, x = self.style, self.axis.left
        low, high = self._shown()
        most = max(1, int(abs(vertical(high) - vertical(low)) / (1.1 * style.text)))
        step = nice_step(high - low, most=min(4, most))
        for value in ticks(low, high, step=step):
            y = vertical(value)
            self.canvas.line((x - 0.3 * style.text, y), (x, y), color=style.palette.soft, width=1.0)
            self.canvas.text(
                (x - 0.5 * style.text, y + 0.33 * style.text),
                self._number(value, decimals=1 if self.panel.least < 2.0 else 0),
                size=style.text,
                color=style.palette.soft,
                anchor="end",
            )

    def _number(self, value: float, *, decimals: int) -> str:
        sign = (
            "+"
            if self.panel.signed and round(value, decimals) > 0
            else MINUS
            if round(value, decimals) < 0
            else ""
        )
        return f"{sign}{abs(value):,.{decimals}f}{self.panel.suffix}"

    def _draw_level(self, vertical: Scale) -> None:
        if self.panel.level is None:
            return
        y, style = vertical(self.panel.level), self.style
        self.canvas.line((self.axis.left, y), (self.axis.right, y), color=style.palette.ink, width=1.2)
        at = (self.axis.right + 0.3 * style.text, y + 0.3 * style.text)
        self.canvas.text(at, self.panel.level_name, size=style.text, color=style.palette.ink)

    def _draw_traces(self, vertical: Scale, title: Box) -> None:
        style = self.style
        alone = all(trace.role == "plan" for trace in self.traces)
        shown = self._distinct()
        lines = [self._points(trace, vertical) for trace in shown]
        labels: list[Label] = []
        for trace, line in zip(shown, lines, strict=True):
            self._draw_doubt(trace, line, vertical)
            draw_line(self.canvas, thinned(line), trace, style, alone=alone)
            if alone or trace.role == "flown":
                labels += self._draw_marks(trace, vertical, alone=alone)
        if self.panel.level is not None:
            y = vertical(self.panel.level)
            lines.append([(self.axis.left, y), (self.axis.right, y)])
        labels = _sided(labels, near=2.0 * style.text)
        brackets, numbers = self._draw_limits(vertical)
        lines += brackets
        labels += numbers
        frame = Box(self.axis.left, self.upper, self.axis.right, self.lower)
        write(self.canvas, place(labels, size=style.text, frame=frame, lines=lines, taken=[title]), style)

    def _distinct(self) -> Sequence[Trace]:
        """Over time no part lies on another."""
        known = [trace for trace in self.traces if self.panel.quantity in trace.values]
        return known if self.against == "time" else distinct(known, self.panel.quantity)

    def _points(self, trace: Trace, vertical: Scale) -> list[XY]:
        return path(self.axis.scale.all(trace.along(self.against)), vertical.all(self._values(trace)))

    def _draw_limits(self, vertical: Scale) -> tuple[list[list[XY]], list[Label]]:
        """Brackets a little beyond the place where each limit applies; their numbers find room around."""
        style = self.style
        drawn: list[list[XY]] = []
        labels: list[Label] = []
        for limit in self.limits:
            place_of = limit.heading_change_deg if self.against == "heading" else limit.time_s
            x = min(self.axis.scale(place_of) + 0.7 * style.text, self.axis.right)
            low, high = (None if end is None else vertical(end) for end in (limit.low, limit.high))
            at = draw_upright(self.canvas, style, x, (low, high), (vertical.start, vertical.end))
            drawn.append([(x, vertical.start if low is None else low), (x, at[1])])
            labels.append(Label(at, limit.said, style.palette.ink, gap=0.5 * style.text))
        return drawn, labels

    def _draw_doubt(self, trace: Trace, line: Sequence[XY], vertical: Scale) -> None:
        name, color = self.panel.quantity, self.style.palette.chalk(trace.chalk or trace.part)
        if name in trace.sds:
            reaches = vertical.lengths(DOUBT * trace.sds[name])
            draw_band(self.canvas, line, reaches, color, wider_than=self.style.flown)
        if name in trace.samples:
            rows = trace.samples[name]
            xs = self.axis.scale.all(rows.along(self.against))
            draw_samples(self.canvas, xs, vertical.all(rows.values), color, self.style)

    def _draw_marks(self, trace: Trace, vertical: Scale, *, alone: bool) -> list[Label]:
        color = color_of(trace, self.style, alone=alone)
        labels: list[Label] = []
        for mark in trace.marks:
            value = self._value_at(trace, mark)
            place_of = mark.heading_change_deg if self.against == "heading" else mark.time_s
            at = (self.axis.scale(place_of), vertical(value))
            draw_point(self.canvas, at, color, self.style)
            label = Label(
                at, self._number(value, decimals=self.panel.decimals), color, gap=0.7 * self.style.text
            )
            if mark.told and self.panel.told and not self._repeats(label, labels):
                labels.append(label)
        return labels

    def _value_at(self, trace: Trace, mark: Mark) -> float:
        """As it was reported at the point; what is not reported there is read off the line."""
        name = self.panel.quantity
        if name in mark.values:
            return mark.values[name]
        return float(np.interp(mark.time_s, trace.time_s, self._values(trace)))

    def _repeats(self, label: Label, before: Sequence[Label]) -> bool:
        """Whether the same number stands close by already."""
        near = 4.0 * self.style.text
        return any(label.text == other.text and label.at[0] - other.at[0] < near for other in before[-1:])


def _sided(labels: Sequence[Label], *, near: float) -> list[Label]:
    """Where two points stand one over the other, the upper one's number above and the lower one's below."""
    found = []
    for label in labels:
        others = [other for other in labels if other is not label and abs(other.at[0] - label.at[0]) < near]
        above = sum(other.at[1] < label.at[1] for other in others)
        below = len(others) - above
        found.append(replace(label, prefer=0.0 if above == below else (1.0 if above > below else -1.0)))
    return found
