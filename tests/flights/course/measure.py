"""What was truly flown of the course's maneuvers, from the engine's own state.

Edges, so that everyone means the same: maneuvers that turn begin at the roll-in (last row at 1.5 degrees of
bank or less before 8 degrees) and end at the wings-level rollout (2 degrees). Slow flight lies between
``slowed`` and ``recovers``: the first and the last time that calibrated airspeed lies within 3 kt of its
median over the commanded spell. A stall begins where the throttle is first closed for it (an accelerated
one at the roll-in) and ends where the descent of its recovery has stopped. It ``breaks`` when the angle of
attack first exceeds the wing's critical angle (the lift table of the model), or, never having exceeded it,
where the recovery begins; it ``recovers`` when the angle is last exceeded. It is complete when the wing
came within 3 degrees of the critical angle, where a horn sounds. An emergency descent begins and ends where
sinking at more than 500 ft/min does.
"""

from __future__ import annotations

from dataclasses import asdict
from itertools import pairwise
from typing import Any

import numpy as np
import polars as pl
from tests.flights.airplanes import CRITICAL_ANGLE
from tests.flights.course.procedures import Log
from tests.flights.course.sight import HORN_MARGIN, Plane
from tests.flights.truth import ROLLED_OUT, TruthManeuver, TruthPart

from chalkwing.units import DEGREE, FOOT_PER_MINUTE, KNOT

Columns = dict[str, np.ndarray]
CIRCLING = ("steep_spiral", "turns_around_a_point")
STALLS = ("power_off_stall", "power_on_stall", "accelerated_stall")
LEVEL_ENOUGH, BANKED = np.radians(1.5), np.radians(8.0)
HARDLY = 500 * FOOT_PER_MINUTE


class Track:
    """The table's columns as arrays, and rows by time."""

    def __init__(self, table: pl.DataFrame, airplane: str, terrain: float = 0.0) -> None:
        names = (
            "time", "bank", "pitch", "heading_true", "altimeter_altitude", "calibrated_airspeed", "latitude",
            "longitude", "angle_of_attack", "load_factor", "velocity_down", "velocity_north", "velocity_east",
            "geometric_altitude", "throttle", "true_airspeed",
        )  # fmt: skip
        self.table, self.terrain = table, terrain
        self.columns = {name: table[name].to_numpy() for name in names}
        self.critical = CRITICAL_ANGLE[airplane]

    def __getitem__(self, name: str) -> np.ndarray:
        return self.columns[name]

    def row(self, time: float) -> int:
        return min(int(np.searchsorted(self["time"], time - 1e-6)), len(self["time"]) - 1)


def measure_course(log: Log, track: Track, plane: Plane, goal: Any) -> TruthManeuver:
    """The truth of one maneuver from the pilot's account and the table."""
    how = _circling if log.kind in CIRCLING else _stall if log.kind in STALLS else _OTHERS[log.kind]
    start, end, parts, borders, values, ground = how(log, track, plane)
    entry = track.row(start)
    named = {name: value for name, value in values.items() if np.isfinite(value)}
    direction = "none" if not log.directions else "right" if log.directions[0] > 0 else "left"
    return TruthManeuver(
        kind=log.kind,
        direction=direction,
        commanded=log.start,
        start=start,
        end=end,
        status=_stalled_at_all(log, values) if log.kind in STALLS else log.status,
        entry_altitude=float(track["altimeter_altitude"][entry]),
        entry_airspeed=float(track["calibrated_airspeed"][entry]),
        entry_heading=float(track["heading_true"][entry]),
        parts=tuple(parts),
        chained=False,
        goal=asdict(goal),
        borders=borders,
        ground=ground,
        values=named,
    )


def _stalled_at_all(log: Log, values: dict[str, float]) -> str:
    """Complete when the wing came as near its critical angle as the horn: what was meant is no matter."""
    return "complete" if values["angle_margin"] < HORN_MARGIN else "broken_off"


Measured = tuple[float, float, list[TruthPart], dict[str, float], dict[str, float], dict[str, Any]]


# Edges of turns --------------------------------------------------------------------------------------------


def roll_in(track: Track, first: int, sign: int) -> int:
    """Last row about level before the bank is plainly there, from 2 s before row ``first`` on."""
    first = max(first - 40, 0)
    bank = sign * track["bank"][first:]
    banked = np.flatnonzero(bank > BANKED)
    if not len(banked):
        return first
    level = np.flatnonzero(bank[: banked[0]] <= LEVEL_ENOUGH)
    return first + (int(level[-1]) if len(level) else 0)


def rollout(track: Track, banked: int, sign: int) -> int:
    """First row at or after ``banked`` where bank into the turn has fallen to 2 degrees."""
    below = np.flatnonzero(sign * track["bank"][banked:] <= ROLLED_OUT)
    return banked + int(below[0]) if len(below) else len(track["bank"]) - 1


def part(track: Track, begin: int, end: int, sign: int, entry: int, wanted: float) -> TruthPart:
    """One turn as flown between two rows; ``wanted`` is the heading [rad] it should have ended on."""
    altitude, airspeed, heading = (
        track[name] for name in ("altimeter_altitude", "calibrated_airspeed", "heading_true")
    )
    turned = sign * (heading[begin : end + 1] - heading[begin])
    passages = {}
    for degrees in (45, 90, 135, 180, 270):
        beyond = np.flatnonzero(turned >= degrees * DEGREE)
        if len(beyond):
            passages[str(degrees)] = float(track["time"][begin + beyond[0]])
    return TruthPart(
        direction="right" if sign > 0 else "left",
        start=float(track["time"][begin]),
        end=float(track["time"][end]),
        altitude_error=float(altitude[end] - altitude[entry]),
        airspeed_error=float(airspeed[end] - airspeed[entry]),
        heading_error=float(sign * (heading[end] - wanted)),
        bank_max=float(np.max(sign * track["bank"][begin : end + 1])),
        passages=passages,
    )


def held(track: Track, first: int, last: int) -> dict[str, float]:
    """Worst departures from entry of what is held, and how steep it was."""
    rows = slice(first, last + 1)
    change = {
        name: track[column][rows] - track[column][first]
        for name, column in (("altitude", "altimeter_altitude"), ("airspeed", "calibrated_airspeed"))
    }
    bank = np.abs(track["bank"][rows])
    return {
        **{f"{name}_lowest": float(values.min()) for name, values in change.items()},
        **{f"{name}_highest": float(values.max()) for name, values in change.items()},
        "bank_max": float(bank.max()),
        "bank_mean": float(bank.mean()),
        "load_factor_max": float(track["load_factor"][rows].max()),
    }


# Kinds -----------------------------------------------------------------------------------------------------


def _circling(log: Log, track: Track, plane: Plane) -> Measured:
    sign = log.directions[0]
    first = roll_in(track, track.row(log.marks["turn_starts"]), sign)
    stop = track.row(log.marks.get("ends", log.stop))
    last = rollout(track, _last_banked(track, first, stop, sign), sign)
    heading = track["heading_true"]
    turned = sign * (heading[first : last + 1] - heading[first])
    rounds = max(int(np.floor(turned[-1] / (2 * np.pi) + 0.25)), 1)
    edges = [first]
    edges += [first + int(np.argmax(turned >= 2 * np.pi * k)) for k in range(1, rounds)]
    edges.append(last)
    parts = [
        part(track, begin, end, sign, first, heading[first] + sign * 2 * np.pi * (k + 1))
        for k, (begin, end) in enumerate(pairwise(edges))
    ]
    ground, values = circle_truth(log, track, plane, first, last, edges)
    values |= held(track, first, last)
    # Airspeed and heading as the standards put it: against the glide flown, against the entry heading.
    settled = slice(first + 200, max(last - 40, first + 201))
    values["airspeed_mean"] = float(track["calibrated_airspeed"][settled].mean())
    values["rollout_heading_error"] = parts[-1].heading_error
    values["turned"] = float(turned[-1])
    values["height_lost"] = float(track["altimeter_altitude"][first] - track["altimeter_altitude"][last])
    times = {"turn_starts": float(track["time"][first]), "turn_stops": float(track["time"][last])}
    if "throttle_closed" in log.marks:
        times["throttle_closed"] = log.marks["throttle_closed"]
    return times["turn_starts"], times["turn_stops"], parts, times, values, ground


def _last_banked(track: Track, first: int, stop: int, sign: int) -> int:
    """Last row before ``stop`` (and a little after) with plain bank into the turn."""
    banked = np.flatnonzero(sign * track["bank"][first : stop + 1] > BANKED)
    return first + int(banked[-1]) if len(banked) else first


def circle_truth(
    log: Log, track: Track, plane: Plane, first: int, last: int, edges: list[int]
) -> tuple[dict[str, Any], dict[str, float]]:
    """Distance to the point meant, and the circle's own center for each revolution."""
    latitude, longitude = plane.place(log.ground["north"], log.ground["east"])
    north, east = plane.table(track["latitude"], track["longitude"])
    distance = np.hypot(north - log.ground["north"], east - log.ground["east"])[first : last + 1]
    centers = [
        fit_circle(north[begin:end], east[begin:end])[:2]
        for begin, end in pairwise(edges)
        if abs(track["heading_true"][end] - track["heading_true"][begin]) > 4.5
    ]
    ground = {
        "form": "point",
        "latitude": latitude,
        "longitude": longitude,
        "radius": log.ground["radius"],
        "centers": [plane.place(*center) for center in centers],
    }
    inside = distance[60:-60] if len(distance) > 200 else distance
    values = {
        "radius_mean": float(inside.mean()),
        "radius_least": float(inside.min()),
        "radius_most": float(inside.max()),
    }
    if len(centers) > 1:
        steps = np.hypot(*np.diff(np.array(centers), axis=0).T)
        values["center_drift_per_turn"] = float(steps.mean())
    return ground, values


def fit_circle(north: np.ndarray, east: np.ndarray) -> tuple[float, float, float]:
    """Center and radius by linear least squares (Kasa 1976)."""
    design = np.column_stack([north, east, np.ones(len(north))])
    solution, *_ = np.linalg.lstsq(design, north**2 + east**2, rcond=None)
    center = solution[:2] / 2
    return float(center[0]), float(center[1]), float(np.sqrt(max(solution[2] + center @ center, 0.0)))


def _clearing(log: Log, track: Track, plane: Plane) -> Measured:
    parts: list[TruthPart] = []
    begins = [log.marks[f"turn_{k + 1}"] for k in range(len(log.directions))]
    first = roll_in(track, track.row(begins[0]), log.directions[0])
    begin = first
    for k, sign in enumerate(log.directions):
        until = begins[k + 1] if k + 1 < len(begins) else log.stop
        begin = roll_in(track, track.row(begins[k]), sign) if k else first
        end = rollout(track, _last_banked(track, begin, track.row(until), sign), sign)
        wanted = float(track["heading_true"][end])
        parts.append(part(track, begin, max(end, begin + 1), sign, first, wanted))
    last = track.row(parts[-1].end)
    values = held(track, first, last)
    heading = track["heading_true"]
    values["turned"] = float(
        sum(abs(heading[track.row(one.end)] - heading[track.row(one.start)]) for one in parts)
    )
    borders = {"turn_starts": parts[0].start, "turn_stops": parts[-1].end}
    return parts[0].start, parts[-1].end, parts, borders, values, {}


def _turns(log: Log, track: Track, name: str) -> list[TruthPart]:
    """Every turn from its roll-in to its rollout; the log calls the moments they were begun ``name``."""
    begins = [log.marks[f"{name}_{k + 1}"] for k in range(len(log.directions))]
    stops = [*begins[1:], log.marks.get("ends", log.stop)]
    parts: list[TruthPart] = []
    entry = roll_in(track, track.row(begins[0]), log.directions[0])
    for begin, stop, sign in zip(begins, stops, log.directions, strict=True):
        first = roll_in(track, track.row(begin), sign)
        last = rollout(track, _last_banked(track, first, track.row(stop), sign), sign)
        wanted = float(track["heading_true"][last])
        parts.append(part(track, first, max(last, first + 1), sign, entry, wanted))
    return parts


def _series(log: Log, track: Track, plane: Plane, name: str) -> tuple[Measured, list[TruthPart]]:
    """What all series of turns have in common."""
    parts = _turns(log, track, name)
    first, last = track.row(parts[0].start), track.row(parts[-1].end)
    heading = track["heading_true"]
    values = held(track, first, last)
    turned = [abs(heading[track.row(one.end)] - heading[track.row(one.start)]) for one in parts]
    values |= {"turned_least": float(min(turned)), "turned_most": float(max(turned))}
    borders = {"turn_starts": parts[0].start, "turn_stops": parts[-1].end}
    ground = _on_the_map(log, plane)
    return (parts[0].start, parts[-1].end, parts, borders, values, ground), parts


def _on_the_map(log: Log, plane: Plane) -> dict[str, Any]:
    """The pilot's ground reference with latitudes and longitudes in place of meters."""
    ground = dict(log.ground)
    if "places" in ground:
        ground["places"] = [plane.place(*place) for place in ground["places"]]
    if "north" in ground:
        ground["latitude"], ground["longitude"] = plane.place(ground.pop("north"), ground.pop("east"))
    return ground


def _s_turns(log: Log, track: Track, plane: Plane) -> Measured:
    measured, parts = _series(log, track, plane, "crosses")
    values = measured[4]
    north, east = plane.table(track["latitude"], track["longitude"])
    radii = []
    for one in parts:
        rows = slice(track.row(one.start), track.row(one.end))
        radii.append(fit_circle(north[rows], east[rows])[2])
    values |= {"radius_least": min(radii), "radius_most": max(radii), "radius_mean": float(np.mean(radii))}
    course = np.arctan2(track["velocity_east"], track["velocity_north"])
    across = [
        course[track.row(log.marks[f"crosses_{k + 1}"])] - log.ground["track"] for k in range(len(parts))
    ]
    off = [abs(abs(np.arctan2(np.sin(one), np.cos(one))) - np.pi / 2) for one in across]
    values["crossing_off_square_most"] = float(max(off))
    return measured


def _eights_on_pylons(log: Log, track: Track, plane: Plane) -> Measured:
    measured, parts = _series(log, track, plane, "turn")
    values = measured[4]
    angles = []
    for k, one in enumerate(parts):
        first, last = track.row(one.start + 5), track.row(one.end - 5)
        angles.append(sight_line(track, plane, log.ground["places"][k % 2], first, max(last, first + 1)))
    joined = np.concatenate(angles)
    values |= {
        "sight_line_rms": float(np.sqrt(np.mean(joined**2))),
        "sight_line_most": float(np.abs(joined).max()),
        "sight_line_mean": float(joined.mean()),
    }
    if len(parts) > 1:
        pauses = [after.start - before.end for before, after in pairwise(parts)]
        values |= {"straight_least": min(pauses), "straight_most": max(pauses)}
    return measured


def sight_line(track: Track, plane: Plane, place: tuple[float, float], first: int, last: int) -> np.ndarray:
    """Angle [rad] by which a place on the ground lies ahead of the airplane's lateral axis, row by row."""
    rows = slice(first, last)
    north, east = plane.table(track["latitude"][rows], track["longitude"][rows])
    to_north, to_east = place[0] - north, place[1] - east
    down = track["geometric_altitude"][rows] - track.terrain
    heading, pitch = track["heading_true"][rows], track["pitch"][rows]
    level_ahead = to_north * np.cos(heading) + to_east * np.sin(heading)
    ahead = level_ahead * np.cos(pitch) - down * np.sin(pitch)
    return np.arcsin(ahead / np.sqrt(to_north**2 + to_east**2 + down**2))


def _rectangular_course(log: Log, track: Track, plane: Plane) -> Measured:
    measured, parts = _series(log, track, plane, "turn")
    values = measured[4]
    north, east = plane.table(track["latitude"], track["longitude"])
    drifts = []
    for before, after in pairwise(parts):
        leg = slice(track.row(before.end), max(track.row(after.start), track.row(before.end) + 2))
        along = np.hypot(north[leg][-1] - north[leg][0], east[leg][-1] - east[leg][0])
        course = np.arctan2(east[leg][-1] - east[leg][0], north[leg][-1] - north[leg][0])
        off = (east[leg] - east[leg][0]) * np.cos(course) - (north[leg] - north[leg][0]) * np.sin(course)
        drifts.append(float(np.abs(off).max()))
        values["leg_shortest"] = min(values.get("leg_shortest", np.inf), float(along))
    if drifts:
        values["leg_off_straight_most"] = max(drifts)
    measured[3]["first_leg"] = log.marks["first_leg"]
    return measured


def _power_off_180(log: Log, track: Track, plane: Plane) -> Measured:
    """From the closed throttle to touchdown, or to where the go-around begins."""
    start, stop = log.marks["throttle_closed"], log.marks.get("ends", log.stop)
    first, last = track.row(start), track.row(stop)
    sign = log.directions[0]
    turn = roll_in(track, track.row(log.marks["turn_starts"]), sign)
    ground = _on_the_map(log, plane)
    north, east = plane.table(track["latitude"], track["longitude"])
    course = log.ground["track"]
    along = (north - log.ground["north"]) * np.cos(course) + (east - log.ground["east"]) * np.sin(course)
    values = held(track, first, last) | {
        "touchdown": float("touchdown" in log.marks),
        "beyond_point": float(along[last]),
        "height_at_end": float(track["geometric_altitude"][last] - track.terrain),
        "airspeed_at_end": float(track["calibrated_airspeed"][last]),
        "sink_at_end": float(track["velocity_down"][max(last - 10, 0)]),
        "turned": float(track["heading_true"][last] - track["heading_true"][first]),
    }
    borders = {"throttle_closed": start, "turn_starts": float(track["time"][turn]), "ends": stop}
    wanted = float(track["heading_true"][first]) + sign * np.pi
    return start, stop, [part(track, first, last, sign, first, wanted)], borders, values, ground


def _whole(track: Track, first: int, last: int, log: Log) -> list[TruthPart]:
    sign = log.directions[0] if log.directions else 1
    one = part(track, first, max(last, first + 1), sign, first, float(track["heading_true"][first]))
    if not log.directions:
        one = TruthPart(**{**asdict(one), "direction": "none"})
    return [one]


def _slow_flight(log: Log, track: Track, plane: Plane) -> Measured:
    about, until = track.row(log.marks["slowed"]), track.row(log.marks["recovers"])
    speed = track["calibrated_airspeed"]
    slow = float(np.median(speed[about : until + 1]))
    # Slower still is still slow flight: only what is faster ends it.
    slowing = track.row(log.marks["throttle_closed"])
    inside = slowing + np.flatnonzero(speed[slowing : track.row(log.marks["ends"]) + 1] <= slow + 3 * KNOT)
    first, last = int(inside[0]), int(inside[-1])
    values = held(track, first, last) | {"airspeed_mean": slow}
    values["airspeed_lowest_shown"] = float(speed[first : last + 1].min())
    borders = {
        "throttle_closed": log.marks["throttle_closed"],
        "slowed": float(track["time"][first]),
        "recovers": float(track["time"][last]),
        "ends": log.marks["ends"],
    }
    return borders["slowed"], borders["recovers"], _whole(track, first, last, log), borders, values, {}


def _stall(log: Log, track: Track, plane: Plane) -> Measured:
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
    at_break = slice(breaks, last + 1)
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
        "airspeed_most_after": float(speed[at_break].max()),
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
    return begin, borders["ends"], _whole(track, start, last, log), borders, values, {}


def _emergency_descent(log: Log, track: Track, plane: Plane) -> Measured:
    first, stop = track.row(log.start), track.row(log.marks["ends"])
    sinking = track["velocity_down"] > HARDLY
    rows = np.flatnonzero(sinking[first : stop + 1])
    begin = first + int(rows[0]) if len(rows) else first
    last = first + int(rows[-1]) if len(rows) else stop
    steady = slice(begin + (last - begin) // 3, last + 1)
    values = held(track, begin, last) | {
        "height_lost": float(track["altimeter_altitude"][begin] - track["altimeter_altitude"][last]),
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
    parts = _whole(track, begin, last, log)
    return borders["descent_starts"], borders["levels_off"], parts, borders, values, {}


_OTHERS = {
    "clearing_turns": _clearing,
    "slow_flight": _slow_flight,
    "emergency_descent": _emergency_descent,
    "s_turns": _s_turns,
    "eights_on_pylons": _eights_on_pylons,
    "rectangular_course": _rectangular_course,
    "power_off_180": _power_off_180,
}
