"""Where the legs of a maneuver that goes by time may begin and end: the instants at which something happens.

Each event of the vocabulary has its own mark in the motion: power off is a step down of the energy rate,
the wing letting go the slowest speed (brought to one g) for a while, the end of a recovery the sinking that
stops.
Which of these instants belong to a maneuver is decided afterward, by the legs between them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.find.edges import roll_in
from chalkwing.find.explained import Flight
from chalkwing.find.scales import brought_to_one_g, smoothed
from chalkwing.find.signals import energy_angle
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.vocabulary import Event
from chalkwing.units import DEGREE, FOOT_PER_MINUTE, Floats

Bools = npt.NDArray[np.bool_]

_STEP = 250.0 * FOOT_PER_MINUTE
"""Least step of the energy rate that is a power change: a third of what a closed throttle makes."""

_ANGLE_STEP = 2.0 * DEGREE
"""The same for the energy angle, which shows a small engine's at low speed."""

_SETTING_STEP = 0.25
"""The same for the power set, in parts of idle to most."""

_STEP_SECONDS = 4.0
"""Seconds on either side over which a step is taken."""

FOLLOWS = 1.5
"""Seconds from the hand on the throttle to the step that shows: the engine follows, and energy is a mean over
some seconds (as seen on tuning lessons, alike in five airplanes and with either recorder)."""

_MOVED = 0.3
"""Of a step: where it has plainly begun. A throttle is closed over seconds, and the engine follows it."""

_SLOW_ENOUGH = 1.45
"""Of the slowest speed: no wing lets go faster than this, whatever the doubt about the slowest speed."""

_ALONE = 3.0
"""Seconds on either side in which the slowest of a moment is the slowest."""

_UNLOADED = 1.05
"""Times the slowest speed for one g: the wing's lift coefficient has come down by a tenth."""

_UNLOADED_WITHIN = 12.0
"""Seconds in which it does, if the wing was unloaded at all."""

_LIGHT = 0.9
"""Load factor under which the nose is falling or was lowered."""

_LOADED = 0.97
"""Load factor from which it had begun to: level flight, give or take."""

_FALLS_WITHIN = 4.0
"""Seconds in which the load comes down from one to the other."""

_SPEEDS = (1.08, 1.14, 1.2, 1.26, 1.32, 1.38, 1.44)
"""Of the slowest speed: what a spell of slow flight may stay below."""

_STAYED = 8.0
"""Seconds that the airspeed must stay below one of these."""

_SINKING = 150.0 * FOOT_PER_MINUTE
"""Sink from which an airplane is going down, not just uneasy."""

_STOPPED = 40.0 * FOOT_PER_MINUTE
"""Sink at which it has stopped."""

_PLUNGING = 500.0 * FOOT_PER_MINUTE
"""Sink of a recovery from a stall."""

_COME_OFF = 0.2
"""Of a plunge's deepest sink: what is left where the recovery is as good as over."""

_OVER_WITHIN = 15.0
"""Seconds in which the sink of a plunge comes off."""

_DESCENDING = 500.0 * FOOT_PER_MINUTE
"""Sink at which a descent begins and ends."""

_STEEP = 900.0 * FOOT_PER_MINUTE
"""Sink that it must reach to be looked at as a descent of its own kind."""

_BRIDGED = 4.0
"""Seconds for which a descent may be interrupted."""


@dataclass(frozen=True)
class Instants:
    """Instants [s] at which an event may have happened, in order, with their sd [s]; shape (instants,)."""

    time: Floats
    sd: Floats

    def __len__(self) -> int:
        return len(self.time)


def instants(event: Event, flight: Flight) -> Instants:
    """Every instant of the flight at which ``event`` may have happened."""
    found = _LOOKS[event](flight)
    here = flight.seen.flying[flight.seen.index(found.time)] if len(found) else np.empty(0, dtype=np.bool_)
    return Instants(found.time[here], found.sd[here])


def _power_step(flight: Flight, sign: float) -> Instants:
    """Where power goes up (``sign`` +1) or down (-1): by energy and by what shows power."""
    rate = flight.motion["specific_energy_rate"], flight.motion.sds["specific_energy_rate"]
    angle = energy_angle(flight.motion, flight.seen.cruise)
    found = [
        _steps(flight, sign * rate[0], rate[1], _STEP),
        _steps(flight, sign * angle[0], angle[1], _ANGLE_STEP),
    ]
    if "power_setting" in flight.seen:
        setting = flight.seen.quantities["power_setting"]
        found.append(_steps(flight, sign * setting.values, setting.sds, _SETTING_STEP))
    elif sign > 0.0:
        # Little power in slow flight hardly shows in the energy; the nose that goes up with it does.
        path = flight.motion["path_angle"], flight.motion.sds["path_angle"]
        found.append(_steps(flight, *path, _ANGLE_STEP))
    time, sd = (np.concatenate(each) for each in zip(*found, strict=True))
    order = np.argsort(time, kind="stable")
    return Instants(time[order], sd[order])


def _steps(flight: Flight, values: Floats, sds: Floats, least: float) -> tuple[Floats, Floats]:
    """Times and sds [s] at which ``values`` steps up by ``least`` or more, at each step's beginning."""
    seen = flight.seen
    rate = smoothed(values, 1.0, seen.interval)
    reach = round(_STEP_SECONDS / seen.interval)
    total = np.concatenate([[0.0], np.cumsum(rate)])
    here = np.arange(len(rate))
    first, last = np.maximum(here - reach, 0), np.minimum(here + reach, len(rate))
    before = (total[here] - total[first]) / np.maximum(here - first, 1)
    after = (total[last] - total[here]) / np.maximum(last - here, 1)
    step = after - before
    peaks = _peaks(step, reach, least)
    peaks = peaks[(peaks > 4) & (peaks < len(rate) - 4)]
    onset = np.array([_onset(rate, int(peak), reach, before[peak], step[peak]) for peak in peaks])
    doubt = sds[peaks] / np.maximum(step[peaks], least)
    return seen.time[0] + onset * seen.interval, 0.7 + _STEP_SECONDS * doubt


def _onset(rate: Floats, peak: int, reach: int, before: float, step: float) -> float:
    """The point, as a fraction of the grid, at which a step of ``rate`` about ``peak`` has plainly begun."""
    level = before + _MOVED * step
    first = max(peak - reach, 0)
    under = np.flatnonzero(rate[first : peak + 1] <= level)
    if len(under) == 0:
        return float(first)
    at = first + int(under[-1])
    rise = rate[min(at + 1, len(rate) - 1)] - rate[at]
    return at + float(np.clip((level - rate[at]) / rise, 0.0, 1.0)) if rise > 0 else float(at)


def _peaks(values: Floats, reach: int, least: float) -> Ints:
    """Points at which ``values`` is at least ``least`` and the highest within ``reach`` on either side."""
    rising = (values[1:-1] >= values[:-2]) & (values[1:-1] > values[2:]) & (values[1:-1] >= least)
    peaks = np.flatnonzero(rising) + 1
    kept = [
        int(peak) for peak in peaks if values[peak] >= values[max(peak - reach, 0) : peak + reach + 1].max()
    ]
    return np.array(kept, dtype=np.int64)


def _breaks(flight: Flight) -> Instants:
    """Where the wing may let go: where the airspeed brought to one g is the slowest for a while, and where
    the load begins to fall while it is slow."""
    points = _break_points(flight)[1]
    return Instants(flight.seen.time[points], np.full(len(points), 1.2))


def _break_points(flight: Flight) -> tuple[Floats, Ints]:
    """The airspeed brought to one g [m/s], and the grid points at which the wing may let go."""
    level, slowest = _slowest_moments(flight)
    return level, np.unique(np.concatenate([slowest, _load_falls(flight, level)]))


def _load_falls(flight: Flight, level: Floats) -> Ints:
    """The last points before each lightening of the load at which it was still that of level flight."""
    seen = flight.seen
    load = smoothed(flight.motion["load_factor"], 1.0, seen.interval)
    reach = round(_FALLS_WITHIN / seen.interval)
    slow = level <= _slow_enough(flight)
    found = []
    for light in _peaks(-load, reach, -_LIGHT):
        first = max(int(light) - reach, 0)
        loaded = np.flatnonzero((load[first : light + 1] >= _LOADED) & slow[first : light + 1])
        if len(loaded):
            found.append(first + int(loaded[-1]))
    return np.array(found, dtype=np.int64)


def _slow_enough(flight: Flight) -> float:
    """The airspeed at one g [m/s] from which a wing may let go, whatever the doubt about the slowest."""
    own = flight.seen.scales
    return _SLOW_ENOUGH * own.slow * (1.0 + 2.0 * own.slow_sd)


def _slowest_moments(flight: Flight) -> tuple[Floats, Ints]:
    """The airspeed brought to one g [m/s], and the grid points at which it is slow and slowest."""
    seen, motion = flight.seen, flight.motion
    level = brought_to_one_g(motion["airspeed"], motion["load_factor"], seen.interval)
    slow = seen.scales.slow * (1.0 + 2.0 * seen.scales.slow_sd)
    return level, _peaks(-level, round(_ALONE / seen.interval), -_SLOW_ENOUGH * slow)


def _unloads(flight: Flight) -> Instants:
    """Where, after each such moment, the wing works plainly less: the airspeed for one g has risen."""
    level, points = _break_points(flight)
    reach = round(_UNLOADED_WITHIN / flight.seen.interval)
    found = []
    for point in points:
        risen = np.flatnonzero(level[point : point + reach] >= _UNLOADED * level[point])
        if len(risen):
            found.append(float(point + risen[0]))
    return _at(flight, np.array(found), 1.0)


def _stays_under(values: Floats, low: Floats | float, high: Floats | float) -> tuple[Floats, Floats]:
    """Beginnings and ends, in fractions of the grid, of the stretches in which ``values`` falls to ``low`` or
    less and does not rise to ``high``; they are those of being under ``high``."""
    under = values < high
    edges = np.flatnonzero(np.diff(under.astype(np.int8), prepend=0, append=0))
    first, last = edges[::2], edges[1::2] - 1
    if len(first) == 0:
        return np.empty(0), np.empty(0)
    deep = (
        np.minimum.reduceat(np.append(values, np.inf), np.column_stack([first, last + 1]).ravel())[::2] <= low
    )
    first, last = first[deep], last[deep]
    return _crossed(values, first - 1, first, high), _crossed(values, last, last + 1, high)


def _crossed(values: Floats, before: Ints, after: Ints, level: Floats | float) -> Floats:
    """Where between two neighboring points ``level`` is crossed; the ends of the flight stay."""
    before, after = np.maximum(before, 0), np.minimum(after, len(values) - 1)
    change = values[after] - values[before]
    share = np.where(change != 0.0, (level - values[before]) / np.where(change != 0.0, change, 1.0), 0.0)
    return np.asarray(before + np.clip(share, 0.0, 1.0))


def _slow_spells(flight: Flight) -> tuple[Floats, Floats]:
    """Beginnings and ends [grid points] of staying below each of `_SPEEDS` for a while."""
    seen = flight.seen
    speed = smoothed(flight.motion["airspeed"], 2.0, seen.interval) / seen.scales.slow
    edges = [_stays_under(speed, level, level + 0.03) for level in _SPEEDS]
    first, last = (np.concatenate(each) for each in zip(*edges, strict=True))
    long = (last - first) * seen.interval >= _STAYED
    return first[long], last[long]


def _slowed(flight: Flight) -> Instants:
    return _at(flight, _slow_spells(flight)[0], 2.0)


def _sped_up(flight: Flight) -> Instants:
    return _at(flight, _slow_spells(flight)[1], 2.0)


def _at(flight: Flight, points: Floats, sd: float) -> Instants:
    """Instants at fractions of the grid, in order and each but once."""
    points = np.unique(np.round(points, 1))
    return Instants(flight.seen.time[0] + points * flight.seen.interval, np.full(len(points), sd))


def _lowest(flight: Flight) -> Instants:
    """Where a sinking stops, or as good as stops after a plunge."""
    sink = smoothed(flight.motion["vertical_speed"], 1.0, flight.seen.interval)
    stops = _stays_under(sink, -_SINKING, -_STOPPED)[1]
    return _at(flight, np.concatenate([stops, _come_off(sink, stops, flight.seen.interval)]), 1.0)


def _come_off(sink: Floats, stops: Floats, interval: float) -> Floats:
    """Where a plunge has come off to a fifth of its deepest, if it does not soon stop altogether."""
    reach = round(_OVER_WITHIN / interval)
    found = []
    for deepest in _peaks(-sink, reach // 2, _PLUNGING):
        after = sink[deepest : deepest + reach]
        off = np.flatnonzero(after >= _COME_OFF * sink[deepest])
        if len(off) and not np.any((stops >= deepest) & (stops < deepest + off[0] + reach // 3)):
            found.append(float(deepest + off[0]))
    return np.array(found)


def _descents(flight: Flight) -> tuple[Floats, Floats]:
    """Beginnings and ends [grid points] of steep descents. A short interruption is bridged; what follows it
    may be a descent of its own all the same, after the recovery from a stall."""
    interval = flight.seen.interval
    first, last = _stays_under(flight.motion["vertical_speed"], -_DESCENDING, -_DESCENDING)
    if len(first) == 0:
        return first, last
    apart = (first[1:] - last[:-1]) * interval > _BRIDGED
    ends = last[np.concatenate([apart, [True]])]
    until = ends[np.searchsorted(ends, last)]
    total = np.concatenate([[0.0], np.cumsum(flight.motion["vertical_speed"])])
    begin, end = first.astype(np.int64), until.astype(np.int64) + 1
    steep = (total[end] - total[begin]) / (end - begin) <= -_STEEP
    return first[steep], np.unique(until[steep])


def _descent_starts(flight: Flight) -> Instants:
    return _at(flight, _descents(flight)[0], 0.9)


def _levels_off(flight: Flight) -> Instants:
    return _at(flight, _descents(flight)[1], 0.9)


def _turn_starts(flight: Flight) -> Instants:
    """Where the turns begin, as well as the grid shows; `edges.roll_in` finds the chosen one exactly."""
    return Instants(flight.turns.start, np.full(len(flight.turns), 1.0))


_LOOKS: dict[Event, Callable[[Flight], Instants]] = {
    "turn_starts": _turn_starts,
    "throttle_closed": lambda flight: _power_step(flight, -1.0),
    "throttle_opened": lambda flight: _power_step(flight, 1.0),
    "slowed": _slowed,
    "breaks": _breaks,
    "unloads": _unloads,
    "lowest": _lowest,
    "descent_starts": _descent_starts,
    "levels_off": _levels_off,
    "ends": _sped_up,
}
"""How each event shows; the same events as ``vocabulary.BORDERS``."""


def refined_turn_start(flight: Flight, time: float) -> tuple[float, float]:
    """Time and sd [s] at which the turn that starts about ``time`` is rolled into."""
    turns = flight.turns
    turn = int(np.argmin(np.abs(turns.start - time)))
    before = float(turns.end[turn - 1]) if turn > 0 else flight.motion.start
    edge = roll_in(
        flight.seen,
        flight.motion.sds["bank"],
        near=float(turns.start[turn]),
        side=int(turns.side[turn]),
        earliest=before,
        tuning=flight.tuning,
    )
    return edge.time, edge.sd
