"""A schedule of bank, pitch and throttle flown forward from a state, through an air column."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from chalkwing.dynamics import PointMass, lift_coefficient
from chalkwing.errors import OutsideModel
from chalkwing.refly.kernel import COLUMNS, AirColumn, fly_rows
from chalkwing.units import Floats, mps_to_kt, rad_to_deg

Over = Literal["time", "heading_change"]
VerticalKind = Literal["pitch", "load_factor", "path_angle"]
_OVER: tuple[Over, ...] = ("time", "heading_change")
_VERTICAL: tuple[VerticalKind, ...] = ("pitch", "load_factor", "path_angle")
_PATIENCE = 900.0
"""Longest time [s] a heading-change schedule may take before it is refused."""


@dataclass(frozen=True)
class State:
    """Where the airplane is and how it moves through the air.

    Position north, east [m] of the origin and height [m, geometric]; true airspeed [m/s], path angle [rad,
    climb positive], air heading [rad, true].
    """

    north: float
    east: float
    height: float
    true_airspeed: float
    path_angle: float
    air_heading: float


@dataclass(frozen=True)
class Schedule:
    """Commands at rising places ``at``, linear between them.

    ``at`` is time [s] from 0, or heading change of the nose [rad] from 0 in ``direction``. ``bank`` [rad,
    right positive] is the attitude's. ``vertical`` is pitch attitude [rad], load factor, or path angle [rad]
    by ``vertical_kind``; ``throttle`` is 0 to 1. All have shape (knots,).
    """

    at: Floats
    bank: Floats
    vertical: Floats
    throttle: Floats
    over: Over = "time"
    vertical_kind: VerticalKind = "pitch"
    direction: Literal["left", "right"] = "right"

    def __post_init__(self) -> None:
        shapes = {np.shape(each) for each in (self.at, self.bank, self.vertical, self.throttle)}
        if len(shapes) != 1 or len(self.at) < 2:
            raise OutsideModel(
                f"a schedule needs two or more knots, as many of each command; got shapes {sorted(shapes)}."
            )
        if self.at[0] != 0.0 or not np.all(np.diff(self.at) > 0.0):
            raise OutsideModel("a schedule's places start at 0 and rise strictly.")


@dataclass(frozen=True)
class Flown:
    """What came of it: ``values[name]``, shape (n,), on ``time`` [s]; names as in ``docs/quantities.md``."""

    time: Floats
    values: dict[str, Floats]
    end: State

    def __getitem__(self, name: str) -> Floats:
        return self.values[name]


def fly(
    start: State, schedule: Schedule, *, airplane: PointMass, column: AirColumn, step: float = 0.05
) -> Flown:
    """Fly ``schedule`` from ``start`` until its last knot, in steps of ``step`` [s].

    Raises
    ------
    OutsideModel
        The wing would have to give more than its largest lift coefficient, or a heading-change schedule
        never gets to its last heading.
    """
    longest = schedule.at[-1] if schedule.over == "time" else _PATIENCE
    rows: Floats = np.empty((int(np.ceil(longest / step - 1e-9)) + 1, len(COLUMNS)))
    state = np.array(
        [start.north, start.east, start.height, start.true_airspeed, start.path_angle, start.air_heading]
    )
    count = fly_rows(
        state,
        np.asarray(schedule.at, dtype=np.float64),
        np.array([schedule.bank, schedule.vertical, schedule.throttle], dtype=np.float64),
        _OVER.index(schedule.over),
        _VERTICAL.index(schedule.vertical_kind),
        1.0 if schedule.direction == "right" else -1.0,
        airplane,
        AirColumn(*(np.asarray(part, dtype=np.float64) for part in column)),
        step,
        rows,
    )
    rows = rows[:count]
    values = {name: np.ascontiguousarray(rows[:, k]) for k, name in enumerate(COLUMNS)}
    time = step * np.arange(count, dtype=np.float64)
    _refuse_what_cannot_fly(time, values, airplane, column)
    if schedule.over == "heading_change":
        _refuse_unreached(values, schedule)
    return Flown(time=time, values=values, end=State(*(float(value) for value in rows[-1, :6])))


def _refuse_what_cannot_fly(
    time: Floats, values: dict[str, Floats], airplane: PointMass, column: AirColumn
) -> None:
    density = np.interp(values["geometric_altitude"], column.height, column.density)
    lift = lift_coefficient(airplane, values["load_factor"], density, values["true_airspeed"])
    beyond = ~(np.abs(lift) <= airplane.max_lift)
    if beyond.any():
        i = int(np.argmax(beyond))
        raise OutsideModel(
            f"the schedule asks more lift than the wing gives {time[i]:.1f} s after its start: "
            f"{values['load_factor'][i]:.2f} g at {mps_to_kt(float(values['true_airspeed'][i])):.1f} kt true "
            f"needs a lift coefficient of {lift[i]:.2f}, the largest is {airplane.max_lift:.2f}.",
            next_step="Ask for less pitch or bank there, or start faster.",
        )


def _refuse_unreached(values: dict[str, Floats], schedule: Schedule) -> None:
    turned = abs(float(values["heading_true"][-1] - values["heading_true"][0]))
    if turned < schedule.at[-1] - 1e-6:
        raise OutsideModel(
            f"the schedule never gets to its last heading change: {rad_to_deg(turned):.0f} of "
            f"{rad_to_deg(float(schedule.at[-1])):.0f} degrees in {_PATIENCE:.0f} s.",
            next_step="Give it more bank, in the direction of the turn.",
        )
