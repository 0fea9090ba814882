"""What the ideal pilot solves at every instant: the load factor and bank that meet what the maneuver asks.

Parts from which a maneuver's law is put together (see ``air_path``). Scalars only. The airspeed and the path
angle are approached with a lag of about what a pilot takes; bank and load factor are exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from chalkwing.dynamics import PointMass, specific_excess_thrust
from chalkwing.reference.air_path import AirState, Controls, Law, LocalAir
from chalkwing.reference.situation import Situation
from chalkwing.reference.throttle import throttle_for_excess
from chalkwing.units import STANDARD_GRAVITY

SPEED_LAG = 3.0
"""Time [s] in which an airspeed error is to fade to a third. Own choice; common practice for a light hand."""
PATH_LAG = 1.0
"""Time [s] in which the path follows the path angle wanted. Own choice."""

BankOf = Callable[[float, AirState, LocalAir], float]
"""Bank about the velocity [rad, right positive] at a time and state."""


class HeldSpeed:
    """A calibrated airspeed held, as true airspeed by height above the entry."""

    def __init__(self, situation: Situation, calibrated_airspeed: float) -> None:
        self.calibrated_airspeed = calibrated_airspeed
        heights = np.linspace(-1500.0, 1500.0, 7)
        true = situation.true_from_calibrated(calibrated_airspeed, heights)
        # A parabola meets the table to 1e-5 over these 3 km.
        self._curve, self._slope, self._level = (float(c) for c in np.polyfit(heights, true, 2))

    def at(self, height: float) -> tuple[float, float]:
        """True airspeed [m/s] at a height [m], and its change with height [1/s]."""
        speed = (self._curve * height + self._slope) * height + self._level
        return speed, 2.0 * self._curve * height + self._slope

    def wanted_acceleration(self, state: AirState, lag: float = SPEED_LAG) -> float:
        """Rate of change of true airspeed [m/s²] that keeps it, or brings it back within the lag."""
        speed, slope = self.at(state.height)
        climb = state.true_airspeed * math.sin(state.path_angle)
        return slope * climb + (speed - state.true_airspeed) / lag


def air_ahead(state: AirState, air: LocalAir) -> float:
    """Acceleration [m/s²] of the air along the heading that climbing through its gradient meets."""
    climb = state.true_airspeed * math.sin(state.path_angle)
    north, east = air.wind_north_gradient * climb, air.wind_east_gradient * climb
    return north * math.cos(state.air_heading) + east * math.sin(state.air_heading)


def lift_upward(state: AirState, air: LocalAir, path_angle: float, lag: float = PATH_LAG) -> float:
    """Load factor times cos(bank) with which the path goes to ``path_angle`` [rad] within the lag."""
    rate = (path_angle - state.path_angle) / lag
    curving = state.true_airspeed * rate - air_ahead(state, air) * math.sin(state.path_angle)
    return math.cos(state.path_angle) + curving / STANDARD_GRAVITY


class _Instant:
    """What a speed law needs of one state: everything that does not depend on the load factor, once."""

    __slots__ = ("against", "ahead", "climb", "cosine", "lag_load", "sine", "spare", "state")

    def __init__(self, law: SpeedLaw, state: AirState, air: LocalAir) -> None:
        speed, plane = state.true_airspeed, law.airplane
        self.state = state
        self.sine, self.cosine = math.sin(state.path_angle), math.cos(state.path_angle)
        self.ahead = air_ahead(state, air)
        idle = float(specific_excess_thrust(plane, law.throttle, 0.0, air.density, speed))
        # Drag is a parabola in the load factor: excess = spare - against n² holds exactly.
        self.against = idle - float(specific_excess_thrust(plane, law.throttle, 1.0, air.density, speed))
        self.spare = idle
        self.climb = law.held.wanted_acceleration(state) + self.ahead * self.cosine
        self.lag_load = speed / (law.path_lag * STANDARD_GRAVITY)

    def excess(self, load: float) -> float:
        """(Thrust - drag) / mass [m/s²] at a load factor."""
        return self.spare - self.against * load * load

    def upward(self, load: float) -> tuple[float, float]:
        """(load factor times cos(bank) wanted, its derivative by the load factor that makes the drag)."""
        sine = (self.excess(load) - self.climb) / STANDARD_GRAVITY
        sine = max(min(sine, 0.7), -0.7)
        turn = self.lag_load * (math.asin(sine) - self.state.path_angle)
        wanted = self.cosine + turn - self.ahead * self.sine / STANDARD_GRAVITY
        by_load = -2.0 * self.against * load / STANDARD_GRAVITY / math.sqrt(1.0 - sine * sine)
        return wanted, by_load * self.lag_load


class SpeedLaw:
    """Load factor and bank that hold an airspeed by the path angle, at a throttle."""

    def __init__(
        self, airplane: PointMass, held: HeldSpeed, throttle: float = 0.0, path_lag: float = PATH_LAG
    ) -> None:
        self.airplane, self.held, self.throttle, self.path_lag = airplane, held, throttle, path_lag

    def load_factor(self, state: AirState, air: LocalAir, bank: float) -> float:
        """The load factor that goes with a given bank [rad]: Newton's rule on a monotone equation."""
        instant, across = _Instant(self, state, air), math.cos(bank)
        load = 1.0 / across
        for _ in range(8):
            wanted, by_load = instant.upward(load)
            step = (load * across - wanted) / (across - by_load)
            load -= step
            if abs(step) < 1e-10:
                break
        return max(load, 0.0)

    def along(self, bank_of: BankOf) -> Law:
        """The law that flies the banks of ``bank_of``."""

        def law(time: float, state: AirState, air: LocalAir) -> Controls:
            bank = bank_of(time, state, air)
            return Controls(bank, self.load_factor(state, air, bank), self.throttle)

        return law

    def around(self, radius: float, side: float) -> Law:
        """The law that flies a circle of ``radius`` [m] over the ground; ``side`` +1 right, -1 left.

        Forces across the track are to make GS²/R: g n sin(bank) cos(d) + H sin(d) = GS²/R, with the drift
        d = heading less track and H what thrust, drag and the tilted lift give along the heading. Derived.
        """

        def law(time: float, state: AirState, air: LocalAir) -> Controls:
            instant = _Instant(self, state, air)
            level = state.true_airspeed * instant.cosine
            north = level * math.cos(state.air_heading) + air.wind_north
            east = level * math.sin(state.air_heading) + air.wind_east
            drift = state.air_heading - math.atan2(east, north)
            cosine, sine = math.cos(drift) * STANDARD_GRAVITY, math.sin(drift)
            needed = side * (north * north + east * east) / radius
            load, upward, sideward = 1.2, 1.0, 0.0
            for _ in range(12):
                upward, by_load = instant.upward(load)
                along = instant.excess(load) * instant.cosine - STANDARD_GRAVITY * upward * instant.sine
                sideward = (needed - along * sine) / cosine
                found = math.hypot(upward, sideward)
                # Newton's rule for load = |(upward, sideward)|; sideward hardly depends on the load.
                step = (load - found) / (1.0 - by_load * upward / max(found, 0.1))
                load = max(load - step, 0.05)
                if abs(step) < 1e-9:
                    break
            return Controls(math.atan2(sideward, upward), load, self.throttle)

        return law


def ramp(bank: float, rate: float, start: float = 0.0) -> BankOf:
    """Bank rolled from ``start`` to ``bank`` [rad] at a steady rate [rad/s], then held."""
    side = 1.0 if bank >= start else -1.0

    def bank_of(time: float, state: AirState, air: LocalAir) -> float:
        rolled = start + side * rate * time
        return min(rolled, bank) if side > 0 else max(rolled, bank)

    return bank_of


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


def rolling_out(bank: float, rate: float) -> BankOf:
    """Bank taken off from ``bank`` [rad, signed] to zero at a steady rate [rad/s]."""
    side = math.copysign(1.0, bank)

    def bank_of(time: float, state: AirState, air: LocalAir) -> float:
        return side * max(abs(bank) - rate * time, 0.0)

    return bank_of


def level_law(airplane: PointMass, bank_of: BankOf, throttle: float | None = None) -> Law:
    """Altitude held at the banks of ``bank_of``; a throttle of None is the one that holds the speed."""

    def law(time: float, state: AirState, air: LocalAir) -> Controls:
        bank = bank_of(time, state, air)
        load = lift_upward(state, air, 0.0) / math.cos(bank)
        if throttle is not None:
            return Controls(bank, load, throttle)
        speed, density = state.true_airspeed, air.density
        needed = throttle_for_excess(airplane, excess=0.0, load=load, density=density, speed=speed)
        return Controls(bank, load, float(needed))

    return law
