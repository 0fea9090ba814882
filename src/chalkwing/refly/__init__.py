"""A schedule of bank, pitch and throttle flown forward: what-if, demo, common errors, causes."""

from __future__ import annotations

from chalkwing.refly.flying import Flown, Schedule, State, fly
from chalkwing.refly.kernel import AirColumn

__all__ = ["AirColumn", "Flown", "Schedule", "State", "fly"]
