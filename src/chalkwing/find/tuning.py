"""The finder's own numbers that a study may change in one call, chosen by looking at flights.

Others stand where they are used; ``docs/accuracy.md`` lists them all, with how the result moves when each is
changed by half. The rest comes from the definitions and from ordinary flying as ``background.py`` has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.units import DEGREE


@dataclass(frozen=True)
class Tuning:
    """Ten scalars; angles [rad], times [s], the rest without unit."""

    turn_bank: float = 8.0 * DEGREE
    """Bank that a stretch must reach once to be a turn at all."""
    level_bank: float = 3.0 * DEGREE
    """Bank under which the wings are level: a turn lasts while bank stays above it on one side."""
    bridge: float = 4.0
    """Longest time of level wings that is a roughness in a turn, or a slow roll into the opposite one."""
    dwell: float = 15.0
    """Usual time of seemingly level wings between two parts: longer ones count against them."""
    softness: float = 0.25
    """How far the borders of a definition's ranges are blurred, in parts of ordinary flying's spread."""
    surprise: float = 0.04
    """Probability left for a value outside a range: how forgiving the finder is to one bad leg."""
    rarity: float = 7.0
    """Log odds against any one turn being a maneuver, before looking at it."""
    spell_rarity: float = 6.0
    """The same for a stretch laid between two instants at which something happened."""
    usual_rate: float = 1.6
    """Maneuvers per hour for which these two odds hold; a lesson holds more, ordinary flying less."""
    abandoned: float = 2.5
    """Further log odds against a maneuver that was begun and not finished."""

    @property
    def failure(self) -> float:
        """What one thing flown unlike the definition counts [log odds, below 0]."""
        return float(np.log(self.surprise))


DEFAULT = Tuning()
