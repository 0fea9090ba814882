"""Block-tridiagonal normal equations with a border: built, factored, solved, inverted where needed.

Unknowns are K knots of N states and S statics. The information matrix has blocks ``diagonal`` (K, N, N),
``upper`` (K-1, N, N; knot against next knot), ``border`` (K, N, S) and ``corner`` (S, S). Everything here is
linear in K. Loops run along rows, so that the compiler turns them into vector instructions.

Source of the recursions: block Cholesky factorization and the selected inverse, [Rue-Held] ch. 2.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.units import Floats


@compiled
def accumulate(
    count: int, rows_r: Floats, weight: Floats, rows_knot: np.ndarray, ptr: np.ndarray, index: np.ndarray,
    value: Floats, static_place: np.ndarray, diagonal: Floats, upper: Floats, border: Floats, corner: Floats,
    slope: Floats, static_slope: Floats,
) -> None:  # fmt: skip
    """Add the weighted rows to the normal equations (upper triangles only); ``slope`` gathers minus the
    gradient.

    Each row is first sorted into its entries on this knot, on the next, and on the statics, so that the inner
    loops need not ask.
    """
    n = diagonal.shape[1]
    at_here, at_next, at_static = np.empty(n, np.int64), np.empty(n, np.int64), np.empty(64, np.int64)
    here, after, static = np.empty(n), np.empty(n), np.empty(64)
    for m in range(count):
        w, k = weight[m], rows_knot[m]
        pull = w * rows_r[m]
        a = b = c = 0
        for p in range(ptr[m], ptr[m + 1]):
            i = index[p]
            if i < n:
                at_here[a], here[a] = i, value[p]
                a += 1
            elif i < 2 * n:
                at_next[b], after[b] = i - n, value[p]
                b += 1
            elif static_place[i - 2 * n] >= 0:
                at_static[c], static[c] = static_place[i - 2 * n], value[p]
                c += 1
        for p in range(a):
            i, v = at_here[p], w * here[p]
            slope[k, i] -= here[p] * pull
            for q in range(a):
                if at_here[q] >= i:
                    diagonal[k, i, at_here[q]] += v * here[q]
            for q in range(b):
                upper[k, i, at_next[q]] += v * after[q]
            for q in range(c):
                border[k, i, at_static[q]] += v * static[q]
        for p in range(b):
            i, v = at_next[p], w * after[p]
            slope[k + 1, i] -= after[p] * pull
            for q in range(b):
                if at_next[q] >= i:
                    diagonal[k + 1, i, at_next[q]] += v * after[q]
            for q in range(c):
                border[k + 1, i, at_static[q]] += v * static[q]
        for p in range(c):
            i, v = at_static[p], w * static[p]
            static_slope[i] -= static[p] * pull
            for q in range(c):
                if at_static[q] >= i:
                    corner[i, at_static[q]] += v * static[q]


@compiled
def root(a: Floats) -> bool:
    """Replace the upper triangle of ``a`` by U with ``a = U.T U``; False if not positive definite."""
    n = a.shape[0]
    for j in range(n):
        if not a[j, j] > 0.0:
            return False
        row = a[j]
        scale = 1.0 / np.sqrt(row[j])
        for c in range(j, n):
            row[c] *= scale
        for i in range(j + 1, n):
            factor = row[i]
            if factor != 0.0:
                target = a[i]
                for c in range(i, n):
                    target[c] -= factor * row[c]
    return True


@compiled
def forward(u: Floats, b: Floats) -> None:
    """Replace the matrix ``b`` by ``U^-T b``."""
    for i in range(u.shape[0]):
        row = b[i]
        scale = 1.0 / u[i, i]
        for c in range(row.shape[0]):
            row[c] *= scale
        for j in range(i + 1, u.shape[0]):
            factor = u[i, j]
            if factor != 0.0:
                target = b[j]
                for c in range(row.shape[0]):
                    target[c] -= factor * row[c]


@compiled
def backward(u: Floats, b: Floats) -> None:
    """Replace the matrix ``b`` by ``U^-1 b``."""
    for i in range(u.shape[0] - 1, -1, -1):
        row = b[i]
        for j in range(i + 1, u.shape[0]):
            factor = u[i, j]
            if factor != 0.0:
                other = b[j]
                for c in range(row.shape[0]):
                    row[c] -= factor * other[c]
        scale = 1.0 / u[i, i]
        for c in range(row.shape[0]):
            row[c] *= scale


@compiled
def _take_product(a: Floats, b: Floats, out: Floats) -> None:
    """``out -= a.T @ b``."""
    for r in range(a.shape[0]):
        row = b[r]
        for i in range(a.shape[1]):
            factor = a[r, i]
            if factor != 0.0:
                target = out[i]
                for c in range(row.shape[0]):
                    target[c] -= factor * row[c]


@compiled
def _take_square(a: Floats, out: Floats) -> None:
    """``out -= a.T @ a``, upper triangle only."""
    for r in range(a.shape[0]):
        row = a[r]
        for i in range(row.shape[0]):
            factor = row[i]
            if factor != 0.0:
                target = out[i]
                for c in range(i, row.shape[0]):
                    target[c] -= factor * row[c]


@compiled
def factor(
    diagonal: Floats, upper: Floats, border: Floats, corner: Floats, slope: Floats, static_slope: Floats
) -> bool:
    """Eliminate knot after knot, in place; False if the matrix is not positive definite.

    Afterwards ``diagonal`` holds the upper factors U, ``upper`` U^-T E, ``border`` U^-T B, ``slope`` U^-T g, and
    ``corner`` and ``static_slope`` the reduced system of the statics, its matrix factored too.
    """
    knots = diagonal.shape[0]
    for k in range(knots):
        if not root(diagonal[k]):
            return False
        column = slope[k].reshape(-1, 1)
        forward(diagonal[k], border[k])
        forward(diagonal[k], column)
        _take_square(border[k], corner)
        for i in range(border.shape[1]):
            for s in range(border.shape[2]):
                static_slope[s] -= border[k, i, s] * slope[k, i]
        if k + 1 < knots:
            forward(diagonal[k], upper[k])
            _take_square(upper[k], diagonal[k + 1])
            _take_product(upper[k], border[k], border[k + 1])
            for r in range(column.shape[0]):
                for i in range(column.shape[0]):
                    slope[k + 1, i] -= upper[k, r, i] * column[r, 0]
    return root(corner)


@compiled
def solve(
    diagonal: Floats, upper: Floats, border: Floats, corner: Floats, slope: Floats, static_slope: Floats,
    step: Floats, static_step: Floats,
) -> None:  # fmt: skip
    """The Gauss-Newton step from a factored system."""
    knots, n = slope.shape
    column = static_slope.copy().reshape(-1, 1)
    forward(corner, column)
    backward(corner, column)
    static_step[:] = column[:, 0]
    for k in range(knots - 1, -1, -1):
        right = slope[k].copy().reshape(-1, 1)
        for i in range(n):
            s = 0.0
            for c in range(border.shape[2]):
                s += border[k, i, c] * static_step[c]
            if k + 1 < knots:
                for c in range(n):
                    s += upper[k, i, c] * step[k + 1, c]
            right[i, 0] -= s
        backward(diagonal[k], right)
        step[k] = right[:, 0]


@compiled
def covariances(
    diagonal: Floats, upper: Floats, border: Floats, same: Floats, next_: Floats, lean: Floats
) -> None:
    """Covariance given the statics: ``same`` (K, N, N) of a knot, ``next_`` (K-1, N, N) with the next one.

    ``lean`` (K, N, S) is how a knot moves per unit of each static. The full covariance of knots k, l is
    ``conditional + lean_k @ static_covariance @ lean_l.T``.
    """
    knots, n = diagonal.shape[0], diagonal.shape[1]
    eye = np.eye(n)
    for k in range(knots - 1, -1, -1):
        lean[k] = -border[k]
        inverse = eye.copy()
        forward(diagonal[k], inverse)
        backward(diagonal[k], inverse)
        same[k] = inverse
        if k + 1 < knots:
            gain = upper[k].copy()
            lean[k] -= np.dot(upper[k], lean[k + 1])
            backward(diagonal[k], gain)
            across = np.dot(gain, same[k + 1])
            next_[k] = -across
            same[k] += np.dot(across, np.ascontiguousarray(gain.T))
        backward(diagonal[k], lean[k])


@compiled
def row_variances(
    count: int, rows_knot: np.ndarray, ptr: np.ndarray, index: np.ndarray, value: Floats,
    static_place: np.ndarray, same: Floats, next_: Floats, lean: Floats, static_covariance: Floats,
) -> Floats:  # fmt: skip
    """Posterior variance of what each row predicts."""
    n = same.shape[1]
    statics = static_covariance.shape[0]
    result = np.empty(count)
    along = np.empty(statics)
    for m in range(count):
        k = rows_knot[m]
        along[:] = 0.0
        total = 0.0
        for p in range(ptr[m], ptr[m + 1]):
            i, vi = index[p], value[p]
            if i >= 2 * n:
                s = static_place[i - 2 * n]
                if s >= 0:
                    along[s] += vi
                continue
            first = i < n
            a = i if first else i - n
            leaning = lean[k, a] if first else lean[k + 1, a]
            for s in range(statics):
                along[s] += vi * leaning[s]
            for q in range(ptr[m], ptr[m + 1]):
                j = index[q]
                if j >= 2 * n:
                    continue
                if first:
                    cov = same[k, a, j] if j < n else next_[k, a, j - n]
                else:
                    cov = next_[k, j, a] if j < n else same[k + 1, a, j - n]
                total += vi * value[q] * cov
        for s in range(statics):
            for t in range(statics):
                total += along[s] * static_covariance[s, t] * along[t]
        result[m] = total
    return result


@compiled
def sample_back(
    first: int, last: int, diagonal: Floats, upper: Floats, lean: Floats, last_covariance: Floats,
    static_draws: Floats, noise: Floats, out: Floats,
) -> None:  # fmt: skip
    """Joint samples of the knots ``first`` to ``last`` as departures from the estimate.

    ``static_draws`` (draws, S) are departures of the statics; ``noise`` (knots, N, draws) is standard normal;
    ``out`` (knots, N, draws) receives the samples.
    """
    n = diagonal.shape[1]
    spread = last_covariance.copy()
    for i in range(n):
        spread[i, i] += 1e-14
    root(spread)
    span = last - first
    for i in range(n):
        for d in range(noise.shape[2]):
            out[span, i, d] = 0.0
        for j in range(i + 1):
            for d in range(noise.shape[2]):
                out[span, i, d] += spread[j, i] * noise[span, j, d]
    for k in range(last - 1, first - 1, -1):
        here = out[k - first]
        here[:] = noise[k - first]
        after = out[k - first + 1]
        for i in range(n):
            for c in range(n):
                factor_ = upper[k, i, c]
                if factor_ != 0.0:
                    for d in range(here.shape[1]):
                        here[i, d] -= factor_ * after[c, d]
        backward(diagonal[k], here)
    for k in range(first, last + 1):
        here = out[k - first]
        for i in range(n):
            for s in range(static_draws.shape[1]):
                slope = lean[k, i, s]
                for d in range(here.shape[1]):
                    here[i, d] += slope * static_draws[d, s]
