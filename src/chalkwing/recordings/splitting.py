"""Where the flights of a recording begin and end.

Speeds of flight differ tenfold between a paraglider and a trainer, so what counts as slow is measured against
the recording's own fast flying. Common practice, no source: the figures here were chosen on real recordings.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from chalkwing.recordings.cleaning import distances
from chalkwing.recordings.recording import Recording
from chalkwing.units import Floats

Edge = Literal["takeoff", "landing", "recording", "gap"]
Mask = npt.NDArray[np.bool_]

FULL_STOP = 60.0
"""A shorter stay on the ground is a touch-and-go or stop-and-go of one flight [s]."""
LOST = 600.0
"""After a gap this long nothing ties what follows to what came before [s]."""
SHORTEST = 20.0
"""Less time in the air than this is no flight [s]."""
_NEARLY_STILL = 3.0
_STEADY_CLIMB = 1.5
_GRID = 1.0
_BRIDGED = 20.0


@dataclass(frozen=True)
class Flight:
    """An airborne stretch [s from the recording's time zero], touch-and-goes included.

    ``begins`` and ``ends`` say what bounds it: a takeoff, a landing, the recording's own edge, or a gap so
    long that what lies beyond it is another flight.
    """

    start: float
    end: float
    begins: Edge = "recording"
    ends: Edge = "recording"


def flights(recording: Recording) -> tuple[Flight, ...]:
    """The flights of a recording, in order.

    A flight ends where the airplane stays on the ground for a minute or more, or in a gap of ten minutes; a
    recording may begin or end in the air. Works with whichever of airspeed, ground speed and position were
    recorded; with none of them the whole recording is taken as one flight. Empty when it never left the
    ground.
    """
    time = recording.time
    if not len(time):
        return ()
    found: list[Flight] = []
    bounds = _between_long_gaps(time)
    fast = _fast_flying(recording)
    for first, last in bounds:
        begins: Edge = "gap" if first > time[0] else "recording"
        ends: Edge = "gap" if last < time[-1] else "recording"
        found += _flights_between(recording, first, last, fast, begins, ends)
    return tuple(found)


def _between_long_gaps(time: Floats) -> list[tuple[float, float]]:
    breaks = np.flatnonzero(np.diff(time) > LOST)
    starts, ends = np.append(0, breaks + 1), np.append(breaks, len(time) - 1)
    return [(float(time[a]), float(time[b])) for a, b in zip(starts, ends, strict=True)]


def _flights_between(
    recording: Recording, first: float, last: float, fast: float, begins: Edge, ends: Edge
) -> list[Flight]:
    grid = np.arange(first, last + _GRID / 2, _GRID)
    recording = recording.between(first, last)
    air, ground = _air_speed(recording, grid), _ground_speed(recording, grid)
    speed = np.fmax(air, ground)
    if not np.isfinite(fast) or not np.isfinite(speed).any():
        return [Flight(first, last, begins, ends)] if last - first >= SHORTEST else []
    down = _on_ground(air, ground, _climb(recording, grid), fast)
    stays = [(a, b) for a, b in _runs(down) if a == 0 or b == len(grid) or (b - a) * _GRID >= FULL_STOP]
    edges = [0, *[edge for stay in stays for edge in stay], len(grid)]
    found = []
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        airborne = np.flatnonzero(~down[a:b])
        if len(airborne) * _GRID < SHORTEST or np.nanmax(speed[a:b]) < 0.5 * fast:
            continue
        start, end = float(grid[a]), float(grid[min(b, len(grid) - 1)])
        found.append(
            Flight(start, end, begins if a == 0 else "takeoff", ends if b == len(grid) else "landing")
        )
    return found


def _fast_flying(recording: Recording) -> float:
    """The speed exceeded in a tenth of the moving time [m/s], ``nan`` without any speed; at least 3 m/s."""
    speed = np.fmax(_air_speed(recording, recording.time), _ground_speed(recording, recording.time))
    known = speed[np.isfinite(speed)]
    if not len(known):
        return float("nan")
    moving = known[known > 1.0]
    return max(float(np.quantile(moving, 0.9)), 3.0) if len(moving) else 3.0


def _air_speed(recording: Recording, grid: Floats) -> Floats:
    """The largest of the airspeeds recorded [m/s], ``nan`` where none is known."""
    names = ("indicated_airspeed", "calibrated_airspeed", "true_airspeed")
    return np.asarray(np.fmax.reduce([_on_grid(*recording.samples(name), grid) for name in names]))


def _ground_speed(recording: Recording, grid: Floats) -> Floats:
    """The largest of the ground speed recorded and that of the path [m/s], ``nan`` where none is known.

    The largest, because receivers write zeros for what they do not know.
    """
    speeds = [_on_grid(*recording.samples("ground_speed"), grid), _path_speed(recording, grid)]
    time_north, north = recording.samples("velocity_north")
    time_east, east = recording.samples("velocity_east")
    if len(time_north) and len(time_east):
        together = np.hypot(north, np.interp(time_north, time_east, east))
        speeds.append(_on_grid(time_north, together, grid))
    return np.asarray(np.fmax.reduce(speeds))


def _path_speed(recording: Recording, grid: Floats) -> Floats:
    """Speed over about ten seconds of path, so that the wander of a receiver at rest does not count."""
    if "latitude" not in recording or "longitude" not in recording:
        return np.full(len(grid), np.nan)
    fixes = recording.table.select("time", "latitude", "longitude").drop_nulls()
    time = fixes["time"].to_numpy()
    if len(time) < 3:
        return np.full(len(grid), np.nan)
    coarse = np.unique(np.searchsorted(time, np.arange(time[0], time[-1] + 5.0, 5.0)).clip(max=len(time) - 1))
    latitude, longitude = (fixes[name].to_numpy()[coarse] for name in ("latitude", "longitude"))
    elapsed = np.diff(time[coarse])
    # The way across a gap says nothing: circling, an airplane comes back to where it was.
    told = elapsed <= max(_BRIDGED, 3 * float(np.median(elapsed)))
    middle = (time[coarse][1:] + time[coarse][:-1]) / 2
    return _on_grid(middle[told], (distances(latitude, longitude) / elapsed)[told], grid)


def _climb(recording: Recording, grid: Floats) -> Floats:
    """Vertical speed over about ten seconds [m/s]; zero where no altitude is known."""
    for name in ("pressure_altitude", "altimeter_altitude", "geometric_altitude"):
        time, altitude = recording.samples(name)
        if len(time) > 2:
            before, after = np.interp(grid - 5, time, altitude), np.interp(grid + 5, time, altitude)
            return np.asarray((after - before) / 10.0)
    return np.zeros(len(grid))


def _on_ground(air: Floats, ground: Floats, climb: Floats, fast: float) -> Mask:
    """Slow stretches without climb or descent that come nearly to a stand at some moment.

    A trainer taxies below a third of its flying speed. Whatever flies slowly itself can hover into the wind,
    so there only standing still counts. A headwind can hold ground speed near zero in flight, and wind at
    rest reads as some airspeed: so both must be slow where both are known. Where no speed is known the
    airplane keeps its state.
    """
    slow_limit = float(np.interp(fast, (12.0, 25.0, 51.0), (1.5, 8.75, 18.0)))
    still_limit = min(_NEARLY_STILL, slow_limit)
    unknown = ~np.isfinite(air) & ~np.isfinite(ground)
    slow = ~(ground >= slow_limit) & ~(air >= max(slow_limit, 0.35 * fast)) & (np.abs(climb) < _STEADY_CLIMB)
    still = np.where(np.isfinite(ground), ground, air) < still_limit
    down = np.zeros(len(air), dtype=bool)
    for a, b in _runs(_held(slow, unknown)):
        if np.sum(still[a:b]) * _GRID >= 5.0:
            down[a:b] = True
    for a, b in _runs(~down):
        # A gust or a stray fix at rest is no hop.
        if a > 0 and b < len(down) and (b - a) * _GRID < 10.0:
            down[a:b] = True
    return down


def _held(state: Mask, unknown: Mask) -> Mask:
    """``state`` with its last known value carried through the unknown."""
    known = np.where(unknown, 0, np.arange(len(state)))
    last = np.maximum.accumulate(known)
    return np.asarray(state[last] & ~(unknown & (last == 0) & unknown[0]))


def _on_grid(time: Floats, values: Floats, grid: Floats) -> Floats:
    """Values at the grid's times, ``nan`` farther than 10 s from any of them."""
    finite = np.isfinite(values)
    time, values = time[finite], values[finite]
    if not len(time):
        return np.full(len(grid), np.nan)
    after = np.searchsorted(time, grid).clip(0, len(time) - 1)
    before = (after - 1).clip(0)
    far = np.minimum(np.abs(time[after] - grid), np.abs(grid - time[before])) > 10.0
    return np.where(far, np.nan, np.interp(grid, time, values))


def _runs(state: Mask) -> list[tuple[int, int]]:
    """Beginnings and ends (excluded) of the stretches where ``state`` is True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], state, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]
