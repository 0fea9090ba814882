"""The kneeboard card: a flying side with few words and large numbers, and a ground side to brief from."""

from __future__ import annotations

import re
from collections.abc import Sequence

from chalkwing.briefing import Briefing
from chalkwing.briefing.report import WhatIfRow
from chalkwing.briefing.words import (
    EFFECTS_NOTE,
    band,
    day_line,
    effect,
    effect_title,
    fact,
    floor,
    heading,
    parts_alike,
    point_name,
    sentence,
    short_title,
    speed_unit,
    turns,
)
from chalkwing.paper.pictures import (
    is_by_the_ground,
    nose_height,
    nose_picture,
    plan_picture,
    profile_picture,
)
from chalkwing.paper.printing import printed
from chalkwing.paper.size import A5, HALF_LETTER, PaperSize
from chalkwing.reference.margins import PREVAIL
from chalkwing.words import number

_POINT = 0.75
"""Points in a CSS px."""
_PROFILES = 204.0
"""Height [CSS px] of the profiles and of the plan beside them."""
MARGINS = {
    "lowest_height": "Lowest, above the highest terrain",
    "room_above_floor": "Room above the floor",
    "least_entry_altitude": "Lowest entry for that floor",
    "highest_altitude": "Highest, on the altimeter",
    "room_to_ceiling": "From there to the ceiling",
    "least_over_stall": "Least over the stall",
    "least_over_warning": "Least over the stall warning",
    "room_to_maneuvering_speed": "Below VA",
    "room_to_limit_load": "Below the limit load",
}
"""The margins that are told in few words, and their names."""
_SHARES = ((1.15, 1.15), (1.0, 1.0), (0.96, 0.88), (0.88, 0.8), (0.8, 0.72))
"""Shares of their usual heights at which nose path and profiles are tried; the nose path gives way last."""


SIZES = {"a5": PaperSize(size=A5, margin=8.0), "half-letter": PaperSize(size=HALF_LETTER, margin=8.0)}


def card_pdf(briefings: Sequence[Briefing], *, paper: str = "a5") -> bytes:
    """The cards as one PDF, two sides each, in the order given; the same briefings give the same bytes.

    Parameters
    ----------
    paper : str
        A key of :data:`SIZES`.
    """
    size = SIZES[paper]
    data = {
        "paper": size.plain(),
        "cards": [_card(briefing, size) for briefing in briefings],
    }
    return printed("card.typ", data)


def _card(briefing: Briefing, size: PaperSize) -> dict[str, object]:
    """Everything the template prints, as text: it lays out and decides nothing."""
    lesson = briefing.lesson
    return {
        "title": briefing.title,
        "turns": turns(briefing),
        "airplane": lesson.registration or briefing.airplane_title,
        "airplane_line": _airplane_line(briefing),
        "people": " · ".join(part for part in (lesson.student, lesson.instructor, lesson.date) if part),
        "remark": lesson.remark,
        "entry": _entry(briefing),
        "floor": dict(zip(("value", "why"), floor(briefing), strict=True)),
        "school": briefing.school.school,
        "clearing": list(briefing.school.clearing),
        "calls": list(briefing.school.calls),
        "checklist": list(briefing.school.checklist),
        "headings": _headings(briefing),
        "caution": briefing.caution,
        "ground": _ground(briefing, size),
    }


def _airplane_line(briefing: Briefing) -> str:
    title = f"{briefing.airplane_title}, " if briefing.lesson.registration else ""
    generic = " (generic: not for flight)" if briefing.airplane_generic else ""
    return f"{title}{number(briefing.mass_lb)} lb ({number(briefing.mass_kg)} kg){generic}"


def _entry(briefing: Briefing) -> list[dict[str, str]]:
    entry = briefing.entry
    cells = [
        {"name": "Speed", "value": number(entry.airspeed_kt), "unit": speed_unit(briefing)},
        {
            "name": "Altitude",
            "value": number(entry.altitude_ft),
            "unit": "ft",
        },
    ]
    if entry.throttle_percent is not None:
        idle = entry.throttle_percent < 1.0
        value, unit = ("idle", "") if idle else (number(entry.throttle_percent), "% throttle")
        cells.append({"name": "Power", "value": value, "unit": unit})
    line = entry.heading_deg_magnetic
    cells.append({"name": "Line", "value": heading(line) if line is not None else "____", "unit": "mag"})
    return cells


def _headings(briefing: Briefing) -> dict[str, object]:
    """Rows by point, one column for each part; blank to be written in where no line was chosen.

    Where no point is a heading, what is expected at each point stands in the place of headings.
    """
    rows = list(briefing.headings)
    if rows and all(len(row.headings_deg_magnetic) > 2 for row in rows):
        names = dict.fromkeys(name for row in rows for name in row.headings_deg_magnetic)
        return {
            "columns": [row.direction for row in rows],
            "rows": [
                [_point(name), *(heading(row.headings_deg_magnetic.get(name)) for row in rows)]
                for name in names
            ],
        }
    points = [p.name for p in briefing.points if p.name in ("entry", "end") or p.name.isdigit()]
    if len(points) > 2:
        return {
            "columns": [turns(briefing)],
            "rows": [[_point(name), "____"] for name in dict.fromkeys(points)],
        }
    return _expected(briefing)


def _expected(briefing: Briefing) -> dict[str, object]:
    alike = parts_alike(briefing)
    shown = [p for p in briefing.points if not alike or p.part == briefing.points[0].part]
    return {
        "columns": ["bank", speed_unit(briefing), "altitude"],
        "rows": [
            [
                point_name(briefing, p),
                f"{number(p.bank_into_turn_deg)}°",
                number(p.airspeed_kt),
                number(p.altitude_ft),
            ]
            for p in shown
        ],
    }


def _point(name: str) -> str:
    return {"entry": "Entry", "end": "Roll out"}.get(name, f"{name}°")


# --- The ground side ----------------------------------------------------------------------------------------


def _ground(briefing: Briefing, size: PaperSize) -> dict[str, object]:
    return {
        "day": day_line(briefing),
        "pictures": _pictures(briefing, size),
        "points": _points_table(briefing),
        "facts": [[sentence(each.title), fact(each)] for each in briefing.facts],
        "margins": _margins(briefing),
        "cautions": [each.text.replace(PREVAIL, "").strip() for each in briefing.cautions],
        "what_if": _what_if(briefing),
        "what_if_note": f"{EFFECTS_NOTE} {briefing.what_if_note}",
        "limits": [[short_title(row.title), band(row)] for row in briefing.limits],
        "standard": _held_against(briefing),
        "notes": list(briefing.notes),
    }


def _margins(briefing: Briefing) -> list[list[str]]:
    """The margins that a card has room for; the terminal and the JSON have all."""
    known = {each.name: each for each in briefing.margins}
    return [[title, fact(known[name])] for name, title in MARGINS.items() if name in known]


def _held_against(briefing: Briefing) -> str:
    """Standard, document and edition, with the task's code once."""
    tasks = dict.fromkeys(row.task for row in briefing.limits if row.task)
    return ", ".join([briefing.standard_title, *tasks])


def _pictures(briefing: Briefing, size: PaperSize) -> list[dict[str, object]]:
    """The pictures, tall to short: the template takes the tallest that leave room for what is written."""
    return [] if briefing.path is None else [_at_size(briefing, size, *shares) for shares in _SHARES]


def _at_size(briefing: Briefing, size: PaperSize, of_nose: float, of_profiles: float) -> dict[str, object]:
    """One set of pictures, how much of the height it takes [pt] and how the lower two share the width."""
    wide = size.inner
    left = (0.5 if is_by_the_ground(briefing) else 0.66) * wide
    nose = of_nose * nose_height(briefing)
    above = nose_picture(briefing, (wide, nose))
    usual = of_profiles * _PROFILES
    below = usual if above is not None else usual + nose
    beside = below if is_by_the_ground(briefing) else usual
    return {
        "nose": above,
        "profiles": profile_picture(briefing, (left, below)),
        "plan": plan_picture(briefing, (wide - left - 8.0, beside)),
        "left": f"{left / wide:.4f}",
        "height": _POINT * (below + (nose if above is not None else 0.0)),
    }


def _points_table(briefing: Briefing) -> dict[str, object]:
    """One row a point; the second half only where its numbers differ from the first's."""
    alike = parts_alike(briefing)
    first = briefing.points[0].part if briefing.points else 0
    rows = [
        [
            point_name(briefing, point),
            f"{number(point.t_s)} s",
            f"{number(point.bank_into_turn_deg)}°",
            f"{number(point.pitch_from_level_deg, signed=True)}°",
            number(point.airspeed_kt),
            number(point.altitude_change_ft, signed=True),
            number(point.load_factor_g, 2),
            number(point.margin_over_accelerated_stall_kt),
        ]
        for point in briefing.points
        if not alike or point.part == first
    ]
    head = ["", "time", "bank", "nose", speed_unit(briefing), "ft", "g", "over stall"]
    return {"head": head, "rows": rows, "every": "each half" if alike else ""}


def _weight(row: WhatIfRow) -> float:
    """How large a change's effect is, in the tolerances of the 180° point: 100 ft, 10 kt and 10°."""
    units = {"exit_altitude_ft": 100.0, "exit_airspeed_kt": 10.0, "exit_heading_deg": 10.0}
    sizes = [abs(value) / units[name] for name, value in row.effects.items() if name in units and value]
    return max(sizes, default=0.0)


def _what_if(briefing: Briefing) -> dict[str, object]:
    """What matters most first; changes that change nothing stand in the terminal only."""
    names = list(dict.fromkeys(name for row in briefing.what_if for name in row.effects))
    rows = [
        [row.change, *(effect(row.effects.get(name), name) for name in names)]
        for row in sorted(briefing.what_if, key=_weight, reverse=True)
    ]
    return {
        "head": [effect_title(name) for name in names],
        "rows": [row for row in rows if any(re.search("[1-9–]", cell) for cell in row[1:])],
    }
