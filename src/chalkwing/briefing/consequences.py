"""Margins, cautions and what-if of a Reference, as a briefing says them."""

from __future__ import annotations

from chalkwing.briefing.report import FactReport, WhatIfRow
from chalkwing.reference import Reference

WHAT_IF_NOTE = (
    "Bank, nose and throttle as planned, flown again with one change. Control forces are not modeled."
)
_EFFECTS = ("exit_altitude_ft", "exit_airspeed_kt", "exit_heading_deg", "top_height_ft", "top_speed_kt")


def margins_of(
    reference: Reference, *, floor: float | None
) -> tuple[tuple[FactReport, ...], tuple[str, ...]]:
    """Margins in pilot units, and the cautions in words; ``floor`` above the highest terrain [m]."""
    return (), ()


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
