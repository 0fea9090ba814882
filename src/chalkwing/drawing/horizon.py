"""The pilot's horizon: the nose of the airplane against the horizon line, as it looks from the seat.

The nose stays where it is; the horizon tilts against the bank and sinks as the nose goes up. Posts stand on
the horizon where the reference headings are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas

FIELD_DEG = 60.0
"""How wide the view is."""
_BELOW_DEG = 4.0
"""How far the top of the nose lies below the horizon in level flight."""
_ROUNDNESS = 14
_TINT = 0.45
"""How much of the grid's color lies below the horizon."""
_WIDEST = 1.5
"""Width of a view over its height at the most."""


@dataclass(frozen=True)
class Glance:
    """One look outside: degrees of bank (right positive), pitch from level and heading change from entry."""

    name: str
    bank_deg: float
    pitch_from_level_deg: float
    nose_deg: float
    part: int = 1


def horizons(
    glances: Sequence[Glance],
    *,
    size: tuple[float, float],
    style: Style,
    posts_deg: Sequence[float],
    plans: Sequence[Glance | None] = (),
) -> str:
    """A row of small views, one a point; where there is a plan its horizon is the dashed line.

    Parameters
    ----------
    posts_deg
        Where posts stand on the horizon: heading changes from the entry [deg].
    """
    width, height = size
    canvas = Canvas(width, height, title="The nose against the horizon at each point")
    gap = 0.7 * style.text
    tall = height - 1.5 * style.text
    each = min((width - gap * (len(glances) - 1)) / max(1, len(glances)), _WIDEST * tall)
    for k, glance in enumerate(glances):
        window = _Window(k * (each + gap), 0.0, each, tall)
        plan = plans[k] if k < len(plans) else None
        _draw_window(canvas, style, window, glance, plan, posts_deg)
        at = (window.left + 0.5 * each, height - 0.35 * style.text)
        canvas.text(at, glance.name, size=style.text, color=style.palette.chalk(glance.part), anchor="middle")
    return canvas.to_svg()


@dataclass(frozen=True)
class _Window:
    left: float
    top: float
    width: float
    height: float

    @property
    def pixel(self) -> float:
        """Pixels a degree."""
        return self.width / FIELD_DEG

    def place(self, across_deg: float, up_deg: float) -> XY:
        """Degrees right of and above the middle of the view."""
        x = self.left + 0.5 * self.width + self.pixel * across_deg
        return x, self.top + 0.5 * self.height - self.pixel * up_deg


def seen(glance: Glance, off_deg: float, above_deg: float = 0.0) -> tuple[float, float]:
    """Where something ``off_deg`` right of the entry heading and ``above_deg`` high is seen from the seat.

    Returns degrees right of and above the middle of the view; small angles, as on a flat picture.

    >>> seen(Glance("level", 0.0, 0.0, 0.0), 10.0)
    (10.0, 0.0)
    """
    bank = math.radians(glance.bank_deg)
    x, y = off_deg - glance.nose_deg, above_deg - glance.pitch_from_level_deg
    return (
        round(x * math.cos(bank) - y * math.sin(bank), 9),
        round(x * math.sin(bank) + y * math.cos(bank), 9),
    )


def _draw_window(
    canvas: Canvas,
    style: Style,
    window: _Window,
    glance: Glance,
    plan: Glance | None,
    posts_deg: Sequence[float],
) -> None:
    color = style.palette.chalk(glance.part)
    if plan is not None:
        _draw_line_of(canvas, window, plan, style.palette.soft, style.plan, "5 3")
    _draw_ground(canvas, style, window, glance)
    _draw_line_of(canvas, window, glance, color, style.flown, None)
    for post in posts_deg:
        foot, head = seen(glance, post), seen(glance, post, 2.6)
        ends = _clipped(window, window.place(*foot), window.place(*head))
        if ends is not None:
            canvas.line(*ends, color=color, width=0.6 * style.flown)
    _draw_nose(canvas, style, window)
    corners = [(window.left, window.top), (window.left + window.width, window.top)]
    corners += [(x, window.top + window.height) for x, _ in reversed(corners)]
    canvas.polyline([*corners, corners[0]], color=style.palette.grid, width=1.0)


def _draw_line_of(
    canvas: Canvas, window: _Window, glance: Glance, color: str, width: float, dash: str | None
) -> None:
    far = 2.0 * FIELD_DEG
    ends = [window.place(*seen(glance, glance.nose_deg + side * far)) for side in (-1.0, 1.0)]
    inside = _clipped(window, ends[0], ends[1])
    if inside is not None:
        canvas.line(*inside, color=color, width=width, dash=dash)


def _draw_ground(canvas: Canvas, style: Style, window: _Window, glance: Glance) -> None:
    """A faint tint of everything below the horizon, cut to the view."""
    far = 2.0 * FIELD_DEG
    corners = [(-far, 0.0), (far, 0.0), (far, -far), (-far, -far)]
    outline = [window.place(*seen(glance, glance.nose_deg + x, y)) for x, y in corners]
    inside = _cut(window, outline)
    if inside:
        canvas.polygon(inside, fill=style.palette.grid, opacity=_TINT)


def _cut(window: _Window, outline: list[XY]) -> list[XY]:
    """What of an outline lies inside the view: edge by edge (Sutherland and Hodgman's way)."""
    right, low = window.left + window.width, window.top + window.height
    for axis, edge, sign in ((0, window.left, 1), (0, right, -1), (1, window.top, 1), (1, low, -1)):
        kept: list[XY] = []
        for a, b in zip(outline, [*outline[1:], *outline[:1]], strict=True):
            inside_a, inside_b = sign * (a[axis] - edge) >= 0, sign * (b[axis] - edge) >= 0
            if inside_a != inside_b:
                share = (edge - a[axis]) / (b[axis] - a[axis])
                kept.append((a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))
            if inside_b:
                kept.append(b)
        outline = kept
    return outline


def _draw_nose(canvas: Canvas, style: Style, window: _Window, *, below: float = 0.0) -> None:
    """The top of the cowling, which stays in the middle, with the mark that pilots keep on the horizon.

    It reaches ``below`` [px] under the view, where that ends with the picture.
    """
    top, half = -_BELOW_DEG, 0.34 * FIELD_DEG
    arch = []
    for k in range(_ROUNDNESS + 1):
        share = -1.0 + 2.0 * k / _ROUNDNESS
        arch.append(window.place(half * share, top - 7.0 * abs(share) ** 2.4))
    floor = window.top + window.height + below
    shown = [(x, min(y, floor)) for x, y in arch]
    canvas.polygon([(shown[0][0], floor), *shown, (shown[-1][0], floor)], fill=style.palette.grid)
    canvas.polyline(shown, color=style.palette.ink, width=1.4)
    canvas.circle(window.place(0.0, 0.0), 0.16 * style.text, fill="none", color=style.palette.ink, width=1.3)


def _clipped(window: _Window, a: XY, b: XY) -> tuple[XY, XY] | None:
    """The piece of a line inside the window (Liang and Barsky's way); None outside it."""
    first, last = 0.0, 1.0
    dx, dy = b[0] - a[0], b[1] - a[1]
    edges = (
        (-dx, a[0] - window.left),
        (dx, window.left + window.width - a[0]),
        (-dy, a[1] - window.top),
        (dy, window.top + window.height - a[1]),
    )
    for step, room in edges:
        if step == 0.0:
            if room < 0.0:
                return None
        elif step < 0.0:
            first = max(first, room / step)
        else:
            last = min(last, room / step)
    if first >= last:
        return None
    return (a[0] + first * dx, a[1] + first * dy), (a[0] + last * dx, a[1] + last * dy)


# --- The fly-through's window -------------------------------------------------------------------------------


def seat_window(
    *, size: tuple[float, float], style: Style, posts: Sequence[tuple[float, str]], reach: tuple[float, float]
) -> str:
    """The view from the seat at the entry, for a page's script to move.

    The group ``world`` holds the horizon with its posts in level flight on the entry heading, ``plan`` the
    plan's horizon; turned by the bank and shifted by pitch and heading (``data-pixel`` px a degree about the
    place ``data-x``, ``data-y``) they show any moment. The nose stays.

    Parameters
    ----------
    posts
        Heading changes [deg, right positive] and the names on their posts.
    reach
        From where to where the horizon runs [deg].
    """
    width, height = size
    canvas = Canvas(width, height, title="From the seat: the nose against the horizon")
    window = _Window(0.0, 0.0, width, height)
    middle = window.place(0.0, 0.0)
    far = FIELD_DEG
    ends = (reach[0] - far, reach[1] + far)
    place = {"x": middle[0], "y": middle[1], "pixel": window.pixel}
    canvas.open_group("seat-plan", **place)
    canvas.line(
        window.place(ends[0], 0.0), window.place(ends[1], 0.0),
        color=style.palette.soft, width=style.plan, dash="6 3.5",
    )  # fmt: skip
    canvas.close_group()
    canvas.open_group("seat-world", **place)
    left, right = window.place(ends[0], 0.0), window.place(ends[1], 0.0)
    deep = 4.0 * height
    below = [left, right, (right[0], right[1] + deep), (left[0], left[1] + deep)]
    canvas.polygon(below, fill=style.palette.grid, opacity=_TINT)
    canvas.line(
        window.place(ends[0], 0.0), window.place(ends[1], 0.0), color=style.palette.first, width=style.flown
    )
    for off, name in posts:
        foot, head = window.place(off, 0.0), window.place(off, 2.2)
        canvas.line(foot, head, color=style.palette.first, width=style.flown)
        at = (head[0], head[1] - 0.4 * style.text)
        canvas.text(at, name, size=style.text, color=style.palette.first, anchor="middle")
    canvas.close_group()
    _draw_nose(canvas, style, window, below=4.0)
    return canvas.to_svg()
