"""The pictures of a card, drawn at the size at which they are printed."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from chalkwing.briefing import Briefing, PlanPoint
from chalkwing.briefing.words import speed_unit, turns
from chalkwing.drawing import (
    BANK,
    LOAD,
    ON_PAPER,
    PITCH,
    Against,
    Mark,
    Panel,
    Trace,
    Wind,
    airspeed,
    altitude,
    nose_path,
    plan_view,
    profiles,
)

_BY_THE_GROUND = frozenset({"turns_around_a_point", "s_turns", "rectangular_course"})
_DRAWN = (
    "bank_into_turn_deg",
    "pitch_from_level_deg",
    "airspeed_kt",
    "altitude_change_ft",
    "load_factor_g",
    "ground_north_ft",
    "ground_east_ft",
)


def traces_of(briefing: Briefing) -> list[Trace]:
    """The parts of the plan as the pictures take them; empty for a maneuver of no path."""
    path = briefing.path
    if path is None:
        return []
    parts = np.array(path.part)
    columns = {name: np.array(getattr(path, name)) for name in _DRAWN}
    time, turned = np.array(path.t_s), np.array(path.heading_change_deg)
    traces = []
    for part in sorted(set(path.part)):
        inside = parts == part
        back = briefing.part_directions[part - 1] != briefing.part_directions[0]
        traces.append(
            Trace(
                part=part,
                role="plan",
                time_s=time[inside],
                heading_change_deg=turned[inside],
                values={name: column[inside] for name, column in columns.items()},
                marks=_marks(briefing, part, span=span_of(briefing)),
                start_deg=span_of(briefing) if back else 0.0,
                sense=-1 if back else 1,
            )
        )
    return traces


def span_of(briefing: Briefing) -> float:
    """How far the heading axis reaches [deg]: the angle of a part, in whole quarters."""
    if briefing.path is None:
        return 180.0
    turned = float(np.max(briefing.path.heading_change_deg))
    if briefing.turn_angle_deg is not None and abs(turned - briefing.turn_angle_deg) < 45.0:
        return briefing.turn_angle_deg
    return max(45.0, 45.0 * math.ceil((turned - 5.0) / 45.0))


def _marks(briefing: Briefing, part: int, *, span: float) -> tuple[Mark, ...]:
    """The points of one part but the entry, whose numbers stand on the axes already."""
    return tuple(
        Mark(
            name=point.name if point.name.isdigit() else point.title.lower(),
            heading_change_deg=point.heading_change_deg,
            values={
                "bank_into_turn_deg": point.bank_into_turn_deg,
                "pitch_from_level_deg": point.pitch_from_level_deg,
                "airspeed_kt": point.airspeed_kt,
                "altitude_change_ft": point.altitude_change_ft,
                "load_factor_g": point.load_factor_g,
            },
            time_s=point.t_s,
            told=_is_told(briefing, point.heading_change_deg, point.airspeed_kt, span),
        )
        for point in briefing.points
        if point.part == part and _is_marked(briefing, point)
    )


def _is_marked(briefing: Briefing, point: PlanPoint) -> bool:
    """Against heading the points named by their degrees; against time all but the entry."""
    return point.name.isdigit() if drawn_against(briefing) == "heading" else point.name != "entry"


def _is_told(briefing: Briefing, turned: float, airspeed_kt: float, span: float) -> bool:
    """The end tells its numbers only where they are not the entry's again."""
    against_time = drawn_against(briefing) == "time"
    return against_time or turned < 0.95 * span or abs(airspeed_kt - briefing.entry.airspeed_kt) > 3.0


def is_by_the_ground(briefing: Briefing) -> bool:
    """Whether the path over the ground is the picture: the nose stays where it is throughout."""
    return briefing.kind in _BY_THE_GROUND


def drawn_against(briefing: Briefing) -> Against:
    """Heading change, or time for a maneuver of which no part turns one way through a right angle or so."""
    if briefing.path is None:
        return "time"
    turned, parts = np.array(briefing.path.heading_change_deg), np.array(briefing.path.part)
    ends = [turned[parts == part] for part in np.unique(parts)]
    return "heading" if all(end[-1] > 80.0 and end[-1] > 0.9 * end.max() for end in ends) else "time"


def nose_picture(briefing: Briefing, size: tuple[float, float]) -> str | None:
    """The nose path at a size [CSS px]; None for a maneuver that does not turn one way."""
    if drawn_against(briefing) == "time" or is_by_the_ground(briefing):
        return None
    return nose_path(
        traces_of(briefing), size=size, style=ON_PAPER, span_deg=span_of(briefing), subtitle=turns(briefing)
    )


def nose_height(briefing: Briefing) -> float:
    """Height [CSS px] of the nose path on a card: a flat one needs less room."""
    pitches = briefing.path.pitch_from_level_deg if briefing.path is not None else (0.0,)
    return 158.0 if max(pitches) - min(pitches) > 8.0 else 118.0


def profile_picture(briefing: Briefing, size: tuple[float, float]) -> str:
    """Bank, airspeed and altitude (load factor where that is held); pitch where there is no nose path."""
    traces = traces_of(briefing)
    against = drawn_against(briefing)
    level = float(np.ptp(np.concatenate([trace.values["altitude_change_ft"] for trace in traces]))) < 20.0
    panels: list[Panel] = [
        BANK,
        *([PITCH] if against == "time" else []),
        airspeed(speed_unit(briefing), briefing.entry.airspeed_kt),
        LOAD if level else altitude(),
    ]
    return profiles(traces, panels, size=size, style=ON_PAPER, span_deg=span_of(briefing), against=against)


def plan_picture(briefing: Briefing, size: tuple[float, float]) -> str:
    """The path over the ground; in still air where no line was chosen."""
    line = briefing.entry.heading_deg_magnetic
    variation = briefing.conditions.variation_deg
    wind = briefing.conditions.wind_at_entry
    traces = traces_of(briefing)
    if drawn_against(briefing) == "time":
        # What happens within seconds of each other happens at one place on the plan.
        traces = [replace(trace, marks=()) for trace in traces]
    return plan_view(
        traces,
        size=size,
        style=ON_PAPER,
        up_deg_true=0.0 if line is None else line + variation,
        wind=None if line is None else Wind(wind.from_deg_true, wind.speed_kt),
    )
