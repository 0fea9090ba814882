"""Maneuvers as a hand flies them, well or with a fault of a given size, in the airplane that it has.

The shape of each follows the handbook's description (FAA-H-8083-3C, ch. 10).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.dynamics import angle_of_attack, lift_coefficient, specific_excess_thrust
from chalkwing.refly.hand import Hand, Side
from chalkwing.units import deg_to_rad, ft_to_m, kt_to_mps

FLOWN_WELL = "flown well"
"""The remark of a maneuver without a fault."""

_ENTRY_SPEED = kt_to_mps(105.0)
PRACTICE_HEIGHT = ft_to_m(3500.0)
_SIGN: dict[Side, float] = {"left": -1.0, "right": 1.0}


@dataclass(frozen=True)
class FlownPart:
    """One turn of a maneuver: its side, and when its wings left and came back to level [s].

    ``held`` is from when to when [s] a turn that is held at one bank was held there: from the end of the
    roll-in to the start of the roll-out.
    """

    side: Side
    start: float
    end: float
    held: tuple[float, float] | None = None


@dataclass(frozen=True)
class FlownManeuver:
    """What was really flown: a maneuver, its turns, and a word on how."""

    kind: str
    parts: tuple[FlownPart, ...]
    remark: str

    @property
    def start(self) -> float:
        """When it began [s]."""
        return self.parts[0].start

    @property
    def end(self) -> float:
        """When its last turn stopped [s]."""
        return self.parts[-1].end


def level_pitch(hand: Hand, speed: float = _ENTRY_SPEED) -> float:
    """The pitch attitude [rad] of level flight at ``speed`` [m/s, true], here and now."""
    lift = lift_coefficient(hand.airplane, 1.0, _density(hand), speed)
    return angle_of_attack(hand.airplane, lift)


def _density(hand: Hand) -> float:
    return float(np.interp(hand.state.height, hand.column.height, hand.column.density))


def _level_throttle(hand: Hand, bank: float = 0.0, speed: float = _ENTRY_SPEED) -> float:
    """The throttle that holds ``speed`` in level flight at ``bank``: thrust is linear in it."""
    factor = float(1.0 / np.cos(bank))
    idle, full = (
        specific_excess_thrust(hand.airplane, throttle, factor, _density(hand), speed)
        for throttle in (0.0, 1.0)
    )
    return min(1.0, -idle / (full - idle))


def climb_to_the_practice_area(hand: Hand) -> None:
    """Up at full throttle, and level at the practice height."""
    hand.leg([70.0], bank=[0.0], vertical=[deg_to_rad(4.0)], throttle=[1.0])
    hand.leg([8.0, 35.0], bank=[0.0] * 2, vertical=[0.0] * 2, throttle=[1.0, _level_throttle(hand)])
    straight(hand, 25.0)


def straight(hand: Hand, duration: float, *, to_height: float | None = None) -> None:
    """Straight flight, level or gently to a height, settling at the entry speed."""
    climb = 0.0
    if to_height is not None:
        # Three quarters of the time at the full angle, a quarter to begin and to end it.
        climb = float(
            np.arcsin((to_height - hand.state.height) / (0.75 * duration * hand.state.true_airspeed))
        )
    level = _level_throttle(hand)
    if climb:
        # Thrust for the climb: g sin(climb) more, as a share of what full throttle gives.
        level += 9.8 * climb * hand.airplane.mass / hand.airplane.torque_thrust
    # What the speed lacks is made up over the leg, by throttle, as far as there is any.
    lack = (_ENTRY_SPEED - hand.state.true_airspeed) / duration
    start = min(1.0, max(0.1, level + 2.2 * lack * hand.airplane.mass / hand.airplane.torque_thrust))
    hand.leg(
        [0.25 * duration, 0.75 * duration, duration],
        bank=[0.0] * 3,
        vertical=[climb, climb, 0.0],
        throttle=[start, start, _level_throttle(hand)],
    )


def clearing_turns(hand: Hand) -> FlownManeuver:
    """90 degrees to the left, a look, and 90 back to the right."""
    left = plain_turn(hand, "left", 90.0, 28.0)
    straight(hand, 8.0)
    return FlownManeuver("clearing_turns", (left, plain_turn(hand, "right", 90.0, 28.0)), FLOWN_WELL)


def plain_turn(hand: Hand, side: Side, angle: float, bank: float) -> FlownPart:
    """An ordinary level turn through ``angle`` at ``bank`` [degrees]."""
    start = hand.time
    banked, lead = _SIGN[side] * deg_to_rad(bank), 0.5 * bank
    power = _level_throttle(hand, banked)
    hand.leg([3.0], bank=[banked], vertical=[0.0], throttle=[power])
    through = deg_to_rad(angle - 1.5 * lead)
    hand.leg([through], bank=[banked], vertical=[0.0], throttle=[power], over="heading_change", side=side)
    hand.leg([3.0], bank=[0.0], vertical=[0.0], throttle=[_level_throttle(hand)])
    return FlownPart(side, start, hand.time)


def steep_turn(hand: Hand, side: Side, *, sinking: float, past: float, remark: str) -> FlownManeuver:
    """360 degrees at 50 of bank; with ``sinking`` [degrees of path] the bank creeps up and the nose drops.

    ``past`` [degrees] is how much later than 305 the rollout begins.
    """
    start = hand.time
    banked = _SIGN[side] * deg_to_rad(50.0)
    crept = banked * (1.0 + 0.05 * sinking)
    power = _level_throttle(hand, deg_to_rad(49.0))
    hand.leg([4.5], bank=[banked], vertical=[0.0], throttle=[power])
    rolled_in = hand.time
    quarters = [deg_to_rad(each) for each in (75.0, 150.0, 225.0, 305.0 + past)]
    down = -deg_to_rad(sinking)
    hand.leg(
        quarters,
        bank=[banked, crept, crept, banked],
        vertical=[0.5 * down, 1.4 * down, down, -0.3 * down],
        throttle=[power] * 4,
        over="heading_change",
        side=side,
    )
    rolling_out = hand.time
    hand.leg([4.5], bank=[0.0], vertical=[0.0], throttle=[_level_throttle(hand)])
    part = FlownPart(side, start, hand.time, held=(rolled_in, rolling_out))
    return FlownManeuver("steep_turn", (part,), remark)


_EIGHT_AT = (15.0, 45.0, 67.0, 90.0, 112.0, 135.0, 158.0, 177.0)
_EIGHT_BANK = (11.0, 19.0, 26.0, 30.0, 26.0, 19.0, 11.0, 6.0)
_EIGHT_NOSE_UP, _EIGHT_NOSE_DOWN, _EIGHT_THROTTLE = 12.0, 6.7, 0.745
"""Nose up at 45 and down at 135 [degrees from level attitude], and the throttle: solved for this airplane at
this height so that altitude and speed come back at 180."""


def _half_eight(hand: Hand, side: Side, level: float, lowered: float) -> FlownPart:
    start = hand.time
    sign = _SIGN[side]
    up, down = deg_to_rad(_EIGHT_NOSE_UP), deg_to_rad(_EIGHT_NOSE_DOWN) * lowered
    nose = (0.75 * up, up, 0.6 * up, 0.0, -0.7 * down, -down, -0.4 * down, 0.0)
    hand.leg(
        [2.5],
        bank=[sign * deg_to_rad(7.0)],
        vertical=[level + deg_to_rad(2.5)],
        throttle=[_EIGHT_THROTTLE],
        kind="pitch",
    )
    hand.leg(
        [deg_to_rad(each) for each in _EIGHT_AT],
        bank=[sign * deg_to_rad(each) for each in _EIGHT_BANK],
        vertical=[level + each for each in nose],
        throttle=[_EIGHT_THROTTLE] * len(nose),
        over="heading_change",
        kind="pitch",
        side=side,
    )
    hand.leg([2.0], bank=[0.0], vertical=[level], throttle=[_EIGHT_THROTTLE], kind="pitch")
    return FlownPart(side, start, hand.time)


def lazy_eight(hand: Hand, *, lowered: tuple[float, float], remark: str) -> FlownManeuver:
    """Right half, then left half, without a pause; ``lowered``: the share of the nose-down each gets."""
    level = level_pitch(hand)
    first = _half_eight(hand, "right", level, lowered[0])
    second = _half_eight(hand, "left", level, lowered[1])
    return FlownManeuver("lazy_eight", (first, second), remark)


def chandelle(hand: Hand, side: Side, *, past: float = 0.0, remark: str = FLOWN_WELL) -> FlownManeuver:
    """Bank first, then nose and power; from 90 the nose is held and the bank comes off.

    ``past`` [degrees] is how much later than 165 the last of the bank comes off.
    """
    start = hand.time
    level = level_pitch(hand)
    banked, top = _SIGN[side] * deg_to_rad(30.0), level + deg_to_rad(11.0)
    hand.leg([3.5], bank=[banked], vertical=[level], throttle=[0.9], kind="pitch")
    hand.leg(
        [deg_to_rad(each) for each in (35.0, 80.0, 125.0, 165.0 + past)],
        bank=[banked, banked, 0.5 * banked, 0.2 * banked],
        vertical=[level + deg_to_rad(6.0), top, top, top],
        throttle=[1.0] * 4,
        over="heading_change",
        kind="pitch",
        side=side,
    )
    hand.leg([4.0], bank=[0.0], vertical=[top], throttle=[1.0], kind="pitch")
    stopped = hand.time
    hand.leg([5.0, 25.0], bank=[0.0] * 2, vertical=[0.0] * 2, throttle=[1.0, 1.0])
    return FlownManeuver("chandelle", (FlownPart(side, start, stopped),), remark)


def descend(hand: Hand) -> None:
    """A gentle descent with a turn in it: the way home."""
    hand.leg([5.0, 20.0], bank=[0.0] * 2, vertical=[-deg_to_rad(3.0)] * 2, throttle=[0.4] * 2)
    hand.leg([3.0], bank=[deg_to_rad(18.0)], vertical=[-deg_to_rad(3.0)], throttle=[0.4])
    hand.leg([25.0], bank=[deg_to_rad(18.0)], vertical=[-deg_to_rad(3.0)], throttle=[0.4])
    hand.leg([3.0, 12.0], bank=[0.0] * 2, vertical=[-deg_to_rad(3.0)] * 2, throttle=[0.4] * 2)
