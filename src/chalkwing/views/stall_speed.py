"""The stall speed of the day in words, beside the airplane sheet's."""

from __future__ import annotations

from collections.abc import Iterator

from chalkwing import words
from chalkwing.debriefs import Debrief, ManeuverReport, StallSpeedReport
from chalkwing.units import POUND

_CONFIGURATIONS = {"clean": "flaps up", "flaps": "flaps out", "unknown": "flaps not recorded, taken as up"}


def stall_speeds_said(debrief: Debrief, report: ManeuverReport | None = None) -> Iterator[str]:
    """A sentence for each flight and configuration; with ``report`` only where its flight has stalls.

    Calibrated airspeed at 1 g; ± is the 95 % range.
    """
    several = len({each.flight for each in debrief.stall_speeds}) > 1
    for each in debrief.stall_speeds:
        if report is None or _belongs(each, report):
            named = f"Flight {each.flight}, " if several and report is None else ""
            yield words.sentence(named + _said(each))


def _belongs(row: StallSpeedReport, report: ManeuverReport) -> bool:
    return row.stalls > 0 and row.flight == report.flight and report.kind.endswith("_stall")


def _said(row: StallSpeedReport) -> str:
    flaps = _CONFIGURATIONS[row.configuration]
    if row.stall_speed_kcas is None:
        slow, sd = row.slowest_flown_kcas or 0.0, row.slowest_flown_kcas_sd
        return f"{flaps}: no stall was flown; it lies below {_speed(slow, sd)} KCAS, flown at 1 g"
    number = "1 stall" if row.stalls == 1 else f"{row.stalls} stalls"
    said = f"{flaps}, {number}: {_speed(row.stall_speed_kcas, row.stall_speed_kcas_sd)} KCAS at 1 g"
    if row.sheet_stall_speed_kcas is not None and row.at_mass_kg is not None:
        pounds = words.number(row.at_mass_kg / POUND, 0)
        said += f"; the airplane sheet's {row.sheet_stall_speed_kcas:.0f} KCAS at {pounds} lb"
    if row.difference_kt is not None:
        doubt = "" if row.difference_kt_sd is None else f" ±{words.SURE * row.difference_kt_sd:.0f}"
        said += f", so {words.number(row.difference_kt, 0, signed=True)}{doubt} kt from it"
    return said


def _speed(value: float, sd: float | None) -> str:
    return f"{value:.0f}" if sd is None else f"{value:.0f} ±{words.SURE * sd:.0f}"
