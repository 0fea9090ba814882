"""The Motion: a flight reconstructed on a uniform grid, each value with its sd, and joint posterior draws."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal, Protocol

import numpy as np

from chalkwing.recordings.recording import Recording
from chalkwing.units import Floats

AirspeedKind = Literal["indicated", "calibrated"]
AltitudeKind = Literal["altimeter", "geometric"]
Origin = Literal["measured", "derived"]


@dataclass(frozen=True)
class Draws:
    """Joint posterior draws over a window: ``values[name]`` has shape (count, times) on the grid ``time``."""

    time: Floats
    values: Mapping[str, Floats]

    def __getitem__(self, name: str) -> Floats:
        return self.values[name]

    @property
    def count(self) -> int:
        """How many draws there are."""
        return int(next(iter(self.values.values())).shape[0])


class Posterior(Protocol):
    """What a Motion needs to draw from: joint samples of named quantities over a window of its grid."""

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        """Samples of every quantity at grid points ``first`` to ``last`` inclusive, shape (count, points)."""
        ...


@dataclass(frozen=True)
class Motion:
    """One flight, reconstructed. ``values[name]`` and ``sds[name]`` have shape (n,) on the uniform ``time``.

    Names, units and signs are those of ``docs/quantities.md``: SI and radians. ``heading_true`` is the
    nose's heading and is unwrapped (continuous); ``altitude`` is the altimeter's where pressure was
    recorded, else geometric (``altitude_kind``); ``airspeed`` is indicated where recorded or correctable,
    else calibrated (``airspeed_kind``). ``origins[name]`` says measured or derived. ``in_gap`` is True where
    no recorded value lies within 1.5 s.
    """

    time: Floats
    values: Mapping[str, Floats]
    sds: Mapping[str, Floats]
    origins: Mapping[str, Origin]
    airspeed_kind: AirspeedKind
    altitude_kind: AltitudeKind
    in_gap: np.ndarray[tuple[int], np.dtype[np.bool_]]
    recording: Recording
    posterior: Posterior
    notes: tuple[str, ...] = ()
    channel_sds: Mapping[str, float] = field(default_factory=dict)
    """Noise of the recorded channels as fitted to the flight [SI]."""

    def __getitem__(self, name: str) -> Floats:
        return self.values[name]

    def __contains__(self, name: object) -> bool:
        return name in self.values

    @property
    def start(self) -> float:
        """Time of the first grid point [s from the earliest row]."""
        return float(self.time[0])

    @property
    def end(self) -> float:
        """Time of the last grid point [s from the earliest row]."""
        return float(self.time[-1])

    @property
    def interval(self) -> float:
        """Spacing of the grid [s]."""
        return float(self.time[1] - self.time[0])

    def index(self, time: float) -> int:
        """The grid point nearest to ``time``, held inside the flight."""
        return int(np.clip(round((time - self.start) / self.interval), 0, len(self.time) - 1))

    def at(self, name: str, time: float) -> float:
        """The value of ``name`` at ``time``, interpolated."""
        return float(np.interp(time, self.time, self.values[name]))

    def sd_at(self, name: str, time: float) -> float:
        """The sd of ``name`` at ``time``, interpolated."""
        return float(np.interp(time, self.time, self.sds[name]))

    def draws(
        self,
        *,
        start: float,
        end: float,
        count: int = 200,
        seed: int = 0,
        names: Iterable[str] | None = None,
    ) -> Draws:
        """Joint posterior draws from ``start`` to ``end`` [s], the same for the same seed.

        Values at different times, and different quantities, come from one joint sample each, so an error
        common to entry and exit cancels in their difference. What is not estimated itself (a place's latitude
        and longitude, recorded power) is the same in every draw.
        """
        first, last = self.index(start), self.index(end)
        values = self.posterior.draw(first, last, count=count, seed=seed)
        if names is not None:
            rows = (count, last - first + 1)
            values = {
                name: values[name]
                if name in values
                else np.broadcast_to(self.values[name][first : last + 1], rows)
                for name in names
            }
        return Draws(time=self.time[first : last + 1], values=values)
