"""Block-tridiagonal normal equations with a border: built, factored, solved, inverted where needed.

Unknowns are K knots of N states and S statics. ``diagonal`` (K, N, N) holds a knot's own block of the
information matrix; ``right`` (K, N, N + S + 1) what stands to the right of it: the block with the next
knot, the block with the statics, and minus the gradient; ``corner`` (S + 1, S + 1) the statics' own
block and minus their gradient. Everything here is linear in K, and nearly all the work is done by small
matrix products.

Source of the recursions: block Cholesky factorization and the selected inverse, [Rue-Held] ch. 2.
"""

from __future__ import annotations

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.units import Floats

MOST = 64
"""Room for one kind of entries of a row."""


@compiled
def accumulate(  # noqa: C901  one flat function: calls that pass views of arrays double its time
    count: int, rows_r: Floats, weight: Floats, rows_knot: np.ndarray, ptr: np.ndarray, index: np.ndarray,
    value: Floats, static_place: np.ndarray, diagonal: Floats, right: Floats, corner: Floats,
) -> None:  # fmt: skip
    """Add the weighted rows to the normal equations (upper triangles only).

    Each row is first sorted into its entries on this knot, on the next, and on the statics, so that the inner
    loops need not ask.
    """
    n = diagonal.shape[1]
    gradient = right.shape[2] - 1
    last = corner.shape[0] - 1
    at_here, at_next, at_static = np.empty(n, np.int64), np.empty(n, np.int64), np.empty(MOST, np.int64)
    here, after, static = np.empty(n), np.empty(n), np.empty(MOST)
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
            right[k, i, gradient] -= here[p] * pull
            for q in range(a):
                if at_here[q] >= i:
                    diagonal[k, i, at_here[q]] += v * here[q]
            for q in range(b):
                right[k, i, at_next[q]] += v * after[q]
            for q in range(c):
                right[k, i, n + at_static[q]] += v * static[q]
        for p in range(b):
            i, v = at_next[p], w * after[p]
            right[k + 1, i, gradient] -= after[p] * pull
            for q in range(b):
                if at_next[q] >= i:
                    diagonal[k + 1, i, at_next[q]] += v * after[q]
            for q in range(c):
                right[k + 1, i, n + at_static[q]] += v * static[q]
        for p in range(c):
            i, v = at_static[p], w * static[p]
            corner[i, last] -= static[p] * pull
            for q in range(c):
                if at_static[q] >= i:
                    corner[i, at_static[q]] += v * static[q]


@compiled
def root(a: Floats, n: int) -> bool:
    """Replace the upper triangle of the leading n by n block of ``a`` by U with ``a = U.T U``.

    False if that block is not positive definite. Columns beyond ``n`` are carried along, to ``U^-T`` times
    themselves.
    """
    for j in range(n):
        row = a[j]
        if not row[j] > 0.0:
            return False
        scale = 1.0 / np.sqrt(row[j])
        for c in range(j, row.shape[0]):
            row[c] *= scale
        for i in range(j + 1, n):
            pull = row[i]
            if pull != 0.0:
                target = a[i]
                for c in range(i, row.shape[0]):
                    target[c] -= pull * row[c]
    return True


@compiled
def invert(u: Floats, inverse: Floats) -> None:
    """``inverse`` of the upper triangular ``u`` (whose lower part is not looked at)."""
    n = u.shape[0]
    inverse[:] = 0.0
    for i in range(n - 1, -1, -1):
        scale = 1.0 / u[i, i]
        row = inverse[i]
        row[i] = scale
        for j in range(i + 1, n):
            pull = u[i, j] * scale
            if pull != 0.0:
                other = inverse[j]
                for c in range(j, n):
                    row[c] -= pull * other[c]


@compiled
def factor(diagonal: Floats, right: Floats, corner: Floats) -> bool:
    """Eliminate knot after knot, in place; False if the matrix is not positive definite.

    With ``U.T U`` each knot's block when its turn comes: afterwards ``diagonal`` holds ``U^-1``, ``right``
    ``U^-T`` times itself, and ``corner`` the root of the statics' reduced system.
    """
    knots, n = diagonal.shape[0], diagonal.shape[1]
    width = right.shape[2]
    inverse, row = np.empty((n, n)), np.empty((n, width))
    across = np.empty((n, width))
    for k in range(knots):
        if not root(diagonal[k], n):
            return False
        invert(diagonal[k], inverse)
        diagonal[k] = inverse
        np.dot(inverse.T, right[k], row)
        right[k] = row
        statics = np.ascontiguousarray(row[:, n:])
        corner -= np.dot(statics.T, statics)
        if k + 1 < knots:
            coupling = np.ascontiguousarray(row[:, :n])
            np.dot(coupling.T, row, across)
            diagonal[k + 1] -= across[:, :n]
            right[k + 1, :, n:] -= across[:, n:]
    return root(corner, corner.shape[0] - 1)


@compiled
def solve(diagonal: Floats, right: Floats, corner: Floats, step: Floats, static_step: Floats) -> None:
    """The Gauss-Newton step from a factored system: ``step`` (K, N) and ``static_step`` (S,)."""
    knots, n = step.shape
    statics = static_step.shape[0]
    for i in range(statics - 1, -1, -1):
        s = corner[i, statics]
        for j in range(i + 1, statics):
            s -= corner[i, j] * static_step[j]
        static_step[i] = s / corner[i, i]
    rest = np.zeros(n + statics + 1)
    rest[n : n + statics] = -static_step
    rest[n + statics] = 1.0
    for k in range(knots - 1, -1, -1):
        step[k] = np.dot(diagonal[k], np.dot(right[k], rest))
        rest[:n] = -step[k]


@compiled
def covariances(diagonal: Floats, right: Floats, same: Floats, pairs: bool) -> None:
    """Covariance of each knot given the statics into ``same`` (K, N, N), and leans into ``right``.

    The lean of a knot, (N, S), is how it moves per unit of each static; it takes the place of the border
    in ``right``. The full covariance of knots k, l is ``conditional + lean_k @ static_covariance @
    lean_l.T``. With ``pairs`` the covariance with the next knot takes the place of the coupling too;
    then the system can no longer be sampled.
    """
    knots, n = diagonal.shape[0], diagonal.shape[1]
    end = right.shape[2] - 1
    for k in range(knots - 1, -1, -1):
        inverse = diagonal[k]
        own = -right[k, :, n:end]
        same[k] = np.dot(inverse, inverse.T)
        if k + 1 < knots:
            coupling = np.ascontiguousarray(right[k, :, :n])
            own -= np.dot(coupling, np.ascontiguousarray(right[k + 1, :, n:end]))
            gain = np.dot(inverse, coupling)
            across = np.dot(gain, same[k + 1])
            same[k] += np.dot(across, gain.T)
            if pairs:
                right[k, :, :n] = -across
        right[k, :, n:end] = np.dot(inverse, own)


@compiled
def row_variances(
    count: int, rows_knot: np.ndarray, ptr: np.ndarray, index: np.ndarray, value: Floats,
    static_place: np.ndarray, same: Floats, right: Floats, static_covariance: Floats,
) -> Floats:  # fmt: skip
    """Posterior variance of what each row predicts, after ``covariances`` with ``pairs``."""
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
            leaning = right[k, a] if first else right[k + 1, a]
            for s in range(statics):
                along[s] += vi * leaning[n + s]
            for q in range(ptr[m], ptr[m + 1]):
                j = index[q]
                if j >= 2 * n:
                    continue
                if first:
                    cov = same[k, a, j] if j < n else right[k, a, j - n]
                else:
                    cov = right[k, j, a] if j < n else same[k + 1, a, j - n]
                total += vi * value[q] * cov
        total += np.dot(along, np.dot(static_covariance, along))
        result[m] = total
    return result


@compiled
def sample_back(
    first: int, last: int, diagonal: Floats, right: Floats, last_covariance: Floats,
    static_draws: Floats, noise: Floats, out: Floats,
) -> None:  # fmt: skip
    """Joint samples of the knots ``first`` to ``last`` as departures from the estimate, after
    ``covariances``.

    ``static_draws`` (S, draws) are departures of the statics; ``noise`` (knots, N, draws) is standard normal;
    ``out`` (knots, N, draws) receives the samples.
    """
    n = diagonal.shape[1]
    end = right.shape[2] - 1
    spread = last_covariance.copy()
    for i in range(n):
        spread[i, i] += 1e-14
    root(spread, n)
    for i in range(n):
        for j in range(i):
            spread[i, j] = 0.0
    span = last - first
    out[span] = np.dot(spread.T, noise[span])
    for k in range(last - 1, first - 1, -1):
        coupling = np.ascontiguousarray(right[k, :, :n])
        out[k - first] = np.dot(diagonal[k], noise[k - first] - np.dot(coupling, out[k - first + 1]))
    for k in range(first, last + 1):
        out[k - first] += np.dot(np.ascontiguousarray(right[k, :, n:end]), static_draws)
