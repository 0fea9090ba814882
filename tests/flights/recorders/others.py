"""Decoded ADS-B tables as receivers keep them, and what a phone on the glare shield writes."""

from __future__ import annotations

import numpy as np
from tests.flights.recorders.noise import delimited, gps, samples, stamps, step
from tests.flights.truth import TruthFlight

from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT


def adsb_table(truth: TruthFlight, seed: int) -> bytes:
    """A row a second in coverage: 25 ft pressure altitude, whole knots, half degrees, dropped rows, gaps."""
    rows = samples(truth, seed=seed, salt=71)
    fix = gps(
        rows, latency=float(rows.rng.uniform(0.1, 0.8)), velocity_lag=float(rows.rng.choice([0.0, 0.7]))
    )
    pressure = rows.take("pressure_altitude", lag=0.3) + rows.rng.normal(0, 25) * FOOT
    heard = rows.rng.random(len(rows.time)) > 0.08
    columns = {
        "time": [f"{t.timestamp():.2f}" for t in stamps(rows)],
        "icao24": ["a00001"] * len(rows.time),
        "lat": [f"{v / DEGREE:.6f}" for v in fix.latitude],
        "lon": [f"{v / DEGREE:.6f}" for v in fix.longitude],
        "baro_altitude_ft": [f"{v:.0f}" for v in step(pressure / FOOT, 25)],
        "ground_speed_kt": [f"{v:.0f}" for v in fix.ground_speed / KNOT],
        "track_deg": [f"{v:.1f}" for v in step(fix.track / DEGREE, 0.5) % 360],
        "vertical_rate_fpm": [f"{v:.0f}" for v in step(fix.velocity_up / FOOT_PER_MINUTE, 64)],
    }
    kept = {
        name: [v for v, keep in zip(values, heard, strict=True) if keep] for name, values in columns.items()
    }
    return delimited(kept).encode()


def phone_log(truth: TruthFlight, seed: int) -> bytes:
    """GPS with speed and course, cabin pressure, and a tilt that mistakes turns for level flight."""
    rows = samples(truth, seed=seed, salt=72)
    fix = gps(
        rows,
        latency=float(rows.rng.uniform(0.2, 1.0)),
        velocity_lag=float(rows.rng.choice([0.5, 1.0])),
        quality=1.5,
    )
    cabin = rows.take("static_pressure", lag=2.0) + rows.rng.normal(0, 120) + rows.slow(sd=40, time=60)
    tilt = _leaky(rows.take("bank"), rows.time, constant=15.0) + rows.rng.normal(0, 1.5) * DEGREE
    columns = {
        "timestamp_ms": [f"{t.timestamp() * 1000:.0f}" for t in stamps(rows)],
        "latitude": [f"{v / DEGREE:.7f}" for v in fix.latitude],
        "longitude": [f"{v / DEGREE:.7f}" for v in fix.longitude],
        "altitude_m": [f"{v:.1f}" for v in fix.altitude_ellipsoid],
        "speed_mps": [f"{v:.2f}" for v in fix.ground_speed],
        "course_deg": [f"{v:.1f}" for v in fix.track / DEGREE],
        "pressure_hPa": [f"{v / 100:.2f}" for v in cabin],
        "tilt_roll_deg": [f"{v / DEGREE:.1f}" for v in tilt + rows.white(0.4 * DEGREE)],
    }
    return delimited(columns).encode()


def _leaky(values: np.ndarray, time: np.ndarray, *, constant: float) -> np.ndarray:
    """High-pass: gravity as felt pulls a tilt without GPS back to level in a sustained turn."""
    out = np.zeros_like(values)
    for k in range(1, len(values)):
        keep = np.exp(-(time[k] - time[k - 1]) / constant)
        out[k] = keep * (out[k - 1] + values[k] - values[k - 1])
    return out
