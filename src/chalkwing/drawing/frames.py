"""The heading axis that the nose path and all profiles share, so that the eye drops straight down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.scales import Scale
from chalkwing.drawing.svg import Canvas

_CLOSEST = 0.08
"""Marks nearer than this share of the axis share a name."""
_NAMES_LEFT, _NAMES_RIGHT = "+1000", "entry"


@dataclass(frozen=True)
class HeadingAxis:
    """Heading change over the width of a picture; ``marks`` are where the thin verticals stand [deg]."""

    scale: Scale
    marks: tuple[float, ...]
    left: float
    right: float

    def draw_verticals(self, canvas: Canvas, style: Style, top: float, bottom: float) -> None:
        """The thin verticals at the points."""
        for mark in self.marks:
            x = self.scale(mark)
            canvas.line((x, top), (x, bottom), color=style.palette.grid, width=1.0)

    def draw_names(self, canvas: Canvas, style: Style, baseline: float) -> None:
        """The headings below."""
        for mark in self.marks:
            canvas.text(
                (self.scale(mark), baseline),
                f"{mark:.0f}°",
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


def heading_axis(width: float, style: Style, *, span_deg: float, marks: Sequence[float]) -> HeadingAxis:
    """The axis from entry to ``span_deg``, with room for names on both sides."""
    left = text_width(_NAMES_LEFT, style.text) + 0.9 * style.text
    right = width - text_width(_NAMES_RIGHT, style.text) - 1.1 * style.text
    shown = _apart(sorted(marks), span_deg)
    inset = 0.5 * style.text
    return HeadingAxis(Scale(0.0, span_deg, left + inset, right - inset), shown, left, right)
