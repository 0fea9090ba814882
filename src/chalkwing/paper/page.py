"""The maneuver page's body as HTML: the same for the server's page and for the file that is handed out."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import jinja2
from markupsafe import Markup

from chalkwing import words
from chalkwing.drawing.maneuver import (
    has_nose_path,
    main_quantities,
    more_quantities,
    nose_figure,
    panels_of,
    plan_figure,
    profile_figure,
    room_along,
    seat_figure,
    side_figure,
    turns_said,
)
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.profiles import Panel
from chalkwing.paper.debrief import plan_told
from chalkwing.views import Against, ManeuverView
from chalkwing.views.data import view_data
from chalkwing.views.story import Story
from chalkwing.views.table import table_of

WIDE, HALF, NARROW = 620.0, 480.0, 360.0
"""Widths [px] at which letters keep 16 px: beside the table, two abreast, and on a phone."""
_PANEL, _PANEL_ALONE, _AXIS = 96.0, 112.0, 24.0
"""Heights [px] of a profile, of one with no nose path above it, and of the axis's names."""


@dataclass(frozen=True)
class Pictures:
    """One picture in both widths; the style sheet shows the one that fits."""

    wide: Markup
    narrow: Markup


def flight_controls() -> Markup:
    """The buttons below a pilot's horizon, which the script of the fly-through wakes."""
    return Markup(environment().get_template("flight_controls.html").render())


def maneuver_body(view: ManeuverView, *, number: int, story: Story, marks: bool = False) -> Markup:
    """Everything between a page's heading bar and its caution.

    Parameters
    ----------
    number
        Of the maneuver in its lesson, from 1.
    story
        Gives the clock.
    marks
        Whether marks made in flight are told at its head: where no script lists them among the notes.
    """
    template = environment().get_template("maneuver_body.html")
    table, report = table_of(view.report), view.report
    return Markup(
        template.render(
            number=number,
            report=report,
            flight_controls=flight_controls(),
            turns=turns_said(view),
            marks=story.said_in(report.number) if marks else (),
            when=f"{words.clock(story.start_utc, report.start_s)} to "
            f"{words.clock(story.start_utc, report.end_s)}, "
            f"{words.lasting(report.end_s - report.start_s)}",
            table=table,
            halved=any(row.which for row in table.rows),
            plan_told=plan_told(report),
            nose=_nose(view),
            profiles=_profiles(view, main_quantities(view)),
            more=_profiles(view, more_quantities(view)),
            ground=two_widths(lambda wide: plan_figure(view, _square(wide), ON_PAGE), HALF),
            air=two_widths(lambda wide: plan_figure(view, _square(wide), ON_PAGE, frame="air"), HALF),
            side=two_widths(lambda wide: side_figure(view, (wide, 240.0), ON_PAGE), HALF),
            seat=Markup(seat_figure(view, (WIDE, 280.0), ON_PAGE)),
            data=_data(view, story),
        )
    )


def _nose(view: ManeuverView) -> Pictures | None:
    if not has_nose_path(view):
        return None
    return two_widths(lambda wide: nose_figure(view, (wide, 270.0 if wide == WIDE else 260.0), ON_PAGE))


def _profiles(view: ManeuverView, names: Sequence[str]) -> dict[Against, Pictures]:
    """Against heading change and against time, where a maneuver turns; else against time alone."""
    if not names:
        return {}
    tall = (_PANEL if has_nose_path(view) else _PANEL_ALONE) * len(names) + _AXIS
    ways: tuple[Against, ...] = ("heading", "time") if view.against == "heading" else ("time",)

    def figure(wide: float, against: Against) -> str:
        along = room_along(view, wide, ON_PAGE)
        return profile_figure(view, names, (wide, tall + along), ON_PAGE, against=against)

    def drawn(against: Against) -> Pictures:
        return two_widths(lambda wide: figure(wide, against))

    return {against: drawn(against) for against in ways}


def _square(wide: float) -> tuple[float, float]:
    return wide, 0.8 * wide


def two_widths(draw: Callable[[float], str], wide: float = WIDE) -> Pictures:
    """A picture drawn for a page and for a phone."""
    return Pictures(Markup(draw(wide)), Markup(draw(NARROW)))


def _data(view: ManeuverView, story: Story) -> Markup:
    """The columns for the script."""
    told = view_data(view, start_utc=story.start_utc)
    told["quantities"] = quantities_told(panels_of(view, tuple(told["columns"])))
    return as_script_data(told)


def quantities_told(panels: Sequence[Panel]) -> dict[str, dict[str, object]]:
    """How the cursor's values of each panel are written."""
    return {
        panel.quantity: {
            "title": panel.title.split(",", maxsplit=1)[0].split(" (", maxsplit=1)[0],
            "suffix": _UNITS.get(panel.quantity, panel.suffix),
            "decimals": max(panel.decimals, 1) if panel.least < 10.0 else panel.decimals,
            "signed": panel.signed,
        }
        for panel in panels
    }


def as_script_data(told: object) -> Markup:
    """Plain data for an element that a script reads; no text in it can end that element."""
    text = json.dumps(told, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))


_UNITS = {"airspeed_kt": " kt", "altitude_change_ft": " ft", "specific_energy_change_ft": " ft"}
"""What follows a number of a panel whose title carries the unit."""


@cache
def environment() -> jinja2.Environment:
    """The templates of this room."""
    return jinja2.Environment(
        loader=jinja2.PackageLoader("chalkwing.paper"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
