"""The meeting pack of a common set: plain words first, then a page for each maneuver to talk over."""

from __future__ import annotations

from collections.abc import Mapping

from chalkwing import words
from chalkwing.book.agreement import Leniency
from chalkwing.book.common import saying
from chalkwing.book.common.results import ElementResult, ManeuverResult, Measured, Result
from chalkwing.book.common.shown import view_from
from chalkwing.debriefs import CAUTION
from chalkwing.drawing.common import common_horizon, common_nose, common_plan, common_profiles
from chalkwing.drawing.leniency import Lies, leniency_picture, spread_picture
from chalkwing.drawing.maneuver import turns_said
from chalkwing.drawing.palette import ON_PAPER
from chalkwing.paper.debrief import SHEETS, Sheet
from chalkwing.paper.printing import printed

MOST = 6
"""Maneuvers that have a page of their own unless asked otherwise: what a meeting of two hours bears."""
_ELEMENTS = 6
_PLAN_SHARE = 0.36


def pack_pdf(told: Result, shown: Mapping[int, bytes], *, paper: str = "a4", most: int = MOST) -> bytes:
    """The pack as PDF; the same result gives the same bytes.

    Parameters
    ----------
    told
        What the set tells; its names are printed if it has any. Nobody's own marks are told apart.
    shown
        What is shown of each maneuver, by its number in the set.
    paper
        A key of `chalkwing.paper.debrief.SHEETS`.
    most
        How many of the maneuvers whose marks differ most have a page.
    """
    sheet = SHEETS[paper]
    chosen = told.most_different[:most]
    data = {
        "paper": sheet.plain(),
        "front": _front(told, sheet, chosen),
        "maneuvers": [_maneuver(each, shown[each.number], told, sheet) for each in chosen],
        "caution": CAUTION,
    }
    return printed("pack.typ", data)


def _front(told: Result, sheet: Sheet, chosen: tuple[ManeuverResult, ...]) -> dict[str, object]:
    closed = f", closed {told.closed[:10]}" if told.closed else ", still open"
    return {
        "title": told.name,
        "said": told.agreement.said,
        "most": saying.most_different_said(told.most_different) or "",
        "when": f"{told.instructors} instructors, {told.finished} finished; {len(told.maneuvers)} maneuvers; "
        f"made {told.made[:10]}{closed}",
        "spread": _spread(told, sheet),
        "spread_said": _spread_said(told),
        "leniency": [f"{each.instructor} {each.said}." for each in told.leniency],
        "elements": [saying.element_said(each) for each in told.elements[:_ELEMENTS]],
        "beside": saying.beside_said(told.beside, told.scale),
        "alpha": saying.alpha_said(told.agreement) or "",
        "how": saying.HOW_TO_READ,
        "knew": told.knew,
        "scale": [[step.word, step.means] for step in told.scale.steps],
        "standard": told.scale.standard_place,
        "rows": [_row(each, chosen) for each in told.maneuvers],
    }


def _spread(told: Result, sheet: Sheet) -> str | None:
    if told.leniency:
        return leniency_picture([_lies(each) for each in told.leniency], width=sheet.inner, style=ON_PAPER)
    return spread_picture(told.spread, None, width=sheet.inner, style=ON_PAPER) if told.spread else None


def _spread_said(told: Result) -> str:
    if told.leniency:
        return "How far each marks above or below the others for the same maneuvers, with the 90 % interval."
    if told.spread:
        return (
            "How far all mark above or below each other for the same maneuvers: "
            "one ring an instructor, without names."
        )
    return "Too few instructors or marks to tell how far they lie apart without naming anybody."


def _lies(each: Leniency) -> Lies:
    return Lies(each.instructor, each.above, each.low, each.high)


def _row(each: ManeuverResult, chosen: tuple[ManeuverResult, ...]) -> dict[str, object]:
    apart = each.apart
    return {
        "title": f"{each.number}  {each.title}",
        "counts": list(each.counts),
        "apart": ""
        if apart is None
        else "alike"
        if apart == 0
        else f"{apart} step{'' if apart == 1 else 's'}",
        "verdict": each.verdict,
        "word": words.WORDS[each.verdict],
        "has_page": each in chosen,
    }


def _maneuver(each: ManeuverResult, shown: bytes, told: Result, sheet: Sheet) -> dict[str, object]:
    view = view_from(shown)
    beside = (1.0 - _PLAN_SHARE) * sheet.inner
    return {
        "title": f"{each.number}  {each.title}",
        "turns": turns_said(view),
        "counts": list(each.counts),
        "by": [f"{name}: {step}" for name, step in each.by],
        "nose": common_nose(view, (sheet.inner, 0.9 * sheet.nose), ON_PAPER),
        "profiles": common_profiles(view, sheet.inner, ON_PAPER),
        "plan": common_plan(view, (_PLAN_SHARE * sheet.inner, 0.95 * sheet.plan), ON_PAPER),
        "horizon": common_horizon(view, (sheet.inner, 84.0), ON_PAPER),
        "share": f"{100.0 * beside / sheet.inner:.1f}",
        "elements": [_element(element, told) for element in each.elements],
        "questions": saying.questions(each, told.scale),
    }


def _element(element: ElementResult, told: Result) -> dict[str, object]:
    parted = len(element.measured) > 1
    return {
        "title": element.title,
        "measured": [_measured(one, parted=parted) for one in element.measured],
        "marked": saying.counts_said(element.counts, told.scale),
    }


def _measured(one: Measured, *, parted: bool) -> dict[str, str]:
    value = "not measured" if one.value is None else words.amount(one.value, one.unit, signed=True)
    return {
        "verdict": one.verdict,
        "word": words.WORDS[one.verdict],
        "said": f"{value} ({words.band(one.limit, one.unit)})",
        "part": f"part {one.part}" if parted and one.part else "",
    }
