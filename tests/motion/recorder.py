"""A recorder for known flights: rows with independent noise, and every trap that real recorders set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import polars as pl
from tests.motion.known import RADIUS, Truth

from chalkwing.recordings.recording import Channel, Recording
from chalkwing.units import DEGREE, FOOT, Floats

TRACK = ("latitude", "longitude", "geometric_altitude", "velocity_north", "velocity_east")
PANEL = (*TRACK, "pressure_altitude", "indicated_airspeed", "bank", "pitch", "heading_true", "load_factor")

NOISE: Mapping[str, float] = {
    "latitude": 0.4 / RADIUS,
    "longitude": 0.4 / RADIUS,
    "geometric_altitude": 0.7,
    "pressure_altitude": 0.7,
    "velocity_north": 0.1,
    "velocity_east": 0.1,
    "ground_speed": 0.1,
    "vertical_speed": 0.3,
    "indicated_airspeed": 0.3,
    "bank": 0.3 * DEGREE,
    "pitch": 0.3 * DEGREE,
    "heading_true": 0.5 * DEGREE,
    "heading_magnetic": 0.5 * DEGREE,
    "load_factor": 0.02,
    "lateral_load": 0.01,
    "outside_air_temperature": 0.2,
    "magnetic_variation": 0.0,
}
"""Sd of each row's own error [SI]."""
_CIRCULAR = ("heading_true", "heading_magnetic")


def record(
    truth: Truth,
    channels: Sequence[str],
    *,
    seed: int = 0,
    every: float = 1.0,
    noise: float = 1.0,
    late: Mapping[str, float] | None = None,
    add: Mapping[str, float | Floats] | None = None,
    steps: Mapping[str, float] | None = None,
    without: tuple[float, float] | None = None,
) -> Recording:
    """Rows ``every`` [s], with ``noise`` times the usual errors.

    Some channels may come ``late`` [s], be off (``add``: a constant, or values on the truth's own fine grid),
    or be written in ``steps`` [SI]; rows between the times ``without`` are lost.
    """
    rng = np.random.default_rng(seed)
    times = np.arange(0.0, truth.time[-1] + 0.5 * every, every)
    if without is not None:
        times = times[(times <= without[0]) | (times >= without[1])]
    late, add, steps = late or {}, add or {}, steps or {}
    table = {"time": times}
    for name in channels:
        exact = truth.values[name] + add.get(name, 0.0)
        seen = np.interp(times - late.get(name, 0.0), truth.time, exact)
        seen = seen + rng.normal(0.0, NOISE[name] * noise, len(times))
        if name in steps:
            seen = np.round(seen / steps[name]) * steps[name]
        table[name] = np.mod(seen, 2 * np.pi) if name in _CIRCULAR else seen
    return Recording(
        table=pl.DataFrame(table),
        channels={name: Channel(name, name, 1.0 / every, steps.get(name, 0.0)) for name in channels},
        source="a known flight",
        reader="test",
        sha256="0" * 64,
        rows=len(times),
    )


def spoiled(recording: Recording, *, share: float, seed: int = 0) -> Recording:
    """The same with a ``share`` of each channel's values replaced by wild ones, each channel's at other rows.

    Wild is a value anywhere within the channel's span, widened three times.
    """
    rng = np.random.default_rng(seed)
    columns = []
    for name in recording.channels:
        values = recording.table[name].to_numpy().copy()
        low, high = float(values.min()), float(values.max())
        half = 1.5 * max(high - low, 100.0 * NOISE[name])
        wild = rng.random(len(values)) < share
        values[wild] = 0.5 * (low + high) + rng.uniform(-half, half, np.count_nonzero(wild))
        columns.append(pl.Series(name, values))
    return with_columns(recording, *columns)


def with_columns(recording: Recording, *columns: pl.Series) -> Recording:
    """The same with some columns replaced."""
    from dataclasses import replace

    return replace(recording, table=recording.table.with_columns(*columns))


FEET_25 = 25.0 * FOOT
"""The step in which a transponder reports pressure altitude [m]."""
