"""Where the events of a maneuver that goes by time fall, found anew in every draw.

A stall breaks, is unloaded, leveled and climbed away from; a descent begins, settles and ends. The finder's
borders are only where the search begins.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from chalkwing.judge.flown import Flown
from chalkwing.judge.over_draws import mean_over
from chalkwing.maneuvers.schema import Definition
from chalkwing.maneuvers.vocabulary import EVENTS, Event
from chalkwing.recordings.clock import usual_interval
from chalkwing.units import DEGREE, FOOT_PER_MINUTE, KNOT, Floats

SIGNALS = (
    "load_factor", "pitch", "bank", "vertical_speed", "calibrated_airspeed", "indicated_airspeed",
    "altitude", "airspeed",
)  # fmt: skip
"""What the events are read from."""
REACH = 5.0
"""Seconds about the finder's border in which the event is looked for, at least."""
LOAD_KINK, NOSE_KINK, SINK_KINK, SLOW = 0.15, 4.0 * DEGREE, 1.5, 3.0 * KNOT
"""What counts as one measure of evidence for a break: load factor [1/s], nose [rad/s] and vertical speed
[m/s²] bending down, airspeed above the slowest [m/s]. Our own."""
MOST = 3.0
"""No single sign counts for more than this many measures: a brisk push is not three breaks."""
BREAK_DOUBT = 0.8
"""Doubt [s] of the break beyond the draws: knots stand a second apart, and a wing lets go before it shows."""
SECOND = 1.5
"""Evidence from which a second letting go is a secondary stall."""
UNLOADED, NEAR_STALL = 0.86, 0.9
"""Shares of the lift coefficient at the break: down to the first the wing is unloaded, up to the second
again it may stall once more."""
AFTER = 30.0
"""Seconds drawn beyond the finder's end, which stands at the lowest point: the climb away comes after it."""
LEVEL = 10.0 * DEGREE
WINGS_STAY = 2.0
"""The wings are level when they stay within ``LEVEL`` for so long [s]."""
DROP = 5.0
"""Seconds after the break in which a wing drops."""
CLIMBING, SINKING = 100.0 * FOOT_PER_MINUTE, -100.0 * FOOT_PER_MINUTE
DESCENDING = -300.0 * FOOT_PER_MINUTE
SETTLED = 0.8
"""A descent has settled from this share of its median sink."""
WITHIN = 3.0 * KNOT
"""Slow flight has been reached when the airspeed comes within this of what is then held."""

Bools = npt.NDArray[np.bool_]


def locate_spell(flown: Flown, definition: Definition) -> Flown:
    """``flown`` with the places of all events that ``definition`` names."""
    flown = replace(flown, points=(_ends(flown),), made={})
    places, named = flown.points[0], events_of(definition)
    if "slowed" in named:
        places |= _between_rows(flown, {"slowed": _slowed(flown)})
    if "throttle_closed" in named:
        places["throttle_closed"] = _bordered(flown, "throttle_closed")
    if "breaks" in named:
        places.update(_stall(flown))
    if named & {"descent_starts", "descent_settled", "leveling", "levels_off"}:
        places |= _between_rows(flown, _descent(flown))
    for event in named - set(places):
        places[event] = np.full(flown.count, np.nan)
    return flown


def row_doubt(flown: Flown) -> float:
    """Doubt [s] of an instant read from the draws: it may lie anywhere between two rows of the recording."""
    return usual_interval(flown.motion.recording.time) / float(np.sqrt(12.0))


def _between_rows(flown: Flown, events: Mapping[str, Floats]) -> dict[str, Floats]:
    """``events`` read from the draws, each with the doubt that the rows leave."""
    doubt = row_doubt(flown)
    return {event: at + _noise(flown, doubt, of=event) / flown.interval for event, at in events.items()}


def _noise(flown: Flown, sd: float, *, of: str) -> Floats:
    """Normal deviates [s], one for each draw: the same in every run, others for every event."""
    moment = round(flown.occurrence.start * 10.0)
    seed = [flown.count, max(moment, 0), *of.encode()]
    return np.random.default_rng(seed).normal(0.0, sd, flown.count)


def events_of(definition: Definition) -> set[Event]:
    """Every event that points, legs or measures of ``definition`` name."""
    marks = [point.where for point in definition.points] + [leg.until for leg in definition.legs]
    names = {name for one in definition.measures for name in (one.window.first, one.window.last, one.point)}
    return {mark.event for mark in marks if mark.event is not None} | {one for one in EVENTS if one in names}


def _ends(flown: Flown) -> dict[str, Floats]:
    edges = flown.occurrence
    start = flown.place(edges.start) + _noise(flown, edges.start_sd, of="start") / flown.interval
    end = flown.place(edges.end) + _noise(flown, edges.end_sd, of="end") / flown.interval
    last = flown.values["bank"].shape[1] - 1.0
    start, end = np.clip(start, 0.0, last), np.clip(end, 0.0, last)
    return {"turn_starts": start, "turn_stops": np.maximum(start, end), "ends": np.maximum(start, end)}


def _bordered(flown: Flown, event: Event) -> Floats:
    """The finder's border as it is, with its doubt; ``nan`` where it found none."""
    border = border_of(flown, event)
    if border is None:
        return np.full(flown.count, np.nan)
    return np.asarray(flown.place(border[0]) + _noise(flown, border[1], of=event) / flown.interval)


def border_of(flown: Flown, event: Event) -> tuple[float, float] | None:
    """Time and sd [s] of the finder's border, None where it found none."""
    for border in flown.occurrence.borders:
        if border.event == event:
            return border.time, border.sd
    return None


# --- signals seen at once over all draws -------------------------------------------------------------------


def _bends_down(signal: Floats, seconds: float, interval: float) -> Floats:
    """How much the slope over the ``seconds`` before exceeds that over the seconds after [1/s]."""
    steps = round(seconds / interval)
    count = signal.shape[1]
    here = np.arange(count)
    before = signal[:, np.clip(here - steps, 0, count - 1)]
    after = signal[:, np.clip(here + steps, 0, count - 1)]
    return np.asarray((2.0 * signal - before - after) / seconds)


def evidence_of_break(flown: Flown) -> Floats:
    """How strongly load, nose and sink say at each place that the wing lets go there, in measures."""
    values, step = flown.values, flown.interval
    load = values["load_factor"]
    lost = _bends_down(mean_over(load, 0.25, 0.25, step), 1.0, step)
    nose = _bends_down(values["pitch"], 1.5, step)
    sink = _bends_down(values["vertical_speed"], 1.5, step)
    parts = (lost / LOAD_KINK, nose / NOSE_KINK, sink / SINK_KINK)
    return np.asarray(sum(np.clip(part, -MOST, MOST) for part in parts))


def lift(flown: Flown) -> Floats:
    """Load factor over calibrated airspeed squared: the lift coefficient but for a constant [s²/m²]."""
    speed = np.maximum(flown.values["calibrated_airspeed"], 10.0)
    return mean_over(flown.values["load_factor"] / speed**2, 0.5, 0.5, flown.interval)


def _first(holds: Bools, begin: Floats, end: Floats) -> Floats:
    """The first place from ``begin`` to ``end`` at which ``holds``; ``nan`` where there is none."""
    here = np.arange(holds.shape[1])
    within = holds & (here >= np.nan_to_num(begin, nan=np.inf)[:, None]) & (here <= end[:, None])
    found = np.argmax(within, axis=1)
    return np.where(within.any(axis=1), found.astype(float), np.nan)


def _extreme(signal: Floats, begin: Floats, end: Floats) -> Floats:
    """The place of the highest value from ``begin`` to ``end``, refined by a parabola."""
    here = np.arange(signal.shape[1])
    inside = (here >= begin[:, None]) & (here <= end[:, None])
    peak = np.argmax(np.where(inside, signal, -np.inf), axis=1)
    middle = np.clip(peak, 1, signal.shape[1] - 2)
    draws = np.arange(len(signal))
    left, top, right = (signal[draws, middle + k] for k in (-1, 0, 1))
    bend = left - 2.0 * top + right
    shift = np.where(bend < 0.0, 0.5 * (left - right) / np.where(bend < 0.0, bend, 1.0), 0.0)
    refined = np.where(middle == peak, middle + np.clip(shift, -0.5, 0.5), peak)
    return np.where(inside.any(axis=1), np.clip(refined, begin, end), np.nan)


def stays(holds: Bools, seconds: float, interval: float) -> Bools:
    """Where something holds from here on for ``seconds``."""
    return np.asarray(mean_over(holds.astype(float), 0.0, seconds, interval) > 0.999)


# --- stalls ------------------------------------------------------------------------------------------------


def _stall(flown: Flown) -> dict[str, Floats]:
    """Break, unloading, wings level, lowest point, climb and recovery of every draw.

    The recovery is followed beyond the finder's end, which may stand where the sinking stopped.
    """
    begin, end = flown.points[0]["turn_starts"], flown.points[0]["turn_stops"]
    breaks = _breaks(flown, begin, end)
    end = np.minimum(end + AFTER / flown.interval, flown.values["altitude"].shape[1] - 1.0)
    low_end = np.minimum(flown.points[0]["turn_stops"] + REACH / flown.interval, end)
    coefficient, values, step = lift(flown), flown.values, flown.interval
    most = _highest(coefficient, breaks - 1.5 / step, breaks + 1.0 / step)
    unloads = _first(coefficient <= UNLOADED * most[:, None], breaks, end)
    level = _wings_level(flown, breaks, end)
    lowest = _extreme(-values["altitude"], breaks, low_end)
    climbing = mean_over(values["vertical_speed"], 0.0, 2.0, step) >= CLIMBING
    climbs = _first(climbing, lowest, end)
    steady = stays(values["vertical_speed"] >= SINKING, 1.0, step)
    stopped = _first(steady, _extreme(-values["vertical_speed"], breaks, lowest), end)
    return {
        "breaks": breaks,
        "unloads": unloads,
        "wings_level": level,
        "lowest": lowest,
        "climbs": climbs,
        "recovers": np.maximum(np.maximum(unloads, level), stopped),
    }


def _breaks(flown: Flown, begin: Floats, end: Floats) -> Floats:
    border = border_of(flown, "breaks")
    if border is not None:
        reach = max(REACH, 3.0 * border[1]) / flown.interval
        begin = np.maximum(begin, flown.place(border[0]) - reach)
        end = np.minimum(end, flown.place(border[0]) + reach)
    airspeed = flown.values["calibrated_airspeed"]
    here = np.arange(airspeed.shape[1])
    inside = (here >= begin[:, None]) & (here <= end[:, None])
    slowest = np.where(inside, airspeed, np.max(airspeed)).min(axis=1)  # a draw with no place of its own: any
    found = _extreme(evidence_of_break(flown) - (airspeed - slowest[:, None]) / SLOW, begin, end)
    return np.clip(found + _noise(flown, BREAK_DOUBT, of="breaks") / flown.interval, begin, end)


def _highest(signal: Floats, begin: Floats, end: Floats) -> Floats:
    here = np.arange(signal.shape[1])
    inside = (here >= begin[:, None]) & (here <= end[:, None])
    return np.asarray(np.where(inside, signal, -np.inf).max(axis=1))


def _wings_level(flown: Flown, breaks: Floats, end: Floats) -> Floats:
    """From the largest bank soon after the break, where the wings come level and stay so for a while."""
    bank = np.abs(flown.values["bank"])
    dropped = _extreme(bank, breaks, np.minimum(breaks + DROP / flown.interval, end))
    small = np.asarray(flown.at("bank", 0, dropped))
    level = _first(stays(bank <= LEVEL, WINGS_STAY, flown.interval), dropped, end)
    return np.where(np.abs(small) <= LEVEL, breaks, level)


def second_stall(flown: Flown) -> Floats:
    """For each draw the place of a second letting go within ten seconds of the unloading, ``nan`` if none."""
    places = flown.points[0]
    coefficient, step = lift(flown), flown.interval
    most = _highest(coefficient, places["breaks"] - 1.5 / step, places["breaks"] + 1.0 / step)
    signs = (coefficient >= NEAR_STALL * most[:, None]) & (evidence_of_break(flown) >= SECOND)
    begin = places["unloads"] + 1.0 / step
    return _first(signs, begin, np.minimum(places["unloads"] + 10.0 / step, places["turn_stops"]))


# --- slow flight and descents ------------------------------------------------------------------------------


def _slowed(flown: Flown) -> Floats:
    """Where the airspeed first comes within ``WITHIN`` of the median of what follows."""
    begin, end = flown.points[0]["turn_starts"], flown.points[0]["turn_stops"]
    border = border_of(flown, "slowed")
    held = flown.place(border[0]) if border is not None else float(np.mean(0.5 * (begin + end)))
    first, last = int(max(held, 0)), int(min(end[0], flown.values["airspeed"].shape[1] - 1)) + 1
    airspeed = mean_over(flown.values["airspeed"], 1.0, 1.0, flown.interval)
    median = np.median(airspeed[:, first:last], axis=1)
    return _first(airspeed <= median[:, None] + WITHIN, begin, end)


def _descent(flown: Flown) -> dict[str, Floats]:
    """Where a descent begins, settles and ends, by its vertical speed."""
    step = flown.interval
    begin = np.maximum(flown.points[0]["turn_starts"] - REACH / step, 0.0)
    end = flown.points[0]["turn_stops"] + REACH / step
    climb = mean_over(flown.values["vertical_speed"], 0.5, 0.5, step)
    steepest = _extreme(-climb, begin, end)
    starts = _last_before(climb > DESCENDING, begin, steepest)
    starts = np.where(np.isnan(starts), begin, starts)
    border = border_of(flown, "levels_off")
    late = np.full(flown.count, flown.place(border[0]) - REACH / step) if border is not None else steepest
    levels = _first(stays(climb > SINKING, 2.0, step), np.maximum(late, steepest), end)
    levels = np.where(np.isnan(levels), end, levels)
    here = np.arange(climb.shape[1])
    inside = (here >= starts[:, None]) & (here <= levels[:, None])
    typical = np.nanmedian(np.where(inside, climb, np.nan), axis=1)
    sinking = climb <= SETTLED * typical[:, None]
    return {
        "descent_starts": starts,
        "descent_settled": _first(sinking, starts, levels),
        "leveling": _last_before(sinking, starts, levels),
        "levels_off": levels,
    }


def _last_before(holds: Bools, begin: Floats, end: Floats) -> Floats:
    """The last place from ``begin`` to ``end`` at which ``holds``; ``nan`` where there is none."""
    flipped = holds[:, ::-1]
    last = holds.shape[1] - 1
    return np.asarray(last - _first(flipped, last - end, last - begin))
