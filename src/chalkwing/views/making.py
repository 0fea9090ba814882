"""From an attempt to its view."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from chalkwing.debriefs import ManeuverReport, MarkReport, PointReport
from chalkwing.maneuvers import Standard
from chalkwing.trunk import Attempt, Debriefed
from chalkwing.units import DEGREE, FOOT, KNOT
from chalkwing.views.flown import Flight, Stretch, flown_traces, whole_path
from chalkwing.views.ground import ground_marks
from chalkwing.views.limits import Held
from chalkwing.views.planned import plan_is_indicated, planned_traces
from chalkwing.views.traces import Against, Mark, Trace
from chalkwing.views.view import ManeuverView, NotedMark, StretchMark, WindThen


def views_of(found: Debriefed) -> list[ManeuverView]:
    """A view of every attempt, in order."""
    return [
        view_of(attempt, standard=found.standard, marks=found.debrief.marks) for attempt in found.attempts
    ]


def view_of(attempt: Attempt, *, standard: Standard, marks: Sequence[MarkReport] = ()) -> ManeuverView:
    """Everything that pictures of one attempt need; what it shows at points is what the report says.

    ``marks`` made in flight are shown where they fall in it.
    """
    motion, report = attempt.flight.motion, attempt.report
    parts = _parts(attempt)
    flight = Flight.around(motion, parts[0].start, parts[-1].end)
    level_deg = flight.level_pitch / DEGREE
    start_s = parts[0].start + attempt.flight.shift
    entry_ft = motion.at("altitude", parts[0].start) / FOOT
    if report.points:
        entry_ft = report.points[0].altitude_ft.value
    points = [
        tuple(
            _mark(point, level_deg=level_deg, entry_ft=entry_ft, start_s=start_s)
            for point in report.points
            if point.half == k + 1
        )
        for k in range(len(parts))
    ]
    flown = flown_traces(flight, parts, points)
    span = _span(attempt)
    plan = attempt.stick.reference if attempt.stick is not None else None
    held = Held(attempt.definition, standard, attempt.assigned, report.points, flown, start_s)
    return ManeuverView(
        report=report,
        against=_against(attempt),
        span_deg=span,
        start_s=start_s,
        flown=tuple(flown),
        planned=tuple(
            planned_traces(
                plan,
                span_deg=span,
                entry_heading=motion.at("heading_true", parts[0].start),
                wind=_air(attempt),
            )
        ),
        limits=held.marks(report.elements),
        directions=tuple("right" if part.sign > 0 else "left" for part in parts),
        speed_name="KIAS" if motion.airspeed_kind == "indicated" else "KCAS",
        plan_speed_name=None if plan is None else ("KIAS" if plan_is_indicated(plan) else "KCAS"),
        altitude_name="altimeter" if motion.altitude_kind == "altimeter" else "GPS",
        level_pitch_deg=level_deg,
        entry={
            "airspeed_kt": _entry_speed(attempt, parts[0].start),
            "altitude_ft": entry_ft,
            "heading_true_deg": math.degrees(motion.at("heading_true", parts[0].start)) % 360.0,
            "heading_magnetic_deg": math.degrees(motion.at("heading_magnetic", parts[0].start)) % 360.0,
        },
        wind=_wind(attempt),
        whole=whole_path(flight, parts),
        ground=ground_marks(
            attempt.judgement.places,
            latitude=motion.at("latitude", parts[0].start),
            longitude=motion.at("longitude", parts[0].start),
        ),
        stretches=tuple(
            StretchMark(
                each.during,
                each.start + attempt.flight.shift - start_s,
                each.end + attempt.flight.shift - start_s,
            )
            for each in attempt.judgement.stretches
        ),
        noted=tuple(_noted(marks, report, flown, start_s)),
    )


def _noted(
    marks: Sequence[MarkReport], report: ManeuverReport, flown: Sequence[Trace], start_s: float
) -> Iterator[NotedMark]:
    """Marks made in flight that fall in one of the parts."""
    for mark in marks:
        if mark.maneuver != report.number:
            continue
        time = mark.t_s - start_s
        trace = next((each for each in flown if each.time_s[0] <= time <= each.time_s[-1]), None)
        if trace is not None:
            at = float(np.interp(time, trace.time_s, trace.heading_change_deg))
            yield NotedMark(mark.text, time, at)


def _parts(attempt: Attempt) -> list[Stretch]:
    """Each part from where its turn began to where it stopped, as judged; else as found."""
    definition, shift = attempt.definition, attempt.flight.shift
    found = []
    for k, part in enumerate(attempt.occurrence.parts):
        start, end = part.start, part.end
        for point in attempt.report.points:
            if point.half == k + 1:
                event = definition.point(point.name).where.event
                start = point.t_s - shift if event == "turn_starts" else start
                end = point.t_s - shift if event == "turn_stops" else end
        found.append(Stretch(start, max(end, start + 1.0), -1 if part.direction == "left" else 1))
    return found


def _mark(point: PointReport, *, level_deg: float, entry_ft: float, start_s: float) -> Mark:
    return Mark(
        name=point.name,
        heading_change_deg=point.heading_change_deg,
        time_s=point.t_s - start_s,
        told=point.name not in ("entry", "established", "rollout"),
        values={
            "bank_into_turn_deg": point.bank_into_turn_deg.value,
            "pitch_from_level_deg": point.pitch_deg.value - level_deg,
            "airspeed_kt": point.airspeed_kt.value,
            "altitude_change_ft": point.altitude_ft.value - entry_ft,
        },
    )


def _against(attempt: Attempt) -> Against:
    return "heading" if attempt.definition.progress == "heading_change" else "time"


def _span(attempt: Attempt) -> float:
    """How far one part turns [deg]; a plain half turn where the definition says nothing."""
    angle = attempt.definition.turns.angle / DEGREE
    return angle if angle > 0.0 else 180.0


def _entry_speed(attempt: Attempt, start: float) -> float:
    if attempt.report.points:
        return attempt.report.points[0].airspeed_kt.value
    return attempt.flight.motion.at("airspeed", start) / KNOT


def _air(attempt: Attempt) -> tuple[float, float]:
    """The velocity of the air toward north and east [m/s] in the middle of the maneuver."""
    motion = attempt.flight.motion
    middle = 0.5 * (attempt.occurrence.start + attempt.occurrence.end)
    return motion.at("wind_north", middle), motion.at("wind_east", middle)


def _wind(attempt: Attempt) -> WindThen:
    north, east = _air(attempt)
    comes_from = math.degrees(math.atan2(-east, -north)) % 360.0
    return WindThen(comes_from, math.hypot(north, east) / KNOT)
