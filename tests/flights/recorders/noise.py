"""What recorders share: sampling with latency, correlated errors, lags, steps, gaps, place and date.

Sizes of errors follow the project's survey of recorder accuracy (GPS: slow bias of about 2 m over a minute,
0.3 to 0.5 m of white noise, Doppler speed 0.1 to 0.2 kt; attitude to 1 deg steady; airspeed to 3 % or 5 kt);
where it gives none they are common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import polars as pl
from pygeomag import GeoMag
from scipy.signal import lfilter
from tests.flights.truth import TruthFlight

EARTH_RADIUS = 6_371_000.0
SETTLED = 20.0  # recorders start after the air start's untrimmed first seconds [s]


@dataclass(frozen=True)
class Samples:
    """Times at which a recorder writes rows, and the truth to take from."""

    truth: TruthFlight
    time: np.ndarray
    rng: np.random.Generator

    def take(self, name: str, *, latency: float = 0.0, lag: float = 0.0) -> np.ndarray:
        """The truth's column at the row times, ``latency`` old and smoothed by a first-order ``lag`` [s]."""
        return self.take_values(self.truth.table[name].to_numpy(), latency=latency, lag=lag)

    def take_values(self, values: np.ndarray, *, latency: float = 0.0, lag: float = 0.0) -> np.ndarray:
        time = self.truth.table["time"].to_numpy()
        if lag > 0:
            keep = np.exp(-(time[1] - time[0]) / lag)
            values = lfilter([1 - keep], [1, -keep], values, zi=[keep * values[0]])[0]
        return np.interp(self.time - latency, time, values)

    def slow(self, *, sd: float, time: float) -> np.ndarray:
        """A first-order Gauss-Markov error at the row times."""
        kicks = self.rng.standard_normal(len(self.time))
        out = np.empty(len(self.time))
        value = kicks[0]
        keeps = np.exp(-np.diff(self.time, prepend=self.time[0]) / time)
        for k, keep in enumerate(keeps):
            value = keep * value + np.sqrt(1 - keep**2) * kicks[k] if k else value
            out[k] = value
        return sd * out

    def white(self, sd: float) -> np.ndarray:
        return sd * self.rng.standard_normal(len(self.time))


def samples(truth: TruthFlight, *, seed: int, salt: int, interval: float = 1.0, gaps: bool = True) -> Samples:
    """Rows each ``interval``, and in about a third of the flights one to three gaps of 10 to 60 s.

    Half of the gaps fall into a maneuver.
    """
    rng = np.random.default_rng([seed, truth.seed, salt])
    end = float(truth.table["time"][-1])
    time = np.arange(SETTLED + rng.uniform(0, 1), end - 1.0, interval)
    if gaps and rng.random() < 0.35 and end > 300:
        for _ in range(int(rng.integers(1, 4))):
            start, length = rng.uniform(60, end - 120), rng.uniform(10, 60)
            if truth.maneuvers and rng.random() < 0.5:
                chosen = truth.maneuvers[rng.integers(len(truth.maneuvers))]
                start = rng.uniform(chosen.start, chosen.end)
            time = time[(time < start) | (time > start + length)]
    return Samples(truth, time, rng)


@dataclass(frozen=True)
class GpsFix:
    """What a satellite receiver reports at the row times; angles in radians, altitudes in meters."""

    latitude: np.ndarray
    longitude: np.ndarray
    altitude_mean_sea_level: np.ndarray
    altitude_ellipsoid: np.ndarray
    velocity_north: np.ndarray
    velocity_east: np.ndarray
    velocity_up: np.ndarray

    @property
    def ground_speed(self) -> np.ndarray:
        return np.hypot(self.velocity_north, self.velocity_east)

    @property
    def track(self) -> np.ndarray:
        return np.arctan2(self.velocity_east, self.velocity_north) % (2 * np.pi)


def gps(rows: Samples, *, latency: float, velocity_lag: float, quality: float = 1.0) -> GpsFix:
    """Position with slow bias and white noise, Doppler velocity with its own noise and lag."""
    latitude = rows.take("latitude", latency=latency)
    bias = [rows.slow(sd=sd * quality, time=60.0) for sd in (2.0, 2.0, 3.5)]
    white = [rows.white(sd * quality) for sd in (0.35, 0.35, 0.6)]
    north, east, up = (b + w for b, w in zip(bias, white, strict=True))
    altitude = rows.take("geometric_altitude", latency=latency) + up
    speed_sd = 0.08 * quality
    return GpsFix(
        latitude=latitude + north / EARTH_RADIUS,
        longitude=rows.take("longitude", latency=latency) + east / (EARTH_RADIUS * np.cos(latitude)),
        altitude_mean_sea_level=altitude,
        altitude_ellipsoid=altitude + undulation(rows.truth),
        velocity_north=rows.take("velocity_north", latency=latency, lag=velocity_lag) + rows.white(speed_sd),
        velocity_east=rows.take("velocity_east", latency=latency, lag=velocity_lag) + rows.white(speed_sd),
        velocity_up=-rows.take("velocity_down", latency=latency, lag=velocity_lag)
        + rows.white(1.5 * speed_sd),
    )


def undulation(truth: TruthFlight) -> float:
    """A geoid height for the place [m]: invented, of the size found there, the same for every recorder."""
    return float(np.random.default_rng([truth.seed, 41]).uniform(-40, 50))


def start_utc(truth: TruthFlight) -> dt.datetime:
    """When the table's time was zero."""
    rng = np.random.default_rng([truth.seed, 42])
    day = dt.datetime(2026, 1, 5, tzinfo=dt.UTC) + dt.timedelta(days=int(rng.integers(0, 300)))
    return day + dt.timedelta(hours=float(rng.uniform(12, 22)))


def stamps(rows: Samples) -> list[dt.datetime]:
    """UTC of each row."""
    zero = start_utc(rows.truth)
    return [zero + dt.timedelta(seconds=float(t)) for t in rows.time]


def magnetic_variation(truth: TruthFlight) -> float:
    """East positive [rad], World Magnetic Model at the start of the flight."""
    first = truth.table.row(0, named=True)
    date = start_utc(truth)
    result = GeoMag(coefficients_file="wmm/WMM_2025.COF").calculate(
        glat=float(np.degrees(first["latitude"])),
        glon=float(np.degrees(first["longitude"])),
        alt=1.0,
        time=date.year + date.timetuple().tm_yday / 365.25,
    )
    return float(np.radians(result.d))


def step(values: np.ndarray, size: float) -> np.ndarray:
    """Rounded to the steps of a display or a word of data."""
    return np.round(values / size) * size


def play(values: np.ndarray, width: float) -> np.ndarray:
    """What a pointer with friction shows: it follows only beyond half of ``width``."""
    out = np.empty_like(values)
    shown = values[0]
    for k, value in enumerate(values):
        shown = min(max(shown, value - width / 2), value + width / 2)
        out[k] = shown
    return out


def delimited(columns: dict[str, list[str]], *, separator: str = ",") -> str:
    """Columns of text as lines."""
    frame = pl.DataFrame(columns)
    return frame.write_csv(separator=separator, quote_style="never")
