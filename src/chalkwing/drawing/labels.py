"""Labels that keep clear of lines and of each other: the best of a few places around each point."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.drawing.letters import text_width
from chalkwing.drawing.svg import XY
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


@dataclass(frozen=True)
class Box:
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
    dots = np.array([dot for line in lines for dot in _dots(line, 0.3 * size)]).reshape(-1, 2)
    boxes = [*taken, *(Box(x - g, y - g, x + g, y + g) for (x, y), g in _points(labels))]
    placed: list[Placed] = []
    for label in labels:
        near = _near(dots, label, size)
        candidates = [
            (_cost(box_at(start, label.text, size), size, frame, near, boxes) + dislike, start)
            for start, dislike in _candidates(label, size)
        ]
        start = min(candidates)[1]
        box = box_at(start, label.text, size)
        boxes.append(Box(box.left - _AIR * size, box.top, box.right + _AIR * size, box.bottom))
        placed.append(Placed(label, start, box))
    return placed


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


def _cost(box: Box, size: float, frame: Box, dots: Floats, boxes: Sequence[Box]) -> float:
    """Rough areas covered, in squares of the text's size; far outside the frame never pays."""
    square = size * size
    covered = sum(box.overlap(other) for other in boxes) / square
    low, high = np.array((box.left, box.top)), np.array((box.right, box.bottom))
    crossed = int(np.count_nonzero(((dots >= low) & (dots <= high)).all(axis=1)))
    touched = 1.5 if covered > 0.0 else 0.0
    return touched + 6.0 * covered + 1.2 * crossed + 20.0 * box.outside(frame) / size


def _dots(line: Sequence[XY], spacing: float) -> list[XY]:
    """Places along a line, about ``spacing`` apart."""
    found: list[XY] = []
    for (x0, y0), (x1, y1) in itertools.pairwise(line):
        count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / spacing))
        found += [(x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count) for k in range(count)]
    return [*found, line[-1]] if line else found
