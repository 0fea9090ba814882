"""What one statement about a value is worth, whether it holds or fails: log odds against ordinary flying."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from chalkwing.find.background import share
from chalkwing.find.tuning import Tuning
from chalkwing.units import Floats

_COINCIDENCE = 0.03
"""How often a figure of a whole stretch looks meant when it is not: no single one is worth more than this."""

_ANYHOW = 0.15
"""How often a student begins in a direction that is not the one taught (common practice, no source)."""


def log_gain(
    value: Floats,
    sd: Floats,
    low: Floats | float,
    high: Floats | float,
    usual: Floats | float,
    spread: Floats,
    tuning: Tuning,
) -> Floats:
    """Log odds of a value found with ``sd``, between "in the range" and "as in ordinary flying".

    The value is first drawn toward ordinary flying by its sd, as Bayes' rule wants it: with a logistic
    background a far value is more likely an error of measurement by ``sd**2 / spread``. A value that probably
    lies outside the range must not speak for the maneuver, however rare it is in ordinary flying: the rarity
    of the range counts in full only from an even chance of lying inside.
    """
    drawn = value - sd**2 / spread * np.tanh(0.5 * (value - usual) / spread)
    blur = np.sqrt(sd**2 + (tuning.softness * spread) ** 2)
    inside = ndtr((high - drawn) / blur) - ndtr((low - drawn) / blur)
    often = np.maximum(share(low, high, usual, spread), 1e-6)
    rarity = often ** -np.minimum(2.0 * inside, 1.0)
    return np.asarray(np.log((1.0 - tuning.surprise) * inside * rarity + tuning.surprise))


def told(value: Floats, sd: Floats, low: float, high: float, usual: float, spread: float) -> Floats:
    """Log odds of a value whose sd may be far larger than what it should tell; 0 where it is ``nan``.

    The density of the range against that of ordinary flying, both blurred by the sd: where the sd is large
    the two are the same, and nothing is told. The coincidence of ordinary flying that looks meant, and of
    a maneuver flown badly, keeps it from telling too much either way.
    """
    blur = np.hypot(sd, 0.1 * spread)
    wide = max(high - low, 1e-9)
    meant = (ndtr((high - value) / blur) - ndtr((low - value) / blur)) / wide
    scale = np.hypot(spread, sd * np.sqrt(3.0) / np.pi)
    away = np.exp(-np.abs(value - usual) / scale)
    ordinary = away / (scale * (1.0 + away) ** 2)
    odds = ((1.0 - _COINCIDENCE) * meant + _COINCIDENCE * ordinary) / (
        (1.0 - _COINCIDENCE) * ordinary + _COINCIDENCE * meant
    )
    return np.where(np.isfinite(value), np.log(np.where(np.isfinite(odds), odds, 1.0)), 0.0)


def told_direction(value: Floats, sd: Floats, low: float, high: float) -> Floats:
    """Log odds of a direction [rad], -pi to pi, which ordinary flying takes like any other; 0 for ``nan``.

    `_ANYHOW` keeps it from telling much against: what is flown well may still be begun the wrong way round.
    """
    blur = np.minimum(sd, np.pi)  # as good as anywhere
    each_way = [value - 2.0 * np.pi, value, value + 2.0 * np.pi]
    inside = sum(ndtr((high - one) / blur) - ndtr((low - one) / blur) for one in each_way)
    odds = (1.0 - _ANYHOW) * 2.0 * np.pi * inside / (high - low) + _ANYHOW
    known = np.isfinite(odds)
    return np.where(known, np.log(np.where(known, odds, 1.0)), 0.0)


def holds(value: Floats, sd: Floats, low: float, high: float, tuning: Tuning) -> Floats:
    """Log odds that can only speak against: of a range that says again what legs have said; 0 for ``nan``."""
    inside = ndtr((high - value) / sd) - ndtr((low - value) / sd)
    return np.where(np.isfinite(value), np.log((1.0 - tuning.surprise) * inside + tuning.surprise), 0.0)
