"""A level flight with coordinated turns, in closed form: the truth for tests of the estimator.

Bank follows a smooth schedule; heading turns at g tan(bank) / V ([PHAK] ch. 5), the air mass drifts with a
steady wind. Nothing of the estimator's own equations is used.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from chalkwing.recordings.recording import Channel, Recording
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats

RADIUS = 6_371_000.0
FINE = 0.05
PLACE = (0.7, -1.6)
TURNS = ((60, 96, 45), (130, 186, -30), (215, 245, 50), (280, 330, -20))
"""Start [s], end [s] and bank [deg] of each turn."""


@dataclass(frozen=True)
class LevelFlight:
    """``turns`` as `TURNS`; true airspeed [m/s], wind velocity [m/s north, east], altitude [m]."""

    turns: Sequence[tuple[float, float, float]] = TURNS
    airspeed: float = 100 * KNOT
    wind: tuple[float, float] = (5.0, -3.0)
    altitude: float = 1200.0
    length: float = 360.0

    @property
    def time(self) -> Floats:
        return np.arange(0.0, self.length + FINE / 2, FINE)

    @property
    def bank(self) -> Floats:
        """Rolled in and out within about 4 s, smoothly."""
        t = self.time
        total = np.zeros_like(t)
        for start, end, degrees in self.turns:
            total += degrees * DEGREE * 0.5 * (np.tanh((t - start) / 1.2) - np.tanh((t - end) / 1.2))
        return total

    @property
    def heading(self) -> Floats:
        rate = STANDARD_GRAVITY * np.tan(self.bank) / self.airspeed
        return np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * FINE)))

    def velocity(self) -> tuple[Floats, Floats]:
        return (
            self.airspeed * np.cos(self.heading) + self.wind[0],
            self.airspeed * np.sin(self.heading) + self.wind[1],
        )

    def at(self, values: Floats, times: Floats) -> Floats:
        return np.interp(times, self.time, values)


def record(
    flight: LevelFlight,
    channels: Sequence[str],
    *,
    seed: int = 0,
    late: Mapping[str, float] | None = None,
    without: tuple[float, float] | None = None,
    add: Mapping[str, float] | None = None,
    noise: float = 1.0,
) -> Recording:
    """The flight as noisy 1 Hz rows, some channels ``late`` [s] or off by a constant (``add``)."""
    rng = np.random.default_rng(seed)
    times = np.arange(0.0, flight.length + 0.5, 1.0)
    if without is not None:
        times = times[(times <= without[0]) | (times >= without[1])]
    north, east = flight.velocity()
    path = [np.concatenate(([0.0], np.cumsum(0.5 * (axis[1:] + axis[:-1]) * FINE))) for axis in (north, east)]
    truth = {
        "latitude": (PLACE[0] + path[0] / RADIUS, 0.4 / RADIUS),
        "longitude": (PLACE[1] + path[1] / (RADIUS * np.cos(PLACE[0])), 0.4 / RADIUS),
        "geometric_altitude": (np.full_like(north, flight.altitude), 0.7),
        "pressure_altitude": (np.full_like(north, flight.altitude), 0.7),
        "velocity_north": (north, 0.1),
        "velocity_east": (east, 0.1),
        "indicated_airspeed": (np.full_like(north, flight.airspeed * _calibrated(flight.altitude)), 0.3),
        "bank": (flight.bank, 0.3 * DEGREE),
        "pitch": (0.03 + 0.08 * (1 / np.cos(flight.bank) - 1), 0.3 * DEGREE),
        "heading_true": (flight.heading, 0.5 * DEGREE),
        "load_factor": (1 / np.cos(flight.bank), 0.02),
    }
    table = {"time": times}
    for name in channels:
        values, sd = truth[name]
        seen = flight.at(values, times - (late or {}).get(name, 0.0))
        seen = seen + (add or {}).get(name, 0.0) + rng.normal(0.0, sd * noise, len(times))
        table[name] = np.mod(seen, 2 * np.pi) if name == "heading_true" else seen
    return Recording(
        table=pl.DataFrame(table),
        channels={name: Channel(name, name, 1.0) for name in channels},
        source="level flight",
        reader="test",
        sha256="0" * 64,
        rows=len(times),
    )


def mirrored(flight: LevelFlight) -> LevelFlight:
    """The same flight with left and right exchanged."""
    turns = tuple((start, end, -degrees) for start, end, degrees in flight.turns)
    return replace(flight, turns=turns, wind=(flight.wind[0], -flight.wind[1]))


def _calibrated(altitude: float) -> float:
    """Calibrated over true airspeed in the standard atmosphere; compressibility is below 0.1 kt here."""
    return float((1.0 - 2.25577e-5 * altitude) ** (4.25588 / 2.0))


TRACK = ("latitude", "longitude", "geometric_altitude", "velocity_north", "velocity_east")
PANEL = (*TRACK, "pressure_altitude", "indicated_airspeed", "bank", "pitch", "heading_true", "load_factor")
