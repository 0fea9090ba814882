"""Which candidates explain the flight best together, and how probable each is.

Candidates are stretches of time with a weight: the log odds of "this maneuver" against "ordinary flying".
Stretches that overlap exclude each other. The best set is weighted interval scheduling; the probability of
each is its share among all possible sets, by the forward and backward sums of the same programme. Both are
linear in the candidates once these are sorted.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from chalkwing.compiled import compiled
from chalkwing.find.turns import Ints
from chalkwing.units import Floats


def best_together(start: Ints, end: Ints, weight: Floats) -> Ints:
    """The candidates of the heaviest set in which no two overlap, in order of time.

    Parameters
    ----------
    start, end : int arrays, shape (n,)
        Where each candidate begins and ends, ``start < end``; one may begin where another ends.
    weight : array, shape (n,)
        Log odds against nothing at all; only those above 0 can be worth taking.

    Returns
    -------
    chosen : int array
        Indices of the candidates taken.
    """
    if len(weight) == 0:
        return np.empty(0, dtype=np.int64)
    places, starts, ends, order = _laid_out(start, end)
    chosen: Ints = order[_heaviest(places, starts[order], ends[order], weight[order])]
    return chosen[np.argsort(start[chosen], kind="stable")]


def probabilities(start: Ints, end: Ints, weight: Floats) -> Floats:
    """Probability of each candidate, shape (n,), over all sets of candidates that do not overlap."""
    if len(weight) == 0:
        return np.empty(0)
    places, starts, ends, order = _laid_out(start, end)
    result = np.empty(len(weight))
    result[order] = _shares(places, starts[order], ends[order], weight[order])
    return result


def _laid_out(start: Ints, end: Ints) -> tuple[int, Ints, Ints, Ints]:
    """Number the places where anything begins or ends; the order is by where candidates end."""
    places, numbered = np.unique(np.concatenate([start, end]), return_inverse=True)
    starts, ends = numbered[: len(start)], numbered[len(start) :]
    return len(places), starts, ends, np.argsort(ends, kind="stable")


@compiled
def _heaviest(places: int, start: npt.NDArray[np.int64], end: npt.NDArray[np.int64], weight: Floats) -> Ints:
    best = np.zeros(places)
    by = np.full(places, -1)
    candidate = 0
    for place in range(places):
        if place > 0:
            best[place] = best[place - 1]
        while candidate < len(end) and end[candidate] == place:
            total = best[start[candidate]] + weight[candidate]
            if total > best[place]:
                best[place] = total
                by[place] = candidate
            candidate += 1
    taken = np.empty(len(end), dtype=np.int64)
    count = 0
    place = places - 1
    while place > 0:
        if by[place] >= 0:
            taken[count] = by[place]
            count += 1
            place = start[by[place]]
        else:
            place -= 1
    return taken[:count]


@compiled
def _shares(places: int, start: npt.NDArray[np.int64], end: npt.NDArray[np.int64], weight: Floats) -> Floats:
    before = np.zeros(places)
    candidate = 0
    for place in range(places):
        if place > 0:
            before[place] = before[place - 1]
        while candidate < len(end) and end[candidate] == place:
            before[place] = np.logaddexp(before[place], before[start[candidate]] + weight[candidate])
            candidate += 1
    after = np.zeros(places)
    by_start = np.argsort(start)
    candidate = len(start) - 1
    for place in range(places - 1, -1, -1):
        if place < places - 1:
            after[place] = after[place + 1]
        while candidate >= 0 and start[by_start[candidate]] == place:
            one = by_start[candidate]
            after[place] = np.logaddexp(after[place], after[end[one]] + weight[one])
            candidate -= 1
    shares: Floats = np.exp(before[start] + weight + after[end] - before[places - 1])
    return shares
