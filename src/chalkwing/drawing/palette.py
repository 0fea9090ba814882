"""Paper and slate: the two grounds, and the two chalks on each."""

from __future__ import annotations

from dataclasses import dataclass

FONT = "Source Sans Pro"
"""The one family, by name; page and paper both bring it along. Its figures are tabular."""


@dataclass(frozen=True)
class Palette:
    """Colors of one ground. ``first`` and ``second`` are the chalks of the first and the second half."""

    name: str
    ground: str
    ink: str
    soft: str
    grid: str
    first: str
    second: str

    def chalk(self, part: int) -> str:
        """The chalk of a part counted from 1: odd parts take the first, even ones the second."""
        return self.first if part % 2 else self.second


PAPER = Palette("paper", "#FBF8F1", "#1E2A32", "#566067", "#E4DED0", "#0B6E8A", "#B4531A")
SLATE = Palette("slate", "#20292E", "#F3EFE4", "#AEB7B9", "#35424A", "#7FD1E6", "#F2B27A")
PRINT = Palette("print", "#FFFFFF", PAPER.ink, PAPER.soft, "#D8D3C6", PAPER.first, PAPER.second)
"""Paper, on a sheet that is white already: a printed tint would only cost ink and legibility."""

PAGE = Palette(
    "page",
    "var(--ground)",
    "var(--ink)",
    "var(--soft)",
    "var(--grid)",
    "var(--first)",
    "var(--second)",
)
"""Whatever the page is: its style sheet gives the colors of paper or of slate."""


@dataclass(frozen=True)
class Style:
    """How large a picture's text is and how thick its lines are, in the units of the picture (CSS pixels).

    ``text`` is the one size of labels; titles are a quarter larger. A page takes 16; on paper a picture is
    drawn at the size at which it is printed, so that its letters are as large as the text around it.
    ``doubled`` makes every second half a double line, which tells it apart without color. ``reading`` is the
    room kept free after a panel's title for the values at a page's cursor, in the size of the text.
    """

    palette: Palette = PAPER
    text: float = 16.0
    flown: float = 3.0
    plan: float = 1.8
    doubled: bool = True
    reading: float = 0.0

    @property
    def title(self) -> float:
        """Size of a picture's name."""
        return 1.25 * self.text


ON_PAGE = Style(PAGE, doubled=False, reading=7.5)
"""For pictures on a screen, where the two chalks are seen: letters of 16 px at the picture's own size."""
ON_PAPER = Style(PRINT, text=11.5, flown=2.2, plan=1.5)
"""For pictures printed at their own size: 11.5 px is 8.6 points."""
