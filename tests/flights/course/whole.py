"""A whole lesson, from takeoff to landing."""

from __future__ import annotations

from tests.flights.course.plan import Goals, Lesson
from tests.flights.course.plan_high import CANNOT, HIGH
from tests.flights.course.plan_low import LOW
from tests.flights.course.plan_pattern import pattern_work


class Whole(Lesson):
    """High work, low work, the pattern."""

    def goals(self) -> Goals:
        """Takeoff, high work, low work, the pattern."""
        yield from self.departure()
        possible = [name for name in HIGH if (self.airplane.name, name) not in CANNOT]
        high = list(self.rng.permutation(possible))[: int(self.rng.integers(4, 7))]
        low = list(self.rng.permutation(list(LOW)))[: int(self.rng.integers(1, 4))]
        for name in [*high, *low]:
            if self.rng.random() < 0.25:
                yield self.straight(20, 60)
            yield from (HIGH | LOW)[str(name)](self)
        yield from pattern_work(self)
