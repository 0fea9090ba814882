"""What a briefing holds, and its JSON: schema 1, in pilot units.

Field names are the keys of the JSON. Keys may be added, never renamed. ``docs/quantities.md`` explains every
name. Airspeeds are indicated where the airplane sheet has a correction table, else calibrated;
``airspeed_kind`` says which. Altitudes are what the altimeter shows.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from chalkwing.debriefs import CAUTION, as_plain

SCHEMA = 1


@dataclass(frozen=True)
class Lesson:
    """Whose card it is; free text, and all of it may be left blank."""

    student: str = ""
    instructor: str = ""
    registration: str = ""
    date: str = ""
    remark: str = ""


@dataclass(frozen=True)
class EntryReport:
    """How to begin. ``throttle_percent`` is of full throttle, set before entry and left unless told."""

    airspeed_kt: float
    altitude_ft: float
    height_above_terrain_ft: float
    throttle_percent: float | None
    heading_deg_magnetic: float | None
    pitch_deg: float | None


@dataclass(frozen=True)
class HeadingRow:
    """Reference headings of one part, in its direction of turn, by the name of the point."""

    part: int
    direction: str
    headings_deg_magnetic: Mapping[str, float]


@dataclass(frozen=True)
class PlanPoint:
    """What to expect at one point of one part."""

    part: int
    name: str
    title: str
    heading_change_deg: float
    heading_deg_magnetic: float | None
    t_s: float
    bank_into_turn_deg: float
    pitch_deg: float
    pitch_from_level_deg: float
    airspeed_kt: float
    altitude_change_ft: float
    altitude_ft: float
    load_factor_g: float
    margin_over_stall_kt: float
    margin_over_accelerated_stall_kt: float


@dataclass(frozen=True)
class FactReport:
    """A number of the solution or of its margins, in the pilot unit that ``unit`` names."""

    name: str
    title: str
    value: float
    unit: str
    source: str | None = None


@dataclass(frozen=True)
class CautionReport:
    """A value that comes near a limit, and who sets that; ``text`` says both. Never that a rule is broken."""

    name: str
    text: str
    value: float
    limit: float
    unit: str
    source: str


@dataclass(frozen=True)
class WhatIfRow:
    """One change of what was planned, and what it does: effects by name with unit, value less the plan's."""

    change: str
    effects: Mapping[str, float | None]
    note: str | None = None


@dataclass(frozen=True)
class LimitReport:
    """A published limit that the flight will be held against, or a figure that the standard names."""

    title: str
    limit: tuple[float | None, float | None]
    unit: str
    document: str
    edition: str
    task: str | None


@dataclass(frozen=True)
class WindAtEntry:
    """The wind at entry altitude; ``from_deg_true`` is where it comes from."""

    from_deg_true: float
    speed_kt: float


@dataclass(frozen=True)
class ConditionsReport:
    """The day, as the plan assumes it."""

    elevation_ft: float
    terrain_ft: float
    altimeter_hpa: float
    altimeter_inhg: float
    isa_deviation_c: float
    temperature_at_entry_c: float
    density_altitude_at_entry_ft: float
    wind_at_entry: WindAtEntry
    variation_deg: float
    ceiling_ft_agl: float | None
    visibility_m: float | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class PathReport:
    """The planned path: columns of one length over ``t_s``, for the pictures; ``part`` counts from 1."""

    part: tuple[int, ...]
    t_s: tuple[float, ...]
    heading_change_deg: tuple[float, ...]
    bank_into_turn_deg: tuple[float, ...]
    pitch_from_level_deg: tuple[float, ...]
    airspeed_kt: tuple[float, ...]
    altitude_change_ft: tuple[float, ...]
    load_factor_g: tuple[float, ...]
    throttle_percent: tuple[float, ...]
    ground_north_ft: tuple[float, ...]
    ground_east_ft: tuple[float, ...]


@dataclass(frozen=True)
class SchoolTexts:
    """What the school wants done and said: plain lines, as the school wrote them."""

    school: str
    clearing: tuple[str, ...]
    calls: tuple[str, ...]
    checklist: tuple[str, ...]


@dataclass(frozen=True)
class Briefing:
    """Everything a card, a terminal or a page needs to brief one maneuver."""

    kind: str
    title: str
    summary: str
    direction: str
    airplane: str
    airplane_title: str
    airplane_generic: bool
    mass_lb: float
    mass_kg: float
    airspeed_kind: str
    lesson: Lesson
    school: SchoolTexts
    conditions: ConditionsReport
    settings: Mapping[str, float | str | bool]
    entry: EntryReport
    floor_agl_ft: float | None
    floor_ft: float | None
    floor_for: str
    headings: tuple[HeadingRow, ...]
    points: tuple[PlanPoint, ...]
    facts: tuple[FactReport, ...]
    margins: tuple[FactReport, ...]
    cautions: tuple[CautionReport, ...]
    what_if: tuple[WhatIfRow, ...]
    what_if_note: str
    standard: str
    standard_title: str
    limits: tuple[LimitReport, ...]
    path: PathReport | None
    turn_angle_deg: float | None
    part_directions: tuple[str, ...]
    notes: tuple[str, ...]
    caution: str = CAUTION
    schema: int = SCHEMA

    def plain(self) -> dict[str, object]:
        """Plain objects and lists, ``schema`` first."""
        told = as_plain(self)
        return {"schema": told.pop("schema"), **told}

    def to_json(self, *, indent: int | None = 2) -> str:
        """The contract as text; every number is finite, what is not known is null."""
        return briefings_json((self,), indent=indent) if indent is None else _dump(self.plain(), indent)


def briefings_json(briefings: tuple[Briefing, ...], *, indent: int | None = 2) -> str:
    """Several briefings as one JSON list."""
    return _dump([briefing.plain() for briefing in briefings], indent)


def _dump(thing: object, indent: int | None) -> str:
    return json.dumps(thing, indent=indent, ensure_ascii=False, allow_nan=False)
