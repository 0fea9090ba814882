"""The nose path: pitch from level-flight attitude against heading change from entry.

The first half runs left to right, the second back right to left, so that a lazy eight is an eight lying on
its side, as the nose draws it on the horizon.
"""

from __future__ import annotations

from collections.abc import Sequence

from chalkwing.drawing.brackets import draw_lying
from chalkwing.drawing.frames import Axis, heading_axis
from chalkwing.drawing.labels import Box, Label, box_at, place, write
from chalkwing.drawing.legend import Key, draw_legend, keys_of, legend_width
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, padded, ticks
from chalkwing.drawing.strokes import (
    DOUBT,
    color_of,
    draw_band,
    draw_beads,
    draw_line,
    draw_point,
    draw_samples,
    path,
    thinned,
)
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.views.traces import Mark, Trace
from chalkwing.views.view import LimitMark
from chalkwing.words import MINUS

PITCH = "pitch_from_level_deg"


def nose_path(
    traces: Sequence[Trace],
    *,
    size: tuple[float, float],
    style: Style,
    span_deg: float,
    subtitle: str = "",
    limits: Sequence[LimitMark] = (),
    reach: tuple[float, float] | None = None,
    scaled_to: Sequence[Trace] = (),
) -> str:
    """The picture as SVG.

    Parameters
    ----------
    traces
        Each part, planned or flown, with ``pitch_from_level_deg``; marks carry ``bank_into_turn_deg`` and
        ``airspeed_kt``, the two numbers written beside them.
    size
        Width and height [CSS px].
    span_deg
        How far the heading axis reaches: 180 for an eight or a chandelle, 360 for a steep turn.
    limits
        Of these, those of headings are drawn: brackets on the level line.
    reach
        From where to where flown lines run on the heading axis [deg].
    scaled_to
        Traces that the pitch axis has room for too, where pictures stand beside each other.
    """
    width, height = size
    canvas = Canvas(width, height, title="Nose path: pitch from level against heading change")
    marks = sorted({_belongs(trace, mark, span_deg) for trace in traces for mark in trace.marks})
    axis = heading_axis(width, style, span_deg=span_deg, marks=marks, reach=reach)
    keys = keys_of(traces)
    wide = _fits_beside(axis, style, keys)
    top, bottom = (2.1 if wide else 3.6) * style.text, height - 2.7 * style.text
    vertical = _pitch_scale([*traces, *scaled_to], top, bottom, style.text)
    taken = _draw_title(canvas, style, axis, subtitle, keys)
    canvas.open_group("panel", quantity=PITCH, along="nose", **axis.data(), **vertical.data(), top=top)
    _draw_ground(canvas, style, axis, vertical, top, bottom)
    taken += _draw_limits(canvas, style, axis, vertical(0.0), limits, traces)
    _draw_traces(canvas, traces, style, axis, vertical, taken)
    canvas.close_group()
    return canvas.to_svg()


def _belongs(trace: Trace, mark: Mark, span_deg: float) -> float:
    """Where a point should lie along the horizon; a part that runs back begins at the far end."""
    return mark.nominal_deg if trace.sense > 0 else span_deg - mark.nominal_deg


def _fits_beside(axis: Axis, style: Style, keys: Sequence[Key]) -> bool:
    """Whether the legend has room on the title's own line."""
    title = text_width("Nose path ", 1.08 * style.title)
    return axis.left + title + style.text + legend_width(keys, style) <= axis.right


def _draw_limits(
    canvas: Canvas,
    style: Style,
    axis: Axis,
    level: float,
    limits: Sequence[LimitMark],
    traces: Sequence[Trace],
) -> list[Box]:
    """The limits of headings: brackets under the level line, where each half should have stopped."""
    taken = []
    for limit in limits:
        flown = [t for t in traces if t.role == "flown" and t.part == (limit.half or 1)]
        if limit.quantity != "heading_change_deg" or not flown or limit.low is None or limit.high is None:
            continue
        low, high = sorted(axis.scale(flown[0].nose_of(end)) for end in (limit.low, limit.high))
        middle = draw_lying(canvas, style, level + 0.55 * style.text, low, high)
        start = (middle[0] - 0.5 * text_width(limit.said, style.text), middle[1] + 1.0 * style.text)
        canvas.text(start, limit.said, size=style.text, color=style.palette.ink)
        told = box_at(start, limit.said, style.text)
        air = 0.4 * style.text
        taken += [
            Box(told.left - air, told.top, told.right + air, told.bottom),
            Box(low, level, high, middle[1]),
        ]
    return taken


def _pitch_scale(traces: Sequence[Trace], top: float, bottom: float, text: float) -> Scale:
    lows = [float(trace.values[PITCH].min()) for trace in traces]
    highs = [float(trace.values[PITCH].max()) for trace in traces]
    low, high = padded(min(0.0, *lows), max(0.0, *highs), least=8.0, share=0.1)
    # Numbers stand under the lowest point and over the highest.
    room = 1.5 * text / (bottom - top) * (high - low)
    return Scale(low - room, high + room, bottom, top)


def _draw_title(canvas: Canvas, style: Style, axis: Axis, subtitle: str, keys: Sequence[Key]) -> list[Box]:
    """Name and legend on one line where they fit, what was flown between them where that fits too."""
    at = (axis.left, 1.15 * style.title)
    canvas.text(at, "Nose path", size=style.title, color=style.palette.ink, weight=600)
    boxes = [box_at(at, "Nose path ", 1.08 * style.title)]
    wide = legend_width(keys, style)
    if keys:
        beside = _fits_beside(axis, style, keys)
        start = axis.right - wide if beside else 0.2 * style.text
        boxes.append(draw_legend(canvas, style, keys, start, at[1] + (0.0 if beside else 1.5 * style.text)))
    left = boxes[0].right + 0.5 * style.text
    room = axis.right - left - (wide + style.text if keys else 0.0)
    if subtitle and text_width(subtitle, style.text) <= room:
        canvas.text((left, at[1]), subtitle, size=style.text, color=style.palette.soft)
        boxes.append(box_at((left, at[1]), subtitle, style.text))
    return boxes


def _draw_ground(
    canvas: Canvas, style: Style, axis: Axis, vertical: Scale, top: float, bottom: float
) -> None:
    axis.draw_verticals(canvas, style, top, bottom)
    axis.draw_names(canvas, style, bottom + 1.15 * style.text)
    canvas.text(
        ((axis.left + axis.right) / 2, canvas.height - 0.35 * style.text),
        "heading change from entry (nose through the air)",
        size=style.text,
        color=style.palette.soft,
        anchor="middle",
    )
    step = nice_step(vertical.high - vertical.low, most=5, steps=(1.0, 2.0, 5.0, 10.0))
    for value in ticks(vertical.low, vertical.high, step=step):
        if value != 0.0 and top <= vertical(value) <= bottom:
            _draw_tick(canvas, style, axis.left, vertical(value), _degrees(value))
    level = vertical(0.0)
    canvas.line((axis.left, level), (axis.right, level), color=style.palette.ink, width=1.4)
    canvas.text(
        (axis.right + 0.3 * style.text, level + 0.3 * style.text),
        "level",
        size=style.text,
        color=style.palette.ink,
    )


def _draw_tick(canvas: Canvas, style: Style, x: float, y: float, text: str) -> None:
    canvas.line((x - 0.3 * style.text, y), (x, y), color=style.palette.soft, width=1.0)
    at = (x - 0.5 * style.text, y + 0.33 * style.text)
    canvas.text(at, text, size=style.text, color=style.palette.soft, anchor="end")


def _degrees(value: float) -> str:
    return f"{'+' if value > 0 else MINUS}{abs(value):g}°"


def _draw_traces(
    canvas: Canvas,
    traces: Sequence[Trace],
    style: Style,
    axis: Axis,
    vertical: Scale,
    taken: Sequence[Box],
) -> None:
    alone = all(trace.role == "plan" for trace in traces)
    lines = [_points(trace, axis, vertical) for trace in traces]
    for trace, line in zip(traces, lines, strict=True):
        _draw_doubt(canvas, trace, line, axis, vertical, style)
        draw_line(canvas, thinned(line), trace, style, alone=alone)
    labels: list[Label] = []
    for trace, line in zip(traces, lines, strict=True):
        draw_beads(canvas, line, trace, style, alone=alone)
        if alone or trace.role == "flown":
            labels += _draw_marks(canvas, trace, style, axis, vertical, alone=alone)
    level = vertical(0.0)
    obstacles = [*lines, [(axis.left, level), (axis.right, level)]]
    frame = Box(axis.left, 0.0, axis.right, canvas.height - 2.6 * style.text)
    merged = _merged(labels, style)
    write(canvas, place(merged, size=style.text, frame=frame, lines=obstacles, taken=taken), style)


def _points(trace: Trace, axis: Axis, vertical: Scale) -> list[XY]:
    return path(axis.scale.all(trace.nose_deg), vertical.all(trace.values[PITCH]))


def _draw_doubt(
    canvas: Canvas, trace: Trace, line: Sequence[XY], axis: Axis, vertical: Scale, style: Style
) -> None:
    color = style.palette.chalk(trace.chalk or trace.part)
    if PITCH in trace.sds:
        reaches = vertical.lengths(DOUBT * trace.sds[PITCH])
        draw_band(canvas, line, reaches, color, wider_than=style.flown)
    if PITCH in trace.samples:
        rows = trace.samples[PITCH]
        xs = [axis.scale(trace.nose_of(float(place))) for place in rows.heading_change_deg]
        draw_samples(canvas, xs, vertical.all(rows.values), color, style)


def _draw_marks(
    canvas: Canvas, trace: Trace, style: Style, axis: Axis, vertical: Scale, *, alone: bool
) -> list[Label]:
    color = color_of(trace, style, alone=alone)
    labels = []
    for mark in trace.marks:
        at = (axis.scale(trace.nose_of(mark.heading_change_deg)), vertical(mark.values[PITCH]))
        draw_point(canvas, at, color, style)
        if mark.told:
            labels.append(Label(at, two_numbers(mark), color, gap=0.75 * style.text))
    return labels


def two_numbers(mark: Mark) -> str:
    """Bank and airspeed, as they stand beside a point."""
    bank = round(mark.values["bank_into_turn_deg"])
    return f"{MINUS if bank < 0 else ''}{abs(bank)}° · {mark.values['airspeed_kt']:.0f} kt"


def _merged(labels: Sequence[Label], style: Style) -> list[Label]:
    """One label where two halves pass one place with the same numbers: in ink, since it is both's."""
    kept: list[Label] = []
    for label in labels:
        twin = next((k for k, other in enumerate(kept) if _same(label, other, style)), None)
        if twin is None:
            kept.append(label)
        else:
            kept[twin] = Label(label.at, label.text, style.palette.ink, label.gap)
    return kept


def _same(one: Label, other: Label, style: Style) -> bool:
    near = max(abs(one.at[0] - other.at[0]), abs(one.at[1] - other.at[1])) < 0.8 * style.text
    return near and one.text == other.text
