"""The flight's story on one strip: altitude against time, the maneuvers as numbered, named spans."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chalkwing.drawing.labels import Box, Label, place, write
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, padded, ticks
from chalkwing.drawing.strokes import path, thinned
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.views.story import Passage, Span, Story

_ROW = 1.6
"""Height of a row under the clock, in sizes of text."""
_LONGEST_MARK = 18
_STEPS_S = (30.0, 60.0, 120.0, 300.0, 600.0, 900.0, 1800.0, 3600.0, 7200.0)


def story_strip(story: Story, *, size: tuple[float, float], style: Style) -> str:
    """The picture as SVG: a line in the first chalk where a maneuver was found, in soft ink elsewhere.

    Each span's name stands at its highest place; where there is no room its number alone. A mark made in
    flight is a diamond on the line. Under the clock run the phases of the flight, and whose each stretch was.
    """
    width, height = size
    canvas = Canvas(width, height, title="The flight: altitude against time, with the maneuvers found")
    top = 3.4 * style.text
    bottom = (
        height - (2.8 if story.phases else 1.7) * style.text - (_ROW * style.text if story.people else 0.0)
    )
    left, right = text_width("10,000", style.text) + 0.9 * style.text, width - 0.4 * style.text
    across, up = _scales(story, left, right, top, bottom)
    canvas.open_group(
        "story",
        x_low=across.low, x_high=across.high, x_start=across.start, x_end=across.end, **up.data(),
    )  # fmt: skip
    _draw_ticks(canvas, style, story, across, up, bottom)
    _draw_phases(canvas, style, story, across, bottom)
    if story.people:
        _draw_people(canvas, style, story.people, across, height - _ROW * style.text)
    lines: list[list[XY]] = []
    labels: list[Label] = []
    for time, altitude in story.flights:
        line = path(across.all(time), up.all(altitude))
        lines.append(line)
        canvas.polyline(thinned(line, 700), color=style.palette.soft, width=0.6 * style.flown)
        for span in story.spans:
            inside = [
                at
                for at, when in zip(line, time, strict=True)
                if span.start_s - 2.0 <= when <= span.end_s + 2.0
            ]
            if len(inside) > 1:
                canvas.polyline(inside, color=style.palette.first, width=style.flown)
                labels.append(_label(span, inside, style))
    marks = [] if not lines else _draw_marks(canvas, style, story, across, up)
    frame = Box(left, 0.2 * style.text, width, bottom)
    named = [*_named(labels, style), *marks]
    write(canvas, place(named, size=style.text, frame=frame, lines=lines), style)
    canvas.close_group()
    return canvas.to_svg()


def _scales(story: Story, left: float, right: float, top: float, bottom: float) -> tuple[Scale, Scale]:
    times = [edge for time, _ in story.flights for edge in (float(time[0]), float(time[-1]))]
    lows = [float(altitude.min()) for _, altitude in story.flights]
    highs = [float(altitude.max()) for _, altitude in story.flights]
    low, high = padded(min(lows), max(highs), least=400.0, share=0.05)
    return Scale(min(times), max(max(times), min(times) + 1.0), left, right), Scale(low, high, bottom, top)


def _draw_ticks(canvas: Canvas, style: Style, story: Story, across: Scale, up: Scale, bottom: float) -> None:
    text, soft = style.text, style.palette.soft
    for value in ticks(up.low, up.high, step=nice_step(up.high - up.low, most=4)):
        y = up(value)
        canvas.line((across.start, y), (across.end, y), color=style.palette.grid, width=1.0)
        at = (across.start - 0.4 * text, y + 0.33 * text)
        canvas.text(at, f"{value:,.0f}", size=text, color=soft, anchor="end")
    canvas.text((0.0, up.end - 1.0 * text), "ft", size=text, color=soft)
    most = max(2.0, (across.end - across.start) / (4.2 * text))
    span = across.high - across.low
    # A clock is told to the minute: shorter steps would tell the same time twice.
    shortest = 60.0 if story.start_utc else _STEPS_S[0]
    step = next((each for each in _STEPS_S if each >= shortest and span / each <= most), _STEPS_S[-1])
    for value in ticks(across.low, across.high, step=step):
        x = across(value)
        under = bottom + (1.1 * text if story.phases else 0.0)
        canvas.line((x, under), (x, under + 0.3 * text), color=soft, width=1.0)
        anchor = "end" if x > across.end - 2.0 * text else "middle"
        at = (x, under + 1.35 * text)
        canvas.text(at, story.clock(value), size=text, color=soft, anchor=anchor)


def _draw_phases(canvas: Canvas, style: Style, story: Story, across: Scale, bottom: float) -> None:
    """Under the line, above the clock: the phases that are long enough for their name."""
    text, soft = style.text, style.palette.soft
    for phase in story.phases:
        left, right = across(phase.start_s), across(phase.end_s)
        if text_width(phase.said, text) + 0.5 * text <= right - left:
            canvas.line((left, bottom), (left, bottom + 1.1 * text), color=soft, width=0.8)
            canvas.text((left + 0.3 * text, bottom + 1.0 * text), phase.said, size=text, color=soft)


def _draw_marks(canvas: Canvas, style: Style, story: Story, across: Scale, up: Scale) -> list[Label]:
    """A diamond for each mark made in flight, and what was marked."""
    labels, size = [], 0.36 * style.text
    for mark in story.marks:
        for time, altitude in story.flights:
            if time[0] <= mark.t_s <= time[-1]:
                x, y = across(mark.t_s), up(float(np.interp(mark.t_s, time, altitude)))
                corners = [(x, y - size), (x + size, y), (x, y + size), (x - size, y), (x, y - size)]
                canvas.polyline(corners, color=style.palette.ink, width=0.5 * style.flown)
                labels.append(Label((x, y), _shortened(mark.text), style.palette.ink, gap=0.7 * style.text))
    return labels


def _shortened(text: str) -> str:
    """A mark on the strip is a word or two; the whole of it stands in the list."""
    return text if len(text) <= _LONGEST_MARK else text[: _LONGEST_MARK - 1].rstrip() + "…"


def _draw_people(canvas: Canvas, style: Style, passages: Sequence[Passage], across: Scale, y: float) -> None:
    """Whose part it was: a short line where it begins and where it ends, the names where there is room."""
    text, soft = style.text, style.palette.soft
    for each in passages:
        start, end = (min(max(across(t), across.start), across.end) for t in (each.start_s, each.end_s))
        for x in (start, end):
            canvas.line((x, y + 0.3 * text), (x, y + 1.3 * text), color=soft, width=0.8)
        if text_width(each.said, text) + 0.5 * text < end - start:
            canvas.text((start + 0.3 * text, y + 1.2 * text), each.said, size=text, color=soft)


def _label(span: Span, inside: Sequence[XY], style: Style) -> Label:
    highest = min(inside, key=lambda at: at[1])
    return Label(highest, f"{span.number} {span.title}", style.palette.first, gap=0.6 * style.text)


def _named(labels: Sequence[Label], style: Style) -> list[Label]:
    """Names where neighbors leave room for them, else numbers."""
    kept = []
    for k, label in enumerate(labels):
        others = [other.at[0] for j, other in enumerate(labels) if j != k]
        room = min((abs(label.at[0] - x) for x in others), default=1e9)
        short = room < 0.62 * text_width(label.text, style.text)
        text = label.text.split(" ", maxsplit=1)[0] if short else label.text
        kept.append(Label(label.at, text, label.color, label.gap))
    return kept
