"""Labels that keep clear of lines and of each other: the best of a few places around each point."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from chalkwing.drawing.letters import text_width
from chalkwing.drawing.palette import Style
from chalkwing.drawing.svg import XY, Canvas
from chalkwing.units import Floats

_ASCENT, _DESCENT = 0.72, 0.22
_PLACES: tuple[tuple[float, float, float], ...] = (
    # side (-1 left, 0 middle, 1 right), up or down, penalty for standing less well
    (0.0, -1.0, 0.0),
    (0.0, 1.0, 0.2),
    (1.0, -1.0, 0.1),
    (-1.0, -1.0, 0.1),
    (1.0, 1.0, 0.3),
    (-1.0, 1.0, 0.3),
    (1.0, 0.0, 0.5),
    (-1.0, 0.0, 0.5),
)
_AIR = 0.35
"""Between one label and the next on a line, in the size of the text: numbers that touch read as one."""
_WRONG_SIDE = 4.0
"""Penalty for a number on the side where that of a neighbor belongs."""
_REACHES = (1.0, 1.7, 2.6)


class Box(NamedTuple):
    """A rectangle by its edges; y grows downward."""

    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: Box) -> float:
        """The area that both cover."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return max(0.0, across) * max(0.0, down)

    def outside(self, frame: Box) -> float:
        """How far it sticks out of a frame."""
        return (
            max(0.0, frame.left - self.left)
            + max(0.0, self.right - frame.right)
            + max(0.0, frame.top - self.top)
            + max(0.0, self.bottom - frame.bottom)
        )


@dataclass(frozen=True)
class Label:
    """A text that belongs to a place, at ``gap`` from it; ``prefer`` -1 above it, +1 below, 0 either."""

    at: XY
    text: str
    color: str
    gap: float
    prefer: float = 0.0


@dataclass(frozen=True)
class Placed:
    """Where a label's text starts (its baseline), and the room it takes."""

    label: Label
    start: XY
    box: Box


def box_at(start: XY, text: str, size: float) -> Box:
    """The room of a line of text whose baseline starts at a place."""
    x, y = start
    return Box(x, y - _ASCENT * size, x + text_width(text, size), y + _DESCENT * size)


def place(
    labels: Sequence[Label],
    *,
    size: float,
    frame: Box,
    lines: Sequence[Sequence[XY]] = (),
    taken: Sequence[Box] = (),
) -> list[Placed]:
    """Place each label in turn where it covers least of ``lines``, ``taken`` boxes and labels before."""
    dots = np.concatenate([np.empty((0, 2)), *(_dots(line, 0.3 * size) for line in lines)])
    boxes = [*taken, *(Box(x - g, y - g, x + g, y + g) for (x, y), g in _points(labels))]
    placed: list[Placed] = []
    for label in labels:
        starts, dislikes = zip(*_candidates(label, size), strict=True)
        # As one array: the room of a text is the same wherever it starts.
        tried = np.tile(np.array(starts), 2) + np.array(box_at((0.0, 0.0), label.text, size))
        costs = _costs(tried, size, frame, _near(dots, label, size), _edges(boxes)) + np.array(dislikes)
        start = starts[int(np.argmin(costs))]
        box = box_at(start, label.text, size)
        boxes.append(Box(box.left - _AIR * size, box.top, box.right + _AIR * size, box.bottom))
        placed.append(Placed(label, start, box))
    return placed


def write(canvas: Canvas, placed: Iterable[Placed], style: Style) -> None:
    """Write labels where they were placed, on a halo of the ground's color: a line may pass behind them."""
    for each in placed:
        canvas.text(
            each.start,
            each.label.text,
            size=style.text,
            color=each.label.color,
            halo=style.palette.ground,
        )


def _edges(boxes: Sequence[Box]) -> Floats:
    """Left, top, right and bottom of each, (boxes, 4)."""
    return np.array(boxes).reshape(-1, 4)


def _near(dots: Floats, label: Label, size: float) -> Floats:
    """The dots that some place of this label could cover."""
    reach = (_REACHES[-1] + 1.0) * label.gap + text_width(label.text, size) + size
    near: Floats = dots[np.abs(dots - np.array(label.at)).max(axis=1) <= reach]
    return near


def _points(labels: Sequence[Label]) -> list[tuple[XY, float]]:
    return [(label.at, 0.6 * label.gap) for label in labels]


def _candidates(label: Label, size: float) -> list[tuple[XY, float]]:
    wide = text_width(label.text, size)
    found = []
    for reach in _REACHES:
        for side, up, dislike in _PLACES:
            gap = reach * label.gap
            slanted = gap * (0.75 if side and up else 1.0)
            x = label.at[0] + side * slanted - wide * (0.5 - 0.5 * side)
            middle = {-1.0: -_DESCENT, 0.0: 0.5 * (_ASCENT - _DESCENT), 1.0: _ASCENT}[up] * size
            wrong = _WRONG_SIDE if label.prefer * up < 0.0 else 0.0
            found.append(((x, label.at[1] + up * slanted + middle), dislike + wrong + (reach - 1.0)))
    return found


def _costs(tried: Floats, size: float, frame: Box, dots: Floats, taken: Floats) -> Floats:
    """Rough areas covered by each box tried, in squares of the text's size; leaving the frame never pays."""
    low = np.maximum(tried[:, None, :2], taken[None, :, :2])
    high = np.minimum(tried[:, None, 2:], taken[None, :, 2:])
    covered = np.prod(np.maximum(high - low, 0.0), axis=2).sum(axis=1) / (size * size)
    inside = (dots >= tried[:, None, :2]) & (dots <= tried[:, None, 2:])
    crossed = np.count_nonzero(inside.all(axis=2), axis=1)
    corners = np.array([(frame.left, frame.top)]), np.array([(frame.right, frame.bottom)])
    short = np.maximum(corners[0] - tried[:, :2], 0.0) + np.maximum(tried[:, 2:] - corners[1], 0.0)
    costs: Floats = 1.5 * (covered > 0.0) + 6.0 * covered + 1.2 * crossed + 20.0 * short.sum(axis=1) / size
    return costs


def _dots(line: Sequence[XY], spacing: float) -> Floats:
    """Places along a line, about ``spacing`` apart, (n, 2)."""
    points = np.asarray(line, dtype=float).reshape(-1, 2)
    if len(points) < 2:
        return points
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    count = max(2, math.ceil(along[-1] / spacing) + 1)
    at = np.linspace(0.0, along[-1], count)
    return np.stack([np.interp(at, along, points[:, axis]) for axis in (0, 1)], axis=1)
