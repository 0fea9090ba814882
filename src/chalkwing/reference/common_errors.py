"""Common errors flown: a plan's bank, nose and power with one thing wrong, and what comes of it.

Nothing is solved again: the erring pilot flies the planned picture, leg by leg to the reference headings, but
for the error. What a point mass cannot show (a stall, a slip or skid, a dropped wing) is refused, in words,
and never drawn.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.maneuvers.vocabulary import Change
from chalkwing.reference.assembling import Mark, point_at
from chalkwing.reference.by_headings import fly_by_headings
from chalkwing.reference.closed import Closed
from chalkwing.reference.flown import FlownPart, histories
from chalkwing.reference.reference import Reference
from chalkwing.reference.situation import Situation
from chalkwing.reference.what_if import situation_of
from chalkwing.refly.legs import LegSchedule
from chalkwing.refly.mistakes import mistaken
from chalkwing.units import DEGREE, Floats

_KNOTS = 160
FLYABLE = frozenset({"lazy_eight", "chandelle", "steep_turn"})
"""Kinds whose bank, nose and throttle over time are the whole of the plan, so that flying them gives it back.

What is flown by the ground, at idle by a law of airspeed, or to a stall, is not.
"""


_BY_COUNT: frozenset[Change] = frozenset({"roll_out", "bank_held"})
"""Errors of rolling out: what they miss is the heading, so it is not sought."""
_LEVEL = 0.05 * DEGREE


@dataclass(frozen=True)
class ErrorFlown:
    """What an error makes of the plan, laid out as the plan is.

    ``stopped`` says why parts are missing at the end; None where all were flown.
    """

    reference: Reference
    stopped: str | None = None


def fly_error(plan: Reference, change: Change, by: float) -> ErrorFlown:
    """Fly ``plan`` with one thing changed ``by`` so much [SI], the same in every part.

    Raises
    ------
    OutsideModel
        This kind's plan cannot be flown again, or the wing would stall in its first part.
    """
    situation, closed = situation_of(plan), schedule_of(plan)
    erring = replace(
        closed,
        schedule=mistaken(closed.schedule, change, by),
        entry_speed=closed.entry_speed + (by if change == "entry_speed" else 0.0),
    )
    parts, stopped = _flown(situation, erring, plan, by_count=change in _BY_COUNT)
    time, values = histories(situation, parts)
    marks = _marks(plan, parts, time, values)
    flown = replace(
        plan,
        time=time,
        values=values,
        points=tuple(point_at(situation, time, values, mark) for mark in marks),
        legs=(),
        facts=(),
        notes=(),
        schedule=None,
    )
    return ErrorFlown(flown, stopped)


def schedule_of(plan: Reference) -> Closed:
    """A plan's bank, nose and throttle as a schedule: its own, or read from its time histories.

    Raises OutsideModel for a kind that is more than that.
    """
    if isinstance(plan.schedule, Closed):
        return plan.schedule
    if plan.kind not in FLYABLE:
        raise OutsideModel(
            f"the {plan.kind.replace('_', ' ')} is flown by more than bank, nose and power over time.",
            next_step="Its errors are told in words.",
        )
    share = np.linspace(0.0, 1.0, _KNOTS + 1)
    times = np.array([leg.start + (leg.end - leg.start) * share for leg in plan.legs])

    def rows(values: Floats) -> Floats:
        read: Floats = np.interp(times, plan.time, values)
        return read

    level = plan["pitch"][0] - plan["path_angle"][0]
    schedule = LegSchedule(
        np.array([leg.end - leg.start for leg in plan.legs]),
        rows(plan["bank_into_turn"]),
        rows(plan["pitch"] - level),
        rows(plan["throttle"]),
    )
    return Closed(schedule, float(plan["calibrated_airspeed"][0]), turns=1)


def _flown(
    situation: Situation, erring: Closed, plan: Reference, *, by_count: bool
) -> tuple[list[FlownPart], str | None]:
    """All parts; or the first alone where the error has led to a stall after it."""

    def fly(turns: int) -> list[FlownPart]:
        return fly_by_headings(
            situation,
            erring,
            plan.direction,
            headings=leg_headings(plan),
            turns=turns,
            rolls_out_by_count=by_count,
        )

    try:
        return fly(erring.turns), None
    except OutsideModel as error:
        if erring.turns == 1:
            raise
        return fly(1), f"The second half is not drawn: {error.what}"


def leg_headings(plan: Reference) -> list[float | None]:
    """The heading change [rad] at which each leg of the first part ends; None where its time ends it."""
    inside = plan["part"] == 1.0
    time, turned = plan.time[inside], plan["heading_change"][inside]
    return [
        None if leg.name == "roll-in" else float(np.interp(leg.end, time, turned))
        for leg in plan.legs
        if leg.part == 1
    ]


def _marks(
    plan: Reference,
    parts: Sequence[FlownPart],
    time: Floats,
    values: Mapping[str, Floats],
) -> list[Mark]:
    """Where each named point fell: headings where they were passed, the last where the wings came level."""
    found = []
    for number, part in enumerate(parts, start=1):
        names = [point.name for point in plan.points if point.part == number]
        inside = values["part"] == number
        turned, clock = np.maximum.accumulate(values["heading_change"][inside]), time[inside]
        stop = _wings_level(clock, values["bank_into_turn"][inside])
        for name in names:
            if name == "entry":
                found.append(Mark(number, name, part.start))
            elif name == names[-1]:
                found.append(Mark(number, name, stop))
            elif name.isdigit() and float(name) * DEGREE <= turned[-1]:
                found.append(Mark(number, name, float(np.interp(float(name) * DEGREE, turned, clock))))
    return sorted(found, key=lambda mark: mark.time)


def _wings_level(time: Floats, bank: Floats) -> float:
    """When the wings came level after the steepest bank [s]; the last instant where they never did."""
    level = np.flatnonzero(bank < _LEVEL)
    after = level[level > int(np.argmax(bank))]
    return float(time[after[0]] if len(after) else time[-1])
