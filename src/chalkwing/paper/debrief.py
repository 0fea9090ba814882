"""The debrief on paper: one page for the lesson, one for each maneuver."""

from __future__ import annotations

from dataclasses import dataclass

from chalkwing import words
from chalkwing.debriefs import Debrief, ManeuverReport, MarkReport, WindReport
from chalkwing.drawing.maneuver import (
    has_nose_path,
    horizon_figure,
    main_quantities,
    more_quantities,
    nose_figure,
    plan_figure,
    profile_figure,
    side_figure,
    turns_said,
)
from chalkwing.drawing.palette import ON_PAPER
from chalkwing.drawing.story import story_strip
from chalkwing.paper.printing import printed
from chalkwing.paper.size import A4, LETTER, PaperSize
from chalkwing.trunk import Debriefed
from chalkwing.units import POUND
from chalkwing.views import ManeuverView, views_of
from chalkwing.views.stall_speed import stall_speeds_said
from chalkwing.views.story import Story, story_of
from chalkwing.views.table import FactRow, Row, table_of

_FEW_FACTS = 12
_PLAN_SHARE = 0.42
"""Of the width, for the plan beside the element table."""


@dataclass(frozen=True, kw_only=True)
class Sheet(PaperSize):
    """Paper of a debrief, with the heights [CSS px] of the pictures on it."""

    nose: float
    profile: float
    plan: float
    margin: float = 12.0


SHEETS = {
    "a4": Sheet(size=A4, nose=212.0, profile=84.0, plan=216.0),
    "letter": Sheet(size=LETTER, nose=196.0, profile=76.0, plan=196.0),
}


def debrief_pdf(found: Debriefed, *, paper: str = "a4") -> bytes:
    """The whole lesson as one PDF; the same debrief gives the same bytes.

    Parameters
    ----------
    paper : str
        A key of :data:`SHEETS`.
    """
    sheet, debrief, story = SHEETS[paper], found.debrief, story_of(found)
    data = {
        "paper": sheet.plain(),
        "lesson": _lesson(debrief, story, sheet),
        "maneuvers": [
            _maneuver(view, debrief, story, sheet, number)
            for number, view in enumerate(views_of(found), start=1)
        ],
        "caution": debrief.caution,
    }
    return printed("debrief.typ", data)


# --- The lesson ---------------------------------------------------------------------------------------------


def _lesson(debrief: Debrief, story: Story, sheet: Sheet) -> dict[str, object]:
    return {
        "title": "Debrief",
        "when": _when(debrief),
        "airplane": debrief.airplane_title or "no airplane sheet given: a broad light airplane stands in",
        "standard": debrief.standard_title,
        "decides": debrief.decides,
        "story": story_strip(story, size=(sheet.inner, 190.0), style=ON_PAPER),
        "maneuvers": [
            {
                "number": str(number),
                "clock": story.clock(each.start_s),
                "counts": table_of(each).counts,
                "sentence": table_of(each).sentence,
            }
            for number, each in enumerate(debrief.maneuvers, start=1)
        ],
        "marks": [_mark(each, debrief, story) for each in debrief.marks],
        "who": story.people_said,
        "stall_speeds": list(stall_speeds_said(debrief)),
        "wind": [wind_said(row, story) for row in debrief.wind],
        "notes": words.noted(debrief),
    }


def _mark(mark: MarkReport, debrief: Debrief, story: Story) -> list[str]:
    """A mark made in flight: when, what, and the maneuver that it belongs to."""
    where = ""
    # By its number in the lesson: of a lesson printed in part its maneuver may not be there.
    one = next((each for each in debrief.maneuvers if each.number == mark.maneuver), None)
    if one is not None:
        where = f"{'in' if mark.inside else 'near'} {one.number} {one.title.lower()}"
    return [words.clock(story.start_utc, mark.t_s), mark.text, where]


def wind_said(row: WindReport, story: Story) -> list[str]:
    """When, how high, from where and how strong, with 95 % ranges."""
    return [
        f"{story.clock(row.start_s)} to {story.clock(row.end_s)}",
        f"about {words.number(round(row.altitude_ft, -2), 0)} ft",
        words.wind_from(row),
        words.wind_speed(row),
    ]


def _when(debrief: Debrief) -> str:
    said = []
    for recording in debrief.recordings:
        day = f", {recording.start_utc[:10]}" if recording.start_utc else ""
        said.append(f"{recording.source}{day}, {words.lasting(recording.duration_s)}")
    return "; ".join(said)


# --- One maneuver -------------------------------------------------------------------------------------------


def _maneuver(
    view: ManeuverView, debrief: Debrief, story: Story, sheet: Sheet, number: int
) -> dict[str, object]:
    """Everything the template prints: it lays out and decides nothing."""
    report, table = view.report, table_of(view.report)
    first, last = (words.clock(story.start_utc, each) for each in (report.start_s, report.end_s))
    return {
        "title": f"{number}  {report.title}",
        "turns": turns_said(view),
        "when": f"{first} to {last}, {words.lasting(report.end_s - report.start_s)}",
        "sentence": table.sentence,
        "pictures": _pictures(view, sheet),
        "rows": [_row(row) for row in table.rows],
        "halved": any(row.which for row in table.rows),
        "sources": table.sources,
        "notes": list(table.notes),
        "plan": plan_told(report),
        "planned": report.reference is not None and report.reference["isa_deviation_c"] is not None,
        "leading": [_leading(row) for row in table.leading],
        "day": list(stall_speeds_said(debrief, report)),
        "facts": [_fact(row) for row in table.facts],
        "told": [
            *(f"{row.title}: {row.told}" for row in table.rows if row.told),
            *story.said_in(report.number),
        ],
    }


def _pictures(view: ManeuverView, sheet: Sheet) -> dict[str, object]:
    wide = sheet.inner
    names = list(main_quantities(view))
    table, leads = table_of(view.report), bool(view.report.leading_facts)
    free = 0.0 if has_nose_path(view) else sheet.nose
    # What goes by time leaves the nose path's room to its many facts, or where they are few to profiles.
    if free and not leads and len(table.facts) <= _FEW_FACTS:
        names += list(more_quantities(view))[:2]
    bare = not leads and not any(element.verdict for element in view.report.elements)
    share = _PLAN_SHARE * (1.3 if bare else 1.0)
    across = share * wide
    tall = sheet.profile * len(names) + 20.0
    return {
        "nose": nose_figure(view, (wide, sheet.nose), ON_PAPER) if has_nose_path(view) else None,
        "profiles": profile_figure(view, names, (wide, tall), ON_PAPER),
        "plan": plan_figure(view, (across, sheet.plan * (1.3 if bare else 1.0)), ON_PAPER),
        "side": side_figure(view, (across, 0.6 * sheet.plan), ON_PAPER),
        "horizon": horizon_figure(view, (wide, 84.0), ON_PAPER),
        "share": f"{100.0 * share:.1f}",
    }


def _row(row: Row) -> dict[str, str]:
    value = f"{row.value} {row.doubt}" if row.doubt_matters and row.doubt else row.value
    return {
        "title": row.title,
        "which": row.which.removesuffix(" half"),
        "value": value,
        "limit": row.limit,
        "margin": row.margin,
        "verdict": row.verdict,
        "word": row.word,
    }


def _fact(row: FactRow) -> list[str]:
    return [row.title, " · ".join(row.values)]


def _leading(row: FactRow) -> dict[str, str]:
    """With its ± at once, and what belongs to it: how much height a recovery took is the lesson."""
    values = zip(row.values, row.doubts, strict=True)
    return {
        "title": row.title,
        "value": " · ".join(f"{value} {doubt}".strip() for value, doubt in values),
        "remark": row.remark,
    }


def plan_told(report: ManeuverReport) -> str:
    """For what the plan was solved, or why there is none."""
    plan = report.reference
    if plan is None:
        return ""
    mass = f"{float(plan['mass_kg'] or 0.0) / POUND:,.0f} lb ({plan['mass_from']})"
    if plan["isa_deviation_c"] is None:
        return f"No plan beside it: {plan['note']}"
    warmth = f"air {float(plan['isa_deviation_c']):+.0f} °C from standard ({plan['temperature_from']})"
    return f"Plan solved for {mass}, {warmth}." + (
        f" {words.sentence(str(plan['note']))}" if plan["note"] else ""
    )
