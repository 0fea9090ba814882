"""One simulated school: tries at one kind of maneuver, with the truth of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.book.progress.attempts import Ints
from chalkwing.units import Floats


@dataclass(frozen=True)
class Cohort:
    """Tries of a school: whose (n,), number (n,), success (n,). The last try of each student is foretold."""

    student: Ints
    number: Ints
    success: Floats

    @property
    def past(self) -> Floats:
        """Which tries are known when the last of each student is foretold, (n,)."""
        last = {int(one): int(self.number[self.student == one].max()) for one in np.unique(self.student)}
        return np.array(
            [number < last[int(one)] for one, number in zip(self.student, self.number, strict=True)]
        )


def cohort(seed: int, *, students: int = 8, most: int = 16, elements: int = 4) -> Cohort:
    """A school of ``students`` with 2 to ``most`` tries each."""
    rng = np.random.default_rng([seed, 90])
    usual = rng.normal(0.3, 0.35, elements)
    rows = []
    for student in range(students):
        level, learning = rng.normal(0.0, 0.35), max(rng.normal(0.35, 0.15), 0.0)
        own, bias = rng.normal(0.0, 0.25, elements), rng.normal(0.0, 0.3, elements)
        for number in range(1, int(rng.integers(2, most)) + 2):
            form, practice = rng.normal(0.0, 0.25), number**-learning
            spread = np.exp(usual + level + own + form) * practice
            deviation = bias * practice + spread * rng.normal(size=elements)
            rows.append((student, number, bool(np.all(np.abs(deviation) <= 1.0))))
    table = np.array(rows)
    return Cohort(table[:, 0].astype(np.int64), table[:, 1].astype(np.int64), table[:, 2].astype(float))
