"""The rectangular course: a circuit at an even distance around a field, in a wind."""

from __future__ import annotations

import math

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath
from chalkwing.reference.assembling import Mark, side_of
from chalkwing.reference.ground_path import GroundPath, SteadyWind
from chalkwing.reference.ground_reference import (
    HEIGHT,
    circle_facts,
    downwind_course,
    ground_reference,
    planned_radius,
    refuse_weak_engine,
    set_out,
)
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, NAUTICAL_MILE, m_to_ft, require_within

LEGS = ("downwind", "base", "upwind", "crosswind")


@solves("rectangular_course")
def rectangular_course(
    situation: Situation,
    *,
    direction: Direction = "left",
    length: float = 1.0 * NAUTICAL_MILE,
    width: float = 0.5 * NAUTICAL_MILE,
    spacing: float = 0.5 * NAUTICAL_MILE,
    downwind: float | None = None,
    radius: float | None = None,
    maximum_bank: float = 30.0 * DEGREE,
    airspeed: float | None = None,
    height: float = HEIGHT,
) -> Reference:
    """A circuit around a rectangle at an even distance, from the start of the downwind leg.

    Parameters
    ----------
    length, width : float
        Of the field [m], along the downwind leg and across it.
    spacing : float
        From the field's edge [m]. Half to three quarters of a mile or a quarter to half: handbooks differ,
        and the school sets it.
    downwind : float, optional
        Course of the downwind leg [rad, true]; straight down the wind unless given.
    radius, maximum_bank, airspeed, height
        As in :func:`turns_around_a_point`; the radius is that of the corners.
    """
    situation, wind, airspeed = set_out(situation, airspeed, height)
    radius = planned_radius(wind, radius, maximum_bank)
    require_within("field length", length, 50.0, 50_000.0, "m", hint="Was it in miles?")
    require_within("field width", width, 50.0, 50_000.0, "m", hint="Was it in miles?")
    require_within("spacing", spacing, 0.0, 10_000.0, "m", hint="Was it in feet?")
    side = side_of(direction)
    course = downwind_course(situation, wind) if downwind is None else downwind
    edges = (length + 2.0 * spacing, width + 2.0 * spacing)
    corners = [_corner(wind, course + side * k * math.pi / 2.0, radius, side) for k in range(4)]
    path = GroundPath(wind, course)
    marks = [Mark(1, "entry", 0.0)]
    for k, name in enumerate(LEGS):
        straight = edges[k % 2] - corners[k - 1][1] - corners[k][0]
        if straight < 0.0:
            raise OutsideModel(
                f"the {name} leg is too short for its two corners by {m_to_ft(-straight):.0f} ft.",
                next_step="Choose a larger field or spacing, or more bank in the corners.",
            )
        path.straight(straight, name)
        marks.append(Mark(1, f"{name}_end", path.time))
        path.turn(math.pi / 2.0, radius, side, ("roll-in", f"corner {k + 1}", "roll-out"))
        marks.append(Mark(1, f"corner_{k + 1}_end", path.time))
    flown = path.flown(situation)
    refuse_weak_engine(situation, flown)
    facts = circle_facts(situation, flown, wind, radius)
    facts += _course_facts(flown, path, wind, course, side)
    return ground_reference(
        "rectangular_course",
        direction,
        situation,
        path,
        flown,
        marks=marks,
        facts=facts,
        settings={
            "length": length,
            "width": width,
            "spacing": spacing,
            "downwind": course,
            "radius": radius,
            "maximum_bank": maximum_bank,
            "airspeed": airspeed,
            "height": height,
        },
        notes=[
            "Enter at 45° to the downwind leg.",
            "The corners that touch the downwind leg turn the nose through more than 90°, the others less.",
        ],
    )


def _corner(wind: SteadyWind, course: float, radius: float, side: float) -> tuple[float, float]:
    """Distances [m] that a corner takes from the leg before it and from the leg after it."""
    trial = GroundPath(wind, course)
    trial.turn(math.pi / 2.0, radius, side, ("", "", ""))
    after = course + side * math.pi / 2.0
    return (
        trial.north * math.cos(course) + trial.east * math.sin(course),
        trial.north * math.cos(after) + trial.east * math.sin(after),
    )


def _course_facts(
    flown: AirPath, path: GroundPath, wind: SteadyWind, course: float, side: float
) -> list[Fact]:
    facts = []
    for k, name in enumerate(LEGS):
        track = course + side * k * math.pi / 2.0
        after = track + side * math.pi / 2.0
        drift, ground_speed = wind.drift(track)
        corner = path.names.index(f"corner {k + 1}")
        within = (flown.time >= path.ends[corner - 2]) & (flown.time <= path.ends[corner + 1])
        turned = side * (wind.heading(after) - wind.heading(track))
        steepest = float(np.max(np.abs(flown.column("bank")[within])))
        facts += [
            Fact(f"drift_{name}", float(drift), "rad", f"wind correction on {name}, right positive"),
            Fact(f"leg_groundspeed_{name}", float(ground_speed), "m/s", f"groundspeed on {name}"),
            Fact(f"turn_after_{name}", turned, "rad", f"heading turned at the corner after {name}"),
            Fact(f"bank_after_{name}", steepest, "rad", f"steepest bank at the corner after {name}"),
        ]
    facts.append(Fact("time", path.time, "s", "time of the whole circuit"))
    return facts
