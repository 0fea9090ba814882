"""SVG as text: few elements, rounded numbers, the same bytes for the same picture."""

from __future__ import annotations

from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from chalkwing.drawing.palette import FONT

XY = tuple[float, float]


def number(value: float) -> str:
    """Two decimals at most, no trailing zeros, no negative zero.

    >>> number(3.0), number(-0.001), number(12.3456)
    ('3', '0', '12.35')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class Canvas:
    """A picture in the making, ``width`` by ``height``; y grows downward."""

    def __init__(self, width: float, height: float, *, title: str, ground: str | None = None) -> None:
        self.width = width
        self.height = height
        self._title = title
        self._parts: list[str] = []
        if ground is not None:
            self.rectangle(0, 0, width, height, fill=ground)

    def rectangle(self, x: float, y: float, width: float, height: float, *, fill: str) -> None:
        """A filled rectangle by its upper left corner."""
        self._add("rect", x=x, y=y, width=width, height=height, fill=fill)

    def line(self, a: XY, b: XY, *, color: str, width: float, dash: str | None = None) -> None:
        """A straight line."""
        self._add(
            "line",
            x1=a[0],
            y1=a[1],
            x2=b[0],
            y2=b[1],
            stroke=color,
            stroke_width=width,
            stroke_dasharray=dash,
        )

    def polyline(
        self, points: Sequence[XY], *, color: str, width: float, dash: str | None = None, cap: str = "round"
    ) -> None:
        """A line through points, with round joins."""
        self._add(
            "polyline",
            points=" ".join(f"{number(x)},{number(y)}" for x, y in points),
            fill="none",
            stroke=color,
            stroke_width=width,
            stroke_linejoin="round",
            stroke_linecap=cap,
            stroke_dasharray=dash,
        )

    def polygon(self, points: Sequence[XY], *, fill: str, opacity: float | None = None) -> None:
        """A filled outline."""
        self._add(
            "polygon",
            points=" ".join(f"{number(x)},{number(y)}" for x, y in points),
            fill=fill,
            fill_opacity=opacity,
        )

    def circle(
        self, at: XY, radius: float, *, fill: str, color: str | None = None, width: float | None = None
    ) -> None:
        """A circle."""
        self._add("circle", cx=at[0], cy=at[1], r=radius, fill=fill, stroke=color, stroke_width=width)

    def dots(self, places: Sequence[XY], radius: float, *, fill: str) -> None:
        """Many small dots as one path: strokes of no length with round ends, a tenth of as many circles."""
        self._add(
            "path",
            d="".join(f"M{number(x)},{number(y)}h.01" for x, y in places),
            stroke=fill,
            stroke_width=2.0 * radius,
            stroke_linecap="round",
        )

    def text(
        self,
        at: XY,
        content: str,
        *,
        size: float,
        color: str,
        anchor: str = "start",
        weight: int | None = None,
        halo: str | None = None,
    ) -> None:
        """A line of text whose baseline starts, is centered or ends (``anchor``) at a place.

        ``halo`` is a ground color drawn around the letters, so that a line that passes behind stays apart.
        """
        shared: dict[str, str | float | None] = {
            "x": at[0],
            "y": at[1],
            "font_family": FONT,
            "font_size": size,
            "font_weight": weight,
            "text_anchor": None if anchor == "start" else anchor,
        }
        if halo is not None:
            # Two elements instead of paint-order, which not every renderer of SVG for print knows.
            self._add(
                "text",
                content,
                **shared,
                fill=halo,
                stroke=halo,
                stroke_width=0.22 * size,
                stroke_linejoin="round",
            )
        self._add("text", content, **shared, fill=color)

    def open_group(self, kind: str, **data: str | float) -> None:
        """Begin a part that a page's script finds by ``kind``, with what it needs to know of it."""
        written = "".join(
            f" data-{name.replace('_', '-')}={quoteattr(value if isinstance(value, str) else number(value))}"
            for name, value in data.items()
        )
        self._parts.append(f"<g class={quoteattr(kind)}{written}>")

    def close_group(self) -> None:
        """End the part begun last."""
        self._parts.append("</g>")

    def _add(self, tag: str, content: str | None = None, **attributes: str | float | None) -> None:
        written = "".join(
            f" {name.replace('_', '-')}={quoteattr(value if isinstance(value, str) else number(value))}"
            for name, value in attributes.items()
            if value is not None
        )
        self._parts.append(
            f"<{tag}{written}/>" if content is None else f"<{tag}{written}>{escape(content)}</{tag}>"
        )

    def to_svg(self) -> str:
        """The picture as a document of its own."""
        width, height = number(self.width), number(self.height)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
            f'viewBox="0 0 {width} {height}" role="img" aria-label={quoteattr(self._title)}>'
        )
        return "\n".join([head, *self._parts, "</svg>\n"])
