"""Sizes of paper: one way from a sheet and its margin to the width that pictures may take."""

from __future__ import annotations

from dataclasses import dataclass

MILLIMETER = 96.0 / 25.4
"""CSS px."""

A4 = (210.0, 297.0)
A5 = (148.0, 210.0)
LETTER = (215.9, 279.4)
HALF_LETTER = (139.7, 215.9)
"""Width and height [mm]: ISO 216, and 8.5 by 11 inches, whole and halved."""


@dataclass(frozen=True, kw_only=True)
class PaperSize:
    """A sheet, as (width, height), and its margin [mm]."""

    size: tuple[float, float]
    margin: float

    @property
    def inner(self) -> float:
        """Width between the margins [CSS px].

        >>> round(PaperSize(size=A4, margin=12.0).inner, 1)
        703.0
        """
        return (self.size[0] - 2.0 * self.margin) * MILLIMETER

    def plain(self) -> dict[str, float]:
        """What a template asks of its paper [mm]."""
        width, height = self.size
        return {"width": width, "height": height, "margin": self.margin}
