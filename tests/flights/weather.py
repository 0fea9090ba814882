"""The air a truth flight is flown in: temperature, pressure, wind with height and time, and turbulence."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
from scipy.signal import lfilter

from chalkwing.units import DEGREE, FOOT, KNOT

FEW_HOURS = 3 * 3600.0


@dataclass(frozen=True)
class Weather:
    """Facts of the day, SI. ``wind_from`` is true; ``shear`` and ``veer`` are per meter of height."""

    isa_deviation: float
    sea_level_pressure: float
    wind_from: float
    wind_speed: float
    shear: float
    veer: float
    reference_altitude: float
    drift_sd: float
    drift_time: float
    gust_sd: float
    gust_length: float
    seed: int

    def as_dict(self) -> dict[str, float]:
        return asdict(self)


def random_weather(seed: int) -> Weather:
    """A day within the range asked for: wind to 25 kt, gusts to 2.5 kt sd, ISA -20 to +25 K."""
    rng = np.random.default_rng([seed, 11])
    return Weather(
        isa_deviation=float(rng.uniform(-20, 25)),
        sea_level_pressure=float(rng.normal(101325, 900)),
        wind_from=float(rng.uniform(0, 2 * np.pi)),
        wind_speed=float(rng.uniform(0, 22)) * KNOT,
        shear=float(rng.uniform(-1, 5)) * KNOT / (1000 * FOOT),
        veer=float(rng.normal(3, 4)) * DEGREE / (1000 * FOOT),
        reference_altitude=float(rng.uniform(3000, 5000)) * FOOT,
        drift_sd=float(rng.uniform(0.2, 1.2)) * KNOT,
        drift_time=float(rng.uniform(400, 1500)),
        gust_sd=float(rng.choice([0.0, 1.0]) * rng.uniform(0.2, 2.5) + rng.uniform(0, 0.5)) * KNOT,
        gust_length=float(rng.uniform(150, 500)),
        seed=seed,
    )


class Air:
    """The wind at any time and height of one flight; the mean and the gusts are kept apart.

    Gusts follow the Dryden spectra of MIL-F-8785C (one first-order and two second-order filters of white
    noise), with the airplane's typical speed through the frozen field turned into time. Left to right and
    up and down they are independent. Both series are laid out beforehand so that a seed fixes them.
    """

    def __init__(self, weather: Weather, *, interval: float, airspeed: float) -> None:
        self.weather = weather
        self.interval = interval
        count = int(FEW_HOURS / interval)
        rng = np.random.default_rng([weather.seed, 12])
        time_scale = weather.gust_length / airspeed
        sd = min(weather.gust_sd, 2.5 * KNOT)
        self.gust_north = sd * _dryden_along(rng, count, interval / time_scale)
        self.gust_east = sd * _dryden_across(rng, count, interval / time_scale)
        self.gust_down = 0.7 * sd * _dryden_across(rng, count, 1.6 * interval / time_scale)
        drift = 1 - np.exp(-1.0 / weather.drift_time)
        self.drift = weather.drift_sd * np.array([_first_order(rng, int(FEW_HOURS), drift) for _ in range(2)])

    def mean(self, time: float, altitude: float) -> tuple[float, float]:
        """Mean wind toward north and east [m/s] with shear, veer and slow drift, no gusts."""
        w = self.weather
        height = altitude - w.reference_altitude
        speed = min(max(w.wind_speed + w.shear * height, 0.0), 25 * KNOT)
        toward = w.wind_from + w.veer * height + np.pi
        k = int(time)
        part = time - k
        north = self.drift[0, k] * (1 - part) + self.drift[0, k + 1] * part
        east = self.drift[1, k] * (1 - part) + self.drift[1, k + 1] * part
        return speed * np.cos(toward) + north, speed * np.sin(toward) + east

    def gust(self, tick: int) -> tuple[float, float, float]:
        """Gust toward north, east and down [m/s] at a tick of the flight."""
        return self.gust_north[tick], self.gust_east[tick], self.gust_down[tick]


def _first_order(rng: np.random.Generator, count: int, gain: float) -> np.ndarray:
    keep = 1 - gain
    white = rng.standard_normal(count) * np.sqrt(1 - keep**2)
    start = rng.standard_normal()
    return lfilter([1.0], [1.0, -keep], white, zi=np.array([keep * start]))[0]


def _dryden_along(rng: np.random.Generator, count: int, step: float) -> np.ndarray:
    return _first_order(rng, count, 1 - np.exp(-step))


def _dryden_across(rng: np.random.Generator, count: int, step: float) -> np.ndarray:
    """(1 + sqrt(3) s) / (1 + s)^2 in the dimensionless time of the filter, scaled to unit variance."""
    keep = np.exp(-step)
    white = rng.standard_normal(count)
    once = lfilter([1 - keep], [1.0, -keep], white)
    twice = lfilter([1 - keep], [1.0, -keep], once)
    series = np.sqrt(3.0) * once + (1 - np.sqrt(3.0)) * twice
    return series / series.std()
