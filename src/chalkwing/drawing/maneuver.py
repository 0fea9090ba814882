"""The pictures of one attempt, each from its view: the same code for page and paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from chalkwing.drawing.frames import heading_axis, time_axis
from chalkwing.drawing.horizon import Glance, horizons, seat_window
from chalkwing.drawing.nose_path import nose_path
from chalkwing.drawing.palette import Style
from chalkwing.drawing.passages import Noted, Passage, Passages
from chalkwing.drawing.plan_view import Frame, Wind, plan_view
from chalkwing.drawing.profiles import (
    BALL,
    BANK,
    ENERGY,
    LOAD,
    PITCH,
    PITCH_RATE,
    POWER,
    ROLL_RATE,
    Panel,
    airspeed,
    altitude,
    profiles,
)
from chalkwing.drawing.side_view import side_view
from chalkwing.views import Against, ManeuverView, Mark, Trace

Size = tuple[float, float]
MAIN = ("bank_into_turn_deg", "airspeed_kt", "altitude_change_ft")
"""The profiles that stand open under the nose path."""
MORE = (
    "pitch_rate_deg_per_s",
    "roll_rate_into_turn_deg_per_s",
    "load_factor_g",
    "lateral_load_g",
    "power_percent",
    "specific_energy_change_ft",
)
"""Those that are folded under them."""


def has_nose_path(view: ManeuverView) -> bool:
    """Whether the maneuver turns: what is told by time has no path along the horizon."""
    return view.against == "heading"


def nose_figure(view: ManeuverView, size: Size, style: Style) -> str:
    """The nose path, flown over plan."""
    return nose_path(
        _marked(view.traces, "heading"),
        size=size,
        style=style,
        span_deg=view.span_deg,
        subtitle=turns_said(view),
        limits=view.limits,
        reach=reach(view),
    )


def profile_figure(
    view: ManeuverView, quantities: Sequence[str], size: Size, style: Style, *, against: Against | None = None
) -> str:
    """Profiles one above the other; against heading change or time, as the maneuver is told unless asked."""
    along = against or view.against
    return profiles(
        _marked(view.traces, along),
        panels_of(view, quantities),
        size=size,
        style=style,
        span_deg=view.span_deg,
        against=along,
        limits=view.limits,
        reach=reach(view),
        passages=_passages(view, along),
    )


def room_along(view: ManeuverView, width: float, style: Style) -> float:
    """What the rows of stretches and marks take above a picture of profiles this wide."""
    along = view.against
    axis = (
        heading_axis(width, style, span_deg=view.span_deg, marks=(), reach=reach(view))
        if along == "heading"
        else time_axis(width, style, span_s=float(view.flown[-1].time_s[-1]))
    )
    return _passages(view, along).height(axis, style)


def _passages(view: ManeuverView, along: Against) -> Passages:
    """Stretches belong on the axis of time; marks on both."""
    timed = along == "time"
    named = [
        Noted(mark.said, mark.time_s)
        for trace in (_marked(view.flown, along) if timed and view.against == "time" else ())
        for mark in trace.marks
        if mark.name != "end"
    ]
    return Passages(
        tuple(Passage(each.during, each.start_s, each.end_s) for each in view.stretches) if timed else (),
        tuple(Noted(each.words, each.time_s if timed else each.heading_change_deg) for each in view.noted),
        named,
    )


def plan_figure(
    view: ManeuverView, size: Size, style: Style, *, frame: Frame = "ground", north: bool = True
) -> str:
    """Seen from above, the entry heading up; points with their reference headings. Without ``north`` nothing
    in it tells where it was.
    """
    return plan_view(
        _marked(view.traces, view.against),
        size=size,
        style=style,
        up_deg_true=view.entry["heading_true_deg"],
        wind=Wind(view.wind.from_deg_true, view.wind.speed_kt),
        frame=frame,
        says=lambda mark: mark.said,
        ground=view.ground,
        under=(view.whole[f"{frame}_north_ft"], view.whole[f"{frame}_east_ft"]),
        north=north,
    )


def side_figure(view: ManeuverView, size: Size, style: Style) -> str:
    """Seen from the side."""
    return side_view(
        _marked(view.traces, view.against),
        size=size,
        style=style,
        up_deg_true=view.entry["heading_true_deg"],
    )


def horizon_figure(view: ManeuverView, size: Size, style: Style) -> str | None:
    """The nose against the horizon at each point; None where no point was passed."""
    glances, plans = [], []
    for trace in view.flown:
        plan = next((each for each in view.planned if each.part == trace.part), None)
        for mark in trace.marks:
            if mark.name.isdigit():
                glances.append(_glance(view, trace, mark))
                twin = None if plan is None else next((m for m in plan.marks if m.name == mark.name), None)
                plans.append(None if plan is None or twin is None else _glance(view, plan, twin))
    if not glances:
        return None
    return horizons(glances, size=size, style=style, posts_deg=_posts(view), plans=plans)


def seat_figure(view: ManeuverView, size: Size, style: Style) -> str:
    """The window of the fly-through, with a post at each reference heading."""
    posts = _posts(view) if has_nose_path(view) else [0.0]
    names = [(post, "entry" if post == 0.0 else f"{abs(post):.0f}°") for post in posts]
    noses = [
        off for trace in view.flown for off in (float(trace.nose_deg.min()), float(trace.nose_deg.max()))
    ]
    first = 1.0 if view.directions[0] == "right" else -1.0
    turned = [first * nose for nose in noses]
    return seat_window(size=size, style=style, posts=names, reach=(min(turned), max(turned)))


def _posts(view: ManeuverView) -> list[float]:
    """Where the reference headings stand on the horizon: entry, each quarter or half quarter, the end."""
    first = 1.0 if view.directions[0] == "right" else -1.0
    step = 45.0 if view.span_deg <= 180.0 else 90.0
    return [first * step * k for k in range(int(view.span_deg / step) + 1)]


def _glance(view: ManeuverView, trace: Trace, mark: Mark) -> Glance:
    """Banks and headings count to the right here, as they look from the seat."""
    first = 1.0 if view.directions[0] == "right" else -1.0
    return Glance(
        name=f"{mark.name}°",
        bank_deg=first * trace.sense * mark.values["bank_into_turn_deg"],
        pitch_from_level_deg=mark.values["pitch_from_level_deg"],
        nose_deg=first * trace.nose_of(mark.heading_change_deg),
        part=trace.part,
    )


def panels_of(view: ManeuverView, quantities: Sequence[str]) -> list[Panel]:
    """The panels of those of the quantities that are known of what was flown."""
    known = {
        panel.quantity: panel
        for panel in (
            BANK,
            PITCH,
            airspeed(_speeds(view), view.entry["airspeed_kt"]),
            replace(altitude(), title=f"Altitude from entry, ft ({view.altitude_name})"),
            LOAD,
            ROLL_RATE,
            PITCH_RATE,
            BALL,
            POWER,
            ENERGY,
        )
    }
    return [known[name] for name in quantities if name in known and view.shows(name)]


def main_quantities(view: ManeuverView) -> tuple[str, ...]:
    """What stands open: pitch too where there is no nose path to show it."""
    return MAIN if has_nose_path(view) else (MAIN[0], "pitch_from_level_deg", *MAIN[1:])


def more_quantities(view: ManeuverView) -> tuple[str, ...]:
    """What is folded, of that which is known."""
    return tuple(name for name in MORE if view.shows(name))


def _speeds(view: ManeuverView) -> str:
    """The kind of the airspeeds, and that of the plan's where it is another."""
    other = view.plan_speed_name
    return view.speed_name if other in (None, view.speed_name) else f"{view.speed_name} (plan {other})"


def reach(view: ManeuverView) -> tuple[float, float]:
    """From where to where lines and brackets run on the heading axis, as nose path and as profile [deg]."""
    places = [0.0, view.span_deg]
    for trace in view.flown:
        for column in (trace.nose_deg, trace.heading_change_deg):
            places += [float(column.min()), float(column.max())]
    for limit in view.limits:
        if limit.quantity == "heading_change_deg":
            trace = view.flown[(limit.half or 1) - 1]
            places += [trace.nose_of(end) for end in (limit.low, limit.high) if end is not None]
    return min(places), max(places)


def turns_said(view: ManeuverView) -> str:
    """Which way it turned: "right, then left", one way, how many turns where there are more, or nothing."""
    ways = view.directions
    if view.report.direction == "none":
        return ""
    if len(ways) == 1:
        return f"to the {ways[0]}"
    if len(set(ways)) == 1:
        return f"{len(ways)} turns to the {ways[0]}"
    return f"{ways[0]}, then {ways[1]}" if len(ways) == 2 else f"{len(ways)} turns, first {ways[0]}"


def _marked(traces: Sequence[Trace], against: Against) -> list[Trace]:
    """With the points that such a picture shows: by their degrees, or over time all in it but the entry."""
    return [
        replace(trace, marks=tuple(mark for mark in trace.marks if _shows(trace, mark, against)))
        for trace in traces
    ]


def _shows(trace: Trace, mark: Mark, against: Against) -> bool:
    """Whether a picture shows a point. One that comes after the maneuver's end has no place on its axis."""
    if against == "heading":
        return mark.name.isdigit()
    step = float(trace.time_s[1] - trace.time_s[0])  # the end itself lies between two steps
    return mark.name != "entry" and trace.time_s[0] - step <= mark.time_s <= trace.time_s[-1] + step
