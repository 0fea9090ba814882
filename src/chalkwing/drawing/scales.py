"""From values to places: linear scales, and where their ticks lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.units import Floats

_STEPS = (1.0, 2.0, 5.0, 10.0)


@dataclass(frozen=True)
class Scale:
    """The value ``low`` lies at ``start`` on the canvas and ``high`` at ``end``; linear in between."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        """Where a value lies."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)

    def all(self, values: Sequence[float] | Floats) -> list[float]:
        """Where each value lies."""
        found: list[float] = self._places(values).tolist()
        return found

    def lengths(self, values: Sequence[float] | Floats) -> list[float]:
        """How long differences are on the canvas, sign dropped."""
        found: list[float] = np.abs(self._places(values) - self(0.0)).tolist()
        return found

    def _places(self, values: Sequence[float] | Floats) -> Floats:
        share = (np.asarray(values, dtype=float) - self.low) / (self.high - self.low)
        return np.asarray(self.start + share * (self.end - self.start))

    def data(self) -> dict[str, float]:
        """Where values lie, for a page's script; y grows downward."""
        return {"y_low": self.low, "y_high": self.high, "y_start": self.start, "y_end": self.end}


def nice_step(span: float, *, most: int, steps: Sequence[float] = _STEPS) -> float:
    """The smallest round step that divides ``span`` into at most ``most`` parts.

    >>> nice_step(37, most=4), nice_step(300, most=3)
    (10.0, 100.0)
    """
    if not span > 0:
        return 1.0
    rough = span / most
    decade = 10.0 ** math.floor(math.log10(rough))
    return next(step * decade for step in steps if step * decade >= rough * (1 - 1e-9))


def ticks(low: float, high: float, *, step: float) -> list[float]:
    """The multiples of ``step`` from ``low`` to ``high``.

    >>> ticks(-7.0, 12.0, step=5.0)
    [-5.0, 0.0, 5.0, 10.0]
    """
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def padded(low: float, high: float, *, least: float, share: float = 0.08) -> tuple[float, float]:
    """A range around [low, high] with air at both ends, at least ``least`` wide.

    >>> padded(0, 100, least=10)
    (-8.0, 108.0)
    """
    short = max(0.0, least - (high - low)) / 2.0
    low, high = low - short, high + short
    air = share * (high - low)
    return low - air, high + air
