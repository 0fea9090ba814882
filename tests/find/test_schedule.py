"""The schedule against all sets of candidates, counted out one by one."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from chalkwing.find.schedule import Links, best_together, probabilities


def _fit(chosen: tuple[int, ...], start: np.ndarray, end: np.ndarray) -> bool:
    return all(end[a] <= start[b] or end[b] <= start[a] for a, b in combinations(chosen, 2))


@pytest.mark.parametrize("seed", range(12))
def test_agrees_with_counting_out_every_set(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = 9
    start = rng.integers(0, 40, count)
    end = start + rng.integers(1, 15, count)
    weight = rng.normal(0.5, 2.0, count)
    sets = [s for size in range(count + 1) for s in combinations(range(count), size) if _fit(s, start, end)]
    totals = np.array([weight[list(s)].sum() for s in sets])
    best = sets[int(np.argmax(totals))]
    assert sorted(best_together(start, end, weight)) == sorted(best)
    share = np.exp(totals) / np.exp(totals).sum()
    expected = [sum(share[k] for k, s in enumerate(sets) if one in s) for one in range(count)]
    assert probabilities(start, end, weight) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_links_agree_with_counting_out_every_set(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    count = 9
    start = rng.integers(0, 40, count)
    end = start + rng.integers(1, 12, count)
    weight = rng.normal(-1.0, 2.0, count)
    pairs = [(a, b) for a in range(count) for b in range(count) if end[a] <= start[b] and rng.random() < 0.5]
    bonus = {pair: rng.uniform(0.5, 5.0) for pair in pairs}
    links = Links(*np.array(pairs).reshape(-1, 2).T, np.array(list(bonus.values())))

    def total(of: tuple[int, ...]) -> float:
        in_order = sorted(of, key=lambda one: start[one])
        return float(weight[list(of)].sum()) + sum(bonus.get(pair, 0.0) for pair in pairwise(in_order))

    sets = [s for size in range(count + 1) for s in combinations(range(count), size) if _fit(s, start, end)]
    totals = np.array([total(s) for s in sets])
    assert sorted(best_together(start, end, weight, links)) == sorted(sets[int(np.argmax(totals))])
    share = np.exp(totals) / np.exp(totals).sum()
    expected = [sum(share[k] for k, s in enumerate(sets) if one in s) for one in range(count)]
    assert probabilities(start, end, weight, links) == pytest.approx(expected, rel=1e-9)


def test_chosen_come_in_order_of_time_and_may_touch() -> None:
    start, end = np.array([20, 0, 10]), np.array([30, 10, 20])
    assert list(best_together(start, end, np.ones(3))) == [1, 2, 0]


def test_nothing_is_better_than_bad_explanations() -> None:
    start, end = np.array([0, 5]), np.array([10, 15])
    assert len(best_together(start, end, np.array([-1.0, -3.0]))) == 0
    assert np.all(probabilities(start, end, np.array([-1.0, -3.0])) < 0.5)


def test_no_candidates() -> None:
    nothing = np.empty(0, dtype=np.int64)
    assert len(best_together(nothing, nothing, np.empty(0))) == 0
    assert len(probabilities(nothing, nothing, np.empty(0))) == 0
