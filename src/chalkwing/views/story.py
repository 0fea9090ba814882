"""The story of a flight on one strip: altitude against time, with each maneuver as a named span."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing import words
from chalkwing.trunk import Debriefed
from chalkwing.units import FOOT, Floats

_EVERY_S = 2.0
"""Finer steps cannot be seen on a strip."""


@dataclass(frozen=True)
class Span:
    """One maneuver on the strip [s from the earliest row]; numbered from 1."""

    number: int
    title: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Phase:
    """One phase of the flight on the strip [s]: what it is called, such as "climb"."""

    title: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Story:
    """Altitude [ft] of each flight over time [s], and the spans; ``start_utc`` is the clock at 0 s."""

    flights: tuple[tuple[Floats, Floats], ...]
    spans: tuple[Span, ...]
    start_utc: str | None
    phases: tuple[Phase, ...] = ()

    def clock(self, seconds: float) -> str:
        """The time of day, to the minute where the recording has one."""
        said = words.clock(self.start_utc, seconds)
        return said[:5] if self.start_utc else said


def story_of(found: Debriefed) -> Story:
    """The strip of a lesson."""
    starts = [each.start_utc for each in found.debrief.recordings if each.start_utc and each.start_s == 0.0]
    return Story(
        flights=tuple(
            _thinned(flight.motion.time + flight.shift, flight.motion["altitude"] / FOOT)
            for flight in found.flights
        ),
        spans=tuple(
            Span(k, each.title, each.start_s, each.end_s)
            for k, each in enumerate(found.debrief.maneuvers, start=1)
        ),
        start_utc=starts[0] if starts else None,
        phases=tuple(
            Phase(each.kind.replace("_", "-"), each.start_s, each.end_s) for each in found.debrief.phases
        ),
    )


def _thinned(time: Floats, altitude: Floats) -> tuple[Floats, Floats]:
    step = max(1, round(_EVERY_S / float(np.median(np.diff(time)))))
    return time[::step], altitude[::step]
