"""The block-tridiagonal solver against dense linear algebra (numpy) on a small random problem."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.motion import blocks
from chalkwing.units import Floats

K, N, S = 6, 5, 3


@pytest.fixture(scope="module")
def problem() -> dict[str, Floats]:
    """A positive definite bordered system and its gradient, dense and in blocks."""
    rng = np.random.default_rng(5)
    size = K * N + S
    dense = np.zeros((size, size))
    for k in range(K):
        rows = rng.normal(size=(9, size))
        keep = np.zeros(size, bool)
        keep[k * N : min(k + 2, K) * N] = True
        keep[K * N :] = True
        rows[:, ~keep] = 0.0
        dense += rows.T @ rows
    dense += np.eye(size)
    return {"dense": dense, "gradient": rng.normal(size=size)}


def as_blocks(problem: dict[str, Floats]) -> tuple[Floats, Floats, Floats]:
    dense, gradient = problem["dense"], problem["gradient"]
    diagonal, right = np.zeros((K, N, N)), np.zeros((K, N, N + S + 1))
    for k in range(K):
        here = slice(k * N, (k + 1) * N)
        diagonal[k] = dense[here, here]
        if k + 1 < K:
            right[k, :, :N] = dense[here, (k + 1) * N : (k + 2) * N]
        right[k, :, N : N + S] = dense[here, K * N :]
        right[k, :, -1] = gradient[here]
    corner = np.zeros((S + 1, S + 1))
    corner[:S, :S] = dense[K * N :, K * N :]
    corner[:S, -1] = gradient[K * N :]
    return diagonal, right, corner


def test_rows_add_up_to_the_dense_system() -> None:
    # Rows touch their knot, the next and the statics; one static is not estimated and must leave no trace.
    rng = np.random.default_rng(8)
    count, statics = 40, S + 1
    knot = np.sort(rng.integers(0, K, count))
    place = np.array([0, -1, 1, 2])
    ptr, index, value = [0], [], []
    for k in knot:
        reach = 2 * N if k + 1 < K else N
        chosen = [*rng.choice(reach, 4, replace=False), *(2 * N + rng.choice(statics, 2, replace=False))]
        index += chosen
        value += list(rng.normal(size=len(chosen)))
        ptr.append(len(index))
    residual, weight = rng.normal(size=count), rng.uniform(0.5, 3.0, count)
    jac = np.zeros((count, K * N + S))
    for m, k in enumerate(knot):
        for p in range(ptr[m], ptr[m + 1]):
            i = index[p]
            if i < 2 * N:
                jac[m, k * N + i] += value[p]
            elif place[i - 2 * N] >= 0:
                jac[m, K * N + place[i - 2 * N]] += value[p]
    system = np.zeros((K, N, N)), np.zeros((K, N, N + S + 1)), np.zeros((S + 1, S + 1))
    blocks.accumulate(
        count,
        residual,
        weight,
        knot,
        np.array(ptr),
        np.array(index, np.int32),
        np.array(value),
        place,
        *system,
    )
    dense = jac.T @ (weight[:, None] * jac)
    expected = as_blocks({"dense": dense, "gradient": -jac.T @ (weight * residual)})
    upper = np.triu(np.ones((N, N), bool))
    np.testing.assert_allclose(system[0][:, upper], expected[0][:, upper], atol=1e-12)
    np.testing.assert_allclose(system[1], expected[1], atol=1e-12)
    np.testing.assert_allclose(np.triu(system[2])[:S], np.triu(expected[2])[:S], atol=1e-12)


def factored(problem: dict[str, Floats]) -> tuple[Floats, Floats, Floats]:
    system = as_blocks(problem)
    assert blocks.factor(*system)
    return system


def static_covariance(corner: Floats) -> Floats:
    root = np.linalg.inv(np.triu(corner[:S, :S]))
    return root @ root.T


def test_the_step_solves_the_dense_system(problem: dict[str, Floats]) -> None:
    step, statics = np.empty((K, N)), np.empty(S)
    blocks.solve(*factored(problem), step, statics)
    expected = np.linalg.solve(problem["dense"], problem["gradient"])
    np.testing.assert_allclose(np.concatenate((step.ravel(), statics)), expected, rtol=1e-9, atol=1e-12)


def test_covariances_are_those_of_the_dense_inverse(problem: dict[str, Floats]) -> None:
    diagonal, right, corner = factored(problem)
    same = np.empty((K, N, N))
    blocks.covariances(diagonal, right, same, True)
    inverse = np.linalg.inv(problem["dense"])
    statics = static_covariance(corner)
    np.testing.assert_allclose(statics, inverse[K * N :, K * N :], rtol=1e-9)
    lean = right[:, :, N : N + S]
    for k in range(K):
        here = slice(k * N, (k + 1) * N)
        full = same[k] + lean[k] @ statics @ lean[k].T
        np.testing.assert_allclose(full, inverse[here, here], rtol=1e-8, atol=1e-10)
        if k + 1 < K:
            after = slice((k + 1) * N, (k + 2) * N)
            pair = right[k, :, :N] + lean[k] @ statics @ lean[k + 1].T
            np.testing.assert_allclose(pair, inverse[here, after], rtol=1e-8, atol=1e-10)


@pytest.mark.parametrize("knot", [0, 2, K - 2])
def test_rows_predict_with_the_dense_variance(problem: dict[str, Floats], knot: int) -> None:
    diagonal, right, corner = factored(problem)
    same = np.empty((K, N, N))
    blocks.covariances(diagonal, right, same, True)
    index = np.array([0, N + 2, 2 * N + 1, 3, N + 4], np.int32)  # this knot, the next, a static, both again
    value = np.array([1.5, -0.7, 2.0, 0.3, 0.9])
    variance = blocks.row_variances(
        1,
        np.array([knot]),
        np.array([0, 5]),
        index,
        value,
        np.arange(S),
        same,
        right,
        static_covariance(corner),
    )
    row = np.zeros(K * N + S)
    row[[knot * N, (knot + 1) * N + 2, K * N + 1, knot * N + 3, (knot + 1) * N + 4]] = value
    assert variance[0] == pytest.approx(row @ np.linalg.inv(problem["dense"]) @ row, rel=1e-9)


def test_samples_have_the_dense_covariance(problem: dict[str, Floats]) -> None:
    # 40,000 draws: a sample covariance is then within about 5 * sqrt(2 / 40,000) = 3.5 % of the scale.
    diagonal, right, corner = factored(problem)
    same = np.empty((K, N, N))
    blocks.covariances(diagonal, right, same, False)
    rng = np.random.default_rng(1)
    count, first, last = 40_000, 1, 4
    statics = np.linalg.cholesky(static_covariance(corner)) @ rng.standard_normal((S, count))
    out = np.empty((last - first + 1, N, count))
    noise = rng.standard_normal(out.shape)
    blocks.sample_back(first, last, diagonal, right, same[last], statics, noise, out)
    drawn = np.cov(out.reshape(-1, count))
    part = slice(first * N, (last + 1) * N)
    expected = np.linalg.inv(problem["dense"])[part, part]
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    assert np.max(np.abs(drawn - expected) / scale) < 0.035


def test_an_indefinite_matrix_is_told_from_a_definite_one(problem: dict[str, Floats]) -> None:
    diagonal, right, corner = as_blocks(problem)
    diagonal[3] -= 1e3 * np.eye(N)
    assert not blocks.factor(diagonal, right, corner)
