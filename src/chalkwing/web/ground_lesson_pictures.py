"""The pictures of a ground lesson: the plan alone, or a common error in the second chalk over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from chalkwing.briefing import Briefed, Briefing
from chalkwing.briefing.ground_lesson import ErrorShown
from chalkwing.briefing.words import speed_unit, turns
from chalkwing.drawing import BANK, LOAD, PITCH, Panel, Trace, Wind, airspeed, altitude
from chalkwing.drawing.horizon import seat_window
from chalkwing.drawing.nose_path import nose_path
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.plan_view import plan_view
from chalkwing.drawing.profiles import profiles
from chalkwing.drawing.side_view import side_view
from chalkwing.paper.page import HALF, NARROW, WIDE, quantities_told
from chalkwing.paper.pictures import drawn_against, is_by_the_ground, span_of, traces_of
from chalkwing.views.data import traces_data
from chalkwing.views.ground import GroundMark
from chalkwing.web.ground_lesson_marks import planned_marks

_PANEL, _AXIS = 96.0, 24.0
ERROR_NAME = "with the error"


@dataclass(frozen=True)
class LessonPictures:
    """SVG by picture, at the width that the page has; None where there is none. ``data`` is the script's.

    ``plan_first``: the path over the ground is what is taught, and stands on top.
    """

    nose: str | None
    profiles: str
    plan: str
    side: str
    seat: str
    data: dict[str, Any]
    plan_first: bool


def lesson_pictures(briefed: Briefed, shown: ErrorShown | None, *, narrow: bool) -> LessonPictures | None:
    """All pictures of a plan and of the error shown, if one is; None for a maneuver of no path."""
    briefing = briefed.briefing
    plan = traces_of(briefing)
    if not plan:
        return None
    error = [] if shown is None else _of_error(briefing, shown)
    traces = [*plan, *error]
    wide, half = (NARROW, NARROW) if narrow else (WIDE, HALF)
    panels = _panels(briefing, traces)
    against, span, reach = drawn_against(briefing), span_of(briefing), _reach(traces, span_of(briefing))
    nose = None
    if against == "heading" and not is_by_the_ground(briefing):
        nose = nose_path(
            traces,
            size=(wide, 260.0 if narrow else 270.0),
            style=ON_PAGE,
            span_deg=span,
            subtitle=turns(briefing),
            reach=reach,
        )
    size = (wide, _PANEL * len(panels) + _AXIS)
    up, marks = _up(briefing), planned_marks(briefed.reference, plan)
    placed = traces if against == "heading" else [replace(trace, marks=()) for trace in traces]
    return LessonPictures(
        nose=nose,
        profiles=profiles(
            _told_once(traces), panels, size=size, style=ON_PAGE, span_deg=span, against=against, reach=reach
        ),
        plan=plan_view(
            placed,
            size=(half, 0.8 * half),
            style=ON_PAGE,
            up_deg_true=up,
            wind=_wind(briefing),
            says=lambda mark: mark.said,
            ground=marks,
        ),
        side=side_view(placed, size=(half, 240.0), style=ON_PAGE, up_deg_true=up),
        seat=seat_window(
            size=(WIDE, 280.0),
            style=ON_PAGE,
            posts=_posts(briefing, span, turned=against == "heading"),
            reach=_seen(traces, briefing),
        ),
        data=_data(briefing, plan, error, panels, marks),
        plan_first=is_by_the_ground(briefing) or any(mark.what == "pylon" for mark in marks),
    )


def _of_error(briefing: Briefing, shown: ErrorShown) -> list[Trace]:
    """The error's parts, all in the second chalk."""
    laid = traces_of(replace(briefing, path=shown.path, points=shown.points))
    return [replace(trace, role="flown", chalk=2, name=ERROR_NAME) for trace in laid]


def _panels(briefing: Briefing, traces: Sequence[Trace]) -> list[Panel]:
    """Bank, airspeed, altitude; pitch where there is no nose path, load where that is what changes."""
    heights = [float(trace.values["altitude_change_ft"].max()) for trace in traces]
    depths = [float(trace.values["altitude_change_ft"].min()) for trace in traces]
    level = max(heights) - min(depths) < 20.0
    speeds = airspeed(speed_unit(briefing), briefing.entry.airspeed_kt)
    if is_by_the_ground(briefing):
        return [BANK, LOAD, speeds]
    timed = drawn_against(briefing) == "time"
    return [BANK, *([PITCH] if timed else []), speeds, altitude(), *([LOAD] if level else [])]


def _told_once(traces: Sequence[Trace]) -> list[Trace]:
    """Where an error's second half lies over its first in one chalk, only the first tells its numbers."""
    return [
        replace(trace, marks=tuple(replace(mark, told=False) for mark in trace.marks))
        if trace.role == "flown" and trace.part > 1
        else trace
        for trace in traces
    ]


def _reach(traces: Sequence[Trace], span: float) -> tuple[float, float]:
    """From where to where lines run on the heading axis [deg]."""
    places = [0.0, span]
    for trace in traces:
        if trace.role == "flown":
            for column in (trace.nose_deg, trace.heading_change_deg):
                places += [float(column.min()), float(column.max())]
    return min(places), max(places)


def _up(briefing: Briefing) -> float:
    line = briefing.entry.heading_deg_magnetic
    return 0.0 if line is None else line + briefing.conditions.variation_deg


def _wind(briefing: Briefing) -> Wind | None:
    if briefing.entry.heading_deg_magnetic is None:
        return None
    wind = briefing.conditions.wind_at_entry
    return Wind(wind.from_deg_true, wind.speed_kt)


def _first(briefing: Briefing) -> int:
    return 1 if briefing.direction == "right" else -1


def _posts(briefing: Briefing, span: float, *, turned: bool) -> list[tuple[float, str]]:
    """Where the reference headings stand on the horizon."""
    step = 45.0 if span <= 180.0 else 90.0
    count = int(span / step) if turned else 0
    places = [_first(briefing) * step * k for k in range(count + 1)]
    return [(place, "entry" if place == 0.0 else f"{abs(place):.0f}°") for place in places]


def _seen(traces: Sequence[Trace], briefing: Briefing) -> tuple[float, float]:
    noses = [_first(briefing) * float(end) for t in traces for end in (t.nose_deg.min(), t.nose_deg.max())]
    return min(noses), max(noses)


def _data(
    briefing: Briefing,
    plan: Sequence[Trace],
    error: Sequence[Trace],
    panels: Sequence[Panel],
    marks: Sequence[GroundMark],
) -> dict[str, Any]:
    """What the cursor follows: the error where one is shown, with the plan beside it; else the plan."""
    followed, beside = (error, plan) if error else (plan, [])
    known = {panel.quantity: panel for panel in (*panels, PITCH, LOAD)}
    return {
        "start_s": 0.0,
        "clock": None,
        "against": drawn_against(briefing),
        "first_turn": _first(briefing),
        "entry": {},
        "ground": [
            {"what": mark.what, "parts": list(mark.parts), "ends": [list(end) for end in mark.ends]}
            for mark in marks
        ],
        "quantities": quantities_told(list(known.values())),
        **traces_data(tuple(followed), tuple(beside), first=_first(briefing)),
    }
