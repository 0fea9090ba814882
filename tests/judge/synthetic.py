"""Motions of known truth for the judge: analytic maneuvers, and a posterior with errors of our choosing.

The path is a sequence of bank, speed, altitude and pitch profiles; the heading follows from them by
tan(bank) = V * turn rate / g, so that what the judge reads belongs together.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
import polars as pl
from scipy.optimize import brentq
from scipy.signal import lfilter

from chalkwing.find.occurrence import Direction, Occurrence, Part
from chalkwing.motion.motion import Motion, Origin
from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.recording import Channel, Recording
from chalkwing.units import DEGREE, FOOT, KNOT, STANDARD_GRAVITY, Floats

INTERVAL = 0.25
ENTRY_SPEED = 100.0 * KNOT
ENTRY_ALTITUDE = 3500.0 * FOOT


@dataclass(frozen=True)
class Path:
    """Profiles on the grid [SI]; ``bank`` right positive."""

    bank: Floats
    speed: Floats
    altitude: Floats
    pitch: Floats

    def then(self, *others: Path) -> Path:
        """This path and others after it."""
        together = (self, *others)
        names = Path.__annotations__
        return Path(*(np.concatenate([getattr(path, name) for path in together]) for name in names))

    def mirrored(self) -> Path:
        """The same flown to the other side."""
        return Path(-self.bank, self.speed, self.altitude, self.pitch)

    @property
    def heading_change(self) -> float:
        """From its start to its end [rad]."""
        return float(np.sum(turn_rate(self)) * INTERVAL)

    @property
    def seconds(self) -> float:
        """How long it takes [s]."""
        return len(self.bank) * INTERVAL


def turn_rate(path: Path) -> Floats:
    """Of the nose, right positive [rad/s]."""
    return np.asarray(STANDARD_GRAVITY * np.tan(path.bank) / path.speed)


def level(seconds: float, *, speed: float = ENTRY_SPEED, altitude: float = ENTRY_ALTITUDE) -> Path:
    """Straight and level."""
    flat = np.ones(round(seconds / INTERVAL))
    return Path(0.0 * flat, speed * flat, altitude * flat, 0.0 * flat)


def _of_shape(shape: Callable[[Floats], Path], seconds: float) -> Path:
    count = round(seconds / INTERVAL)
    return shape(np.arange(count) / count)


def _turning(shape: Callable[[Floats], Path], degrees: float) -> Path:
    """The profile over s in [0, 1), lasting as long as it takes to turn so far (last, its bank is scaled)."""
    seconds = brentq(lambda t: _of_shape(shape, t).heading_change / DEGREE - degrees, 8.0, 300.0, xtol=0.02)
    path = _of_shape(shape, seconds)
    exact = degrees * DEGREE / path.heading_change
    return Path(path.bank * exact, path.speed, path.altitude, path.pitch)


def half_eight(
    *, degrees: float = 180.0, gain: float = 300.0, end_ft: float = 0.0, end_kt: float = 0.0,
    begin_ft: float = 0.0, begin_kt: float = 0.0, bank: float = 30.0, pitch: float = 10.0,
) -> Path:  # fmt: skip
    """A right half of a lazy eight; ``begin_``/``end_`` are departures from the entry values."""

    def shape(s: Floats) -> Path:
        hump = np.sin(np.pi * s) ** 2
        return Path(
            bank=bank * DEGREE * np.sin(np.pi * s),
            speed=ENTRY_SPEED + KNOT * (begin_kt + (end_kt - begin_kt) * s - 28.0 * hump),
            altitude=ENTRY_ALTITUDE + FOOT * (begin_ft + (end_ft - begin_ft) * s + gain * hump),
            pitch=pitch * DEGREE * np.where(s < 0.5, 1.0, 0.5) * np.sin(2.0 * np.pi * s),
        )

    return _turning(shape, degrees)


def chandelle(*, degrees: float = 180.0, gain: float = 500.0, end_kt: float = -40.0) -> Path:
    """A right chandelle: bank held to the middle, then taken off steadily."""

    def shape(s: Floats) -> Path:
        bank = 30.0 * np.clip(np.minimum(s / 0.08, (1.0 - s) / 0.6), 0.0, 1.0)
        return Path(
            bank=bank * DEGREE,
            speed=ENTRY_SPEED + KNOT * end_kt * s,
            altitude=ENTRY_ALTITUDE + FOOT * gain * s**1.5,
            pitch=12.0 * DEGREE * np.minimum(s / 0.4, 1.0),
        )

    return _turning(shape, degrees)


def smooth(s: Floats) -> Floats:
    """From 0 to 1 without a corner."""
    s = np.clip(s, 0.0, 1.0)
    return np.asarray(s * s * (3.0 - 2.0 * s))


def steep_turn(*, bank: float = 50.0, degrees: float = 360.0, roll: float = 4.0) -> Path:
    """A right level steep turn of exactly so many degrees."""

    def at(seconds: float) -> Path:
        t = np.arange(round(seconds / INTERVAL)) * INTERVAL
        rolled = smooth(t / roll) * smooth((seconds - t) / roll)
        flat = np.ones(len(t))
        return Path(bank * DEGREE * rolled, ENTRY_SPEED * flat, ENTRY_ALTITUDE * flat, 3.0 * DEGREE * rolled)

    seconds = brentq(lambda s: at(s).heading_change / DEGREE - degrees, 10.0, 150.0, xtol=0.02)
    path = at(seconds)
    exact = degrees * DEGREE / path.heading_change
    return Path(path.bank * exact, path.speed, path.altitude, path.pitch)


def bump(path: Path, name: str, *, start: float, seconds: float, by: float) -> Path:
    """The path with an excursion: ``by`` [SI] from ``start`` for ``seconds``, ends smoothed over 0.5 s."""
    t = np.arange(len(path.bank)) * INTERVAL
    shape = smooth((t - start + 0.25) / 0.5) * smooth((start + seconds + 0.25 - t) / 0.5)
    profiles = {key: getattr(path, key) for key in Path.__annotations__}
    profiles[name] = profiles[name] + by * shape
    return Path(**profiles)


@dataclass(frozen=True)
class Error:
    """One quantity's error [SI]: a constant and a part that is forgotten over ``seconds``."""

    constant: float = 0.0
    wander: float = 0.0
    seconds: float = 10.0

    @property
    def sd(self) -> float:
        """At one instant."""
        return float(np.hypot(self.constant, self.wander))

    def drawn(self, count: int, times: int, rng: np.random.Generator) -> Floats:
        """Samples of the error, (count, times)."""
        kept = np.exp(-INTERVAL / self.seconds)
        kicks = rng.normal(size=(count, times)) * self.wander * np.sqrt(1.0 - kept**2)
        kicks[:, 0] = rng.normal(size=count) * self.wander
        wandered = lfilter([1.0], [1.0, -kept], kicks, axis=1)
        return np.asarray(wandered + self.constant * rng.normal(size=(count, 1)))


@dataclass(frozen=True)
class Scattered:
    """A posterior whose draws scatter about the reported values by the stated errors."""

    values: Mapping[str, Floats]
    errors: Mapping[str, Error]

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        rng = np.random.default_rng(seed)
        times = last + 1 - first
        drawn = {}
        for name, values in self.values.items():
            rows = np.tile(values[first : last + 1], (count, 1))
            error = self.errors.get(name)
            drawn[name] = rows if error is None else rows + error.drawn(count, times, rng)
        return drawn


def quantities(path: Path, *, heading: float = 350.0, variation: float = -8.0) -> dict[str, Floats]:
    """Everything the judge may ask of a Motion, from the profiles; ``heading`` [deg true] at the start."""
    rate = turn_rate(path)
    turned = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]))]) * INTERVAL
    true = heading * DEGREE + turned
    return {
        "bank": path.bank,
        "pitch": path.pitch,
        "true_airspeed": path.speed,
        "airspeed": path.speed,
        "calibrated_airspeed": path.speed,
        "altitude": path.altitude,
        "geometric_altitude": path.altitude,
        "heading_true": true,
        "heading_magnetic": true - variation * DEGREE,
        "turn_rate": rate,
        "roll_rate": np.gradient(path.bank, INTERVAL),
        "pitch_rate": np.gradient(path.pitch, INTERVAL),
        "vertical_speed": np.gradient(path.altitude, INTERVAL),
        "load_factor": 1.0 / np.cos(path.bank),
        "path_angle": np.gradient(path.altitude, INTERVAL) / path.speed,
        "specific_energy": path.altitude + path.speed**2 / (2.0 * STANDARD_GRAVITY),
        "latitude": np.full(len(path.bank), 0.8),
        "longitude": np.full(len(path.bank), 0.1),
    }


@dataclass(frozen=True)
class Flight:
    """A Motion and the occurrence in it."""

    motion: Motion
    occurrence: Occurrence
    truth: Mapping[str, Floats] = field(repr=False)


def recording(samples: Mapping[str, tuple[Floats, Floats]] | None = None) -> Recording:
    """A recording that holds only the given channels' samples (times, values), all on one clock."""
    samples = samples or {}
    times = next(iter(samples.values()))[0] if samples else np.array([0.0, 1.0])
    for name in samples:
        assert name in KINDS
    return Recording(
        table=pl.DataFrame({"time": times, **{name: pair[1] for name, pair in samples.items()}}),
        channels={name: Channel(name, name, 1.0) for name in samples},
        source="synthetic",
        reader="none",
        sha256="",
        rows=len(times),
    )


def fly(
    parts: list[Path], *, kind: str, direction: Direction = "right",
    before: Path | None = None, after: Path | None = None,
    errors: Mapping[str, Error] | None = None, seed: int | None = None, edge_error: float = 0.0,
    measured: bool = True, gap: tuple[float, float] | None = None, heading: float = 350.0,
    samples: Mapping[str, tuple[Floats, Floats]] | None = None, extra: Mapping[str, Floats] | None = None,
    status: str = "complete",
) -> Flight:  # fmt: skip
    """Fly the parts (right-handed paths, turned over for the direction) between straight and level stretches.

    With ``seed`` the Motion's values are the truth plus one sample of ``errors``, as an estimate would be;
    without it they are the truth itself. ``edge_error`` [s] shifts what the finder says.
    """
    before = before or level(30.0)
    last = parts[-1]
    after = after or level(20.0, speed=_run_on(last.speed), altitude=_run_on(last.altitude))
    right_first = direction == "right"
    sides = [part if (index % 2 == 0) == right_first else part.mirrored() for index, part in enumerate(parts)]
    path = before.then(*sides, after)
    values = quantities(path, heading=heading) | dict(extra or {})
    time = np.arange(len(path.bank)) * INTERVAL
    errors = errors or {}
    reported = dict(values)
    if seed is not None:
        rng = np.random.default_rng([seed, 7])
        for name, error in errors.items():
            reported[name] = values[name] + error.drawn(1, len(time), rng)[0]
    origin: Origin = "measured" if measured else "derived"
    hidden = np.zeros(len(time), dtype=bool)
    if gap is not None:
        hidden[(time > before.seconds + gap[0] + 1.5) & (time < before.seconds + gap[1] - 1.5)] = True
    motion = Motion(
        time=time,
        values=reported,
        sds={name: np.full(len(time), errors[name].sd if name in errors else 0.0) for name in reported},
        origins=dict.fromkeys(reported, origin),
        airspeed_kind="indicated",
        altitude_kind="altimeter",
        in_gap=hidden,
        recording=recording(samples),
        posterior=Scattered(reported, errors),
    )
    return Flight(motion, _occurrence(parts, before, kind, direction, edge_error, status), values)


def _run_on(profile: Floats) -> float:
    """What the profile comes to at its end, one step after its last sample."""
    return float(2.0 * profile[-1] - profile[-2])


def _occurrence(
    parts: list[Path], before: Path, kind: str, direction: Direction, edge_error: float, status: str
) -> Occurrence:
    edges = before.seconds + np.concatenate([[0.0], np.cumsum([part.seconds for part in parts])]) + edge_error
    other: Direction = "left" if direction == "right" else "right"
    found = tuple(
        Part(direction if index % 2 == 0 else other, float(edges[index]), float(edges[index + 1]), 0.5, 0.5)
        for index in range(len(parts))
    )
    return Occurrence(
        kind=kind, direction=direction, start=float(edges[0]), end=float(edges[-1]), start_sd=0.5, end_sd=0.5,
        probability=1.0, status="broken_off" if status == "broken_off" else "complete", parts=found,
    )  # fmt: skip
