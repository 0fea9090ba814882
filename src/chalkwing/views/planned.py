"""The Reference of an attempt as traces, on the same scales as what was flown."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from chalkwing.reference import Reference, ReferencePoint
from chalkwing.units import DEGREE, FOOT, KNOT, Floats
from chalkwing.views.quantities import PLACES, SHOWN
from chalkwing.views.traces import Mark, Trace


def planned_traces(
    plan: Reference | None, *, span_deg: float, entry_heading: float, wind: tuple[float, float]
) -> list[Trace]:
    """One trace a part; none for a maneuver of no path.

    The plan's path through the air is laid on the entry heading that was flown [rad true], and carried by the
    wind that was found: its velocity toward north and east [m/s].
    """
    if plan is None or not len(plan.time):
        return []
    columns = {**_columns(plan), **_places(plan, entry_heading, wind)}
    traces: list[Trace] = []
    parts = plan["part"]
    directions = _directions(plan)
    for number in sorted({int(part) for part in parts}):
        inside = parts == number
        back = directions[number] != directions[1]
        traces.append(
            Trace(
                part=number,
                role="plan",
                time_s=plan.time[inside],
                heading_change_deg=plan["heading_change"][inside] / DEGREE,
                values={name: column[inside] for name, column in columns.items()},
                marks=tuple(_mark(plan, point) for point in plan.points if point.part == number),
                start_deg=span_deg if back else 0.0,
                sense=-1 if back else 1,
            )
        )
    return traces


def plan_is_indicated(plan: Reference) -> bool:
    """Whether the plan's airspeeds can be told as the airspeed indicator shows them."""
    return bool(plan.sheet.indicated_to_calibrated)


def _speed(plan: Reference, calibrated: Floats) -> Floats:
    return np.asarray((plan.sheet.indicated(calibrated) if plan_is_indicated(plan) else calibrated) / KNOT)


def _level(plan: Reference) -> float:
    """The attitude [rad] of level flight at entry."""
    return float(plan["pitch"][0] - plan["path_angle"][0])


def _columns(plan: Reference) -> Mapping[str, Floats]:
    found: dict[str, Floats] = {}
    for shown in SHOWN:
        if shown.planned is not None:
            found[shown.name] = plan[shown.planned] / shown.scale
    found["airspeed_kt"] = _speed(plan, plan["calibrated_airspeed"])
    found["pitch_from_level_deg"] = (plan["pitch"] - _level(plan)) / DEGREE
    return found


def _places(plan: Reference, entry_heading: float, wind: tuple[float, float]) -> Mapping[str, Floats]:
    turn = entry_heading - float(plan["heading_true"][0])
    north, east = plan["air_north"], plan["air_east"]
    air_north = north * np.cos(turn) - east * np.sin(turn)
    air_east = north * np.sin(turn) + east * np.cos(turn)
    since = plan.time - plan.time[0]
    columns = (air_north + wind[0] * since, air_east + wind[1] * since, air_north, air_east)
    return {name: column / FOOT for name, column in zip(PLACES, columns, strict=True)}


def _directions(plan: Reference) -> Mapping[int, int]:
    """Which way the nose went in each part: the sign of its change of true heading."""
    found = {}
    for part in {int(number) for number in plan["part"]}:
        heading = plan["heading_true"][plan["part"] == part]
        found[part] = 1 if heading[-1] >= heading[0] else -1
    return found


def _mark(plan: Reference, point: ReferencePoint) -> Mark:
    return Mark(
        name=point.name,
        heading_change_deg=point.heading_change / DEGREE,
        time_s=point.time,
        values={
            "bank_into_turn_deg": point.bank_into_turn / DEGREE,
            "pitch_from_level_deg": (point.pitch - _level(plan)) / DEGREE,
            "airspeed_kt": float(_speed(plan, np.array(point.calibrated_airspeed))),
            "altitude_change_ft": point.altitude_change / FOOT,
            "load_factor_g": point.load_factor,
        },
    )
