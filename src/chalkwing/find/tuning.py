"""The only numbers of the finder that were chosen by looking at flights, all in one place.

Everything else comes from the definitions or from the description of ordinary flying in ``background.py``.
How each was chosen, and how the result moves when it is changed by half, is in ``docs/accuracy.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.units import DEGREE


@dataclass(frozen=True)
class Tuning:
    """Nine scalars; angles [rad], times [s], the rest without unit."""

    turn_bank: float = 8.0 * DEGREE
    """Bank that a stretch must reach once to be a turn at all."""
    level_bank: float = 3.0 * DEGREE
    """Bank under which the wings are level: a turn lasts while bank stays above it on one side."""
    bridge: float = 4.0
    """Longest time of level wings that is a roughness in a turn, or a slow roll into the opposite one."""
    dwell: float = 13.0
    """Usual time of seemingly level wings between two parts: longer ones count against them."""
    softness: float = 0.25
    """How far the borders of a definition's ranges are blurred, in parts of ordinary flying's spread."""
    surprise: float = 0.03
    """Probability left for a value outside a range: how forgiving the finder is to one bad leg."""
    rarity: float = 6.0
    """Log odds against any one turn being a maneuver, before looking at it."""
    abandoned: float = 2.5
    """Further log odds against a maneuver that was begun and not finished."""
    temper: float = 1.0
    """Weight of the evidence: legs are not independent of each other, so their odds count only in part."""


DEFAULT = Tuning()
