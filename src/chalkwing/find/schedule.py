"""Which candidates explain the flight best together, and how probable each is.

Candidates are stretches of time with a weight: the log odds of "this maneuver" against "ordinary flying".
Stretches that overlap exclude each other. The best set is weighted interval scheduling; the probability of
each is its share among all possible sets, by the forward and backward sums of the same program. Both are
linear in the candidates once these are sorted.

Some maneuvers are flown because another follows: a link from one candidate to a later one adds a bonus to
every set that holds both with nothing between them. Links are part of the sums, so what they give is a
probability like any other.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.turns import Ints
from chalkwing.units import Floats


def _none() -> Ints:
    return np.empty(0, dtype=np.int64)


@dataclass(frozen=True)
class Links:
    """From candidate ``before`` to candidate ``after`` (links,), which begins where it ends or later.

    ``bonus`` is added [log odds, above 0] where both are taken with nothing between.
    """

    before: Ints = field(default_factory=_none)
    after: Ints = field(default_factory=_none)
    bonus: Floats = field(default_factory=lambda: np.empty(0))


def best_together(start: Ints, end: Ints, weight: Floats, links: Links | None = None) -> Ints:
    """The candidates of the heaviest set in which no two overlap, in order of time.

    Parameters
    ----------
    start, end : int arrays, shape (n,)
        Where each candidate begins and ends, ``start < end``; one may begin where another ends.
    weight : array, shape (n,)
        Log odds against nothing at all; only those above 0 can be worth taking.
    links : Links
        Pairs that are worth more together.

    Returns
    -------
    chosen : int array
        Indices of the candidates taken.
    """
    if len(weight) == 0:
        return _none()
    laid = _laid_out(start, end, links or Links())
    order = laid.order
    chosen: Ints = order[_heaviest(laid.places, laid.start, laid.end, weight[order], *laid.links)]
    return chosen[np.argsort(start[chosen], kind="stable")]


def probabilities(start: Ints, end: Ints, weight: Floats, links: Links | None = None) -> Floats:
    """Probability of each candidate, shape (n,), over all sets of candidates that do not overlap."""
    if len(weight) == 0:
        return np.empty(0)
    laid = _laid_out(start, end, links or Links())
    result = np.empty(len(weight))
    result[laid.order] = _shares(laid.places, laid.start, laid.end, weight[laid.order], *laid.links)
    return result


@dataclass(frozen=True)
class _Laid:
    """Candidates in ``order`` of their ends, on numbered places where anything begins or ends.

    ``links`` are (first link into each candidate, the candidates they come from, their bonus).
    """

    places: int
    order: Ints
    start: Ints
    end: Ints
    links: tuple[Ints, Ints, Floats]


def _laid_out(start: Ints, end: Ints, links: Links) -> _Laid:
    places, numbered = np.unique(np.concatenate([start, end]), return_inverse=True)
    starts, ends = numbered[: len(start)], numbered[len(start) :]
    order = np.argsort(ends, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    into = np.argsort(rank[links.after], kind="stable")
    begin = np.searchsorted(rank[links.after][into], np.arange(len(order) + 1)).astype(np.int64)
    return _Laid(
        places=len(places),
        order=order,
        start=starts[order],
        end=ends[order],
        links=(begin, rank[links.before][into], links.bonus[into]),
    )


@compiled
def _heaviest(
    places: int, start: Ints, end: Ints, weight: Floats, links: Ints, source: Ints, bonus: Floats
) -> Ints:
    best = np.zeros(places)
    by = np.full(places, -1)
    total = np.empty(len(end))
    linked = np.full(len(end), -1)
    candidate = 0
    for place in range(places):
        if place > 0:
            best[place] = best[place - 1]
        while candidate < len(end) and end[candidate] == place:
            before = best[start[candidate]]
            for link in range(links[candidate], links[candidate + 1]):
                if total[source[link]] + bonus[link] > before:
                    before = total[source[link]] + bonus[link]
                    linked[candidate] = source[link]
            total[candidate] = before + weight[candidate]
            if total[candidate] > best[place]:
                best[place] = total[candidate]
                by[place] = candidate
            candidate += 1
    taken = np.empty(len(end), dtype=np.int64)
    count = 0
    place = places - 1
    while place > 0:
        one = by[place]
        if one < 0:
            place -= 1
            continue
        while one >= 0:
            taken[count] = one
            count += 1
            place = start[one]
            one = linked[one]
    return taken[:count]


@compiled
def _shares(
    places: int, start: Ints, end: Ints, weight: Floats, links: Ints, source: Ints, bonus: Floats
) -> Floats:
    """A set with a linked pair is among those without the bonus already: a link adds exp(bonus) - 1 of it."""
    before = np.zeros(places)
    to = np.empty(len(end))
    candidate = 0
    for place in range(places):
        if place > 0:
            before[place] = before[place - 1]
        while candidate < len(end) and end[candidate] == place:
            to[candidate] = before[start[candidate]]
            for link in range(links[candidate], links[candidate + 1]):
                further = to[source[link]] + weight[source[link]] + np.log(np.expm1(bonus[link]))
                to[candidate] = np.logaddexp(to[candidate], further)
            before[place] = np.logaddexp(before[place], to[candidate] + weight[candidate])
            candidate += 1
    after = np.zeros(places)
    beyond = np.full(len(end), -np.inf)
    by_start = np.argsort(start)
    candidate = len(start) - 1
    for place in range(places - 1, -1, -1):
        if place < places - 1:
            after[place] = after[place + 1]
        while candidate >= 0 and start[by_start[candidate]] == place:
            one = by_start[candidate]
            beyond[one] = np.logaddexp(beyond[one], after[end[one]])
            after[place] = np.logaddexp(after[place], beyond[one] + weight[one])
            for link in range(links[one], links[one + 1]):
                further = beyond[one] + weight[one] + np.log(np.expm1(bonus[link]))
                beyond[source[link]] = np.logaddexp(beyond[source[link]], further)
            candidate -= 1
    shares: Floats = np.exp(to + weight + beyond - before[places - 1])
    return shares
