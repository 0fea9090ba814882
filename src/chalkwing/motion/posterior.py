"""The joint posterior of one flight: what its Motion draws from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from chalkwing.motion import blocks, quantities, wander
from chalkwing.motion.noise import Covariance
from chalkwing.motion.priors import Priors
from chalkwing.motion.solve import Best, Factored, Problem
from chalkwing.motion.view import View
from chalkwing.units import Floats


@dataclass(frozen=True)
class FlightPosterior:
    """The estimate with its factored information matrix, ready to be sampled over any window of ``grid``."""

    problem: Problem
    priors: Priors
    best: Best
    system: Factored
    spread: Covariance
    grid: Floats
    view: View
    wanders: tuple[wander.Wander, ...]
    clock_sd: float

    def values(self) -> Floats:
        """Every quantity on the grid, shape (quantities, n)."""
        out = np.empty((len(quantities.QUANTITIES), len(self.grid)))
        problem, best = self.problem, self.best
        quantities.on_grid(
            self.grid, problem.knots, best.states, best.statics, problem.origin, problem.air,
            problem.density, problem.plane, out,
        )  # fmt: skip
        return out

    def sds(self, values: Floats) -> Floats:
        """The sd of every quantity on the grid, shape (quantities, n), about ``values`` of the same shape."""
        problem, best = self.problem, self.best
        chosen = np.unique(
            np.searchsorted(problem.knots, np.arange(problem.knots[0], problem.knots[-1] + 0.5))
        )
        chosen = np.append(chosen[chosen < len(problem.knots) - 1], len(problem.knots) - 1)
        out = np.empty((len(chosen), len(quantities.QUANTITIES)))
        quantities.spreads(
            chosen, best.states, best.statics, self.priors.active, problem.origin, problem.air,
            problem.density, problem.plane, self.spread.same, self.system.right, self.spread.statics, out,
        )  # fmt: skip
        sds = np.array([np.interp(self.grid, problem.knots[chosen], column) for column in out.T])
        for slow in self.wanders:
            for name in slow.quantities:
                column = quantities.COLUMN[name]
                sds[column] = np.hypot(sds[column], slow.sd)
        # The clock's doubt moves a whole maneuver; draws leave it out, as it cancels in all that is judged.
        rates = np.gradient(values, self.grid, axis=1)
        return np.asarray(np.hypot(sds, rates * self.clock_sd))

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        """Joint samples at grid points ``first`` to ``last``, each quantity of shape (count, points)."""
        problem, best = self.problem, self.best
        times = self.grid[first : last + 1]
        low = max(int(np.searchsorted(problem.knots, times[0], side="right")) - 1, 0)
        high = min(int(np.searchsorted(problem.knots, times[-1])), len(problem.knots) - 1)
        low = min(low, high - 1) if high > 0 else 0
        high = max(high, low + 1)
        generator = np.random.default_rng(seed)
        active = self.priors.active
        root = np.linalg.cholesky(self.spread.statics + 1e-16 * np.eye(len(active)))
        leaning = root @ generator.standard_normal((len(active), count))
        states = best.states.shape[1]
        noise = generator.standard_normal((high - low + 1, states, count))
        departures = np.empty_like(noise)
        blocks.sample_back(
            low, high, self.system.diagonal, self.system.right, self.spread.same[high],
            leaning, noise, departures,
        )  # fmt: skip
        statics = np.tile(best.statics, (count, 1))
        statics[:, active] += leaning.T
        out = np.empty((count, len(quantities.QUANTITIES), len(times)))
        part = slice(low, high + 1)
        quantities.draws_on_grid(
            times, problem.knots[part], best.states[part], departures, statics, problem.origin,
            problem.air[part], problem.density[part], problem.plane, out,
        )  # fmt: skip
        columns = out.transpose(1, 0, 2)
        for slow in self.wanders:
            walk = wander.walk(count, times, slow, generator)
            for name in slow.quantities:
                columns[quantities.COLUMN[name]] += walk
        return self.view.named(columns, times)
