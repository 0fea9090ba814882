"""What was truly flown of the course's maneuvers, from the engine's own state.

Edges, so that everyone means the same: maneuvers that turn begin at the roll-in (last row at 1.5 degrees of
bank or less before 8 degrees) and end at the wings-level rollout (2 degrees). Slow flight lies between
``slowed`` and ``recovers``: the first and the last time, before speed is back at cruise, that calibrated
airspeed is at most 3 kt above its median over the spell. A stall begins where the throttle is first closed
for it (an accelerated one at the roll-in) and ends where the descent of its recovery has stopped. It
``breaks`` when the angle of attack first exceeds the wing's critical angle (the lift table of the model),
or, never having exceeded it, where the recovery begins; it ``recovers`` when the angle is last exceeded. It
is complete when the wing came within 3 degrees of the critical angle, where a horn sounds. An emergency
descent begins and ends where sinking at more than 500 ft/min does.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np
from tests.flights.course import measure_spells, measure_turns
from tests.flights.course.procedures import Log
from tests.flights.course.sight import HORN_MARGIN, Plane
from tests.flights.course.track import Track
from tests.flights.truth import TruthManeuver

STALLS = ("power_off_stall", "power_on_stall", "accelerated_stall")
MEASURES = {
    "steep_spiral": measure_turns.circling,
    "turns_around_a_point": measure_turns.circling,
    "clearing_turns": measure_turns.clearing,
    "s_turns": measure_turns.s_turns,
    "eights_on_pylons": measure_turns.eights_on_pylons,
    "rectangular_course": measure_turns.rectangular_course,
    "power_off_180": measure_turns.power_off_180,
    "slow_flight": measure_spells.slow_flight,
    "emergency_descent": measure_spells.emergency_descent,
    **dict.fromkeys(STALLS, measure_spells.stall),
}


def measure_course(log: Log, track: Track, plane: Plane, goal: Any) -> TruthManeuver:
    """The truth of one maneuver from the pilot's account and the table."""
    how = MEASURES[log.kind]
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
