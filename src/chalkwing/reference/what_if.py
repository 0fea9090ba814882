"""What if: a solved turn's schedule flown again with one thing changed, never solved anew.

The schedule is bank, nose (told from level flight at the entry) and throttle by time within each leg, so that
the answer is what comes of flying the same picture by the same count. Control forces are beyond the model.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.closed import Closed, fly_closed
from chalkwing.reference.flown import histories
from chalkwing.reference.reference import Reference
from chalkwing.reference.situation import Situation
from chalkwing.refly import AirColumn
from chalkwing.refly.legs import LegSchedule
from chalkwing.units import POUND, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

CAUTION = (
    "Bank, nose and throttle as planned, flown again with one thing changed. Control forces are not modeled."
)


class Outcome(NamedTuple):
    """How a turn came out; SI and radians.

    ``exit_altitude`` (by altimeter, against entry), ``exit_airspeed`` (calibrated) and ``exit_heading`` (past
    the reference, in the direction of turn) where its last leg ends; ``top_height`` (by altimeter, against
    entry) and ``top_speed`` (calibrated) at its highest point; ``ground_north``, ``ground_east`` [m] where it
    ended over the ground.
    """

    exit_altitude: float
    exit_airspeed: float
    exit_heading: float
    top_height: float
    top_speed: float
    ground_north: float
    ground_east: float


@dataclass(frozen=True)
class Sensitivity:
    """One row: what was ``changed`` by ``step`` (SI in ``unit``), as the pilot would say it in ``title``.

    ``effect`` is the outcome less that of the plan; None where the changed turn cannot be flown, which
    ``reason`` then explains.
    """

    changed: str
    step: float
    unit: str
    title: str
    effect: Outcome | None
    reason: str | None = None

    def pilot_units(self) -> dict[str, object]:
        """The row in pilot units, each key with its own; effects are None where it cannot be flown."""
        row: dict[str, object] = {"changed": self.changed, "title": self.title, "reason": self.reason}
        effect = self.effect
        for name, convert in _PILOT.items():
            quantity = name.rsplit("_", 1)[0]
            row[name] = None if effect is None else float(convert(getattr(effect, quantity)))
        drift = None if effect is None else float(np.hypot(effect.ground_north, effect.ground_east))
        row["ground_drift_ft"] = None if drift is None else float(m_to_ft(drift))
        return row


_PILOT: dict[str, Callable[[float], float]] = {
    "exit_altitude_ft": m_to_ft,
    "exit_airspeed_kt": mps_to_kt,
    "exit_heading_deg": rad_to_deg,
    "top_height_ft": m_to_ft,
    "top_speed_kt": mps_to_kt,
}


@dataclass(frozen=True)
class _Case:
    """One thing changed: the situation, the schedule, or the air flown through."""

    changed: str
    step: float
    unit: str
    title: str
    situation: Situation
    closed: Closed
    column: AirColumn | None = None


def what_if(reference: Reference) -> tuple[Sensitivity, ...]:
    """The sensitivities of a lazy eight's first half, or of a chandelle, to one change at a time.

    Each row flies the plan again with entry speed, mass, temperature, wind, throttle, steepest bank, highest
    nose or the time of rolling changed. A steady wind changes only where the turn is over the ground; a wind
    that grows with height changes the rest.

    Raises
    ------
    OutsideModel
        The Reference has no schedule to fly again.
    """
    if not isinstance(reference.schedule, Closed):
        raise OutsideModel(
            f"the {reference.kind.replace('_', ' ')} keeps no schedule to fly again.",
            next_step="Solve it anew with the changed setting.",
        )
    situation = situation_of(reference)
    plan = _outcome(situation, reference.schedule, reference)
    return tuple(_row(case, plan, reference) for case in _cases(situation, reference.schedule))


def situation_of(reference: Reference) -> Situation:
    """The situation a Reference was solved in."""
    return Situation(
        reference.sheet,
        reference.mass,
        reference.conditions,
        reference.entry_altitude,
        float(reference["heading_true"][0]),
    )


def _cases(situation: Situation, closed: Closed) -> Iterator[_Case]:
    """What is changed, and by how much: steps that a pilot meets in a lesson."""
    conditions, schedule = situation.conditions, closed.schedule

    def case(
        changed: str,
        step: float,
        unit: str,
        title: str,
        situation: Situation = situation,
        closed: Closed = closed,
        column: AirColumn | None = None,
    ) -> _Case:
        return _Case(changed, step, unit, title, situation, closed, column)

    def scheduled(changed: str, step: float, unit: str, title: str, new: LegSchedule) -> _Case:
        return case(changed, step, unit, title, closed=replace(closed, schedule=new))

    faster, heavier = kt_to_mps(5.0), 100.0 * POUND
    yield case(
        "entry_speed",
        faster,
        "m/s",
        "Entry 5 kt faster",
        closed=replace(closed, entry_speed=closed.entry_speed + faster),
    )
    mass = replace(situation, mass=situation.mass + heavier)
    yield case("mass", heavier, "kg", "100 lb heavier", situation=mass)
    warm = replace(conditions, isa_deviation=conditions.isa_deviation + 10.0)
    yield case("temperature", 10.0, "K", "10 °C warmer", situation=replace(situation, conditions=warm))
    blown = _headwind(situation, kt_to_mps(10.0), 0.0)
    yield case("wind", kt_to_mps(10.0), "m/s", "10 kt more headwind at entry", column=blown)
    sheared = _headwind(situation, 0.0, kt_to_mps(5.0) / ft_to_m(1000.0))
    yield case(
        "wind_gradient",
        kt_to_mps(5.0) / ft_to_m(1000.0),
        "1/s",
        "Headwind growing 5 kt per 1,000 ft",
        column=sheared,
    )
    yield scheduled("throttle", -0.05, "1", "Throttle 5 points lower", schedule.with_more_throttle(-0.05))
    five, two = deg_to_rad(5.0), deg_to_rad(2.0)
    yield scheduled(
        "maximum_bank", five, "rad", "Steepest bank 5° steeper", schedule.with_steepest_bank(five)
    )
    yield scheduled("nose_up", two, "rad", "Highest nose 2° higher", schedule.with_nose_up(two))
    yield scheduled("roll_timing", 1.0, "s", "All rolling 1 s later", schedule.rolled_later(1.0))


def _headwind(situation: Situation, steady: float, gradient: float) -> AirColumn:
    """The day's air with more headwind on the entry heading [m/s], growing with height [1/s]."""
    column = situation.column(wind=True)
    more = steady + gradient * column.height
    return column._replace(
        wind_north=column.wind_north - more * np.cos(situation.entry_heading),
        wind_east=column.wind_east - more * np.sin(situation.entry_heading),
    )


def _row(case: _Case, plan: Outcome, reference: Reference) -> Sensitivity:
    told = (case.changed, case.step, case.unit, case.title)
    try:
        outcome = _outcome(case.situation, case.closed, reference, case.column)
    except OutsideModel as error:
        return Sensitivity(*told, None, str(error))
    return Sensitivity(*told, Outcome(*(new - old for new, old in zip(outcome, plan, strict=True))))


def _outcome(
    situation: Situation, closed: Closed, reference: Reference, column: AirColumn | None = None
) -> Outcome:
    """The first turn, flown through the day's own wind unless a column is given."""
    air = situation.column(wind=True) if column is None else column
    parts = fly_closed(situation, closed, reference.direction, turns=1, column=air)
    flown = parts[0].flown
    _, values = histories(situation, parts)
    top = int(np.argmax(values["altitude_change"]))
    return Outcome(
        exit_altitude=float(values["altitude_change"][-1]),
        exit_airspeed=float(values["calibrated_airspeed"][-1]),
        exit_heading=float(values["heading_change"][-1] - np.pi),
        top_height=float(values["altitude_change"][top]),
        top_speed=float(values["calibrated_airspeed"][top]),
        ground_north=flown.end.north,
        ground_east=flown.end.east,
    )
