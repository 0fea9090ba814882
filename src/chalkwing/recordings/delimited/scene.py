"""The drafted channels on one even time grid, and how two of them hang together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited.drafts import Draft, Drafts
from chalkwing.units import Floats

Bools = npt.NDArray[np.bool_]
EARTH_RADIUS = 6371008.8
"""Mean radius [m] (IUGG); good to 0.5 % for the speed checks, which tell units apart, not decimals."""
MOST_POINTS = 200_000
MOVING = 8.0
"""Speed over the ground [m/s] above which direction of motion means something."""


@dataclass(frozen=True)
class Fit:
    """How two quantities hang together: ``y = slope * x`` about their means, correlation and points used."""

    slope: float
    r: float
    n: int


class Scene:
    """Reads drafts on an even grid: spacing about one second, ``nan`` inside gaps."""

    def __init__(self, time: Floats, drafts: Drafts) -> None:
        self.drafts = drafts
        self._time = time
        duration = float(time[-1] - time[0])
        usual = float(np.median(np.diff(time)))
        self.spacing = float(np.clip(duration / 240.0, min(max(usual, 0.05), 1.0), max(1.0, usual)))
        # A clock gone mad can make a recording of years; the checks then see little, and memory is kept.
        self.spacing = max(self.spacing, duration / MOST_POINTS)
        self.grid: Floats = np.arange(time[0], time[-1] + 1e-9, self.spacing)
        self._reach = 2.5 * max(self.spacing, usual)
        self._everywhere = self._places(time)

    def __contains__(self, channel: str) -> bool:
        return channel in self.drafts

    def si(self, channel: str) -> Floats:
        """The channel's SI values on the grid, shape (m,); circular ones unwrapped; ``nan`` in gaps."""
        draft = self.drafts.get(channel)
        if draft is None:
            return np.full(len(self.grid), np.nan)
        return self.sampled(draft.si, circular=channel in KINDS and KINDS[channel].circular)

    def sampled(self, values: Floats, *, circular: bool = False) -> Floats:
        """Row values, shape (n,), on the grid, shape (m,)."""
        good = np.isfinite(values)
        count = int(good.sum())
        if count < 2:
            return np.full(len(self.grid), np.nan)
        whole = count == len(values)
        told = values if whole else values[good]
        if circular:
            told = np.unwrap(told)
        place, share, usable = self._everywhere if whole else self._places(self._time[good])
        before = told[place - 1]
        return np.where(usable, before + share * (told[place] - before), np.nan)

    def _places(self, time: Floats) -> tuple[npt.NDArray[np.int64], Floats, Bools]:
        """For each grid point the row after it, the share of the way to it, and whether rows are near."""
        place = np.clip(np.searchsorted(time, self.grid), 1, len(time) - 1)
        before, after = time[place - 1], time[place]
        share = np.clip((self.grid - before) / (after - before), 0.0, 1.0)
        near = np.minimum(np.abs(self.grid - before), np.abs(after - self.grid)) <= max(self._reach, 2.0)
        return place, share, near & (after - before < 20.0 + self._reach)

    def on_rows(self, on_grid: Floats) -> Floats:
        """Grid values, shape (m,), of directions back on the rows, shape (n,); the nearest grid point's."""
        nearest_point = np.clip(
            np.round((self._time - self.grid[0]) / self.spacing).astype(np.int64), 0, len(self.grid) - 1
        )
        return np.asarray(on_grid[nearest_point])

    def rate(self, on_grid: Floats) -> Floats:
        """Time derivative on the grid, over two spacings, or two seconds where the grid is finer."""
        k = max(1, round(1.0 / self.spacing))
        result = np.full(len(on_grid), np.nan)
        if len(on_grid) > 2 * k:
            result[k:-k] = (on_grid[2 * k :] - on_grid[: -2 * k]) / (2 * k * self.spacing)
        return result

    def position_velocity(self) -> tuple[Floats, Floats]:
        """Velocity north and east from the positions [m/s], each of shape (m,)."""
        latitude, longitude = self.si("latitude"), self.sampled(self._unwrapped_longitude())
        return (
            EARTH_RADIUS * self.rate(latitude),
            EARTH_RADIUS * np.cos(np.nan_to_num(latitude)) * self.rate(longitude),
        )

    def _unwrapped_longitude(self) -> Floats:
        draft = self.drafts.get("longitude")
        if draft is None:
            return np.full(len(self._time), np.nan)
        values = draft.si.copy()
        good = np.isfinite(values)
        values[good] = np.unwrap(values[good])
        return values

    def ground_velocity(self) -> tuple[Floats, Floats]:
        """Velocity north and east [m/s] by the best source: velocities, speed and track, positions."""
        if "velocity_north" in self and "velocity_east" in self:
            return self.si("velocity_north"), self.si("velocity_east")
        if "ground_speed" in self and "track" in self:
            speed, track = self.si("ground_speed"), self.si("track")
            return speed * np.cos(track), speed * np.sin(track)
        return self.position_velocity()

    def speed(self) -> Floats:
        """A speed for dynamics [m/s]: over the ground, else through the air."""
        north, east = self.ground_velocity()
        speed = np.hypot(north, east)
        if np.isfinite(speed).sum() > 10:
            return speed
        for channel in ("true_airspeed", "calibrated_airspeed", "indicated_airspeed"):
            if channel in self:
                return self.si(channel)
        return speed

    def turn_rate(self) -> Floats:
        """Rate of turn, right positive [rad/s], of the path over the ground, else of the heading."""
        north, east = self.ground_velocity()
        if np.isfinite(north).sum() > 10:
            rate = (north * self.rate(east) - east * self.rate(north)) / np.maximum(north**2 + east**2, 1.0)
            return np.where(np.hypot(north, east) > MOVING, rate, np.nan)
        for channel in ("heading_true", "heading_magnetic", "track"):
            if channel in self:
                return self.rate(self.si(channel))
        return np.full(len(self.grid), np.nan)


def fit(x: Floats, y: Floats, *, fewest: int = 20) -> Fit | None:
    """How ``y`` follows ``x``: slope of the reduced major axis, outliers dropped once.

    Neither quantity is free of noise, so plain regression would read the slope low; the ratio of the
    spreads, with the sign of the correlation, does not.
    """
    good = np.isfinite(x) & np.isfinite(y)
    if good.sum() < fewest:
        return None
    x, y = x[good], y[good]
    for _ in range(2):
        sx, sy = float(np.std(x)), float(np.std(y))
        if sx == 0.0 or sy == 0.0:
            return None
        r = float(np.mean((x - x.mean()) * (y - y.mean())) / (sx * sy))
        slope = (1.0 if r >= 0 else -1.0) * sy / sx
        off = np.abs((y - y.mean()) - slope * (x - x.mean()))
        keep = off <= 6.0 * max(float(np.median(off)), 1e-12)
        if keep.all() or keep.sum() < fewest:
            break
        x, y = x[keep], y[keep]
    return Fit(slope, r, len(x))


def nearest(draft: Draft, candidates: dict[str, float], factor: float) -> tuple[str, float]:
    """The unit whose scale is closest to ``factor`` times the present one, and the mismatch (natural log)."""
    wanted = np.log(factor * draft.scale)
    name = min(candidates, key=lambda unit: abs(np.log(candidates[unit]) - wanted))
    return name, float(abs(np.log(candidates[name]) - wanted))
