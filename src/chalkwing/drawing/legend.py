"""The key of a picture: which line is which, in words beside a short piece of the line itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.labels import Box
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.strokes import draw_line
from chalkwing.drawing.svg import Canvas
from chalkwing.views.traces import Trace

_PIECE, _GAP, _BETWEEN = 1.9, 0.45, 1.1
"""Lengths in the size of the text: of the piece of line, to its word, to the next."""


@dataclass(frozen=True)
class Key:
    """One word of the legend, and a trace drawn the way that its line is."""

    word: str
    trace: Trace


def keys_of(traces: Sequence[Trace]) -> list[Key]:
    """Flown first, by name or part by part, then the plan; of plans alone those that have names."""
    flown = [trace for trace in traces if trace.role == "flown"]
    planned = [trace for trace in traces if trace.role == "plan"]
    if not flown:
        names = {trace.name: trace for trace in reversed(planned) if trace.name}
        return [Key(name, trace) for name, trace in sorted(names.items(), key=lambda each: each[1].chalk)]
    named = {trace.name: trace for trace in reversed(flown) if trace.name}
    if named:
        keys = [Key(name, trace) for name, trace in sorted(named.items(), key=lambda each: each[1].chalk)]
        return [*keys, *(Key("plan", trace) for trace in planned[:1])]
    words = ["flown"] if len(flown) == 1 else ["first half", "second half"]
    if len(flown) > 2:
        words = ["odd turns", "even turns"]
    keys = [Key(word, trace) for word, trace in zip(words, flown, strict=False)]
    return [*keys, *(Key("plan", trace) for trace in planned[:1])]


def legend_width(keys: Sequence[Key], style: Style) -> float:
    """How wide the legend is in one row."""
    each = [_PIECE * style.text + _GAP * style.text + text_width(key.word, style.text) for key in keys]
    return sum(each) + _BETWEEN * style.text * max(0, len(keys) - 1)


def draw_legend(canvas: Canvas, style: Style, keys: Sequence[Key], left: float, baseline: float) -> Box:
    """The legend in one row from ``left``."""
    x, y = left, baseline - 0.32 * style.text
    for key in keys:
        piece = [(x, y), (x + _PIECE * style.text, y)]
        draw_line(canvas, piece, key.trace, style, alone=False)
        x += (_PIECE + _GAP) * style.text
        canvas.text((x, baseline), key.word, size=style.text, color=style.palette.ink)
        x += text_width(key.word, style.text) + _BETWEEN * style.text
    return Box(left, baseline - style.text, x, baseline + 0.3 * style.text)
