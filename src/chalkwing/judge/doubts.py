"""What may stand between a measure and its verdict: where it is decided, and which gap lies there."""

from __future__ import annotations

import numpy as np

from chalkwing.judge import verdict
from chalkwing.judge.holding import Holding
from chalkwing.judge.measures import Measuring
from chalkwing.maneuvers.schema import Measure
from chalkwing.maneuvers.standards import Limit


def doubt_of(measuring: Measuring, measure: Measure, part: int | None, limit: Limit) -> verdict.Doubt:
    """The doubt about a measure of one part, or of the whole (None)."""
    begin, end, hides = _stretch(measuring, measure, part)
    return _doubt(measuring, measure, limit, begin, end, hides)


def doubt_between(measuring: Measuring, measure: Measure, limit: Limit, found: Holding) -> verdict.Doubt:
    """The doubt about a measure that is held over the stretches of a spell."""
    flown = measuring.flown
    begin, end = flown.start + flown.interval * found.begin, flown.start + flown.interval * found.end
    return _doubt(measuring, measure, limit, begin, end, "part of it")


def _doubt(
    measuring: Measuring, measure: Measure, limit: Limit, begin: float, end: float, hides: str
) -> verdict.Doubt:
    flown = measuring.flown
    return verdict.Doubt(
        quantity=measure.quantity.name,
        unit=measure.unit,
        band=limit.band,
        derived=flown.origin(measure.quantity.name) == "derived",
        gap=verdict.gap_within(flown.motion, begin, end),
        hides=hides,
    )


def _stretch(measuring: Measuring, measure: Measure, part: int | None) -> tuple[float, float, str]:
    """The times [s] that decide the measure, and what to call them."""
    flown = measuring.flown
    if measure.point is not None:
        places = flown.points[part or 0][measure.point]
        middle = float(np.nanmedian(flown.time(places)))
        return middle - 0.5, middle + 0.5, f"the {measuring.definition.point(measure.point).title}"
    window = measuring.window(measure, part)
    begin, end = (float(np.nanmedian(flown.time(at))) for at in (window.begin, window.end))
    return begin, end, "part of it"
