"""Before the flight: one function from airplane, day and maneuver to everything that is briefed."""

from __future__ import annotations

from chalkwing.briefing.day import conditions_from, read_conditions, read_day
from chalkwing.briefing.morning import Morning, brief_morning, read_morning
from chalkwing.briefing.planning import Briefed, brief, briefable, briefed
from chalkwing.briefing.report import Briefing, Lesson, PlanPoint, briefings_json
from chalkwing.briefing.school import School, generic_school, read_school

__all__ = [
    "Briefed",
    "Briefing",
    "Lesson",
    "Morning",
    "PlanPoint",
    "School",
    "brief",
    "brief_morning",
    "briefable",
    "briefed",
    "briefings_json",
    "conditions_from",
    "generic_school",
    "read_conditions",
    "read_day",
    "read_morning",
    "read_school",
]
