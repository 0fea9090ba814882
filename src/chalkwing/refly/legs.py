"""A schedule by time within each leg: how a solved maneuver is kept, changed a little, and flown again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from chalkwing.dynamics import PointMass
from chalkwing.refly.flying import Flown, Schedule, State, fly
from chalkwing.refly.kernel import AirColumn
from chalkwing.units import Floats

STEP = 0.1
"""Of the integration [s]; at half of it the ends move by less than a hundredth of a foot."""


@dataclass(frozen=True)
class LegSchedule:
    """Bank and pitch of one turn over its legs; pitch is told from the attitude of level flight at entry.

    ``durations`` [s], shape (legs,); ``bank_into_turn`` and ``pitch_above_level`` [rad] and ``throttle``,
    shape (legs, knots), at evenly spaced times from each leg's start to its end. A pilot sees the nose
    against where it stood in level flight: a heavier airplane flies the same picture with a higher nose.
    """

    durations: Floats
    bank_into_turn: Floats
    pitch_above_level: Floats
    throttle: Floats

    @property
    def duration(self) -> float:
        """Of all legs [s]."""
        return float(np.sum(self.durations))

    @property
    def ends(self) -> Floats:
        """When each leg ends [s]."""
        ends: Floats = np.cumsum(self.durations)
        return ends

    @property
    def times(self) -> Floats:
        """When each knot is [s], shape (legs, knots)."""
        share = np.linspace(0.0, 1.0, self.bank_into_turn.shape[1])
        return (self.ends - self.durations)[:, None] + self.durations[:, None] * share

    def with_throttle(self, throttle: float) -> LegSchedule:
        """The same at a constant throttle."""
        return replace(self, throttle=np.full_like(self.throttle, throttle))

    def with_more_throttle(self, change: float) -> LegSchedule:
        """The throttle changed by ``change`` all the way."""
        return replace(self, throttle=self.throttle + change)

    def with_steepest_bank(self, change: float) -> LegSchedule:
        """The steepest bank changed by ``change`` [rad]; banks up to half the steepest stay as they are."""
        steepest = float(np.max(self.bank_into_turn))
        share = np.clip(2.0 * self.bank_into_turn / steepest - 1.0, 0.0, 1.0)
        return replace(self, bank_into_turn=self.bank_into_turn + change * share)

    def with_nose_up(self, change: float) -> LegSchedule:
        """The highest nose changed by ``change`` [rad]; nose-down stays as it is."""
        highest = float(np.max(self.pitch_above_level))
        share = np.maximum(self.pitch_above_level, 0.0) / highest
        return replace(self, pitch_above_level=self.pitch_above_level + change * share)

    def rolled_later(self, delay: float) -> LegSchedule:
        """All of the bank ``delay`` [s] later against the nose; a negative one is earlier."""
        bank = np.interp(self.times - delay, self.times.ravel(), self.bank_into_turn.ravel())
        return replace(self, bank_into_turn=bank)

    def fly(
        self,
        start: State,
        *,
        airplane: PointMass,
        column: AirColumn,
        level_pitch: float,
        direction: Literal["left", "right"] = "right",
        steps: int | None = None,
    ) -> Flown:
        """Fly it from ``start``, which should be level at ``level_pitch`` [rad]; raises OutsideModel.

        ``steps`` of integration, else about :data:`STEP` each. With their number fixed the end moves smoothly
        with the durations, as a root finder needs it.
        """
        knots = np.ones(self.bank_into_turn.shape, dtype=bool)
        knots[1:, 0] = False  # where legs join, the instant counts once
        side = 1.0 if direction == "right" else -1.0
        at = self.times[knots]
        schedule = Schedule(
            at,
            side * self.bank_into_turn[knots],
            level_pitch + self.pitch_above_level[knots],
            self.throttle[knots],
        )
        count = np.ceil(self.duration / STEP) if steps is None else steps
        return fly(start, schedule, airplane=airplane, column=column, step=float(self.duration / count))
