"""Nonlinear least squares for a handful of unknowns.

Levenberg and Marquardt's method on numpy alone: importing scipy.optimize takes longer than everything else
that a card needs. Tests hold it to scipy's answer.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.units import Floats

_STEP = 1e-5
_SETTLED = 1e-6
_ROUNDS = 80


def least_squares(misfit: Callable[[Floats], Floats], *, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """The unknowns, starting from zero, that make the sum of squares of ``misfit`` least; and its Jacobian.

    ``low`` and ``high``, shape (n,), bound the unknowns, which are of order one.

    Raises
    ------
    OutsideModel
        No least value was found.
    """
    x: Floats = np.zeros(len(low))
    value, damping = misfit(x), 1e-3
    slopes = _jacobian(misfit, x, value)
    for _ in range(_ROUNDS):
        tried = np.clip(x + _step(x, slopes, value, damping, low, high), low, high)
        moved = float(np.abs(tried - x).max())
        if moved < _SETTLED:
            return x, slopes
        new = misfit(tried)
        if new @ new < value @ value:
            x, value, damping = tried, new, max(damping / 5.0, 1e-9)
            slopes = _jacobian(misfit, x, value)
        else:
            damping *= 5.0
    raise OutsideModel(
        "the handbook numbers could not be fitted: no best model was found.",
        next_step="Check them for a number in another unit or of another configuration.",
    )


def _step(x: Floats, slopes: Floats, value: Floats, damping: float, low: Floats, high: Floats) -> Floats:
    """The damped step of the unknowns that are free to move; one that leans on its bound stays."""
    downhill = -slopes.T @ value
    leaning = ((x <= low) & (downhill < 0.0)) | ((x >= high) & (downhill > 0.0))
    free = ~leaning
    curvature = (slopes.T @ slopes)[np.ix_(free, free)]
    step = np.zeros(len(x))
    step[free] = np.linalg.solve(curvature + damping * np.diag(np.diag(curvature)), downhill[free])
    return step


def _jacobian(misfit: Callable[[Floats], Floats], x: Floats, value: Floats) -> Floats:
    """Forward differences, shape (m, n)."""
    columns = [(misfit(x + _STEP * unit) - value) / _STEP for unit in np.eye(len(x))]
    return np.array(columns).T
