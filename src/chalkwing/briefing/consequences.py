"""Margins, cautions and what-if of a Reference, as a briefing says them."""

from __future__ import annotations

from chalkwing.briefing.report import CautionReport, FactReport, WhatIfRow
from chalkwing.briefing.telling import fact_report
from chalkwing.reference import Reference
from chalkwing.reference.floor import Floor
from chalkwing.reference.margins import Caution, margins

WHAT_IF_NOTE = (
    "Bank, nose and throttle as planned, flown again with one change. Control forces are not modeled."
)
_EFFECTS = ("exit_altitude_ft", "exit_airspeed_kt", "exit_heading_deg", "top_height_ft", "top_speed_kt")


def margins_of(
    reference: Reference, *, floor: Floor | None, airspace: str, night: bool
) -> tuple[tuple[FactReport, ...], tuple[CautionReport, ...]]:
    """Margins in pilot units, and what comes near a limit; empty for a maneuver of no path."""
    if not len(reference.time):
        return (), ()
    found = margins(reference, floor=floor, airspace=airspace, night=night)
    return (
        tuple(fact_report(each.name, each.title, each.value, each.unit) for each in found.facts),
        tuple(_caution(each) for each in found.cautions),
    )


def _caution(caution: Caution) -> CautionReport:
    value, limit = (
        fact_report(caution.name, "", number, caution.unit) for number in (caution.value, caution.limit)
    )
    return CautionReport(caution.name, caution.text, value.value, limit.value, value.unit, caution.source)


def what_if_of(reference: Reference) -> tuple[WhatIfRow, ...]:
    """What changes when the plan does, by re-flying it; empty for what cannot be re-flown."""
    if reference.schedule is None:
        return ()
    from chalkwing.reference.what_if import what_if

    rows = [(each.title, each.reason, each.pilot_units()) for each in what_if(reference)]
    return tuple(
        WhatIfRow(title, {name: _number(row[name]) for name in _EFFECTS}, reason)
        for title, reason, row in rows
    )


def _number(value: object) -> float | None:
    return value if isinstance(value, float) else None
