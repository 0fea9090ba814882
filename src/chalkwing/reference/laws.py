"""What the ideal pilot holds, put together from ``law_numbers``: an airspeed, an altitude, a bank, a circle.

A law made here answers for one instant like any other, and a phase of such a law and such an ending is flown
by the compiled kernel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from chalkwing.dynamics import PointMass
from chalkwing.reference import law_numbers as numbers
from chalkwing.reference.law_numbers import (
    AirState,
    Banking,
    Controls,
    Ending,
    Linear,
    LocalAir,
    Rising,
)
from chalkwing.reference.situation import Situation
from chalkwing.units import STANDARD_GRAVITY

SPEED_LAG = 3.0
"""Time [s] in which an airspeed error is to fade to a third. Own choice; common practice for a light hand."""
PATH_LAG = 1.0
"""Time [s] in which the path follows the path angle wanted. Own choice."""
_NEVER_LESS = Linear(constant=math.inf)


@dataclass(frozen=True)
class NumberLaw:
    """A law that numbers say wholly."""

    airplane: PointMass
    banking: Banking
    rising: Rising

    def __call__(self, time: float, state: AirState, air: LocalAir) -> Controls:
        """The controls at a time since the phase began [s]."""
        return numbers.controls(self.banking, self.rising, self.airplane, time, state, air)


class SpeedLaw:
    """Load factor and bank that hold a calibrated airspeed [m/s] by the path angle, at a throttle.

    ``least`` and ``most`` bound the acceleration [m/s²] on the way to it; ``speed_lag`` and ``path_lag`` [s].
    """

    def __init__(
        self,
        situation: Situation,
        calibrated_airspeed: float,
        *,
        throttle: float = 0.0,
        speed_lag: float = SPEED_LAG,
        path_lag: float = PATH_LAG,
        least: float = -math.inf,
        most: float = math.inf,
    ) -> None:
        heights = np.linspace(-1500.0, 1500.0, 7)
        true = situation.true_from_calibrated(calibrated_airspeed, heights)
        # A parabola meets the table to 1e-5 over these 3 km.
        curve, slope, level = (float(c) for c in np.polyfit(heights, true, 2))
        self.airplane = situation.airplane
        self.true_airspeed = level
        self.rising = Rising(
            numbers.SPEED_HELD, path_lag, throttle, level, slope, curve, speed_lag, least, most
        )

    def along(self, banking: Banking) -> NumberLaw:
        """The law that flies these banks."""
        return NumberLaw(self.airplane, banking, self.rising)

    def around(self, radius: float, side: float) -> NumberLaw:
        """The law that flies a circle of ``radius`` [m] over the ground; ``side`` +1 right, -1 left."""
        return NumberLaw(self.airplane, Banking(numbers.CIRCLED, radius=side * radius), self.rising)


def level_law(
    airplane: PointMass,
    banking: Banking,
    throttle: float | None = None,
    *,
    path_lag: float = PATH_LAG,
    pull: float = math.inf,
) -> NumberLaw:
    """Altitude held at these banks; a throttle of None is the one that holds the speed."""
    share = math.nan if throttle is None else throttle
    return NumberLaw(airplane, banking, Rising(numbers.LEVEL_HELD, path_lag, share, pull=pull))


def held(bank: float) -> Banking:
    """One bank [rad, right positive]."""
    return Banking(numbers.ROLLED, bank, bank)


def ramp(bank: float, rate: float) -> Banking:
    """Bank rolled from level to ``bank`` [rad] at a steady rate [rad/s], then held."""
    return Banking(numbers.ROLLED, bank, 0.0, rate)


def rolling_out(bank: float, rate: float) -> Banking:
    """Bank taken off from ``bank`` [rad, signed] to zero at a steady rate [rad/s]."""
    return Banking(numbers.ROLLED, 0.0, bank, rate)


def easing(bank: float, *, heading: float, angle: float) -> Banking:
    """Bank taken off from ``bank`` [rad, signed] by the heading left of ``angle`` to ``heading`` [rad].

    Level wings and the last heading so come together at any speed.
    """
    return Banking(numbers.EASED, bank, heading=heading, angle=angle)


def following(course: float, *, most: float, lag: float) -> Banking:
    """The little bank, ``most`` [rad] at most, that keeps the heading on a course as the wind changes."""
    return Banking(numbers.FOLLOWED, most, heading=course, lag=lag)


def until(first: Linear, second: Linear = _NEVER_LESS) -> Ending:
    """Over when both sums have come to zero."""
    return Ending(numbers.PLAIN, first, second, held(0.0))


def after(duration: float) -> Ending:
    """Over after a time [s]."""
    return until(Linear(constant=-duration, time=1.0))


def until_bank_is(size: Linear, banking: Banking) -> Ending:
    """Over when the bank that ``banking`` asks for is no larger than this sum [rad]."""
    return Ending(numbers.BANKED, size, _NEVER_LESS, banking)


def until_nose_is(first: Linear, bank: float) -> Ending:
    """Over when a sum and the nose's offset in a level turn at ``bank`` [rad, unsigned] come to zero."""
    return Ending(numbers.NOSED, first, _NEVER_LESS, held(bank))


def until_lead_to(course: float, *, bank: float, rate: float) -> Ending:
    """Over when only the heading is left that a roll-out from ``bank`` [rad, signed] at ``rate`` takes.

    It is left to the heading that makes good ``course`` [rad] in the wind at that height.
    """
    return Ending(
        numbers.TURNED, Linear(), _NEVER_LESS, Banking(numbers.ROLLED, bank, bank, rate, heading=course)
    )


def roll_heading(*, bank: float, rate: float, true_airspeed: float) -> float:
    """Heading [rad] turned while the bank rolls between 0 and ``bank`` [rad] at a steady rate [rad/s].

    (g / (V p)) times -ln cos(bank), level and coordinated: the integral of g tan(bank) / V. Derived.

    >>> turned = roll_heading(bank=np.radians(50), rate=np.radians(11), true_airspeed=51.4)
    >>> round(float(np.degrees(turned)), 1)
    25.2
    """
    return -math.log(math.cos(bank)) * STANDARD_GRAVITY / (true_airspeed * rate)


def roll_rate_for_lead(*, bank: float, lead: float, true_airspeed: float) -> float:
    """The steady roll rate [rad/s] that takes the bank off within ``lead`` [rad] of heading. Derived."""
    return -math.log(math.cos(bank)) * STANDARD_GRAVITY / (true_airspeed * lead)
