"""A Motion made from the truth plus correlated noise: what an estimator of stated quality would hand over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import polars as pl
from scipy.signal import lfilter
from tests.find.kinematics import truth_table

from chalkwing.motion.motion import Motion
from chalkwing.recordings.recording import Recording
from chalkwing.units import DEGREE, KNOT, Floats


@dataclass(frozen=True)
class Quality:
    """Standard deviation and correlation time [s] of each reconstructed quantity's error."""

    bank: tuple[float, float]
    pitch: tuple[float, float]
    heading: tuple[float, float]
    altitude: tuple[float, float]
    speed: tuple[float, float]
    place: tuple[float, float] = (0.0, 1.0)
    wind: tuple[float, float] = (0.0, 1.0)


PERFECT = Quality(
    bank=(0.0, 1.0), pitch=(0.0, 1.0), heading=(0.0, 1.0), altitude=(0.0, 1.0), speed=(0.0, 1.0)
)
AVIONICS = Quality(
    bank=(1.0 * DEGREE, 2.0),
    pitch=(1.0 * DEGREE, 4.0),
    heading=(1.5 * DEGREE, 30.0),
    altitude=(2.0, 10.0),
    speed=(1.5 * KNOT, 10.0),
    place=(2.0, 30.0),
    wind=(0.7, 200.0),
)
TRACK_ONLY = Quality(
    bank=(3.0 * DEGREE, 3.0),
    pitch=(3.0 * DEGREE, 6.0),
    heading=(4.0 * DEGREE, 40.0),
    altitude=(4.0, 20.0),
    speed=(3.5 * KNOT, 20.0),
    place=(4.0, 30.0),
    wind=(1.2, 200.0),
)


def correlated(count: int, sd: float, seconds: float, interval: float, rng: np.random.Generator) -> Floats:
    """A stationary first-order error: ``sd`` at every instant, forgotten over ``seconds``."""
    kept = float(np.exp(-interval / seconds))
    kicks = rng.normal(size=count) * sd * np.sqrt(1.0 - kept**2)
    kicks[0] = rng.normal() * sd
    return np.asarray(lfilter([1.0], [1.0, -kept], kicks))


def disturbed(truth: Mapping[str, Floats], quality: Quality, rng: np.random.Generator) -> dict[str, Floats]:
    """The truth as such an estimator would report it; what belongs together (turn rate, heading) stays so."""
    time = truth["time"]
    interval = float(time[1] - time[0])

    def error(of: tuple[float, float]) -> Floats:
        return correlated(len(time), of[0], of[1], interval, rng)

    smooth = np.ones(5) / 5.0  # an estimator's errors have no steps
    reported = truth_table(
        time=time,
        bank=truth["bank"] + np.convolve(error(quality.bank), smooth, "same"),
        pitch=truth["pitch"] + np.convolve(error(quality.pitch), smooth, "same"),
        heading=truth["heading_true"] + np.convolve(error(quality.heading), smooth, "same"),
        altitude=truth["altitude"] + np.convolve(error(quality.altitude), smooth, "same"),
        speed=truth["calibrated_airspeed"] + np.convolve(error(quality.speed), smooth, "same"),
    )
    for name in ("position_north", "position_east", "wind_north", "wind_east"):
        if name in truth:
            of = quality.place if name.startswith("position") else quality.wind
            reported[name] = truth[name] + np.convolve(error(of), smooth, "same")
    return reported


@dataclass(frozen=True)
class NoisyPosterior:
    """Draws scattered about the reported values with the stated quality."""

    reported: Mapping[str, Floats]
    quality: Quality

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        rng = np.random.default_rng(seed)
        window = {name: values[first : last + 1] for name, values in self.reported.items()}
        drawn = [disturbed(window, self.quality, rng) for _ in range(count)]
        return {name: np.stack([one[name] for one in drawn]) for name in window if name != "time"}


def motion(truth: Mapping[str, Floats], quality: Quality = PERFECT, *, seed: int = 0) -> Motion:
    """The Motion that an estimator of this quality would reconstruct from a flight with this truth."""
    reported = disturbed(truth, quality, np.random.default_rng(seed))
    time = reported.pop("time")
    count = len(time)
    level = {"bank": quality.bank[0], "pitch": quality.pitch[0], "heading_true": quality.heading[0]}
    level |= dict.fromkeys(("altitude", "geometric_altitude", "pressure_altitude"), quality.altitude[0])
    level |= dict.fromkeys(("wind_north", "wind_east"), quality.wind[0])
    level |= dict.fromkeys(("position_north", "position_east"), quality.place[0])
    level |= dict.fromkeys(("airspeed", "true_airspeed", "calibrated_airspeed"), quality.speed[0])
    return Motion(
        time=time,
        values=reported,
        sds={name: np.full(count, level.get(name, 0.0)) for name in reported},
        origins=dict.fromkeys(reported, "derived"),
        airspeed_kind="calibrated",
        altitude_kind="geometric",
        in_gap=np.zeros(count, dtype=np.bool_),
        recording=Recording(pl.DataFrame({"time": time}), {}, "drawn", "none", "", count),
        posterior=NoisyPosterior({"time": time, **reported}, quality),
    )
