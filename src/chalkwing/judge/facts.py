"""Facts that come from what lies around the occurrence or beside the flight path: no draws, no limits.

Clearing turns beforehand, whether the throttle moved, and the drift along a chain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chalkwing.find.occurrence import Occurrence
from chalkwing.maneuvers.schema import Measure
from chalkwing.motion.motion import Motion, Origin
from chalkwing.units import DEGREE, INCH_OF_MERCURY, Floats

CLEARING_TIME = 120.0
"""Seconds before the entry in which clearing turns are looked for (technique: two minutes)."""
CLEARING_TURN = 60.0 * DEGREE
CLEARING_TOTAL = 150.0 * DEGREE
"""Two turns of about 90° or one of about 180° (common practice, no source), flown by eye."""
TURNING = 1.5 * DEGREE
"""Turn rate [rad/s] from which the airplane is turning, half of a standard-rate turn."""
RPM = 2.0 * np.pi / 60.0
PRESSURE_PER_METER = INCH_OF_MERCURY / 304.8
"""Manifold pressure falls about an inch of mercury for 1,000 ft at one throttle setting (common practice)."""
RPM_MOVED, PRESSURE_MOVED, SHARE_MOVED = 100.0, 1.0, 4.0
"""Changes left unexplained from which the throttle is said to have moved [rpm, inHg, percent] (our own)."""


@dataclass(frozen=True)
class Fact:
    """A value in its unit with its sd, or None with the reason."""

    value: float | None
    unit: str
    reason: str | None
    sd: float | None = None
    origin: Origin = "measured"


def chain_start(occurrence: Occurrence, earlier: Sequence[Occurrence]) -> Occurrence:
    """The first occurrence of the chain that ``occurrence`` belongs to, itself if it stands alone."""
    first = occurrence
    for before in sorted(earlier, key=lambda one: one.start, reverse=True):
        if not first.chained:
            break
        if before.kind == first.kind and before.start < first.start:
            first = before
    return first


def drift(motion: Motion, measure: Measure, occurrence: Occurrence, earlier: Sequence[Occurrence]) -> Fact:
    """The quantity at this entry less that at the first entry of the chain.

    The sd takes the two values as independent: an upper bound, as errors common to both cancel.
    """
    name, scale = measure.quantity.name, measure.quantity.scale
    first = chain_start(occurrence, earlier)
    if first is occurrence:
        return Fact(None, measure.unit, "the first of its chain")
    value = motion.at(name, occurrence.start) - motion.at(name, first.start)
    sd = float(np.hypot(motion.sd_at(name, occurrence.start), motion.sd_at(name, first.start)))
    return Fact(value / scale, measure.unit, None, sd / scale, motion.origins.get(name, "derived"))


def clearing_turns(motion: Motion, occurrence: Occurrence, earlier: Sequence[Occurrence]) -> Fact:
    """Whether turns that could clear the area were flown in the two minutes before the chain began.

    Maneuvers flown in that time are no clearing turns. Whether anyone looked is not in the data.
    """
    entry = chain_start(occurrence, earlier).start
    turns = _turns_before(motion, entry, earlier)
    total = sum(abs(change) for change, _ in turns)
    if total < CLEARING_TOTAL:
        none = f"no turns of about 180° in all in the {CLEARING_TIME:.0f} s before entry"
        return Fact(0.0, "seen", none, origin="derived")
    spoken = " and ".join(f"{abs(change) / DEGREE:.0f}° {_side(change)}" for change, _ in turns)
    ago = f"{entry - turns[-1][1]:.0f} s before entry"
    return Fact(1.0, "seen", f"{spoken}, ending {ago}; look-out is not in the data", origin="derived")


def _side(change: float) -> str:
    return "right" if change > 0 else "left"


def _turns_before(motion: Motion, entry: float, earlier: Sequence[Occurrence]) -> list[tuple[float, float]]:
    """Heading change [rad] and end [s] of each turn of 60° or more in the time looked at."""
    first, last = motion.index(entry - CLEARING_TIME), motion.index(entry)
    time, heading = motion.time[first : last + 1], motion["heading_true"][first : last + 1]
    if len(time) < 3:
        return []
    side = np.sign(motion["turn_rate"][first : last + 1]) * (
        abs(motion["turn_rate"][first : last + 1]) > TURNING
    )
    for other in earlier:
        if other.kind != "clearing_turns":
            side[(time >= other.start) & (time <= other.end)] = 0.0
    borders = [int(border) for border in np.flatnonzero(np.diff(side, prepend=0.0, append=0.0))]
    turns = []
    for begin, end in pairwise(borders):
        change = float(heading[min(end, len(heading) - 1)] - heading[begin])
        if side[begin] != 0.0 and abs(change) >= CLEARING_TURN and end < len(time):
            turns.append((change, float(time[end])))
    return turns


def throttle_moved(motion: Motion, start: float, end: float) -> Fact:
    """How far the throttle moved, from the best of what was recorded.

    Throttle and power are read directly. Manifold pressure is freed of the pressure lost with height, engine
    speed of what goes with airspeed: a fixed-pitch propeller swings by 170 to 200 rpm in a lazy eight at
    constant throttle, and that is no power change.
    """
    for name, read in (
        ("throttle", _share),
        ("power", _share),
        ("manifold_pressure", _pressure),
        ("engine_speed", _engine_speed),
    ):
        times, values = motion.recording.samples(name)
        within = (times >= start) & (times <= end)
        if np.count_nonzero(within) >= 4:
            return read(motion, times[within], values[within])
    return Fact(None, "percent", "no throttle, power, manifold pressure or engine speed recorded")


def _swing(values: Floats) -> float:
    """Largest less smallest, one odd row on either side left out."""
    ordered = np.sort(values)
    cut = 1 if len(ordered) >= 8 else 0
    return float(ordered[len(ordered) - 1 - cut] - ordered[cut])


def _share(motion: Motion, times: Floats, values: Floats) -> Fact:
    moved = 100.0 * _swing(values)
    return Fact(moved, "percent", "moved" if moved > SHARE_MOVED else "constant")


def _pressure(motion: Motion, times: Floats, values: Floats) -> Fact:
    height = np.interp(times, motion.time, motion["altitude"])
    moved = _swing(values + PRESSURE_PER_METER * height) / INCH_OF_MERCURY
    word = "moved" if moved > PRESSURE_MOVED else "constant"
    return Fact(moved, "inHg", f"{word}: manifold pressure, freed of what goes with height")


def _engine_speed(motion: Motion, times: Floats, values: Floats) -> Fact:
    """Swing of engine speed that a straight line over airspeed leaves, and the whole swing in words."""
    swing = _swing(values) / RPM
    airspeed = np.interp(times, motion.time, motion["airspeed"])
    slope = np.polyfit(airspeed - airspeed.mean(), values, 1)[0] if np.ptp(airspeed) > 1.0 else 0.0
    # Engine speed only ever rises with airspeed at one throttle; a fall is the throttle's doing.
    moved = _swing(values - max(slope, 0.0) * airspeed) / RPM
    word = "moved" if moved > RPM_MOVED else "constant as far as engine speed tells"
    return Fact(moved, "rpm", f"{word}: of a swing of {swing:.0f} rpm, {moved:.0f} do not go with airspeed")
