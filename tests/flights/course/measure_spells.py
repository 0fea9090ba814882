"""What was truly flown of the maneuvers that go by time: slow flight, stalls, emergency descents."""

from __future__ import annotations

import numpy as np
from tests.flights.course.procedures import Log
from tests.flights.course.sight import Plane
from tests.flights.course.track import Measured, Track, held, roll_in, whole

from chalkwing.units import FOOT_PER_MINUTE, KNOT

HARDLY = 500 * FOOT_PER_MINUTE
DESCENDS, LEVEL = 300 * FOOT_PER_MINUTE, 100 * FOOT_PER_MINUTE
"""A descent's height is told from where it sinks faster than the first to where it stays under the second."""
AFTER_BREAK = 20.0
"""Seconds after a stall in which its highest airspeed is told."""


def slow_flight(log: Log, track: Track, plane: Plane) -> Measured:
    about, until = track.row(log.marks["slowed"]), track.row(log.marks["recovers"])
    speed = track["calibrated_airspeed"]
    slow = float(np.median(speed[about : until + 1]))
    # Slower still is still slow flight: only what is faster ends it.
    slowing = track.row(log.marks["throttle_closed"])
    inside = slowing + np.flatnonzero(speed[slowing : track.row(log.marks["ends"]) + 1] <= slow + 3 * KNOT)
    first, last = int(inside[0]), int(inside[-1])
    values = held(track, first, last) | {"airspeed_mean": float(speed[first : last + 1].mean())}
    values["airspeed_lowest_shown"] = float(speed[first : last + 1].min())
    borders = {
        "throttle_closed": log.marks["throttle_closed"],
        "slowed": float(track["time"][first]),
        "recovers": float(track["time"][last]),
        "ends": log.marks["ends"],
    }
    return borders["slowed"], borders["recovers"], whole(track, first, last, log), borders, values, {}


def stall(log: Log, track: Track, plane: Plane) -> Measured:
    start, stop = track.row(log.start), track.row(log.marks["ends"])
    if log.kind == "accelerated_stall" and "turn_starts" in log.marks:
        start = roll_in(track, track.row(log.marks["turn_starts"]), log.directions[0])
    pushed = track.row(log.marks["breaks"])
    beyond = track["angle_of_attack"] > track.critical
    stalled = np.flatnonzero(beyond[start : stop + 1])
    breaks = start + int(stalled[0]) if len(stalled) else pushed
    over = start + int(stalled[-1]) if len(stalled) else pushed
    altitude, down = track["altimeter_altitude"], track["velocity_down"]
    lowest = breaks + int(np.argmin(altitude[breaks : stop + 1]))
    level = np.flatnonzero(down[lowest:] < 0.2)
    last = max(lowest + (int(level[0]) if len(level) else 0), over)
    dive = slice(breaks, track.row(float(track["time"][breaks]) + AFTER_BREAK) + 1)
    speed, load = track["calibrated_airspeed"], track["load_factor"]
    around = slice(max(breaks - 10, 0), breaks + 1)
    values = {
        "stalled": float(len(stalled) > 0),
        "angle_margin": float(track.critical - track["angle_of_attack"][start : stop + 1].max()),
        "airspeed_at_break": float(speed[breaks]),
        "load_at_break": float(load[around].mean()),
        "stall_speed": float(speed[breaks] / np.sqrt(max(load[around].mean(), 0.3)))
        if len(stalled)
        else np.nan,
        "height_lost": float(altitude[breaks] - altitude[lowest]),
        "time_to_recover": float(track["time"][last] - track["time"][breaks]),
        "bank_at_break": float(track["bank"][breaks]),
        "bank_worst": float(np.abs(track["bank"][start : last + 1]).max()),
        "heading_change": float(track["heading_true"][last] - track["heading_true"][start]),
        "airspeed_most_after": float(speed[dive].max()),
        "secondary": float("secondary" in log.marks),
    }
    borders = {
        "throttle_closed": log.marks["throttle_closed"],
        "breaks": float(track["time"][breaks]),
        "recovery_begins": float(track["time"][pushed]),
        "recovers": float(track["time"][over]),
        "ends": float(track["time"][last]),
    }
    if "nose_up" in log.marks:
        borders["nose_up"] = log.marks["nose_up"]
    begin = float(track["time"][start])
    return begin, borders["ends"], whole(track, start, last, log), borders, values, {}


def emergency_descent(log: Log, track: Track, plane: Plane) -> Measured:
    first, stop = track.row(log.start), track.row(log.marks["ends"])
    sinking = track["velocity_down"] > HARDLY
    rows = np.flatnonzero(sinking[first : stop + 1])
    begin = first + int(rows[0]) if len(rows) else first
    last = first + int(rows[-1]) if len(rows) else stop
    steady = slice(begin + (last - begin) // 3, last + 1)
    values = held(track, begin, last) | {
        "height_lost": _descended(track, begin, last),
        "airspeed_most": float(track["calibrated_airspeed"][begin : last + 1].max()),
        "sink_mean": float(track["velocity_down"][steady].mean()),
        "turned": float(track["heading_true"][last] - track["heading_true"][begin]),
        "level_off_altitude": float(track["altimeter_altitude"][stop]),
    }
    borders = {
        "throttle_closed": log.marks["throttle_closed"],
        "descent_starts": float(track["time"][begin]),
        "levels_off": float(track["time"][last]),
    }
    parts = whole(track, begin, last, log)
    return borders["descent_starts"], borders["levels_off"], parts, borders, values, {}


def _descended(track: Track, begin: int, last: int) -> float:
    """Height [m] between where a descent begins and where it has ended for two seconds."""
    down, altitude = track["velocity_down"], track["altimeter_altitude"]
    steepest = begin + int(np.argmax(down[begin : last + 1]))
    top = int(np.flatnonzero(down[:steepest] < DESCENDS)[-1])
    stays = round(2.0 / float(track["time"][1] - track["time"][0]))
    level = np.convolve(down[last:] < LEVEL, np.ones(stays, dtype=int), mode="valid") == stays
    return float(altitude[top] - altitude[last + int(np.argmax(level))])
