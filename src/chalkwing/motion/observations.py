"""From a Recording to the list of scalar observations that the estimator is held against.

Each recorded value becomes one row: when, what it is a sight of, its value in SI, and how much rougher than
the rest of its kind it is. Nothing is decided about noise here: one level per kind is fitted to the flight.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from chalkwing.air import pressure_altitude
from chalkwing.earth import LocalFrame
from chalkwing.errors import UndecidedRecording
from chalkwing.motion import layout as at
from chalkwing.recordings.recording import Recording
from chalkwing.units import Floats, wrap_angle

FINEST = 0.25
"""Values closer than this [s] are averaged: the estimator's knots are no finer."""
COARSE_ALTITUDE = 3.0
"""Altitude recorded in steps above this [m] is helped by a recorded rate of climb."""


@dataclass(frozen=True)
class Samples:
    """Recorded values of one kind."""

    time: Floats
    value: Floats


@dataclass(frozen=True)
class Observations:
    """All rows in order of time, and the same values kind by kind.

    ``origin_height`` [m] is the reference height of the flight; positions are meters in ``frame``.
    ``resolution[kind]`` is the smallest step of the recorded values [SI], 0 if none shows.
    """

    time: Floats
    kind: np.ndarray[tuple[int], np.dtype[np.int64]]
    value: Floats
    scale: Floats
    samples: dict[int, Samples]
    resolution: dict[int, float]
    frame: LocalFrame
    origin_height: float

    def __contains__(self, kind: int) -> bool:
        return kind in self.samples

    def without(self, *kinds: int) -> Observations:
        """The same with some kinds left out."""
        keep = ~np.isin(self.kind, kinds)
        return replace(
            self,
            time=self.time[keep],
            kind=self.kind[keep],
            value=self.value[keep],
            scale=self.scale[keep],
            samples={kind: held for kind, held in self.samples.items() if kind not in kinds},
        )


_DIRECT = {
    "geometric_altitude": at.SEES_HEIGHT,
    "bank": at.SEES_BANK,
    "pitch": at.SEES_PITCH,
    "load_factor": at.SEES_LOAD,
    "lateral_load": at.SEES_SIDE,
}


def observe(recording: Recording, *, variation: float) -> Observations:
    """The observations of the whole ``recording``; ``variation`` [rad] turns magnetic headings true.

    Raises
    ------
    UndecidedRecording
        No position, or fewer than ten of them: the estimator has nothing to hold on to.
    """
    samples = {kind: _thin(*recording.samples(name)) for name, kind in _DIRECT.items() if name in recording}
    resolution = {
        kind: recording.channels[name].resolution for name, kind in _DIRECT.items() if name in recording
    }
    frame = _positions(recording, samples)
    _pressure(recording, samples, resolution)
    _ground_velocity(recording, samples)
    _airspeed(recording, samples, resolution)
    _heading(recording, samples, variation)
    _climb(recording, samples, resolution)
    samples = {kind: held for kind, held in samples.items() if len(held.time) >= 3}
    height = samples.get(at.SEES_HEIGHT) or samples.get(at.SEES_PRESSURE)
    if height is None:
        raise UndecidedRecording(
            "no altitude is recorded, so neither climb nor speed through the air can be told.",
            next_step="Use a recording with satellite or pressure altitude.",
        )
    times = np.concatenate([held.time for held in samples.values()])
    kinds = np.concatenate([np.full(len(held.time), kind) for kind, held in samples.items()])
    values = np.concatenate([held.value for held in samples.values()])
    order = np.argsort(times, kind="stable")
    return Observations(
        time=times[order],
        kind=kinds[order].astype(np.int64),
        value=values[order],
        scale=np.ones(len(times)),
        samples=samples,
        resolution=resolution,
        frame=frame,
        origin_height=float(np.median(height.value)),
    )


def _thin(time: Floats, value: Floats) -> Samples:
    """Average values that lie closer together than ``FINEST``; leave slower ones as they are."""
    if len(time) < 3 or np.median(np.diff(time)) > 0.75 * FINEST:
        return Samples(time, value)
    bins = np.floor(time / FINEST).astype(np.int64)
    starts = np.flatnonzero(np.diff(bins, prepend=bins[0] - 1))
    count = np.diff(starts, append=len(time))
    return Samples(np.add.reduceat(time, starts) / count, np.add.reduceat(value, starts) / count)


def _thin_angle(time: Floats, angle: Floats) -> Samples:
    """The same for an angle that runs through a full circle."""
    unwrapped = _thin(time, np.unwrap(angle))
    return Samples(unwrapped.time, wrap_angle(unwrapped.value))


def _positions(recording: Recording, samples: dict[int, Samples]) -> LocalFrame:
    if "latitude" not in recording or "longitude" not in recording:
        raise UndecidedRecording(
            "no position is recorded.",
            next_step="Bank, speed and wind are reconstructed from how the airplane moves over the ground; "
            "use a recording with latitude and longitude.",
        )
    both = recording.table.select("time", "latitude", "longitude").drop_nulls().drop_nans()
    if both.height < 10:
        raise UndecidedRecording(
            f"only {both.height} positions are recorded.", next_step="At least ten are needed."
        )
    time, latitude, longitude = (both[name].to_numpy() for name in ("time", "latitude", "longitude"))
    frame = LocalFrame(latitude=float(np.median(latitude)), longitude=float(np.median(longitude)))
    north, east = frame.to_plane(latitude, longitude)
    samples[at.SEES_NORTH] = _thin(time, north)
    samples[at.SEES_EAST] = _thin(time, east)
    return frame


def _pressure(recording: Recording, samples: dict[int, Samples], resolution: dict[int, float]) -> None:
    for name in ("pressure_altitude", "static_pressure", "altimeter_altitude"):
        if name not in recording:
            continue
        time, value = recording.samples(name)
        step = recording.channels[name].resolution
        if name == "static_pressure":
            value = np.asarray(pressure_altitude(value))
            step *= 0.083  # m per Pa near sea level
        samples[at.SEES_PRESSURE] = _thin(time, value)
        resolution[at.SEES_PRESSURE] = step
        return


def _ground_velocity(recording: Recording, samples: dict[int, Samples]) -> None:
    if "velocity_north" in recording and "velocity_east" in recording:
        samples[at.SEES_U_NORTH] = _thin(*recording.samples("velocity_north"))
        samples[at.SEES_U_EAST] = _thin(*recording.samples("velocity_east"))
        return
    if "ground_speed" not in recording:
        return
    if "track" not in recording:
        samples[at.SEES_SPEED] = _thin(*recording.samples("ground_speed"))
        return
    both = recording.table.select("time", "ground_speed", "track").drop_nulls().drop_nans()
    time, speed, track = (both[name].to_numpy() for name in ("time", "ground_speed", "track"))
    samples[at.SEES_U_NORTH] = _thin(time, speed * np.cos(track))
    samples[at.SEES_U_EAST] = _thin(time, speed * np.sin(track))


def _airspeed(recording: Recording, samples: dict[int, Samples], resolution: dict[int, float]) -> None:
    """Indicated (or calibrated) airspeed; true airspeed only without it, being computed from it on board."""
    for name, kind in (
        ("indicated_airspeed", at.SEES_INDICATED),
        ("calibrated_airspeed", at.SEES_INDICATED),
        ("true_airspeed", at.SEES_TRUE),
    ):
        if name in recording:
            samples[kind] = _thin(*recording.samples(name))
            resolution[kind] = recording.channels[name].resolution
            return


def _heading(recording: Recording, samples: dict[int, Samples], variation: float) -> None:
    if "heading_true" in recording:
        samples[at.SEES_HEADING] = _thin_angle(*recording.samples("heading_true"))
    elif "heading_magnetic" in recording:
        time, heading = recording.samples("heading_magnetic")
        samples[at.SEES_HEADING] = _thin_angle(time, heading + variation)


def _climb(recording: Recording, samples: dict[int, Samples], resolution: dict[int, float]) -> None:
    """A rate of climb lags by its instrument's making; it is used only where altitude is too coarse."""
    altitude = [resolution.get(kind, 0.0) for kind in (at.SEES_HEIGHT, at.SEES_PRESSURE) if kind in samples]
    if "vertical_speed" in recording and (not altitude or min(altitude) > COARSE_ALTITUDE):
        samples[at.SEES_CLIMB] = _thin(*recording.samples("vertical_speed"))
