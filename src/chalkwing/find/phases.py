"""The phases of a flight, so that a lesson reads as a story: ground, takeoff, climb, cruise, descent,
pattern, landing, touch-and-go.

The phases cover the whole flight and do not overlap; maneuvers are told inside them. Climb, cruise and
descent come from a hidden Markov model of the vertical speed with a price on every change, so that the climbs
and dives of a lazy eight are no phases. What happens near the ground is told only where the flight shows its
own ground: in a recording that begins and ends in the air nobody knows how high it is.

The bounds are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from chalkwing.compiled import compiled
from chalkwing.find.scales import SLOWEST_FLIGHT, own_scale, smoothed
from chalkwing.motion.motion import Motion
from chalkwing.units import FOOT, FOOT_PER_MINUTE, Floats

PhaseKind = Literal["ground", "takeoff", "climb", "cruise", "descent", "pattern", "landing", "touch_and_go"]
_AIRBORNE: tuple[PhaseKind, ...] = ("climb", "cruise", "descent")
Bools = npt.NDArray[np.bool_]

_STEP = 1.0
"""Finer than a second no phase begins or ends [s]."""
_WINDOW = 40.0
"""Vertical speed is meant over this time [s]: a maneuver's own climbs and dives are shorter."""
_USUAL = (550.0 * FOOT_PER_MINUTE, 0.0, -550.0 * FOOT_PER_MINUTE)
_SPREAD = (250.0 * FOOT_PER_MINUTE, 120.0 * FOOT_PER_MINUTE, 250.0 * FOOT_PER_MINUTE)
"""Vertical speeds of climb, cruise and descent."""
_CHANGE = 40.0
"""Log odds against any one change from one of these to another: some 20 s of plain evidence."""
_ROLLING = 20.0 * FOOT
"""No higher above its own ground an airplane is on it."""
_LOW = 200.0 * FOOT
"""Landing begins, and a touch-and-go, when the airplane sinks through this height the last time."""
_CLEAR = 500.0 * FOOT
"""Takeoff ends at this height above the ground."""
_PATTERN = 1_400.0 * FOOT
"""The pattern is flown lower than this above its own ground."""
_LONGEST_PATTERN = 480.0
"""So long before a landing the pattern begins at the earliest [s]."""
_SHORTEST_STOP = 10.0
"""Slower than flying for so long between two contacts, the airplane has landed and taken off again [s]."""


@dataclass(frozen=True)
class Phase:
    """One phase of a flight, from ``start`` to ``end`` [s from the earliest row]."""

    kind: PhaseKind
    start: float
    end: float


def phases(motion: Motion) -> tuple[Phase, ...]:
    """The phases of the flight in order; each begins where the one before it ends."""
    stride = max(round(_STEP / motion.interval), 1)
    scale = own_scale(motion)
    ground = scale.ground
    time, altitude, speed = (each[::stride] for each in (motion.time, motion["altitude"], motion["airspeed"]))
    vertical = smoothed(motion["vertical_speed"], _WINDOW, motion.interval)[::stride]
    labels = _up_level_down(vertical)
    if np.isfinite(ground):
        height = altitude - ground
        stopped = speed < SLOWEST_FLIGHT * scale.speeds.cruise
        _near_the_ground(labels, time, height, stopped)
    return _runs(labels, time, motion.end)


def _up_level_down(vertical: Floats) -> npt.NDArray[np.object_]:
    """Climb, cruise or descent at every step: the most probable way through the three."""
    usual, spread = np.array(_USUAL), np.array(_SPREAD)
    fits = -0.5 * ((vertical[:, None] - usual) / spread) ** 2 - np.log(spread)
    return np.array(_AIRBORNE, dtype=object)[_most_probable(fits, _CHANGE)]


@compiled
def _most_probable(fits: Floats, change: float) -> npt.NDArray[np.int64]:
    """Viterbi's path through states whose fits are log likelihoods (steps, states)."""
    steps, states = fits.shape
    score = fits[0].copy()
    came = np.zeros((steps, states), dtype=np.int64)
    for step in range(1, steps):
        best = np.argmax(score)
        for state in range(states):
            if score[state] >= score[best] - change:
                came[step, state] = state
            else:
                came[step, state] = best
        moved = np.empty(states)
        for state in range(states):
            origin = came[step, state]
            moved[state] = score[origin] - (0.0 if origin == state else change) + fits[step, state]
        score = moved
    path = np.empty(steps, dtype=np.int64)
    path[steps - 1] = np.argmax(score)
    for step in range(steps - 1, 0, -1):
        path[step - 1] = came[step, path[step]]
    return path


def _near_the_ground(labels: npt.NDArray[np.object_], time: Floats, height: Floats, stopped: Bools) -> None:
    """Write over ``labels`` what the height above the flight's own ground tells."""
    down = height < _ROLLING
    for first, last in _stretches(down):
        lift = _next(height > _CLEAR, last)
        sink = _before(height > _LOW, first)
        standing = np.flatnonzero(stopped[first : last + 1]) + first
        stood = len(standing) * _STEP >= _SHORTEST_STOP or last == len(time) - 1 or first == 0
        if first > 0:
            _pattern(labels, time, height, sink)
        if stood:
            rolls_out = int(standing[0]) if len(standing) else last + 1
            rolls_off = int(standing[-1]) if len(standing) else first
            if first > 0:
                labels[sink:rolls_out] = "landing"
            labels[rolls_out if first > 0 else 0 : rolls_off + 1] = "ground"
            if last < len(time) - 1:
                labels[rolls_off + 1 : lift] = "takeoff"
        else:
            labels[sink:lift] = "touch_and_go"


def _pattern(labels: npt.NDArray[np.object_], time: Floats, height: Floats, sink: int) -> None:
    """The low flying that leads to where the airplane sinks to its landing."""
    begin = _before(height > _PATTERN, sink)
    earliest = int(np.searchsorted(time, time[sink] - _LONGEST_PATTERN))
    for place in range(sink - 1, max(begin, earliest) - 1, -1):
        if labels[place] not in _AIRBORNE:
            break
        labels[place] = "pattern"


def _stretches(on: Bools) -> list[tuple[int, int]]:
    """First and last place of every unbroken stretch."""
    edges = np.flatnonzero(np.diff(on.astype(np.int8), prepend=0, append=0))
    return [(int(first), int(end) - 1) for first, end in zip(edges[::2], edges[1::2], strict=True)]


def _next(on: Bools, place: int) -> int:
    """The first place from ``place`` on where it holds, else the end."""
    found = np.flatnonzero(on[place:])
    return place + int(found[0]) if len(found) else len(on)


def _before(on: Bools, place: int) -> int:
    """The place after the last one before ``place`` where it holds, else the beginning."""
    found = np.flatnonzero(on[:place])
    return int(found[-1]) + 1 if len(found) else 0


def _runs(labels: npt.NDArray[np.object_], time: Floats, end: float) -> tuple[Phase, ...]:
    borders = [0, *(np.flatnonzero(labels[1:] != labels[:-1]) + 1), len(labels)]
    times = [*(float(time[place]) for place in borders[:-1]), end]
    return tuple(
        Phase(labels[first], start, stop)
        for first, (start, stop) in zip(borders[:-1], pairwise(times), strict=True)
    )
