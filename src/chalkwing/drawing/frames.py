"""The axis that the nose path and all profiles share, so that the eye drops straight down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale, nice_step, ticks
from chalkwing.drawing.svg import Canvas

_CLOSEST = 0.08
"""Marks nearer than this share of the axis share a name."""
_NAMES_LEFT, _NAMES_RIGHT = "+1000", "entry"


@dataclass(frozen=True)
class Axis:
    """Heading change or time over the width of a picture; ``marks`` are where the thin verticals stand."""

    scale: Scale
    marks: tuple[float, ...]
    left: float
    right: float
    suffix: str = "°"

    def draw_verticals(self, canvas: Canvas, style: Style, top: float, bottom: float) -> None:
        """The thin verticals at the points."""
        for mark in self.marks:
            x = self.scale(mark)
            canvas.line((x, top), (x, bottom), color=style.palette.grid, width=1.0)

    def data(self) -> dict[str, float]:
        """Where values lie, for a page's script."""
        scale = self.scale
        return {"x_low": scale.low, "x_high": scale.high, "x_start": scale.start, "x_end": scale.end}

    def draw_names(self, canvas: Canvas, style: Style, baseline: float) -> None:
        """The headings below."""
        for mark in self.marks:
            canvas.text(
                (self.scale(mark), baseline),
                f"{mark:.0f}{self.suffix}",
                size=style.text,
                color=style.palette.soft,
                anchor="middle",
            )


def _apart(marks: Sequence[float], span_deg: float) -> tuple[float, ...]:
    """Both ends, and the marks between that stand far enough apart to be named."""
    kept = [0.0, span_deg]
    for mark in marks:
        if all(abs(mark - other) > _CLOSEST * span_deg for other in kept):
            kept.append(float(mark))
    return tuple(sorted(kept))


def heading_axis(
    width: float,
    style: Style,
    *,
    span_deg: float,
    marks: Sequence[float],
    reach: tuple[float, float] | None = None,
) -> Axis:
    """The axis from entry to ``span_deg``, with room for names on both sides.

    ``reach`` is how far lines run beyond either end [deg]: flown turns stop short or late.
    """
    low, high = reach or (0.0, span_deg)
    kept = _apart(sorted(mark for mark in marks if 0.0 <= mark <= span_deg), span_deg)
    return _axis(width, style, reach=(min(low, 0.0), max(high, span_deg)), marks=kept, suffix="°")


def time_axis(width: float, style: Style, *, span_s: float) -> Axis:
    """The axis over time from 0, named at round seconds, with the same room at its sides."""
    step = nice_step(span_s, most=6)
    marks = tuple(ticks(0.0, span_s, step=step))
    return _axis(width, style, reach=(0.0, span_s), marks=marks, suffix=" s")


def _axis(
    width: float, style: Style, *, reach: tuple[float, float], marks: tuple[float, ...], suffix: str
) -> Axis:
    left = text_width(_NAMES_LEFT, style.text) + 0.9 * style.text
    right = width - text_width(_NAMES_RIGHT, style.text) - 1.1 * style.text
    inset = 0.5 * style.text
    return Axis(Scale(*reach, left + inset, right - inset), marks, left, right, suffix)
