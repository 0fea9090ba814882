"""A recorder for known flights: rows with independent noise, and the traps that real recorders set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import polars as pl
from tests.motion.known import RADIUS, Truth

from chalkwing.recordings.recording import Channel, Recording
from chalkwing.units import DEGREE

TRACK = ("latitude", "longitude", "geometric_altitude", "velocity_north", "velocity_east")
PANEL = (*TRACK, "pressure_altitude", "indicated_airspeed", "bank", "pitch", "heading_true", "load_factor")

NOISE: Mapping[str, float] = {
    "latitude": 0.4 / RADIUS,
    "longitude": 0.4 / RADIUS,
    "geometric_altitude": 0.7,
    "pressure_altitude": 0.7,
    "velocity_north": 0.1,
    "velocity_east": 0.1,
    "indicated_airspeed": 0.3,
    "bank": 0.3 * DEGREE,
    "pitch": 0.3 * DEGREE,
    "heading_true": 0.5 * DEGREE,
    "load_factor": 0.02,
}
"""Sd of each row's own error [SI]."""


def record(
    truth: Truth,
    channels: Sequence[str],
    *,
    seed: int = 0,
    noise: float = 1.0,
    late: Mapping[str, float] | None = None,
    add: Mapping[str, float] | None = None,
    without: tuple[float, float] | None = None,
) -> Recording:
    """A row a second, with ``noise`` times the usual errors.

    Some channels may come ``late`` [s], or be off by a constant (``add``); rows between the times ``without``
    are lost.
    """
    rng = np.random.default_rng(seed)
    times = np.arange(0.0, truth.time[-1] + 0.5, 1.0)
    if without is not None:
        times = times[(times <= without[0]) | (times >= without[1])]
    late, add = late or {}, add or {}
    table = {"time": times}
    for name in channels:
        seen = truth.at(name, times - late.get(name, 0.0)) + add.get(name, 0.0)
        seen = seen + rng.normal(0.0, NOISE[name] * noise, len(times))
        table[name] = np.mod(seen, 2 * np.pi) if name == "heading_true" else seen
    return Recording(
        table=pl.DataFrame(table),
        channels={name: Channel(name, name, 1.0) for name in channels},
        source="a known flight",
        reader="test",
        sha256="0" * 64,
        rows=len(times),
    )


def with_columns(recording: Recording, *columns: pl.Series) -> Recording:
    """The same with some columns replaced."""
    return replace(recording, table=recording.table.with_columns(*columns))
