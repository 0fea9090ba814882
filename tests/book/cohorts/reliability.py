"""How often a chance that was foretold came true."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from tests.book.cohorts.simulate import cohort

from chalkwing.book.progress import model
from chalkwing.units import Floats

BINS = np.linspace(0.0, 1.0, 11)
FEWEST = 100
"""Chances in a tenth under which its share is not told: its own error would be 10 points and more."""


@dataclass(frozen=True)
class Foretold:
    """Chances (n,) and what came of them (n,), 0 or 1; half of ``interval`` width is the 90 % doubt told."""

    chance: Floats
    came: Floats

    def table(self) -> list[tuple[float, float, int, float, float]]:
        """For each tenth with enough chances: from, to, how many, said, came true."""
        rows = []
        for low, high in pairwise(BINS):
            inside = (self.chance >= low) & (self.chance < high)
            if inside.sum() >= FEWEST:
                said, came = float(self.chance[inside].mean()), float(self.came[inside].mean())
                rows.append((float(low), float(high), int(inside.sum()), said, came))
        return rows

    @property
    def worst(self) -> float:
        """The largest difference between what was said and what came, over the tenths."""
        return max(abs(said - came) for _, _, _, said, came in self.table())


def foretell(seeds: Iterable[int]) -> Foretold:
    """Foretell the last try of every student of many schools from the tries before it."""
    chance, came = [], []
    for seed in seeds:
        school = cohort(seed)
        past = school.past
        fitted = model.fit(school.student[past], school.number[past], school.success[past])
        for student, number, success in zip(
            school.student[~past], school.number[~past], school.success[~past], strict=True
        ):
            chance.append(float(fitted.chance(int(student), np.array([number]))[:, 0].mean()))
            came.append(float(success))
    return Foretold(np.array(chance), np.array(came))
