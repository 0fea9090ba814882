"""What every way of explaining a flight hands to the schedule, and what it may look at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.ground import OverGround
from chalkwing.find.occurrence import Occurrence
from chalkwing.find.signals import Signals
from chalkwing.find.spans import Bridged
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints, Turns
from chalkwing.maneuvers.schema import Definition
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats


@dataclass(frozen=True)
class Flight:
    """A flight as definitions are held against it: reconstructed, seen on its grid, cut into turns.

    ``bridged`` are the turns as they may be taken together, ``ground`` where it was over the ground.
    """

    motion: Motion
    seen: Signals
    turns: Turns
    bridged: Bridged
    ground: OverGround
    tuning: Tuning


@dataclass(frozen=True)
class Explained:
    """Every stretch that one definition may explain; arrays of shape (candidates,).

    ``first`` and ``last`` are the grid points that enclose it, ``weights`` its log odds against ordinary
    flying, ``turns`` the number of its turns (1 where it goes by time), ``broken`` whether it ends before it
    is complete, ``amid`` whether it begins in the middle of what may be a chain. ``occurrence`` turns a row
    into an Occurrence, whose edges are found to a fraction of the grid: it is asked of the chosen ones only.
    """

    definition: Definition
    first: Ints
    last: Ints
    weights: Floats
    turns: Ints
    broken: npt.NDArray[np.bool_]
    amid: npt.NDArray[np.bool_]
    occurrence: Callable[[int], Occurrence]

    def __len__(self) -> int:
        return len(self.first)
