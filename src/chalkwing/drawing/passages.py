"""What lies along the profiles, in rows above them: stretches flown so, and marks made in flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.frames import Axis
from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import Canvas

_ROW, _AIR = 1.25, 0.35
"""Height of a row, and the air under the last, in the size of the text."""
_LONGEST = 32
"""Letters of a mark that are written out; the page and the print tell all of it elsewhere."""


@dataclass(frozen=True)
class Passage:
    """A stretch of a row called ``row``, from one place of the axis to another."""

    row: str
    start: float
    end: float


@dataclass(frozen=True)
class Noted:
    """A mark made in flight: its words, and where on the axis."""

    words: str
    at: float


@dataclass(frozen=True)
class Passages:
    """All of one picture; ``points`` are those of the maneuver that are named by words, where they lie."""

    stretches: Sequence[Passage] = ()
    noted: Sequence[Noted] = ()
    points: Sequence[Noted] = ()

    def rows(self) -> tuple[str, ...]:
        """The rows of stretches, in the order in which they come."""
        return tuple(dict.fromkeys(each.row for each in self.stretches))

    def height(self, axis: Axis, style: Style) -> float:
        """How much they take above the panels."""
        texts = [*_laid(self.noted, axis, style), *_laid(self.points, axis, style)]
        count = len(self.rows()) + len(texts)
        return (count * _ROW + _AIR) * style.text if count else 0.0

    def draw(self, canvas: Canvas, style: Style, axis: Axis, bottom: float) -> None:
        """Draw rows from the top of the canvas, and thin verticals from them down to ``bottom``."""
        y = 0.0
        for name in self.rows():
            y += _ROW * style.text
            self._draw_row(canvas, style, axis, name, y, bottom)
        inks = (self.noted, style.palette.ink, "2 4"), (self.points, style.palette.soft, None)
        for noted, color, dash in inks:
            for row in _laid(noted, axis, style):
                y += _ROW * style.text
                for words, x, start in row:
                    line = style.palette.soft if dash else style.palette.grid
                    top = y - 0.8 * style.text
                    canvas.line((x, top), (x, bottom), color=line, width=1.2, dash=dash)
                    canvas.text((start, y), words, size=style.text, color=color, halo=style.palette.ground)

    def _draw_row(self, canvas: Canvas, style: Style, axis: Axis, row: str, y: float, bottom: float) -> None:
        middle, tick = y - 0.33 * style.text, 0.3 * style.text
        canvas.text((0.0, y), row, size=style.text, color=style.palette.soft)
        for each in self.stretches:
            if each.row != row:
                continue
            left, right = axis.scale(each.start), axis.scale(each.end)
            canvas.line((left, middle), (right, middle), color=style.palette.ink, width=2.0)
            for x in (left, right):
                canvas.line((x, middle - tick), (x, middle + tick), color=style.palette.ink, width=1.2)
                canvas.line((x, middle + tick), (x, bottom), color=style.palette.grid, width=1.0)


NOTHING_ALONG = Passages()


def _laid(noted: Sequence[Noted], axis: Axis, style: Style) -> list[list[tuple[str, float, float]]]:
    """Rows of marks that do not run into each other: words, where, and where the words start."""
    rows: list[list[tuple[str, float, float]]] = []
    ends: list[float] = []
    for each in sorted(noted, key=lambda one: one.at):
        words = each.words if len(each.words) <= _LONGEST else f"{each.words[: _LONGEST - 1].rstrip()}…"
        x, wide, air = axis.scale(each.at), text_width(words, style.text), 0.4 * style.text
        start = x + air if x + air + wide <= axis.right + 3.0 * style.text else max(0.0, x - air - wide)
        row = next((k for k, end in enumerate(ends) if start > end + style.text), len(rows))
        if row == len(rows):
            rows.append([])
            ends.append(0.0)
        rows[row].append((words, x, start))
        ends[row] = max(x, start + wide)
    return rows
