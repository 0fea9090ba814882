"""The body of the page that lays attempts over each other."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from chalkwing.drawing.comparing import Compared
from chalkwing.drawing.maneuver import has_nose_path, panels_of
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.plan_view import Frame
from chalkwing.paper.page import (
    HALF,
    Pictures,
    as_script_data,
    environment,
    quantities_told,
    two_widths,
)
from chalkwing.views.comparing import Attempt, element_lines, fact_lines, is_mirrored
from chalkwing.views.data import traces_data

_PANEL, _AXIS = 96.0, 24.0
_SMALL = 340.0
"""Width [px] of one of several small pictures."""
FEWEST, MOST = 2, 6
"""Attempts that can be laid beside each other: more than six are no picture any more."""


def comparing_body(attempts: Sequence[Attempt]) -> Markup:
    """Everything of that page between its heading and its caution, ``FEWEST`` to ``MOST`` attempts."""
    compared = Compared.of(attempts)
    over = len(attempts) == FEWEST
    template = environment().get_template("comparing_body.html")
    return Markup(
        template.render(
            attempts=attempts,
            over=over,
            mirrored=is_mirrored(attempts),
            turns=compared.turns,
            nose=two_widths(lambda wide: compared.nose((wide, 270.0), ON_PAGE))
            if over and compared.turns
            else None,
            profiles=two_widths(lambda wide: compared.profiles((wide, _tall(compared)), ON_PAGE))
            if over
            else None,
            small=[] if over else [_small(compared, k) for k in range(len(attempts))],
            plan=_plan(compared) if over else None,
            lines=element_lines(attempts),
            facts=fact_lines(attempts),
            data=_data(compared) if over else None,
        )
    )


def _tall(compared: Compared) -> float:
    return _PANEL * len(compared.panels) + _AXIS


def _small(compared: Compared, k: int) -> tuple[str, Markup | None, Markup]:
    """One attempt's name, nose path and profiles, at the scale of all."""
    nose = Markup(compared.nose((_SMALL, 250.0), ON_PAGE, only=k)) if compared.turns else None
    drawn = Markup(compared.profiles((_SMALL, _tall(compared)), ON_PAGE, only=k))
    return compared.attempts[k].name, nose, drawn


def _plan(compared: Compared) -> Pictures:
    """Through the air where the shape is the pilot's own, over the ground where that is what is flown."""
    by_ground = any(attempt.view.ground for attempt in compared.attempts)
    frame: Frame = "ground" if by_ground or not has_nose_path(compared.attempts[0].view) else "air"
    return two_widths(lambda wide: compared.plan((wide, 0.8 * wide), ON_PAGE, frame=frame), HALF)


def _data(compared: Compared) -> Markup:
    """What the cursor follows: the first attempt, the second beside it at the same place."""
    first = compared.attempts[0]
    flown, beside = compared.traces
    known = panels_of(first.view, first.view.quantities)
    return as_script_data(
        {
            "start_s": round(first.view.start_s, 3),
            "clock": None,
            "against": "heading" if compared.turns else "time",
            "first_turn": 1 if first.turns_first == "right" else -1,
            "entry": {},
            "ground": [],
            "beside": "other",
            "quantities": quantities_told(known),
            **traces_data(flown, beside, first=1),
        }
    )
