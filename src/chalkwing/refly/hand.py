"""A pilot's hand: schedules flown one after the other, joined without a jump, a little rough."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from chalkwing.dynamics import PointMass
from chalkwing.refly.flying import Flown, Over, Schedule, State, VerticalKind, fly
from chalkwing.refly.kernel import COLUMNS, AirColumn
from chalkwing.units import Floats, deg_to_rad

Side = Literal["left", "right"]
_ROUGH_EVERY = 1.0
"""A hand that wanders changes its mind about once a second [s, or 4 degrees of turn]."""
_ROUGH_TURN = deg_to_rad(4.0)


class Hand:
    """Flies legs in order and keeps what was flown; each leg starts from the bank and nose the last one left.

    ``roughness`` [rad] is the sd of the wandering of bank; pitch and path wander a third as much.
    """

    def __init__(
        self, start: State, *, airplane: PointMass, column: AirColumn, seed: int, roughness: float
    ) -> None:
        self.state = start
        self.airplane = airplane
        self.column = column
        self.roughness = roughness
        self._random = np.random.default_rng(seed)
        self._pieces: list[Flown] = []
        self.time = 0.0

    @property
    def bank(self) -> float:
        """Bank now [rad]."""
        return float(self._pieces[-1]["bank"][-1]) if self._pieces else 0.0

    @property
    def pitch(self) -> float:
        """Pitch attitude now [rad]."""
        return float(self._pieces[-1]["pitch"][-1]) if self._pieces else self.state.path_angle

    @property
    def throttle(self) -> float:
        """Throttle now."""
        return float(self._pieces[-1]["throttle"][-1]) if self._pieces else 0.75

    def leg(
        self,
        at: Sequence[float],
        *,
        bank: Sequence[float],
        vertical: Sequence[float],
        throttle: Sequence[float],
        over: Over = "time",
        kind: VerticalKind = "path_angle",
        side: Side = "right",
    ) -> Flown:
        """Fly one leg whose commands at 0 are what the last leg ended with; ``at`` starts after 0."""
        now = self.pitch if kind == "pitch" else self.state.path_angle
        places = np.concatenate(([0.0], at))
        rows = np.array([[self.bank, *bank], [now, *vertical], [self.throttle, *throttle]])
        places, rows = self._roughened(places, rows, _ROUGH_EVERY if over == "time" else _ROUGH_TURN)
        schedule = Schedule(places, rows[0], rows[1], rows[2], over=over, vertical_kind=kind, direction=side)
        flown = fly(self.state, schedule, airplane=self.airplane, column=self.column)
        self._pieces.append(flown)
        self.state = flown.end
        self.time += float(flown.time[-1])
        return flown

    def _roughened(self, places: Floats, rows: Floats, every: float) -> tuple[Floats, Floats]:
        """More knots, with bank and nose wandering around the plan; the ends stay as planned."""
        inner = np.arange(every, places[-1] - 0.5 * every, every)
        finer = np.union1d(places, inner)
        fine = np.array([np.interp(finer, places, row) for row in rows])
        wander = self._random.normal(0.0, self.roughness, (2, len(finer)))
        wander = 0.5 * (wander + np.roll(wander, 1, axis=1))
        # Legs of a second or two are single movements: nothing wanders between their ends.
        wander[:, 0] = wander[:, -1] = 0.0
        fine[0] += wander[0]
        fine[1] += wander[1] / 3.0
        return finer, fine

    def flown(self) -> tuple[Floats, dict[str, Floats]]:
        """All legs as one flight: time [s] and values, the shared end points once."""
        starts = np.cumsum([0.0] + [float(piece.time[-1]) for piece in self._pieces])
        last = len(self._pieces) - 1
        kept = [slice(None, None if k == last else -1) for k in range(last + 1)]
        time = np.concatenate([starts[k] + piece.time[kept[k]] for k, piece in enumerate(self._pieces)])
        values = {
            name: np.concatenate([piece[name][kept[k]] for k, piece in enumerate(self._pieces)])
            for name in COLUMNS
        }
        for name in ("air_heading", "heading_true"):
            values[name] = np.unwrap(values[name])
        return time, values
