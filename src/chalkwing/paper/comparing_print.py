"""Attempts laid over each other on paper: two in one picture each, three to six as small ones."""

from __future__ import annotations

from collections.abc import Sequence

from chalkwing.debriefs import CAUTION
from chalkwing.drawing.comparing import Compared
from chalkwing.drawing.maneuver import has_nose_path
from chalkwing.drawing.palette import ON_PAPER
from chalkwing.drawing.plan_view import Frame
from chalkwing.errors import RefusedRequest
from chalkwing.paper.comparing import FEWEST, MOST
from chalkwing.paper.debrief import SHEETS, Sheet
from chalkwing.paper.printing import printed
from chalkwing.views.comparing import Attempt, ElementLine, FactLine, element_lines, fact_lines, is_mirrored
from chalkwing.views.table import FactRow, Row

_PLAN_SHARE, _GUTTER = 0.4, 14.0
"""Of the width, for the paths beside the element table; between two small pictures [CSS px]."""


def comparing_pdf(attempts: Sequence[Attempt], *, paper: str = "a4", about: str = "") -> bytes:
    """Attempts at one kind of maneuver, two to six, as a PDF; the same attempts give the same bytes.

    Parameters
    ----------
    paper
        A key of `chalkwing.paper.debrief.SHEETS`.
    about
        Whose attempts they are, or of what; stands under the heading.

    Raises
    ------
    RefusedRequest
        Too few or too many attempts, or attempts at different maneuvers.
    """
    _refuse(attempts)
    sheet, compared = SHEETS[paper], Compared.of(attempts)
    over = len(attempts) == FEWEST
    report = attempts[0].view.report
    data = {
        "paper": sheet.plain(),
        "title": f"{report.title}: attempts over each other",
        "about": about,
        "names": [each.name for each in attempts],
        "mirrored": is_mirrored(attempts),
        "over": _over(compared, sheet) if over else None,
        "small": [] if over else [_small(compared, sheet, k) for k in range(len(attempts))],
        "elements": [_element(line) for line in element_lines(attempts)],
        "facts": [_fact(line) for line in fact_lines(attempts)],
        "caution": CAUTION,
    }
    return printed("comparing.typ", data)


def _refuse(attempts: Sequence[Attempt]) -> None:
    if not FEWEST <= len(attempts) <= MOST:
        raise RefusedRequest(
            f"{len(attempts)} attempts cannot be laid over each other.",
            next_step=f"Choose {FEWEST} to {MOST}.",
        )
    if len({each.view.report.kind for each in attempts}) > 1:
        raise RefusedRequest(
            "attempts at different maneuvers do not lie over each other.", next_step="Choose one kind."
        )


def _over(compared: Compared, sheet: Sheet) -> dict[str, object]:
    """Two attempts in one picture each; the second is a double line, which gray tells from the first."""
    wide, across = sheet.inner, _PLAN_SHARE * sheet.inner
    by_ground = any(attempt.view.ground for attempt in compared.attempts)
    frame: Frame = "ground" if by_ground or not has_nose_path(compared.attempts[0].view) else "air"
    return {
        "nose": compared.nose((wide, sheet.nose), ON_PAPER) if compared.turns else None,
        "profiles": compared.profiles((wide, _tall(compared, sheet.profile)), ON_PAPER),
        "plan": compared.plan((across, sheet.plan), ON_PAPER, frame=frame),
        "plan_said": "From one entry, over the ground"
        if frame == "ground"
        else "From one entry, through the air",
        "share": f"{100.0 * _PLAN_SHARE:.1f}",
    }


def _tall(compared: Compared, panel: float) -> float:
    return panel * len(compared.panels) + 20.0


def _small(compared: Compared, sheet: Sheet, k: int) -> dict[str, object]:
    """One attempt at the scale of all, in half the width."""
    wide = 0.5 * (sheet.inner - _GUTTER)
    return {
        "name": compared.attempts[k].name,
        "nose": compared.nose((wide, 0.8 * sheet.nose), ON_PAPER, only=k) if compared.turns else None,
        "profiles": compared.profiles((wide, _tall(compared, 0.85 * sheet.profile)), ON_PAPER, only=k),
    }


def _element(line: ElementLine) -> dict[str, object]:
    return {
        "title": line.title,
        "which": line.which,
        "limit": line.limit,
        "cells": [None if cell is None else _held(cell, told=not line.limit) for cell in line.cells],
    }


def _held(cell: Row, *, told: bool) -> dict[str, str]:
    """A value with its verdict; with its own limit where those of the attempts differ."""
    doubt = f" {cell.doubt}" if cell.doubt_matters and cell.doubt else ""
    return {
        "value": f"{cell.value}{doubt}",
        "limit": cell.limit if told else "",
        "verdict": cell.verdict,
        "word": cell.word,
    }


def _fact(line: FactLine) -> dict[str, object]:
    return {"title": line.title, "cells": [_told(cell) for cell in line.cells]}


def _told(cell: FactRow | None) -> str:
    if cell is None:
        return "no value"
    return ", ".join(
        f"{value} {doubt}".strip() for value, doubt in zip(cell.values, cell.doubts, strict=True)
    )
