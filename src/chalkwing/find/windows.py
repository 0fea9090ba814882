"""Every place of many windows at once."""

from __future__ import annotations

import numpy as np

from chalkwing.find.turns import Ints


def each_in(low: Ints, high: Ints) -> tuple[Ints, Ints]:
    """The window and the place of everything in the windows ``low[k]`` to ``high[k]``, one after the other.

    >>> [each.tolist() for each in each_in(np.array([3, 0, 7]), np.array([5, 0, 8]))]
    [[0, 0, 2], [3, 4, 7]]
    """
    count = high - low
    window = np.repeat(np.arange(len(count)), count)
    before = np.cumsum(count) - count
    return window, np.arange(len(window)) - (before - low)[window]
