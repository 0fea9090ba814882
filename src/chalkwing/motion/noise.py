"""Noise levels fitted to the flight by likelihood (expectation maximization), not assumed.

For each group of rows the most likely variance, given the present posterior, is the mean of squared residual
plus posterior variance of what the row predicts ([Shumway-Stoffer] ch. 6). A prior worth a few samples keeps
short flights from extremes, and the bounds of ``priors.LEVELS`` hold what the data cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.motion import blocks
from chalkwing.motion import layout as at
from chalkwing.motion.priors import Priors
from chalkwing.motion.solve import Factored, Solution, Workspace
from chalkwing.units import Floats

_TOGETHER = ((at.SEES_NORTH, at.SEES_EAST), (at.SEES_U_NORTH, at.SEES_U_EAST))


@dataclass(frozen=True)
class Covariance:
    """Posterior covariance of each knot given the statics (K, N, N), and of the statics; leans are in
    the system."""

    same: Floats
    statics: Floats


def covariance(system: Factored, *, pairs: bool) -> Covariance:
    """What rows (with ``pairs``) or grid points need; changes ``system`` as ``blocks.covariances`` says."""
    same = np.empty_like(system.diagonal)
    blocks.covariances(system.diagonal, system.right, same, pairs)
    root = np.linalg.inv(np.triu(system.corner[:-1, :-1]))
    return Covariance(same, root @ root.T)


def refit(priors: Priors, solution: Solution, system: Factored, work: Workspace) -> Priors:
    """The priors with each noise level moved to its most likely value; uses up ``system``."""
    spread = covariance(system, pairs=True)
    rows = solution.rows
    variance = blocks.row_variances(
        rows.count, rows.knot, rows.ptr, rows.index, rows.value, work.place,
        spread.same, system.right, spread.statics,
    )  # fmt: skip
    group, count = rows.group[: rows.count], rows.count
    scale = rows.scale[:count]
    sd = priors.levels[group] * scale
    # A row that the robust loss holds back is an outlier to that extent, and counts that much less.
    trust = np.minimum(solution.weight[:count] * sd**2, 1.0)
    square = trust * (rows.r[:count] ** 2 + variance) / scale**2
    total = np.bincount(group, square, at.GROUPS)
    number = np.bincount(group, trust, at.GROUPS)
    for first, second in _TOGETHER:
        total[first] = total[second] = total[first] + total[second]
        number[first] = number[second] = number[first] + number[second]
    levels = priors.levels.copy()
    for index, level in priors.bounds.items():
        if number[index] > 0:
            likely = (level.weight * level.start**2 + total[index]) / (level.weight + number[index])
            levels[index] = float(np.clip(np.sqrt(likely), level.low, level.high))
    return priors.at_levels(levels)
