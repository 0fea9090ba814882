"""Flights of which everything is known: level turns in closed form, and the lesson of the demo.

A level flight owes nothing to the estimator: bank follows a smooth schedule, heading turns as Newton's law
asks ([PHAK] ch. 5), the nose lies off the path by the angle of attack, turned by plain rotation matrices, and
the air drifts with a steady wind. The demo's lesson adds what level flight lacks: climbs, lazy eights, a wind
that changes with height, flown by `chalkwing.dynamics`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from chalkwing import air
from chalkwing.refly.scenario import LATITUDE, LONGITUDE, fly_lesson
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats

RADIUS = 6_371_000.0
PLACE = (0.7, -1.6)
TURNS = ((60, 96, 45), (130, 186, -30), (215, 245, 50), (280, 330, -20))
"""Start [s], end [s] and bank [deg] of each turn."""
_FINE = 0.05


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

    ``altitude`` [m] is both the pressure's and the satellites'.
    """

    turns: Sequence[tuple[float, float, float]] = TURNS
    airspeed: float = 100 * KNOT
    wind: tuple[float, float] = (5.0, -3.0)
    altitude: float = 1200.0
    length: float = 360.0

    def mirrored(self) -> LevelFlight:
        """The same flight with left and right exchanged."""
        turns = tuple((start, end, -degrees) for start, end, degrees in self.turns)
        return replace(self, turns=turns, wind=(self.wind[0], -self.wind[1]))

    def truth(self) -> Truth:
        time = np.arange(0.0, self.length + _FINE / 2, _FINE)
        roll = self._roll(time)
        load = 1.0 / np.cos(roll)
        path = summed(STANDARD_GRAVITY * np.tan(roll) / self.airspeed)
        north = self.airspeed * np.cos(path) + self.wind[0]
        east = self.airspeed * np.sin(path) + self.wind[1]
        attack = 0.05 + 0.08 * (load - 1.0)
        bank, pitch, nose = attitude(roll, attack)
        calibrated = air.calibrated_from_true(true_airspeed=self.airspeed, pressure_altitude=self.altitude)
        steady = {
            "geometric_altitude": self.altitude,
            "pressure_altitude": self.altitude,
            "true_airspeed": self.airspeed,
            "indicated_airspeed": float(calibrated),
            "wind_north": self.wind[0],
            "wind_east": self.wind[1],
        }
        values = {
            "latitude": PLACE[0] + summed(north) / RADIUS,
            "longitude": PLACE[1] + summed(east) / (RADIUS * np.cos(PLACE[0])),
            "velocity_north": north,
            "velocity_east": east,
            "load_factor": load * np.cos(attack),
            "bank": bank,
            "pitch": pitch,
            "heading_true": path + nose,
        }
        return Truth(time, values | {name: np.full_like(time, value) for name, value in steady.items()})

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
def lesson_truth() -> Truth:
    """The demo's lesson, 15 minutes: climb, steep turns, lazy eights, a chandelle, in a wind with shear."""
    lesson = fly_lesson(seed=0)
    values = dict(lesson.values)
    height, north, east = (values[name] for name in ("geometric_altitude", "position_north", "position_east"))
    pressure = lesson.day.pressure_altitude(height)
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
        "indicated_airspeed": np.asarray(calibrated),
        "load_factor": values["load_factor"] * np.cos(values["angle_of_attack"]),
    }
    return Truth(lesson.time, values)


def summed(rate: Floats) -> Floats:
    """The integral of a ``rate`` on the truth's own grid, from 0."""
    return np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * _FINE)))
