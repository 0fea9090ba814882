"""What was flown in ordinary flying without being meant: a finding that is right though nobody called it so.

What a pilot meant is in no recording. A landing flown without power from abeam to the round-out is a
power-off approach, a go-around in which the wing lets go holds a stall. Truth alone decides: power and angle
of attack, of which the finder sees neither.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from tests.flights.accuracy.course import bait
from tests.flights.accuracy.lesson import Lesson
from tests.flights.airplanes import CRITICAL_ANGLE
from tests.flights.course.sight import HORN_MARGIN

from chalkwing.find import Occurrence

PIECES: Mapping[str, tuple[str, ...]] = {
    "slow_flight": ("slow_flight", "slow_flight_turn"),
    "clearing_turns": ("s_turn", "turn", "clearing_turn", "three_sixty", "straight"),
}
"""Pieces of the older ordinary flights that are what they are taken for: level at 1.2 times the stall speed,
or 90 degrees one way and at once about 90 the other."""

IDLES_AT = 0.054
"""The most of its full power that one of the engine models gives with the throttle closed."""
SETTLES = 5.0
"""After power comes off, and before the round-out or the go-around, so long is not looked at [s]."""
POWERED = 0.3
"""Of full power, in the 5 s before the wing comes nearest its critical angle: a stall with power has more."""


def flown_all_the_same(one: Occurrence, lesson: Lesson, shift: float) -> bool:
    """Whether the ordinary flying under a finding is that maneuver, though nobody called it so."""
    return bait(one, lesson.flight.legs, shift) in PIECES.get(one.kind, ()) or unmeant(one, lesson, shift)


def unmeant(one: Occurrence, lesson: Lesson, shift: float) -> bool:
    """Whether power and angle of attack say that it was flown."""
    start, end = one.start + shift, one.end + shift
    if one.kind == "power_off_180":
        return _idled(lesson, start, end)
    if one.kind in ("power_off_stall", "power_on_stall"):
        return _stalled(lesson, start, end, with_power=one.kind == "power_on_stall")
    return False


def _idled(lesson: Lesson, start: float, end: float) -> bool:
    """Whether the engine gave, on the average, no more than one of its kind gives when it idles."""
    between = np.arange(start + SETTLES, end - SETTLES, 0.5)
    return len(between) > 0 and float(np.mean(lesson.at("power", between))) <= IDLES_AT


def _stalled(lesson: Lesson, start: float, end: float, *, with_power: bool) -> bool:
    """Whether the wing came as near its critical angle as the horn, with or without power: what counts as a
    complete stall in the lessons."""
    between = np.arange(start, end, 0.25)
    angle = lesson.at("angle_of_attack", between)
    nearest = between[int(np.argmax(angle))]
    power = float(np.mean(lesson.at("power", np.arange(nearest - 5.0, nearest, 0.25))))
    near = float(angle.max()) > CRITICAL_ANGLE[lesson.airplane] - HORN_MARGIN
    return near and (power > POWERED) == with_power
