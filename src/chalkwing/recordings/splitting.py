"""Where the flights of a recording begin and end."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing.recordings.recording import Recording


@dataclass(frozen=True)
class Flight:
    """An airborne stretch [s from the recording's time zero], touch-and-goes included."""

    start: float
    end: float


def flights(recording: Recording) -> tuple[Flight, ...]:
    """The flights of a recording, in order."""
    return (Flight(float(recording.time[0]), float(recording.time[-1])),)
