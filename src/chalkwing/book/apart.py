"""How far instructors, or airplanes, lie apart in what they give for the same thing, with partial pooling.

    value = what it is of + who gave it + noise        who ~ normal(0, spread), noise ~ normal(0, noise)

What the values are of (each maneuver of a common set, or all lessons alike) has a level of its own, about
which nothing is believed beforehand. Those who gave them are held toward each other by a normal spread, whose
size is not fixed but drawn with all else: with a handful of instructors a single best size is often zero, and
would claim to know everybody exactly ([Gelman] on few groups; a best size held 57 to 85 % of true values in
its 90 % intervals). The spread's own scale is a belief of ours; one noise for all was seen to do on simulated
schools whose instructors differ in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.book.progress.attempts import Ints
from chalkwing.units import Floats

DRAWS = 4000
STEPS_APART = 0.5
"""Scale [steps] of the half-normal belief about how far instructors lie apart."""
_SPREADS = np.linspace(0.02, 5.0, 60)
_NOISES = np.geomspace(0.16, 6.0, 60)
"""The grids on which the two sizes are drawn, in the scale of the belief."""


@dataclass(frozen=True)
class Apart:
    """Draws (draws, givers) of how far each lies above the mean of the others."""

    draws: Floats

    @property
    def middle(self) -> Floats:
        """The means over the draws."""
        return np.asarray(self.draws.mean(axis=0))

    def interval(self, share: float) -> tuple[Floats, Floats]:
        """The ends between which ``share`` of the draws lie."""
        low, high = np.quantile(self.draws, [0.5 - 0.5 * share, 0.5 + 0.5 * share], axis=0)
        return np.asarray(low), np.asarray(high)


def above_others(marks: Floats, *, seed: int = 0) -> Apart:
    """From marks (instructors, maneuvers) in steps, ``nan`` where none was given; two instructors or more."""
    given = np.isfinite(marks)
    shared = given.sum(axis=0) >= 2
    seen, values = given[:, shared].astype(float), np.where(given, marks, 0.0)[:, shared]
    # A step stands for a range of one: a twelfth of its square is the variance of rounding. A set too small
    # to show any noise shall not claim less.
    return _apart(seen, values, values**2, scale=STEPS_APART, least=1.0 / 12.0, seed=seed)


def above_other_groups(
    values: Floats, group: Ints, *, groups: int, scale: float, least: float, seed: int = 0
) -> Apart:
    """From values (n,) given by groups 0 … ``groups`` - 1, all of one thing; each group has one or more.

    Parameters
    ----------
    scale
        Of the half-normal belief about how far the groups lie apart, in the unit of the values.
    least
        The variance that a value has at least, where the values are too few to show it.
    """
    seen = np.array([[np.sum(group == k)] for k in range(groups)], dtype=float)
    sums = np.array([[values[group == k].sum()] for k in range(groups)])
    squares = np.array([[(values[group == k] ** 2).sum()] for k in range(groups)])
    return _apart(seen, sums, squares, scale=scale, least=least, seed=seed)


def _apart(seen: Floats, sums: Floats, squares: Floats, *, scale: float, least: float, seed: int) -> Apart:
    """From how many values (givers, levels) there are, their sums and the sums of their squares."""
    count = seen.sum(axis=0)
    # Least squares with a level for every column: `bears` @ givers = `adds`.
    bears = np.diag(seen.sum(axis=1)) - (seen / count) @ seen.T
    adds = (sums - seen * (sums.sum(axis=0) / count)).sum(axis=1) / scale
    weight, ways = np.linalg.eigh(bears)
    told = weight > 1e-9
    along = np.where(told, (ways.T @ adds) / np.where(told, weight, 1.0), 0.0)
    square = float(squares.sum() - (sums.sum(axis=0) ** 2 / count).sum()) / scale**2
    rest = max(square - float((weight[told] * along[told] ** 2).sum()), 0.0)
    free = int(seen.sum() - len(count) - told.sum())
    rng = np.random.default_rng(seed)
    spread, noise = _sizes(along[told], weight[told], rest, free, least / scale**2, rng)
    precision = np.where(told, weight, 0.0) / noise[:, None] ** 2 + 1.0 / spread[:, None] ** 2
    mean = (np.where(told, weight, 0.0) * along) / noise[:, None] ** 2 / precision
    drawn = scale * (mean + rng.normal(size=mean.shape) / np.sqrt(precision)) @ ways.T
    others = (drawn.sum(axis=1, keepdims=True) - drawn) / (len(seen) - 1)
    return Apart(drawn - others)


def _sizes(
    along: Floats, weight: Floats, rest: float, free: int, least: float, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Draws of the spread and of the noise from a grid of both, in the scale of the belief."""
    spread, noise = (each.ravel() for each in np.meshgrid(_SPREADS, _NOISES, indexing="ij"))
    variance = spread[:, None] ** 2 + noise[:, None] ** 2 / weight
    chance = -0.5 * (np.log(variance) + along**2 / variance).sum(axis=1)
    # As if two more values had been seen, whose noise is the least there is.
    chance += -(free + 2) * np.log(noise) - 0.5 * (rest + 2.0 * least) / noise**2
    chance += -0.5 * spread**2
    share = np.exp(chance - chance.max())
    taken = rng.choice(len(share), size=DRAWS, p=share / share.sum())
    return spread[taken], noise[taken]
