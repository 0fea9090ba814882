"""Level flight along lines and circles over the ground, in a steady wind, with rolls that take their time.

On a circle over the ground the forces across the track make GS²/R; with the true airspeed held, thrust and
drag cancel along the heading, and tan(bank) = GS² / (g R cos(drift)) holds exactly at every point, drift
being heading less track. Between level wings and a circle the bank changes at a steady rate, and the heading
turns by the integral of g tan(bank) / V: both in closed form, so that nothing is stepped. Source: derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath
from chalkwing.reference.laws import roll_heading
from chalkwing.reference.situation import Situation
from chalkwing.reference.throttle import throttle_for_excess
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats, mps_to_kt, wrap_angle

ROLL_RATE = 15.0 * DEGREE
"""Of every roll-in and roll-out [rad/s]. Own choice; common practice for a smooth roll."""
_SPACING = 0.2
"""Longest time [s] between two samples."""
_GAUSS = (np.array([-math.sqrt(0.6), 0.0, math.sqrt(0.6)]), np.array([5.0, 8.0, 5.0]) / 9.0)


@dataclass(frozen=True)
class SteadyWind:
    """A true airspeed [m/s] in a wind [m/s, velocity of the air], level."""

    true_airspeed: float
    north: float
    east: float

    @property
    def speed(self) -> float:
        """Of the wind [m/s]."""
        return math.hypot(self.north, self.east)

    @property
    def toward(self) -> float:
        """Where the wind blows to [rad, true]."""
        return math.atan2(self.east, self.north)

    def drift(self, track: Floats | float) -> tuple[Floats, Floats]:
        """(heading less track [rad], groundspeed [m/s]) that make good a track [rad]."""
        along = self.north * np.cos(track) + self.east * np.sin(track)
        across = self.east * np.cos(track) - self.north * np.sin(track)
        drift = np.arcsin(-across / self.true_airspeed)
        return drift, self.true_airspeed * np.cos(drift) + along

    def heading(self, track: float) -> float:
        """The heading [rad] that makes good a track [rad], continuous with it."""
        return track + float(self.drift(track)[0])

    def track(self, heading: float) -> float:
        """The track [rad] of a heading [rad], continuous with it."""
        north = self.true_airspeed * math.cos(heading) + self.north
        east = self.true_airspeed * math.sin(heading) + self.east
        return heading + float(wrap_angle(math.atan2(east, north) - heading))

    def circle_bank(self, track: Floats | float, radius: float) -> Floats:
        """Bank [rad, unsigned] that holds a circle of ``radius`` [m] where the track is this [rad]."""
        drift, ground_speed = self.drift(track)
        bank: Floats = np.arctan(ground_speed**2 / (STANDARD_GRAVITY * radius * np.cos(drift)))
        return bank

    def radius_for(self, bank: float) -> float:
        """Radius [m] on which the steepest bank, flown straight down the wind, is this [rad]."""
        return float((self.true_airspeed + self.speed) ** 2 / (STANDARD_GRAVITY * math.tan(bank)))


def steady_wind(situation: Situation, true_airspeed: float) -> SteadyWind:
    """The wind at entry altitude; refuses one in which no circle or line can be held."""
    north, east = (float(part) for part in situation.wind())
    wind = SteadyWind(true_airspeed, north, east)
    if wind.speed > 0.7 * true_airspeed:
        raise OutsideModel(
            f"a wind of {mps_to_kt(wind.speed):.0f} kt is too near the airspeed of "
            f"{mps_to_kt(true_airspeed):.0f} KTAS to hold a path over the ground.",
            next_step="Choose a calmer day, or a higher airspeed.",
        )
    return wind


@dataclass
class GroundPath:
    """A path put together from pieces, each beginning where and how the last one ended.

    ``north``, ``east`` [m], ``heading`` [rad] and ``time`` [s] are those reached so far; wings are level
    between pieces made by :meth:`straight` and :meth:`turn`.
    """

    wind: SteadyWind
    course: float
    roll_rate: float = ROLL_RATE
    time: float = 0.0
    north: float = 0.0
    east: float = 0.0
    names: list[str] = field(default_factory=list)
    ends: list[float] = field(default_factory=list)
    parts: list[int] = field(default_factory=list)
    center: tuple[float, float] = (0.0, 0.0)
    """Of the last circle flown [m north, m east]."""
    _pieces: list[Floats] = field(default_factory=list)

    def straight(self, distance: float, name: str, *, part: int = 1) -> None:
        """Fly the course for a distance over the ground [m]; none at all adds no piece."""
        if distance <= 1e-6:
            return
        drift, ground_speed = self.wind.drift(self.course)
        duration = distance / float(ground_speed)
        time = np.linspace(0.0, duration, max(2, math.ceil(duration / (5.0 * _SPACING))))
        along = float(ground_speed) * time
        heading = np.full_like(time, self.course + float(drift))
        north, east = along * math.cos(self.course), along * math.sin(self.course)
        self._add(time, north, east, heading, np.zeros_like(time), name, part)

    def turn(
        self, angle: float, radius: float, side: float, names: tuple[str, str, str], *, part: int = 1
    ) -> None:
        """Turn the course by ``angle`` [rad, positive] on a circle over the ground, rolling in and out.

        ``side`` is +1 right, -1 left; ``names`` are those of roll-in, circle and roll-out.
        """
        out = self.course + side * angle
        bank_in, heading_in = self._meeting(self.course, radius, side, side)
        bank_out, heading_out = self._meeting(out, radius, side, -side)
        first, last = self.wind.track(heading_in), self.wind.track(heading_out)
        first += 2.0 * math.pi * round((self.course - first) / (2.0 * math.pi))
        last += 2.0 * math.pi * round((out - last) / (2.0 * math.pi))
        if side * (last - first) <= 0.0:
            raise OutsideModel(
                "the turn is over before its bank is reached: the radius is too small for the roll.",
                next_step="Choose a larger radius, or a slower airspeed.",
            )
        self._roll(0.0, bank_in, side, names[0], part)
        self._arc(first, last, radius, side, names[1], part)
        self._roll(bank_out, 0.0, side, names[2], part)
        self.course = out

    def _meeting(self, course: float, radius: float, side: float, way: float) -> tuple[float, float]:
        """Bank and heading [rad] where a roll from (or to) level wings on ``course`` meets the circle.

        ``way`` is the sense in which the heading differs from that of the course as the bank grows.
        """
        level = self.wind.heading(course)

        def heading(bank: float) -> float:
            turned = roll_heading(bank=bank, rate=self.roll_rate, true_airspeed=self.wind.true_airspeed)
            return level + way * turned

        low, high = 0.0, 85.0 * DEGREE
        for _ in range(60):
            middle = 0.5 * (low + high)
            if float(self.wind.circle_bank(self.wind.track(heading(middle)), radius)) > middle:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high), heading(0.5 * (low + high))

    def _roll(self, start: float, end: float, side: float, name: str, part: int) -> None:
        duration = abs(end - start) / self.roll_rate
        time = np.linspace(0.0, duration, max(3, math.ceil(duration / _SPACING) + 1))
        bank = start + math.copysign(self.roll_rate, end - start) * time
        wind, scale = self.wind, STANDARD_GRAVITY / (self.wind.true_airspeed * self.roll_rate)
        growing = math.copysign(scale, end - start) * -np.log(np.cos(bank))
        heading = self._heading + side * (growing - growing[0])
        rate = side * STANDARD_GRAVITY * np.tan(bank) / wind.true_airspeed
        north, east = wind.true_airspeed * np.cos(heading), wind.true_airspeed * np.sin(heading)
        moved_north = _integral(north + wind.north, -east * rate, time)
        moved_east = _integral(east + wind.east, north * rate, time)
        self._add(time, moved_north, moved_east, heading, side * bank, name, part)

    def _arc(self, first: float, last: float, radius: float, side: float, name: str, part: int) -> None:
        slowest = self.wind.true_airspeed - self.wind.speed
        count = max(3, math.ceil(abs(last - first) * radius / slowest / _SPACING))
        track = np.linspace(first, last, count)
        drift, _ = self.wind.drift(track)
        nodes, weights = _GAUSS
        half = 0.5 * (track[1] - track[0])
        inside = (0.5 * (track[1:] + track[:-1]))[:, None] + half * nodes
        spent = abs(half) * radius * np.sum(weights / self.wind.drift(inside)[1], axis=1)
        time = np.concatenate(([0.0], np.cumsum(spent)))
        north = side * radius * (np.sin(track) - math.sin(first))
        east = -side * radius * (np.cos(track) - math.cos(first))
        self.center = (
            self.north - side * radius * math.sin(first),
            self.east + side * radius * math.cos(first),
        )
        bank = side * self.wind.circle_bank(track, radius)
        self._add(time, north, east, track + drift, bank, name, part)

    @property
    def _heading(self) -> float:
        return float(self._pieces[-1][-1, 3]) if self._pieces else self.wind.heading(self.course)

    def _add(
        self, time: Floats, north: Floats, east: Floats, heading: Floats, bank: Floats, name: str, part: int
    ) -> None:
        # A heading found from a track may differ by whole turns from the one flown so far.
        heading = heading + 2.0 * math.pi * round((self._heading - float(heading[0])) / (2.0 * math.pi))
        piece = np.stack((self.time + time, self.north + north, self.east + east, heading, bank), axis=1)
        self._pieces.append(piece)
        self.parts += [part] * len(time)
        self.names.append(name)
        self.time, self.north, self.east = (float(value) for value in piece[-1, :3])
        self.ends.append(self.time)

    def flown(self, situation: Situation) -> AirPath:
        """The path as states and controls, level, at the throttle that holds the speed."""
        table = np.concatenate(self._pieces)
        time, north, east, heading, bank = (np.ascontiguousarray(column) for column in table.T)
        load = 1.0 / np.cos(bank)
        level = np.zeros_like(time)
        speed = np.full_like(time, self.wind.true_airspeed)
        throttle = _level_throttle(situation, load, self.wind.true_airspeed)
        phase = np.repeat(np.arange(len(self._pieces), dtype=np.float64), [len(p) for p in self._pieces])
        states = np.stack((north, east, level, speed, level, heading), axis=1)
        return AirPath(time, states, np.stack((bank, load, throttle), axis=1), phase, tuple(self.ends))

    def part_numbers(self) -> Floats:
        """The part of every sample."""
        return np.array(self.parts, dtype=np.float64)


def _level_throttle(situation: Situation, load: Floats, speed: float) -> Floats:
    same = np.ones_like(load)
    throttle: Floats = throttle_for_excess(
        situation.airplane,
        excess=0.0 * same,
        load=load,
        density=float(situation.density()) * same,
        speed=speed * same,
    )
    return throttle


def _integral(rate: Floats, change: Floats, time: Floats) -> Floats:
    """Running integral of ``rate`` with its derivative ``change`` known: Hermite's rule, of fourth order."""
    step = np.diff(time)
    moved = 0.5 * step * (rate[1:] + rate[:-1]) + step**2 / 12.0 * (change[:-1] - change[1:])
    return np.concatenate(([0.0], np.cumsum(moved)))
