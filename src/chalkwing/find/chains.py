"""Chains: which span may follow which, and every chain of them, each by its best path. Compiled, linear.

A series of turns may have any number of parts. Every pair of a first and a last span is a candidate; of the
paths between them (a roughness may be bridged or not) the best is kept. No chain looks further than its most
parts, so the work grows with the flight and no faster.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.find.turns import Flags, Ints
from chalkwing.units import Floats


@dataclass(frozen=True)
class Following:
    """The spans that may follow each span: ``after[begin[a]:begin[a + 1]]``, with their ``worth`` [log odds].

    ``begin`` has shape (spans + 1,), ``after`` and ``worth`` (links,), ``follows`` (spans,) counts them.
    """

    begin: Ints
    after: Ints
    worth: Floats

    @property
    def follows(self) -> Ints:
        """How many spans may follow each."""
        return np.diff(self.begin)

    @classmethod
    def in_a_row(cls, next_follows: Flags) -> Following:
        """Each span is followed by the next one where ``next_follows``."""
        begin = np.concatenate([[0], np.cumsum(next_follows)]).astype(np.int64)
        after = np.flatnonzero(next_follows) + 1
        return cls(begin, after, np.zeros(len(after)))

    def weighing(self, worth: Floats) -> Following:
        """The same links with this worth."""
        return replace(self, worth=np.asarray(worth, dtype=float))

    def between(self, before: Ints, after: Ints) -> Floats:
        """The worth of the link between each pair; the pairs are linked."""
        return _between(self.begin, self.after, self.worth, before, after)


def linked(
    start: Floats, end: Floats, first: Ints, last: Ints, side: Ints, way: int, longest: float
) -> Following:
    """Links from each span to those that begin within ``longest`` [s] of its end, in a later turn.

    ``way`` is +1 where the next turns to the same side, -1 to the other, 0 either way. Spans are in order of
    their starts.
    """
    begin, after = _linked(start, end, first, last, side, way, longest)
    return Following(begin, after, np.zeros(len(after)))


@compiled
def _linked(
    start: Floats, end: Floats, first: Ints, last: Ints, side: Ints, way: int, longest: float
) -> tuple[Ints, Ints]:
    count = len(start)
    begin = np.zeros(count + 1, dtype=np.int64)
    after = np.empty(16 * count + 16, dtype=np.int64)
    filled = 0
    for one in range(count):
        for other in range(one + 1, count):
            if start[other] - end[one] > longest:
                break
            if first[other] <= last[one]:
                continue
            if way != 0 and side[other] != way * side[one]:
                continue
            if filled == len(after):
                after = np.concatenate((after, np.empty(len(after), dtype=np.int64)))
            after[filled] = other
            filled += 1
        begin[one + 1] = filled
    return begin, after[:filled]


@compiled
def _between(begin: Ints, after: Ints, worth: Floats, one: Ints, other: Ints) -> Floats:
    found = np.zeros(len(one))
    for row in range(len(one)):
        for link in range(begin[one[row]], begin[one[row] + 1]):
            if after[link] == other[row]:
                found[row] = worth[link]
                break
    return found


def grow(links: Following, worth: Floats, first: Flags, whole: Flags, most: int) -> Ints:
    """Every chain of up to ``most`` spans that begins with a ``first`` one, shape (chains, most).

    A row holds -1 after its last span. All but the last of a chain are ``whole``. Between the same first and
    last span the best path is kept, by the sum of the spans' and links' ``worth``.
    """
    chains = _grown(links.begin, links.after, links.worth, worth, first, whole, most)
    used = max(int((chains >= 0).sum(axis=1).max()), 1) if len(chains) else 1
    return np.asarray(chains[:, :used])


@compiled
def _grown(
    begin: Ints, after: Ints, linked: Floats, worth: Floats, first: Flags, whole: Flags, most: int
) -> Ints:
    count = len(worth)
    chains = np.full((4 * count + 4, most), -1, dtype=np.int64)
    rows = 0
    best = np.full(count, -np.inf)
    length = np.zeros(count, dtype=np.int64)
    before = np.full(count, -1, dtype=np.int64)
    for start in range(count):
        if not first[start]:
            continue
        best[start], length[start], before[start] = worth[start], 1, -1
        farthest = start
        one = start
        while one <= farthest:
            if best[one] > -np.inf:
                if rows == len(chains):
                    chains = np.concatenate((chains, np.full((rows, most), -1, dtype=np.int64)))
                at, place = one, length[one] - 1
                while at >= 0:
                    chains[rows, place] = at
                    at, place = before[at], place - 1
                rows += 1
                if whole[one] and length[one] < most:
                    for link in range(begin[one], begin[one + 1]):
                        other = after[link]
                        total = best[one] + linked[link] + worth[other]
                        if total > best[other]:
                            best[other], length[other], before[other] = total, length[one] + 1, one
                            farthest = max(farthest, other)
                best[one] = -np.inf
            one += 1
    return chains[:rows]
