"""The technique notes as a booklet: a chapter a maneuver, and in it a page or so an airplane."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from chalkwing.briefing.report import Briefing, LimitReport, PlanPoint
from chalkwing.briefing.technique import AirplaneCases, Case, Chapter, TechniqueNotes
from chalkwing.briefing.words import (
    band,
    fact,
    point_name,
    sentence,
    short_title,
    speed_unit,
)
from chalkwing.drawing import (
    LOAD,
    ON_PAPER,
    PITCH,
    Mark,
    Panel,
    Trace,
    airspeed,
    altitude,
    nose_path,
    plan_view,
    profiles,
)
from chalkwing.drawing.palette import Style
from chalkwing.drawing.profiles import BANK
from chalkwing.maneuvers.schema import Advice
from chalkwing.paper.card import MARGINS
from chalkwing.paper.pictures import drawn_against, is_by_the_ground, span_of, traces_of
from chalkwing.paper.printing import printed
from chalkwing.paper.size import A4, LETTER, PaperSize
from chalkwing.words import number

_FACTS = 10
"""Numbers of a solution that are printed; the JSON has all."""
_LEVEL_FT = 20.0


@dataclass(frozen=True, kw_only=True)
class BookletPaper(PaperSize):
    """Paper of the booklet, with the height [CSS px] of a nose path on it."""

    nose: float
    margin: float = 14.0


PAPERS = {"a4": BookletPaper(size=A4, nose=190.0), "letter": BookletPaper(size=LETTER, nose=178.0)}


def technique_pdf(notes: TechniqueNotes, *, paper: str = "a4") -> bytes:
    """The booklet as PDF; the same notes give the same bytes.

    Parameters
    ----------
    paper : str
        A key of :data:`PAPERS`.
    """
    sheet = PAPERS[paper]
    data = {
        "paper": sheet.plain(),
        "school": notes.school,
        "edition": notes.edition,
        "standard": notes.standard_title,
        "chapters": [_chapter(chapter, sheet) for chapter in notes.chapters],
        "caution": notes.caution,
    }
    return printed("technique.typ", data)


def _chapter(chapter: Chapter, sheet: BookletPaper) -> dict[str, object]:
    """Everything the template prints, as text: it lays out and decides nothing."""
    return {
        "title": chapter.title,
        "summary": chapter.summary,
        "school_words": [
            [name, list(lines)]
            for name, lines in (
                ("Purpose", [chapter.purpose] if chapter.purpose else []),
                ("Entry", chapter.entry),
                ("Clearing", chapter.clearing),
                ("Calls", chapter.calls),
            )
            if lines
        ],
        "legs": [
            {
                "title": leg.title,
                "say": [each.text for each in leg.technique],
                "source": _sources(leg.technique),
            }
            for leg in chapter.legs
        ],
        "points": [[each.title, "; ".join(each.expected)] for each in chapter.points],
        "limits": [[short_title(each.title), band(each), _document(each)] for each in chapter.limits],
        "source": chapter.source,
        "errors": [
            [
                each.title,
                each.shows,
                each.correction,
            ]
            for each in chapter.errors
        ],
        "airplanes": [_airplane(each, sheet) for each in chapter.airplanes],
    }


def _sources(advice: Sequence[Advice]) -> str:
    return "; ".join(dict.fromkeys(each.source for each in advice))


def _document(limit: LimitReport) -> str:
    return ", ".join(part for part in (limit.document, limit.edition, limit.task) if part)


# --- One airplane -------------------------------------------------------------------------------------------


def _airplane(airplane: AirplaneCases, sheet: BookletPaper) -> dict[str, object]:
    planned = [each for each in airplane.cases if each.briefing is not None]
    refused = [each for each in airplane.cases if each.refusal]
    alike = not planned and len({each.refusal for each in refused}) == 1
    reasons = dict.fromkeys(
        f"{'' if alike else f'{each.name}: '}{sentence(each.refusal or '')}" for each in refused
    )
    generic = " A generic airplane of no type: not for flight." if airplane.generic else ""
    return {
        "name": f"{airplane.registration}, {airplane.title}",
        "remark": generic.strip(),
        "head": [f"{each.name}\n{number(each.mass_lb)} lb" for each in planned],
        "rows": list(_rows([each.briefing for each in planned if each.briefing is not None])),
        "refused": list(reasons),
        "pictures": _pictures(planned, sheet) if planned else None,
        "notes": _notes(planned),
    }


def _notes(planned: Sequence[Case]) -> list[str]:
    """Notes of the plans, each once; what holds for some cases only says for which."""
    told: dict[str, list[str]] = {}
    for each in planned:
        for note in each.briefing.notes if each.briefing else ():
            told.setdefault(note, []).append(each.name)
    return [
        note if len(names) == len(planned) else f"{'; '.join(names)}: {note}"
        for note, names in told.items()
        if not note.startswith(("A generic airplane", "No line given"))
    ]


def _rows(briefings: Sequence[Briefing]) -> Iterator[dict[str, object]]:
    """Entry, what to expect at each point, margins and numbers: a row each, a column a case."""
    if not briefings:
        return
    unit = speed_unit(briefings[0])
    yield _row("Entry speed", [f"{number(each.entry.airspeed_kt)} {unit}" for each in briefings], "entry")
    yield _row("Entry altitude", [f"{number(each.entry.altitude_ft)} ft" for each in briefings], "entry")
    if any(each.entry.throttle_percent is not None for each in briefings):
        yield _row("Power", [_power(each) for each in briefings], "entry")
    for k, point in _first_part(briefings[0]):
        if point.name != "entry":
            cells = [_at(each, k) for each in briefings]
            yield _row(point_name(briefings[0], point), cells, f"nose from level · {unit} · ft from entry")
    yield from _facts(briefings)


def _row(name: str, cells: Sequence[str], group: str) -> dict[str, object]:
    return {"name": name, "cells": list(cells), "group": group}


def _power(briefing: Briefing) -> str:
    throttle = briefing.entry.throttle_percent
    if throttle is None:
        return "–"
    return "idle" if throttle < 1.0 else f"{number(throttle)} % throttle"


def _first_part(briefing: Briefing) -> list[tuple[int, PlanPoint]]:
    """The points of the first part, each with its place; later parts mirror or repeat it."""
    first = briefing.points[0].part if briefing.points else 0
    return [(k, point) for k, point in enumerate(briefing.points) if point.part == first]


def _at(briefing: Briefing, k: int) -> str:
    if k >= len(briefing.points):
        return "–"
    point = briefing.points[k]
    return (
        f"{number(point.pitch_from_level_deg, signed=True)}° · {number(point.airspeed_kt)} · "
        f"{number(point.altitude_change_ft, signed=True)}"
    )


def _facts(briefings: Sequence[Briefing]) -> Iterator[dict[str, object]]:
    """Margins by their short names, then the solution's own numbers."""
    for name, title in MARGINS.items():
        cells = [_fact_of(each, name, margins=True) for each in briefings]
        if any(cell != "–" for cell in cells):
            yield _row(title, cells, "margins")
    for shown in briefings[0].facts[:_FACTS]:
        cells = [_fact_of(each, shown.name, margins=False) for each in briefings]
        yield _row(sentence(shown.title).rstrip("."), cells, "numbers")


def _fact_of(briefing: Briefing, name: str, *, margins: bool) -> str:
    rows = briefing.margins if margins else briefing.facts
    return next((fact(row) for row in rows if row.name == name), "–")


# --- Pictures: the first case in the first chalk, the last in the second: light and cool, heavy and hot


def _pictures(planned: Sequence[Case], sheet: BookletPaper) -> dict[str, object] | None:
    ends = [planned[0], planned[-1]] if len(planned) > 1 else [planned[0]]
    plans = [each.briefing for each in ends if each.briefing is not None]
    traces = [
        replace(trace, chalk=chalk, name=each.name, marks=_untold(trace))
        for chalk, (each, plan) in enumerate(zip(ends, plans, strict=True), start=1)
        for trace in traces_of(plan)
    ]
    if not traces:
        return None
    wide, left = sheet.inner, 0.66 * sheet.inner
    shown, style = plans[0], replace(ON_PAPER, doubled=True)
    by_ground, against = is_by_the_ground(shown), drawn_against(shown)
    panels = _panels(shown, traces, timed=against == "time")
    tall = 78.0 * len(panels) + 24.0
    return {
        "nose": None if by_ground or against == "time" else _nose(shown, traces, (wide, sheet.nose), style),
        "profiles": profiles(
            traces, panels, size=(left, tall), style=style, span_deg=span_of(shown), against=against
        ),
        "plan": plan_view(
            traces,
            size=(wide - left - 8.0, tall),
            style=style,
            up_deg_true=None,
            wind=None,
            says=lambda mark: "",
        ),
    }


def _untold(trace: Trace) -> tuple[Mark, ...]:
    """Its points without numbers, which stand in the table for every case."""
    return tuple(replace(mark, told=False) for mark in trace.marks)


def _nose(shown: Briefing, traces: Sequence[Trace], size: tuple[float, float], style: Style) -> str:
    return nose_path(traces, size=size, style=style, span_deg=span_of(shown))


def _panels(shown: Briefing, traces: Sequence[Trace], *, timed: bool) -> list[Panel]:
    """Bank, pitch where there is no nose path, airspeed, and altitude or the load that is carried level."""
    changed = max(float(abs(trace.values["altitude_change_ft"]).max()) for trace in traces)
    speeds = replace(airspeed(speed_unit(shown), shown.entry.airspeed_kt), level=None, level_name="")
    return [BANK, *([PITCH] if timed else []), speeds, LOAD if changed < _LEVEL_FT else altitude()]
