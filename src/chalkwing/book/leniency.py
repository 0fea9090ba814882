"""How far each instructor's marks lie above the others' for the same maneuvers, with partial pooling.

    mark = maneuver + instructor + noise        instructor ~ normal(0, spread), noise ~ normal(0, noise)

Every maneuver has a level of its own, about which nothing is believed beforehand. Instructors are held toward
each other by a normal spread, whose size is not fixed but drawn with all else: with a handful of instructors
a single best size is often zero, and would claim to know everybody exactly ([Gelman] on few groups; a best
size held 57 to 85 % of true values in its 90 % intervals). The spread's own scale, half a step, is a belief
of ours; one noise for all was seen to do on simulated schools whose instructors differ in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.units import Floats

SPREAD = 0.5
"""Scale [steps] of the half-normal belief about how far instructors lie apart."""
DRAWS = 4000
_SPREADS = np.linspace(0.01, 2.5, 60)
_NOISES = np.geomspace(0.08, 3.0, 60)


@dataclass(frozen=True)
class Above:
    """Draws (draws, instructors) of how far each lies above the mean of the others, in steps."""

    draws: Floats

    @property
    def middle(self) -> Floats:
        """The means over the draws."""
        return np.asarray(self.draws.mean(axis=0))

    def interval(self, share: float) -> tuple[Floats, Floats]:
        """The ends between which ``share`` of the draws lie."""
        low, high = np.quantile(self.draws, [0.5 - 0.5 * share, 0.5 + 0.5 * share], axis=0)
        return np.asarray(low), np.asarray(high)


def above_others(marks: Floats, *, seed: int = 0) -> Above:
    """From marks (instructors, maneuvers) in steps, ``nan`` where none was given; two instructors or more."""
    given = np.isfinite(marks)
    count = given.sum(axis=0)
    shared, seen = np.where(given, marks, 0.0)[:, count >= 2], given[:, count >= 2].astype(float)
    count = count[count >= 2]
    # Least squares with a level for every maneuver: `bears` @ instructors = `adds`.
    bears = np.diag(seen.sum(axis=1)) - (seen / count) @ seen.T
    adds = (shared - seen * (shared.sum(axis=0) / count)).sum(axis=1)
    weight, ways = np.linalg.eigh(bears)
    told = weight > 1e-9
    along = np.where(told, (ways.T @ adds) / np.where(told, weight, 1.0), 0.0)
    square = float((shared**2).sum() - (shared.sum(axis=0) ** 2 / count).sum())
    rest = max(square - float((weight[told] * along[told] ** 2).sum()), 0.0)
    free = int(seen.sum() - len(count) - told.sum())
    rng = np.random.default_rng(seed)
    spread, noise = _sizes(along[told], weight[told], rest, free, rng)
    precision = np.where(told, weight, 0.0) / noise[:, None] ** 2 + 1.0 / spread[:, None] ** 2
    mean = (np.where(told, weight, 0.0) * along) / noise[:, None] ** 2 / precision
    drawn = (mean + rng.normal(size=mean.shape) / np.sqrt(precision)) @ ways.T
    others = (drawn.sum(axis=1, keepdims=True) - drawn) / (len(marks) - 1)
    return Above(drawn - others)


def _sizes(
    along: Floats, weight: Floats, rest: float, free: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Draws of the spread of instructors and of the noise of a mark [steps], from a grid of both."""
    spread, noise = (each.ravel() for each in np.meshgrid(_SPREADS, _NOISES, indexing="ij"))
    variance = spread[:, None] ** 2 + noise[:, None] ** 2 / weight
    chance = -0.5 * (np.log(variance) + along**2 / variance).sum(axis=1)
    # Whoever marks in whole steps differs from the truth by rounding alone; a set too small to show it shall
    # not claim less: a twelfth of a square step is the variance of rounding.
    chance += -free * np.log(noise) - 0.5 * (rest + 2.0 / 12.0) / noise**2 - 2.0 * np.log(noise)
    chance += -0.5 * (spread / SPREAD) ** 2
    share = np.exp(chance - chance.max())
    taken = rng.choice(len(share), size=DRAWS, p=share / share.sum())
    return spread[taken], noise[taken]
