"""What a debrief holds, and its JSON: the stable contract, schema 1, in pilot units.

Field names are the keys of the JSON. Keys may be added, never renamed. Times are seconds from the earliest
row of the recordings given. ``docs/quantities.md`` explains every name.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, Literal

SCHEMA = 1
DECIMALS = 6
"""Decimals kept in JSON: far below any sd."""
CAUTION = "A training aid. The airplane's flight manual, local rules and the licensed instructor prevail."

Verdict = Literal["met", "not_met", "cannot_tell"]


@dataclass(frozen=True)
class Quantity:
    """A value with its sd; ``recorded`` is the nearest value in the file, where there is one."""

    value: float
    sd: float
    origin: str
    kind: str | None = None
    recorded: float | None = None


@dataclass(frozen=True)
class ChannelReport:
    """A recorded channel: how often it brought a new value [1/s], and its sd as recorded [SI], if known."""

    origin: str
    rate_hz: float
    sd: float | None


@dataclass(frozen=True)
class RecordingReport:
    """One recording as it was read."""

    source: str
    reader: str
    start_utc: str | None
    start_s: float
    duration_s: float
    rows: int
    sha256: str
    channels: Mapping[str, ChannelReport]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class FlightReport:
    """One flight; ``airspeed_kind`` and ``altitude_kind`` say what its speeds and altitudes are."""

    start_s: float
    end_s: float
    airspeed_kind: str
    altitude_kind: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class WindReport:
    """The mean wind over a stretch, at its mean altitude."""

    start_s: float
    end_s: float
    altitude_ft: float
    from_deg_true: float
    from_deg_true_sd: float
    speed_kt: float
    speed_kt_sd: float


@dataclass(frozen=True)
class StallSpeedReport:
    """The day's stall speed of one flight in one configuration: calibrated, at 1 g, beside the sheet's.

    Without a stall ``stall_speed_kcas`` is null; it lies below ``slowest_flown_kcas``, borne in slow flight.
    """

    flight: int
    configuration: str
    stalls: int
    stall_speed_kcas: float | None
    stall_speed_kcas_sd: float | None
    spread_kt: float | None
    slowest_flown_kcas: float | None
    slowest_flown_kcas_sd: float | None
    sheet_stall_speed_kcas: float | None
    difference_kt: float | None
    difference_kt_sd: float | None
    at_mass_kg: float | None
    note: str


@dataclass(frozen=True)
class PointReport:
    """What was flown at one point of one half."""

    half: int
    name: str
    title: str
    heading_change_deg: float
    t_s: float
    t_s_sd: float
    bank_into_turn_deg: Quantity
    pitch_deg: Quantity
    airspeed_kt: Quantity
    altitude_ft: Quantity
    reference: Mapping[str, float | str] | None = None


@dataclass(frozen=True)
class ExcursionReport:
    """How a held limit was left: worst value in the element's unit, how often, and for how long."""

    worst: float
    count: int
    outside_s: float
    longest_s: float


@dataclass(frozen=True)
class ElementReport:
    """One element held against a limit, or one fact (``limit`` and ``verdict`` None).

    ``between`` is how far a held deviation went to either side, in ``unit``; ``value`` is the worse of both.
    """

    id: str
    title: str
    half: int | None
    unit: str
    value: float | None
    sd: float | None
    origin: str | None
    limit: tuple[float | None, float | None] | None
    between: tuple[float, float] | None
    excursions: ExcursionReport | None
    probability_met: float | None
    verdict: Verdict | None
    reason: str | None
    document: str | None
    edition: str | None
    task: str | None
    note: str | None


@dataclass(frozen=True)
class CauseReport:
    """Why an element missed: an action, its leg, and the share of the miss it explains."""

    action: str
    leg: str
    effect: float
    unit: str
    share: float
    say: str


@dataclass(frozen=True)
class GroundReport:
    """What on the ground a maneuver was judged by: a ``point``, ``pylon``, ``line``, ``side`` or ``runway``.

    ``halves`` are the parts flown by it. A line begins at its place and runs ``length_ft`` in its direction;
    ``place_ft_sd`` is that of a place along its less certain axis, of a line across it. ``origin`` is
    ``given`` or ``derived`` from the flight.
    """

    what: str
    halves: tuple[int, ...]
    latitude_deg: float
    longitude_deg: float
    place_ft_sd: float
    origin: str
    direction_deg_true: float | None = None
    direction_deg_true_sd: float | None = None
    length_ft: float | None = None
    elevation_ft: float | None = None
    elevation_ft_sd: float | None = None


@dataclass(frozen=True)
class AssignedReport:
    """What was assigned for a maneuver; null where nothing was. The heading is magnetic."""

    altitude_ft: float | None
    airspeed_kt: float | None
    heading_deg_magnetic: float | None
    bank_deg: float | None


@dataclass(frozen=True)
class FoundReport:
    """What was found by itself, before a person corrected it."""

    kind: str
    title: str
    direction: str
    start_s: float
    end_s: float
    probability: float
    status: str


@dataclass(frozen=True)
class DroppedReport:
    """A maneuver that was found and that a person dropped; ``correction`` counts from 1."""

    found: FoundReport
    flight: int
    correction: int


@dataclass(frozen=True)
class CorrectionReport:
    """One correction: what it says, who made it, when and why, and whether it fits this recording.

    ``maneuver`` is the number of the one it stands for, from 1; ``written`` is its table in a file.
    """

    act: str
    said: str
    by: str
    when: str | None
    why: str | None
    fits: bool
    reason: str | None
    maneuver: int | None
    written: Mapping[str, Any]


@dataclass(frozen=True)
class MarkReport:
    """A mark made in flight, and the number of the maneuver it falls in or, ``inside`` false, the nearest."""

    t_s: float
    text: str
    by: str
    maneuver: int | None
    inside: bool
    off_s: float


@dataclass(frozen=True)
class StretchReport:
    """Whose lesson a stretch of the recordings was, and who flew in it."""

    start_s: float
    end_s: float
    student: str | None
    instructor: str | None
    flown_by: str | None
    by: str


@dataclass(frozen=True)
class PhaseReport:
    """One phase of a flight: ground, takeoff, climb, cruise, descent, pattern, landing or touch_and_go."""

    kind: str
    flight: int
    start_s: float
    end_s: float


@dataclass(frozen=True)
class ManeuverReport:
    """One maneuver found, with what was judged of it. ``flight`` counts from 1.

    ``reference`` says for which mass and air the plan beside the points was solved, or why there is none.
    ``corrected`` tells that a person added, renamed or trimmed it; ``found`` is then what was found by
    itself, null for one that was added. ``corrections`` are the numbers of those that touched it, from 1.
    ``number`` is its own in the lesson, from 1; ``part_word`` what a part of it is called. ``leading_facts``
    are the ids of the facts that are told first.
    """

    kind: str
    title: str
    flight: int
    direction: str
    start_s: float
    end_s: float
    start_s_sd: float
    end_s_sd: float
    probability: float
    status: str
    flown_by: str
    corrected: bool
    points: tuple[PointReport, ...]
    elements: tuple[ElementReport, ...]
    reference: Mapping[str, str | float | None] | None = None
    causes: tuple[CauseReport, ...] = ()
    reference_ground: tuple[GroundReport, ...] = ()
    assigned: AssignedReport | None = None
    student: str | None = None
    instructor: str | None = None
    found: FoundReport | None = None
    corrections: tuple[int, ...] = ()
    number: int = 0
    part_word: str = "half"
    leading_facts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Debrief:
    """Everything a page, a print or a record needs of one set of recordings."""

    recordings: tuple[RecordingReport, ...]
    decides: str
    airplane: str | None
    airplane_title: str | None
    standard: str
    standard_title: str
    flights: tuple[FlightReport, ...]
    wind: tuple[WindReport, ...]
    maneuvers: tuple[ManeuverReport, ...]
    notes: tuple[str, ...] = ()
    stall_speeds: tuple[StallSpeedReport, ...] = ()
    stretches: tuple[StretchReport, ...] = ()
    phases: tuple[PhaseReport, ...] = ()
    marks: tuple[MarkReport, ...] = ()
    corrections: tuple[CorrectionReport, ...] = ()
    dropped: tuple[DroppedReport, ...] = ()
    caution: str = CAUTION
    schema: int = SCHEMA

    def to_json(self, *, indent: int | None = 2) -> str:
        """The contract as text; every number is finite, what is not known is null."""
        plain = as_plain(self)
        ordered = {"schema": plain.pop("schema"), **plain}
        return json.dumps(ordered, indent=indent, ensure_ascii=False, allow_nan=False)


def as_plain(thing: Any) -> Any:
    """Dataclasses, mappings and tuples as plain objects and lists; numbers rounded, None if not finite."""
    if is_dataclass(thing):
        return {field.name: as_plain(getattr(thing, field.name)) for field in fields(thing)}
    if isinstance(thing, Mapping):
        return {key: as_plain(value) for key, value in thing.items()}
    if isinstance(thing, tuple | list):
        return [as_plain(each) for each in thing]
    if isinstance(thing, bool | int | str) or thing is None:
        return thing
    return round(float(thing), DECIMALS) if math.isfinite(thing) else None
