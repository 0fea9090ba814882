"""The lesson in order of time: whose stretch it was, maneuvers in a line each, marks, what was dropped."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from rich.table import Table
from rich.text import Text

from chalkwing import words
from chalkwing.debriefs import Debrief, FoundReport, ManeuverReport, PhaseReport, StretchReport

_UP_HIGH = ("climb", "cruise", "descent")
_WORTH_TELLING = 120.0
"""Climbs, cruises and descents shorter than this [s] lie between maneuvers and tell nobody anything."""


def in_zone(start_utc: str | None, zone: str | None) -> str | None:
    """The time at 0 s, told in ``zone``: every time of day counted from it is told there too."""
    if start_utc is None or zone is None:
        return start_utc
    from chalkwing.find.corrections.moments import read_zone

    return datetime.fromisoformat(start_utc).astimezone(read_zone(zone)).isoformat()


def story_table(debrief: Debrief, start: str | None) -> Table:
    """Time beside what happened; lines that belong to a moment inside a maneuver are set back."""
    table = Table(box=None, show_header=False, padding=(0, 1, 0, 0), pad_edge=False, show_edge=False)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for seconds, _, said in sorted(_events(debrief), key=lambda event: event[:2]):
        table.add_row(Text(words.clock(start, seconds), style="dim"), Text(said))
    return table


def _events(debrief: Debrief) -> Iterator[tuple[float, int, str]]:
    """Time [s], rank among what comes at one time, and the words."""
    for number, flight in enumerate(debrief.flights, start=1):
        named = f"flight {number}" if len(debrief.flights) > 1 else "the flight"
        yield flight.start_s, 0, f"{named} begins"
        yield flight.end_s, 9, f"{named} ends, {words.lasting(flight.end_s - flight.start_s)}"
    for phase in debrief.phases:
        if phase.kind not in _UP_HIGH or phase.end_s - phase.start_s >= _WORTH_TELLING:
            yield phase.start_s, 1, _phase_said(phase)
    for stretch in debrief.stretches:
        yield stretch.start_s, 1, _stretch_said(stretch)
    for maneuver in debrief.maneuvers:
        yield maneuver.start_s, 2, _maneuver_said(maneuver)
    for mark in debrief.marks:
        near = "" if mark.inside or mark.maneuver is None else f", {mark.off_s:.0f} s off {mark.maneuver}"
        yield mark.t_s, 3, f"   mark: {mark.text}{near}"
    for dropped in debrief.dropped:
        by = debrief.corrections[dropped.correction - 1].by
        yield dropped.found.start_s, 4, f"   dropped by {by}: {found_said(dropped.found)}"


def _phase_said(phase: PhaseReport) -> str:
    return f"{phase.kind.replace('_', ' ')}, {words.lasting(phase.end_s - phase.start_s)}"


def _stretch_said(stretch: StretchReport) -> str:
    people = [f"student {stretch.student}"] if stretch.student else []
    people += [f"instructor {stretch.instructor}"] if stretch.instructor else []
    flown = f"flown by {_flyer(stretch.flown_by)}" if stretch.flown_by else ""
    until = words.lasting(stretch.end_s - stretch.start_s)
    return f"for {until}: {', '.join([*people, *([flown] if flown else [])])}"


def _flyer(flown_by: str) -> str:
    return {"shared": "both", "unknown": "nobody knows whom"}.get(flown_by, f"the {flown_by}")


def _maneuver_said(maneuver: ManeuverReport) -> str:
    way = "" if maneuver.direction == "none" else f", {maneuver.direction}"
    broken = "" if maneuver.status == "complete" else ", broken off"
    flown_by = {"unknown": "", "student": ""}.get(
        maneuver.flown_by, f", flown by {_flyer(maneuver.flown_by)}"
    )
    return f"{maneuver.number}  {maneuver.title}{way}{broken}{flown_by}: {_verdicts(maneuver)}"


def _verdicts(maneuver: ManeuverReport) -> str:
    """What missed and what nobody can tell, in a few words; no score."""
    judged = [each for each in maneuver.elements if each.verdict is not None]
    if not judged:
        return "nothing published to hold it against"
    said = []
    for verdict, opening in (("not_met", "missed"), ("cannot_tell", "cannot tell")):
        titles = dict.fromkeys(words.table_title(each).lower() for each in judged if each.verdict == verdict)
        said += [f"{opening} {words.listed(list(titles))}"] if titles else []
    return "; ".join(said) or "all met"


def found_said(found: FoundReport) -> str:
    """What was found by itself, in a line."""
    way = "" if found.direction == "none" else f" to the {found.direction}"
    lasted = words.lasting(found.end_s - found.start_s)
    return f"{found.title.lower()}{way}, {lasted}, probability {found.probability:.2f}"


def correction_lines(debrief: Debrief, maneuver: ManeuverReport, start: str | None) -> Iterator[str]:
    """What a person changed of this maneuver, whose it was, what was assigned, and marks in it."""
    for number in maneuver.corrections:
        made = debrief.corrections[number - 1]
        if made.act in ("add", "rename", "trim"):
            word = {"add": "Added", "rename": "Renamed", "trim": "Trimmed"}[made.act]
            yield f"{word} by {made.by}{f': {made.why}' if made.why else ''}."
    if maneuver.found is not None:
        found = maneuver.found
        yield f"Found by itself at {words.clock(start, found.start_s)}: {found_said(found)}."
    people = [f"student {maneuver.student}"] if maneuver.student else []
    people += [f"instructor {maneuver.instructor}"] if maneuver.instructor else []
    if people:
        said = ", ".join(people)
        yield f"{said[0].upper()}{said[1:]}."
    if maneuver.assigned is not None:
        yield f"Assigned: {_assigned_said(maneuver)}."
    for mark in debrief.marks:
        if mark.maneuver == maneuver.number and mark.inside:
            yield f"Mark at {words.clock(start, mark.t_s)}: {mark.text}."


def _assigned_said(maneuver: ManeuverReport) -> str:
    assigned = maneuver.assigned
    assert assigned is not None  # asked before
    parts = [
        f"{assigned.altitude_ft:,.0f} ft" if assigned.altitude_ft is not None else "",
        f"{assigned.airspeed_kt:.0f} kt" if assigned.airspeed_kt is not None else "",
        f"heading {assigned.heading_deg_magnetic:03.0f}° magnetic"
        if assigned.heading_deg_magnetic is not None
        else "",
        f"{assigned.bank_deg:.0f}° of bank" if assigned.bank_deg is not None else "",
    ]
    return ", ".join(part for part in parts if part)


def unfit_lines(debrief: Debrief) -> list[str]:
    """The corrections that fit nothing here any more."""
    return [f"{each.said} (by {each.by}): {each.reason}" for each in debrief.corrections if not each.fits]
