"""The pictures of a maneuver of a common set, in both widths of a page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from markupsafe import Markup

from chalkwing.book.agreement import Leniency
from chalkwing.book.common.results import Result
from chalkwing.book.common.shown import view_from
from chalkwing.drawing.common import (
    common_felt,
    common_horizon,
    common_nose,
    common_plan,
    common_profiles,
)
from chalkwing.drawing.leniency import Lies, leniency_picture, spread_picture
from chalkwing.drawing.maneuver import turns_said
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.paper.page import HALF, NARROW, WIDE, Pictures

_KEPT = 32
"""Maneuvers whose pictures are kept: everybody of a school looks at the same few."""


@dataclass(frozen=True)
class Shown:
    """What stands on the page; a picture that the maneuver does not have is None."""

    turns: str
    nose: Pictures | None
    profiles: Pictures
    horizon: Pictures | None
    felt: Pictures | None
    plan: Pictures


@lru_cache(maxsize=_KEPT)
def pictures_of(shown: bytes) -> Shown:
    """The pictures of one maneuver, from what the book keeps of it."""
    view = view_from(shown)
    profiles = _both(lambda wide: common_profiles(view, wide, ON_PAGE))
    plan = _both(lambda wide: common_plan(view, (wide, 0.7 * wide), ON_PAGE), HALF)
    assert profiles is not None
    assert plan is not None
    return Shown(
        turns=turns_said(view),
        nose=_both(lambda wide: common_nose(view, (wide, 270.0 if wide == WIDE else 260.0), ON_PAGE)),
        profiles=profiles,
        horizon=_both(lambda wide: common_horizon(view, (wide, 130.0), ON_PAGE)),
        felt=_both(lambda wide: common_felt(view, wide, ON_PAGE)),
        plan=plan,
    )


def spread_of(told: Result) -> Pictures | None:
    """How far the instructors mark apart: by name where the reader may know names; None where few marked."""
    if told.leniency:
        rows = [_lies(each) for each in told.leniency]
        return _both(lambda wide: leniency_picture(rows, width=wide, style=ON_PAGE))
    own = None if told.own is None else _lies(told.own)
    if not told.spread:
        return None
    return _both(lambda wide: spread_picture(told.spread, own, width=wide, style=ON_PAGE))


def _lies(each: Leniency) -> Lies:
    return Lies(each.instructor, each.above, each.low, each.high)


def _both(draw: Callable[[float], str | None], wide: float = WIDE) -> Pictures | None:
    broad, narrow = draw(wide), draw(NARROW)
    return None if broad is None or narrow is None else Pictures(Markup(broad), Markup(narrow))
