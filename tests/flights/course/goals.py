"""The maneuvers of the course as goals, with the errors wanted; SI and radians.

``skill`` from 0 to 1 says how well wind is allowed for. ``break_off`` is the share of the maneuver after
which the pilot gives up, or None.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

StallKind = Literal["power_off_stall", "power_on_stall", "accelerated_stall"]


@dataclass(frozen=True)
class ClearingTurns:
    """One 180 or two 90s (``turns``: signed heading changes), ``pause`` [s] level between them."""

    turns: tuple[float, ...]
    bank: float
    airspeed: float
    pause: float
    altitude_drift: float = 0.0
    break_off: float | None = None


@dataclass(frozen=True)
class SlowFlight:
    """Slow to ``airspeed``, hold altitude for ``duration`` [s] with ``turns`` on the way, then speed up."""

    airspeed: float
    duration: float
    turns: tuple[float, ...]
    bank: float
    flaps: float
    altitude_drift: float
    airspeed_drift: float
    break_off: float | None = None


@dataclass(frozen=True)
class Stall:
    """A stall with its setup and recovery.

    ``full`` waits for the break, else the first warning is enough. ``reaction`` [s] is how late the recovery
    begins, ``push`` how far the nose is lowered below level, ``power_delay`` [s] how late power comes.
    ``secondary`` pulls so early that it stalls again.
    """

    kind: StallKind
    bank: float
    full: bool
    pitch_rate: float
    pitch_most: float
    throttle: float
    flaps: float
    reaction: float
    push: float
    power_delay: float
    heading_drift: float
    glide: float
    secondary: bool = False
    break_off: float | None = None


@dataclass(frozen=True)
class EmergencyDescent:
    """Idle, bank, nose down to ``airspeed``, turning ``turn`` (signed), level at ``height_lost`` lower."""

    airspeed: float
    bank: float
    turn: float
    height_lost: float
    level_off_error: float
    roll_out_early: bool
    break_off: float | None = None


@dataclass(frozen=True)
class SteepSpiral:
    """``turns`` revolutions at idle about a point; ``steepest`` is the bank the wind asks for downwind."""

    direction: int
    turns: int
    steepest: float
    airspeed: float
    airspeed_drift: float
    skill: float
    heading_error: float
    power_blips: bool
    break_off: float | None = None


@dataclass(frozen=True)
class TurnsAroundAPoint:
    """``turns`` revolutions about a point at one altitude, entered ``entry_off_downwind``."""

    direction: int
    turns: int
    steepest: float
    airspeed: float
    skill: float
    altitude_drift: float
    heading_error: float
    entry_off_downwind: float
    break_off: float | None = None


@dataclass(frozen=True)
class STurns:
    """``halves`` half circles on alternate sides of a line that lies ahead, the first to ``direction``."""

    direction: int
    halves: int
    steepest: float
    airspeed: float
    skill: float
    altitude_drift: float
    off_square: float
    break_off: float | None = None


@dataclass(frozen=True)
class EightsOnPylons:
    """``turns`` turns about two pylons in turn, ``steepest`` bank asked for; ``straight`` [s] between them.

    ``height_skill`` 1 follows the pivotal height exactly, 0 keeps the height of entry; ``height_error`` [m]
    is held wrong all round; ``sight_error`` [rad] is how far ahead of the wing tip the pylon is held.
    """

    direction: int
    turns: int
    steepest: float
    straight: float
    airspeed: float
    height_skill: float
    height_error: float
    sight_error: float
    skill: float
    break_off: float | None = None


@dataclass(frozen=True)
class RectangularCourse:
    """``turns`` turns of about 90 degrees round a rectangle of ``length`` by ``width`` [m]."""

    direction: int
    turns: int
    length: float
    width: float
    bank: float
    airspeed: float
    skill: float
    altitude_drift: float
    break_off: float | None = None


@dataclass(frozen=True)
class PowerOff180:
    """From abeam the point on downwind, idle, to the ground or a low go-around.

    ``judgement`` above 1 delays the base turn longer than is right; ``square`` flies a base leg instead of
    one round turn; ``goes_around`` adds power ``go_around_height`` above the ground.
    """

    side: int
    runway_north: float
    runway_east: float
    runway_track: float
    width: float
    abeam_error: float
    airspeed: float
    bank: float
    judgement: float
    square: bool
    goes_around: bool
    go_around_height: float
    flare_error: float
    break_off: float | None = None


CourseGoal = (
    ClearingTurns
    | SlowFlight
    | Stall
    | EmergencyDescent
    | SteepSpiral
    | TurnsAroundAPoint
    | STurns
    | EightsOnPylons
    | RectangularCourse
    | PowerOff180
)


def kind_of(goal: CourseGoal) -> str:
    """The maneuver's kind as the definitions call it."""
    return goal.kind if isinstance(goal, Stall) else KINDS[type(goal)]


KINDS: dict[type, str] = {
    ClearingTurns: "clearing_turns",
    SlowFlight: "slow_flight",
    EmergencyDescent: "emergency_descent",
    SteepSpiral: "steep_spiral",
    TurnsAroundAPoint: "turns_around_a_point",
    STurns: "s_turns",
    EightsOnPylons: "eights_on_pylons",
    RectangularCourse: "rectangular_course",
    PowerOff180: "power_off_180",
}
