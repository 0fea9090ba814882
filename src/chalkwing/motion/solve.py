"""The maximum-a-posteriori flight: damped, robust Gauss-Newton on block-tridiagonal normal equations.

One problem over the whole flight. The cost is the sum of Huber losses of all rows (recorded values and steps
of the model) plus the priors on the first knot and the statics; each iteration is linear in flight length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter1d

from chalkwing.compiled import compiled
from chalkwing.errors import UndecidedRecording
from chalkwing.motion import blocks, linearize
from chalkwing.motion import layout as at
from chalkwing.motion.observations import Observations
from chalkwing.motion.priors import FREEDOM, HELD_AT_FIRST, ROBUST, ROBUST_FROM, STEPPING, Priors
from chalkwing.units import Floats

Ints = np.ndarray[tuple[int], np.dtype[np.signedinteger]]

DAMPING = 1e-3
ROUGH, FINE = 0.02, 0.005
"""Stop when an iteration lowers the cost by less than this times the number of knots: while noise levels
are still being fitted, and at the end."""


@dataclass(frozen=True)
class Rows:
    """The sparse rows at one point (see ``linearize``)."""

    count: int
    r: Floats
    group: Ints
    scale: Floats
    knot: Ints
    ptr: Ints
    index: Ints
    value: Floats


@dataclass(frozen=True)
class Problem:
    """Everything that stays fixed while one flight is solved."""

    knots: Floats
    seen: Observations
    window: slice
    air: Floats
    density: Floats
    plane: Floats
    wander: Ints
    first: Floats
    origin: float

    @property
    def obs(self) -> tuple[Floats, Ints, Floats, Floats]:
        """Observations of this flight: time, kind, value, scale."""
        part = self.window
        return self.seen.time[part], self.seen.kind[part], self.seen.value[part], self.seen.scale[part]


@dataclass(frozen=True)
class Factored:
    """A factored system (see ``blocks.factor``): what sampling and covariances start from."""

    diagonal: Floats
    right: Floats
    corner: Floats


@dataclass(frozen=True)
class Best:
    """States (K, N) and statics (ALL_STATICS,) at the best point, and its cost."""

    states: Floats
    statics: Floats
    cost: float


@dataclass(frozen=True)
class Solution:
    """The best point with its rows and their weights, which the next solution overwrites."""

    best: Best
    rows: Rows
    weight: Floats


_ENTRIES = np.full(at.KINDS, 50)
_ENTRIES[[at.SEES_NORTH, at.SEES_EAST, at.SEES_HEIGHT, at.SEES_SIDE]] = 6
_ENTRIES[[at.SEES_PRESSURE, at.SEES_U_NORTH, at.SEES_U_EAST, at.SEES_CLIMB, at.SEES_SPEED]] = 10
"""Most entries that a row of each kind of observation can have."""


POLAR_TO, STALLED_FROM = 0.20, 0.28
"""Angles of attack above that of zero lift [rad] between which a wing comes to its stall. Common practice, no
source; wider, it cost wind and airspeed at the slow tops of ordinary maneuvers."""
STRAIN = 8.0
"""How many times more the thrust may walk near the stall. Our own."""
STRAINED_KNOTS = 3
"""Knots before and after in which it still may: a stalled wing drags on while its lift is gone."""


ROLLING = 0.45
"""Share of the best-glide airspeed below which an airplane is rolling, not flying: between a landing and the
takeoff that follows. Our own, well under any stall."""
ROLLS_UNDER = 15.0
"""Ground speed [m/s] under which it must be as well: a fast airplane comes down to a slow one's speeds."""
AGROUND = 30.0
"""How many times less is believed there of what a wing would do: the wheels carry, hold and turn the
airplane."""
_BORNE = np.zeros(at.GROUPS, dtype=np.bool_)
_BORNE[[at.NOISE_STEP, at.SEES_BANK, at.SEES_PITCH, at.SEES_LOAD, at.SEES_SIDE]] = True


class Workspace:
    """Arrays that one flight's iterations share, so that none is allocated twice."""

    def __init__(self, problem: Problem, priors: Priors) -> None:
        knots, states = len(problem.knots), len(priors.state_sd)
        steps = (knots - 1) * (6 + states - at.ROLL)
        count = steps + len(problem.obs[0])
        room = (knots - 1) * (3 * (4 + 52) + 4 * (states + 3)) + int(np.sum(_ENTRIES[problem.obs[1]]))
        self.r, self.scale = np.empty(count), np.empty(count)
        self.group, self.knot = np.empty(count, np.int64), np.empty(count, np.int64)
        self.ptr = np.empty(count + 1, np.int64)
        self.index, self.value = np.empty(room, np.int32), np.empty(room)
        self.y = np.empty((knots, at.OUTPUTS))
        self.jac = np.empty((knots, at.OUTPUTS, at.INPUTS))
        statics = len(priors.active)
        self.diagonal = np.empty((knots, states, states))
        self.right = np.empty((knots, states, states + statics + 1))
        self.corner = np.empty((statics + 1, statics + 1))
        self.lags = priors.static_mean.copy()
        self.place = np.full(at.ALL_STATICS, -1)
        self.place[priors.active] = np.arange(statics)
        self.strain = np.ones(knots)
        self.aground = np.zeros(knots, dtype=np.bool_)

    @property
    def system(self) -> tuple[Floats, Floats, Floats]:
        """The normal equations: diagonal, right, corner (see ``blocks``)."""
        return self.diagonal, self.right, self.corner

    def rows(self, problem: Problem, priors: Priors, states: Floats, statics: Floats) -> Rows:
        """Linearize at a point. The arrays belong to the workspace and are overwritten by the next call."""
        linearize.evaluate(states, statics, problem.origin, problem.density, problem.plane, self.y, self.jac)
        count = linearize.linearize(
            problem.knots, states, statics, self.lags, self.y, self.jac, problem.origin, problem.air,
            priors.time_constants, problem.wander, *problem.obs,
            self.r, self.group, self.scale, self.knot, self.ptr, self.index, self.value,
        )  # fmt: skip
        thrust = np.flatnonzero(self.group[:count] == at.NOISE_THRUST)
        self.scale[thrust] *= self.strain[self.knot[thrust]]
        if self.aground.any():
            rolled = np.flatnonzero(_BORNE[self.group[:count]] & self.aground[self.knot[:count]])
            self.scale[rolled] *= AGROUND
        return Rows(count, self.r, self.group, self.scale, self.knot, self.ptr, self.index, self.value)

    def loosen_rolling(self, problem: Problem, priors: Priors, states: Floats, statics: Floats) -> None:
        """Believe little of the wing where the airplane, by a first estimate, rolls on its wheels."""
        slow = np.hypot(states[:, at.U_NORTH], states[:, at.U_EAST]) < ROLLS_UNDER
        if not slow.any():
            return
        linearize.evaluate(states, statics, problem.origin, problem.density, problem.plane, self.y, self.jac)
        slow &= self.y[:, at.OUT_AIRSPEED] * np.sqrt(problem.density) < ROLLING * priors.plane.best_glide
        self.aground = maximum_filter1d(slow, 2 * STRAINED_KNOTS + 1)

    def strain_near_stall(self, problem: Problem, best: Best) -> None:
        """Believe thrust less drag less where the wing is about to stall, by the present estimate.

        A polar without a stall knows nothing of the drag there; what it lacks goes to the thrust, which must
        then be free to move. The strain is held while a solution iterates: else the cost would move under it.
        """
        linearize.evaluate(
            best.states, best.statics, problem.origin, problem.density, problem.plane, self.y, self.jac
        )
        above = self.y[:, at.OUT_ATTACK] - best.statics[at.ZERO_LIFT]
        share = np.clip((above - POLAR_TO) / (STALLED_FROM - POLAR_TO), 0.0, 1.0)
        self.strain = 1.0 + STRAIN * maximum_filter1d(share, 2 * STRAINED_KNOTS + 1)


_PLAIN, _HUBER, _STUDENT = 0, 1, 2
_LOSS = np.full(at.GROUPS, _PLAIN)
_LOSS[list(ROBUST)] = _HUBER
_LOSS[list(STEPPING)] = _STUDENT


@compiled
def _weigh(
    count: int, r: Floats, group: Ints, scale: Floats, levels: Floats, loss: Ints, bend: float, freedom:
    float, weight: Floats,
) -> float:  # fmt: skip
    """Weights of the rows (inverse variance, less for large residuals where that is expected), and the
    cost."""
    cost = 0.0
    for m in range(count):
        sd = levels[group[m]] * scale[m]
        z = abs(r[m]) / sd
        weight[m] = 1.0 / (sd * sd)
        kind = loss[group[m]]
        if kind == _HUBER and z > bend:
            weight[m] *= bend / z
            cost += bend * (z - 0.5 * bend)
        elif kind == _STUDENT:
            weight[m] *= (freedom + 1.0) / (freedom + z * z)
            cost += 0.5 * (freedom + 1.0) * np.log1p(z * z / freedom)
        else:
            cost += 0.5 * z * z
    return cost


def solve(
    problem: Problem, priors: Priors, states: Floats, statics: Floats, work: Workspace, *, most: int,
    enough: float,
) -> Solution:  # fmt: skip
    """Iterate from ``states`` and ``statics`` to the best point, at most ``most`` times; stops when a step
    gains less than ``enough`` per knot."""
    weight = np.empty_like(work.r)
    damping = DAMPING
    work.lags[:] = statics
    rows = work.rows(problem, priors, states, statics)
    cost = _cost(problem, priors, states, statics, rows, weight)
    step, static_step = np.empty_like(states), np.empty(len(priors.active))
    for _ in range(most):
        _build(problem, priors, states, statics, rows, weight, work, damping)
        if not blocks.factor(*work.system):
            damping = max(damping * 10.0, 1e-6)
            continue
        blocks.solve(*work.system, step, static_step)
        trial, trial_statics = states + step, statics.copy()
        trial_statics[priors.active] += static_step
        rows = work.rows(problem, priors, trial, trial_statics)
        trial_cost = _cost(problem, priors, trial, trial_statics, rows, weight)
        if trial_cost < cost:
            gained = cost - trial_cost
            states, statics, cost = trial, trial_statics, trial_cost
            damping = max(damping / 10.0, 1e-9)
            if gained < enough * len(problem.knots):
                break
        else:
            damping = max(damping * 10.0, 1e-6)
            rows = work.rows(problem, priors, states, statics)
            _cost(problem, priors, states, statics, rows, weight)
            if damping > 1e6:
                break
    return Solution(Best(states, statics, cost), rows, weight)


def settle(problem: Problem, priors: Priors, states: Floats, statics: Floats, work: Workspace) -> Solution:
    """From a rough start to the right valley.

    Zeros of attitude and of lift trade against each other and against lags; while the lags are still far off
    they would run away together, so they are held near their priors until the lags have come to rest.
    """
    work.loosen_rolling(problem, priors, states, statics)
    held = priors.holding(HELD_AT_FIRST, tightened=0.1)
    for most in (3, 2):
        solution = solve(problem, held, states, statics, work, most=most, enough=ROUGH)
        states, statics = solution.best.states, solution.best.statics
    return solve(problem, priors, states, statics, work, most=2, enough=ROUGH)


def _cost(
    problem: Problem, priors: Priors, states: Floats, statics: Floats, rows: Rows, weight: Floats
) -> float:
    loss = _weigh(
        rows.count, rows.r, rows.group, rows.scale, priors.levels, _LOSS, ROBUST_FROM, FREEDOM, weight
    )
    first = (states[0] - problem.first) / priors.state_sd
    active = priors.active
    static = (statics[active] - priors.static_mean[active]) / priors.static_sd[active]
    return float(loss + 0.5 * first @ first + 0.5 * static @ static)


def _build(
    problem: Problem, priors: Priors, states: Floats, statics: Floats, rows: Rows, weight: Floats,
    work: Workspace, damping: float,
) -> None:  # fmt: skip
    """Fill the workspace with the damped normal equations at a point."""
    for array in work.system:
        array[:] = 0.0
    blocks.accumulate(
        rows.count, rows.r, weight, rows.knot, rows.ptr, rows.index, rows.value, work.place, *work.system
    )
    first = priors.state_sd**-2
    each = np.arange(len(first))
    work.diagonal[0, each, each] += first
    work.right[0, :, -1] -= first * (states[0] - problem.first)
    active = priors.active
    static = priors.static_sd[active] ** -2
    each_static = np.arange(len(active))
    work.corner[each_static, each_static] += static
    work.corner[:-1, -1] -= static * (statics[active] - priors.static_mean[active])
    if damping > 0.0:
        work.diagonal[:, each, each] *= 1.0 + damping
        work.corner[each_static, each_static] *= 1.0 + damping


def factored(problem: Problem, priors: Priors, solution: Solution, work: Workspace) -> Factored:
    """The undamped factored system at the solution."""
    best = solution.best
    _build(problem, priors, best.states, best.statics, solution.rows, solution.weight, work, 0.0)
    if not blocks.factor(*work.system):
        # The undamped matrix is a sum of squares plus a proper prior: only wild values undo it in rounding.
        raise UndecidedRecording(
            "the flight could not be reconstructed: what was recorded does not hang together as one motion.",
            next_step="Withhold the channel that is wrong with --ignore, or look at its units.",
        )
    return Factored(*work.system)
