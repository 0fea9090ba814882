"""A schedule flown leg by leg to the reference headings, as a pilot does who looks outside.

Bank and nose move in each leg as the schedule says, by time; a leg ends where its heading comes up, and what
is not where it should be then is brought there in the next. In the last leg the pilot rolls so that the wings
come level on the heading. With the plan's own schedule all of it comes out as planned.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import brentq, root_scalar

from chalkwing.dynamics import PointMass
from chalkwing.reference.assembling import side_of
from chalkwing.reference.closed import Closed
from chalkwing.reference.flown import FlownPart, level_start
from chalkwing.reference.reference import Direction
from chalkwing.reference.situation import Situation
from chalkwing.refly import Flown, Schedule, State, fly
from chalkwing.refly.legs import STEP, LegSchedule
from chalkwing.units import Floats

_PATIENCE = (1.25, 3.0)
"""A heading is waited for so many times as long as the leg was planned: first a little, which mostly does."""
_QUICKEST, _SLOWEST = 0.3, 2.5
"""Shares of its planned time in which the last leg may be flown."""
_BOUNDLESS = 99.0
"""Largest lift coefficient while a leg's end is sought: what is flown in the end must not need it."""


def fly_by_headings(
    situation: Situation,
    closed: Closed,
    direction: Direction,
    *,
    headings: Sequence[float | None],
    turns: int,
    rolls_out_by_count: bool = False,
) -> list[FlownPart]:
    """The parts, each from where the last one ended.

    Parameters
    ----------
    headings
        Heading change of the nose [rad] at which each leg ends; None for a leg that ends by its time.
    rolls_out_by_count
        Whether the last leg takes its planned time, wherever that leads.

    Raises
    ------
    OutsideModel
        The wing cannot give what is asked.
    """
    true = float(situation.true_from_calibrated(closed.entry_speed))
    level = situation.level_attack(true)
    start, time, side = level_start(situation, true), 0.0, side_of(direction)
    parts: list[FlownPart] = []
    for _ in range(turns):
        turn = _Turn(situation, closed.schedule, level, side, headings, rolls_out_by_count)
        flown = turn.fly(start)
        parts.append(FlownPart(flown, side, time))
        start, time, side = flown.end, parts[-1].end, -side
    return parts


class _Turn:
    """One turn under way: where bank and nose are, leg after leg."""

    def __init__(
        self,
        situation: Situation,
        schedule: LegSchedule,
        level: float,
        side: float,
        headings: Sequence[float | None],
        by_count: bool,
    ) -> None:
        self._column = situation.column()
        self._airplane = situation.airplane
        self._boundless = situation.airplane._replace(max_lift=_BOUNDLESS)
        self._schedule, self._level, self._side = schedule, level, side
        self._headings, self._by_count = headings, by_count
        self._bank, self._nose = float(schedule.bank_into_turn[0, 0]), float(schedule.pitch_above_level[0, 0])
        self._first: float | None = None
        self._pieces: list[Flown] = []

    def fly(self, state: State) -> Flown:
        """All legs from a state."""
        last = len(self._headings) - 1
        for leg, heading in enumerate(self._headings):
            planned = float(self._schedule.durations[leg])
            if heading is None or (leg == last and self._by_count):
                lasting, share = planned, 1.0
            elif leg == last:
                lasting = planned * self._share(state, leg, heading)
                share = lasting / planned
            else:
                lasting, share = self._until(state, leg, heading), 1.0
            piece = self._leg(state, leg, lasting, share, self._airplane)
            self._keep(piece, leg, lasting, share)
            state = piece.end
        return _joined(self._pieces)

    def _keep(self, piece: Flown, leg: int, lasting: float, share: float) -> None:
        if self._first is None:
            self._first = float(piece["heading_true"][0])
        bank, nose, _ = self._commands(leg, np.array([lasting]), share)
        self._bank, self._nose = float(bank[0]), float(nose[0])
        self._pieces.append(piece)

    def _commands(self, leg: int, since: Floats, share: float) -> tuple[Floats, Floats, Floats]:
        """Bank into the turn, nose and throttle so long after the leg's start [s]."""
        plan, planned = self._schedule, float(self._schedule.durations[leg])
        knots = np.linspace(0.0, planned * share, plan.bank_into_turn.shape[1])
        left = np.maximum(0.0, 1.0 - since / (planned * share))
        read = [np.interp(since, knots, rows[leg]) for rows in (plan.bank_into_turn, plan.pitch_above_level)]
        bank: Floats = read[0] + left * (self._bank - plan.bank_into_turn[leg, 0])
        nose: Floats = read[1] + left * (self._nose - plan.pitch_above_level[leg, 0])
        return bank, nose, np.interp(since, knots, plan.throttle[leg])

    def _leg(self, state: State, leg: int, lasting: float, share: float, airplane: PointMass) -> Flown:
        knots = self._schedule.bank_into_turn.shape[1]
        at = np.linspace(0.0, lasting, max(knots, int(knots * lasting / self._schedule.durations[leg])))
        bank, nose, throttle = self._commands(leg, at, share)
        schedule = Schedule(at, self._side * bank, self._level + nose, throttle)
        step = lasting / np.ceil(lasting / STEP)
        return fly(state, schedule, airplane=airplane, column=self._column, step=float(step))

    def _turned(self, piece: Flown) -> Floats:
        """Heading change of the nose since the turn began [rad]."""
        nose = np.unwrap(piece["heading_true"])
        first = float(nose[0]) if self._first is None else self._first
        # A piece starts near where the last one ended, whole turns apart at the most.
        whole = 2.0 * np.pi * np.round((self._so_far() - self._side * (nose[0] - first)) / (2.0 * np.pi))
        turned: Floats = self._side * (nose - first) + whole
        return turned

    def _so_far(self) -> float:
        return sum(
            self._side * float(np.unwrap(piece["heading_true"])[-1] - piece["heading_true"][0])
            for piece in self._pieces
        )

    def _until(self, state: State, leg: int, heading: float) -> float:
        """How long until a heading comes up [s]."""
        planned = float(self._schedule.durations[leg])
        for times in _PATIENCE:
            piece = self._leg(state, leg, times * planned, 1.0, self._boundless)
            turned = np.maximum.accumulate(self._turned(piece))
            if turned[-1] >= heading:
                return max(STEP, float(np.interp(heading, turned, piece.time)))
        return planned

    def _share(self, state: State, leg: int, heading: float) -> float:
        """In what share of its planned time the last leg ends on a heading; the nearest that may be."""
        planned = float(self._schedule.durations[leg])

        def miss(share: float) -> float:
            piece = self._leg(state, leg, planned * share, share, self._boundless)
            return float(self._turned(piece)[-1]) - heading

        # Most errors want nearly the planned time, and from there few trials are needed.
        found = root_scalar(miss, method="secant", x0=1.0, x1=1.03, xtol=1e-3, maxiter=8)
        if found.converged and _QUICKEST <= found.root <= _SLOWEST:
            return float(found.root)
        if miss(_QUICKEST) > 0.0:
            return _QUICKEST
        return _SLOWEST if miss(_SLOWEST) < 0.0 else float(brentq(miss, _QUICKEST, _SLOWEST, xtol=1e-3))


def _joined(pieces: Sequence[Flown]) -> Flown:
    """Legs as one flight, the shared ends once."""
    starts = np.concatenate(([0.0], np.cumsum([piece.time[-1] for piece in pieces])))
    kept = [slice(None, -1)] * (len(pieces) - 1) + [slice(None)]
    time = np.concatenate([start + p.time[k] for start, p, k in zip(starts, pieces, kept, strict=False)])
    names = pieces[0].values
    values = {name: np.concatenate([p[name][k] for p, k in zip(pieces, kept, strict=True)]) for name in names}
    return Flown(time, values, pieces[-1].end)
