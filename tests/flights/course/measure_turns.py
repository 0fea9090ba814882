"""What was truly flown of the maneuvers that turn: their turns, circles, lines, pylons and fields."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from tests.flights.course.procedures import Log
from tests.flights.course.sight import Plane
from tests.flights.course.track import Measured, Track, held, last_banked, part, roll_in, rollout
from tests.flights.truth import TruthPart


def circling(log: Log, track: Track, plane: Plane) -> Measured:
    sign = log.directions[0]
    first = roll_in(track, track.row(log.marks["turn_starts"]), sign)
    stop = track.row(log.marks.get("ends", log.stop))
    last = rollout(track, last_banked(track, first, stop, sign), sign)
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


def clearing(log: Log, track: Track, plane: Plane) -> Measured:
    parts: list[TruthPart] = []
    begins = [log.marks[f"turn_{k + 1}"] for k in range(len(log.directions))]
    first = roll_in(track, track.row(begins[0]), log.directions[0])
    begin = first
    for k, sign in enumerate(log.directions):
        until = begins[k + 1] if k + 1 < len(begins) else log.stop
        begin = roll_in(track, track.row(begins[k]), sign) if k else first
        end = rollout(track, last_banked(track, begin, track.row(until), sign), sign)
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
        last = rollout(track, last_banked(track, first, track.row(stop), sign), sign)
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


def s_turns(log: Log, track: Track, plane: Plane) -> Measured:
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


def eights_on_pylons(log: Log, track: Track, plane: Plane) -> Measured:
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


def rectangular_course(log: Log, track: Track, plane: Plane) -> Measured:
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


def power_off_180(log: Log, track: Track, plane: Plane) -> Measured:
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
