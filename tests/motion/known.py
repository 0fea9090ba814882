"""Flights of which everything is known: level turns in closed form, and the lesson of the demo.

A level flight owes nothing to the estimator: bank follows a smooth schedule, heading turns as Newton's law
asks ([PHAK] ch. 5 without side force), the nose lies off the path by the angle of attack, turned by plain
rotation matrices, and the air drifts with a steady wind. The demo's lesson adds what level flight lacks:
climbs, lazy eights, a wind that changes with height, flown by `chalkwing.dynamics`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from chalkwing import air
from chalkwing.refly.scenario import LATITUDE, LONGITUDE, Lesson, fly_lesson
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats

RADIUS = 6_371_000.0
FINE = 0.05
PLACE = (0.7, -1.6)
TURNS = ((60, 96, 45), (130, 186, -30), (215, 245, 50), (280, 330, -20))
"""Start [s], end [s] and bank [deg] of each turn."""


@dataclass(frozen=True)
class Truth:
    """``values[name]`` [SI, radians, angles running on past a circle] at ``time`` [s], 20 a second."""

    time: Floats
    values: Mapping[str, Floats]

    def at(self, name: str, times: Floats) -> Floats:
        return np.interp(times, self.time, self.values[name])


@dataclass(frozen=True)
class LevelFlight:
    """Level turns (as `TURNS`) at one true airspeed [m/s] in a steady wind [m/s north, east].

    ``altitude`` [m] is both the pressure's and the satellites'; ``warmth`` [K] the air's departure from
    standard; ``side`` the lateral load factor of a slip that is held all the way, toward the right positive.
    """

    turns: Sequence[tuple[float, float, float]] = TURNS
    airspeed: float = 100 * KNOT
    wind: tuple[float, float] = (5.0, -3.0)
    altitude: float = 1200.0
    warmth: float = 0.0
    side: float = 0.0
    length: float = 360.0

    def mirrored(self) -> LevelFlight:
        """The same flight with left and right exchanged."""
        turns = tuple((start, end, -degrees) for start, end, degrees in self.turns)
        return replace(self, turns=turns, wind=(self.wind[0], -self.wind[1]), side=-self.side)

    def truth(self) -> Truth:
        time = np.arange(0.0, self.length + FINE / 2, FINE)
        roll = self._roll(time)
        # Level flight: lift and side force together hold the weight, and what they leave sideways turns the
        # path.
        load = (1.0 + self.side * np.sin(roll)) / np.cos(roll)
        rate = STANDARD_GRAVITY * (np.tan(roll) + self.side / np.cos(roll)) / self.airspeed
        path = summed(rate)
        north = self.airspeed * np.cos(path) + self.wind[0]
        east = self.airspeed * np.sin(path) + self.wind[1]
        same = np.ones_like(time)
        calibrated = air.calibrated_from_true(
            true_airspeed=self.airspeed, pressure_altitude=self.altitude, isa_deviation=self.warmth
        )
        outside = air.temperature(pressure_altitude=self.altitude, isa_deviation=self.warmth)
        values = {
            "latitude": PLACE[0] + summed(north) / RADIUS,
            "longitude": PLACE[1] + summed(east) / (RADIUS * np.cos(PLACE[0])),
            "geometric_altitude": self.altitude * same,
            "pressure_altitude": self.altitude * same,
            "velocity_north": north,
            "velocity_east": east,
            "ground_speed": np.hypot(north, east),
            "vertical_speed": 0.0 * same,
            "true_airspeed": self.airspeed * same,
            "calibrated_airspeed": float(calibrated) * same,
            "indicated_airspeed": float(calibrated) * same,
            "outside_air_temperature": float(outside) * same,
            "wind_north": self.wind[0] * same,
            "wind_east": self.wind[1] * same,
            "lateral_load": self.side * same,
            "magnetic_variation": 0.0 * same,
        }
        attack = 0.05 + 0.08 * (load - 1.0)
        values["load_factor"] = load * np.cos(attack)
        values["bank"], values["pitch"], nose = attitude(roll, attack)
        values["heading_true"] = path + nose
        values["heading_magnetic"] = values["heading_true"]
        return Truth(time, values)

    def _roll(self, time: Floats) -> Floats:
        """Bank about the path, rolled in and out within about 4 s, smoothly."""
        total = np.zeros_like(time)
        for start, end, degrees in self.turns:
            total += degrees * DEGREE * 0.5 * (np.tanh((time - start) / 1.2) - np.tanh((time - end) / 1.2))
        return total


def attitude(roll: Floats, attack: Floats) -> tuple[Floats, Floats, Floats]:
    """Bank, pitch, and the nose's heading off a level path, all [rad], without slip.

    Axes forward, right, down: columns of ``R_forward(roll) R_right(attack)`` are the body's axes in those of
    the path, and Euler's angles are read off them.
    """
    nose = np.array([np.cos(attack), np.sin(roll) * np.sin(attack), -np.cos(roll) * np.sin(attack)])
    wing_down = np.sin(roll)
    floor_down = np.cos(roll) * np.cos(attack)
    return np.arctan2(wing_down, floor_down), np.arcsin(-nose[2]), np.arctan2(nose[1], nose[0])


@cache
def lesson_truth(seed: int = 0) -> Truth:
    """The demo's lesson, 15 minutes: climb, steep turns, lazy eights, a chandelle, in a wind with shear."""
    return of_lesson(fly_lesson(seed))


def of_lesson(lesson: Lesson) -> Truth:
    values = dict(lesson.values)
    height, north, east = (values[name] for name in ("geometric_altitude", "position_north", "position_east"))
    pressure = lesson.day.pressure_altitude(height)
    column = lesson.day.column()
    calibrated = air.calibrated_from_true(
        true_airspeed=values["true_airspeed"],
        pressure_altitude=pressure,
        isa_deviation=lesson.day.isa_deviation,
    )
    values |= {
        "latitude": LATITUDE + north / RADIUS,
        "longitude": LONGITUDE + east / (RADIUS * np.cos(LATITUDE)),
        "pressure_altitude": pressure,
        "velocity_north": np.gradient(north, lesson.time),
        "velocity_east": np.gradient(east, lesson.time),
        "vertical_speed": np.gradient(height, lesson.time),
        "wind_north": np.interp(height, column.height, column.wind_north),
        "wind_east": np.interp(height, column.height, column.wind_east),
        "calibrated_airspeed": np.asarray(calibrated),
        "indicated_airspeed": np.asarray(calibrated),
        "outside_air_temperature": np.asarray(
            air.temperature(pressure_altitude=pressure, isa_deviation=lesson.day.isa_deviation)
        ),
        "load_factor": values["load_factor"] * np.cos(values["angle_of_attack"]),
    }
    values["ground_speed"] = np.hypot(values["velocity_north"], values["velocity_east"])
    return Truth(lesson.time, values)


def summed(rate: Floats) -> Floats:
    """The integral of a ``rate`` on the truth's own grid, from 0."""
    return np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * FINE)))
