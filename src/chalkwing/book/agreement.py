"""Whether instructors judge alike: marks given blind to one common set of recorded maneuvers.

Everyday marks cannot tell a lenient instructor from one whose students fly better. So leniency is reported
only from a common set: recorded maneuvers without names, marked by everybody, each before the computed
verdict was seen. Agreement is said in plain words first; behind it stands Krippendorff's alpha for ordered
marks ([Krippendorff]), with an interval over the maneuvers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.book.apart import above_others
from chalkwing.book.progress.attempts import Ints
from chalkwing.units import Floats

LEAST_RATERS, LEAST_MANEUVERS = 2, 8
"""Fewer instructors or maneuvers than these say too little."""
LEAST_MARKS = 3
"""Of an instructor with fewer marks for maneuvers that others marked too, no leniency is told."""
RESAMPLES = 400
NOTEWORTHY = 0.5
"""Leniency is named from half a step of the scale on, and only where its interval leaves zero out."""


@dataclass(frozen=True)
class Sheet:
    """Marks as steps counted from 0, (instructors, maneuvers), ``nan`` where one was not given.

    ``instructors`` and ``maneuvers`` name rows and columns; ``steps`` is how many the scale has.
    """

    instructors: tuple[str, ...]
    maneuvers: tuple[str, ...]
    marks: Floats
    steps: int


@dataclass(frozen=True)
class Leniency:
    """How far an instructor's marks lie above the others' for the same maneuvers, in steps, 90 % interval."""

    instructor: str
    marks: int
    above: float
    low: float
    high: float
    said: str


@dataclass(frozen=True)
class Agreement:
    """What the common set tells; ``reason`` says why there is no more."""

    said: str
    maneuvers: int
    differed: int
    alpha: float | None
    low: float | None
    high: float | None
    leniency: tuple[Leniency, ...]
    most_different: tuple[str, ...]
    reason: str | None


def agreement(sheet: Sheet, *, seed: int = 0) -> Agreement:
    """How alike the instructors of ``sheet`` mark; the same seed gives the same interval."""
    shared = np.flatnonzero(np.isfinite(sheet.marks).sum(axis=0) >= LEAST_RATERS)
    marks = sheet.marks[:, shared]
    differed = int(np.sum(_spread(marks) > 0)) if len(shared) else 0
    raters = int(np.sum(np.isfinite(marks).any(axis=1))) if len(shared) else 0
    reason = _too_little(raters, len(shared))
    if reason is not None:
        return Agreement(reason, len(shared), differed, None, None, None, (), (), reason)
    alpha, low, high = _alpha(marks, seed)
    return Agreement(
        said=f"Disagreed on {differed} of {len(shared)} maneuvers.",
        maneuvers=len(shared),
        differed=differed,
        alpha=alpha,
        low=low,
        high=high,
        leniency=tuple(_leniency(sheet.instructors, marks, seed)),
        most_different=tuple(_most_different(sheet.maneuvers, shared, marks)),
        reason=None,
    )


def _too_little(raters: int, maneuvers: int) -> str | None:
    if raters < LEAST_RATERS:
        return f"too few instructors to say: {raters} of at least {LEAST_RATERS}"
    if maneuvers < LEAST_MANEUVERS:
        return f"too few maneuvers marked by two or more to say: {maneuvers} of at least {LEAST_MANEUVERS}"
    return None


def _spread(marks: Floats) -> Floats:
    return np.asarray(np.nanmax(marks, axis=0) - np.nanmin(marks, axis=0))


def _alpha(marks: Floats, seed: int) -> tuple[float | None, float | None, float | None]:
    """Alpha for ordered marks, and its 95 % interval over maneuvers drawn again with replacement."""
    rng = np.random.default_rng(seed)
    again = [_one_alpha(marks[:, rng.integers(0, marks.shape[1], marks.shape[1])]) for _ in range(RESAMPLES)]
    drawn = [each for each in again if each is not None]
    alpha = _one_alpha(marks)
    if alpha is None or len(drawn) < RESAMPLES // 2:
        return alpha, None, None
    low, high = np.quantile(drawn, [0.025, 0.975])
    return alpha, float(low), float(high)


def _one_alpha(marks: Floats) -> float | None:
    """Alpha of one sheet; None where every mark is the same: then nothing could have differed."""
    import krippendorff

    if len(np.unique(marks[np.isfinite(marks)])) < 2:
        return None
    return float(krippendorff.alpha(reliability_data=marks, level_of_measurement="ordinal"))


def _leniency(instructors: tuple[str, ...], marks: Floats, seed: int) -> list[Leniency]:
    """Each instructor against the others for the same maneuvers; of one with hardly a mark nothing."""
    count = np.isfinite(marks).sum(axis=1)
    enough = np.flatnonzero(count >= LEAST_MARKS)
    if len(enough) < LEAST_RATERS:
        return []
    above = above_others(marks[enough], seed=seed)
    middle, (low, high) = above.middle, above.interval(0.9)
    return [
        _one_leniency(instructors[row], int(count[row]), middle[k], low[k], high[k])
        for k, row in enumerate(enough)
    ]


def _one_leniency(name: str, count: int, middle: float, low: float, high: float) -> Leniency:
    if low > 0.0 and middle >= NOTEWORTHY:
        said = f"marks {middle:.1f} steps above the others"
    elif high < 0.0 and middle <= -NOTEWORTHY:
        said = f"marks {-middle:.1f} steps below the others"
    else:
        said = "marks like the others, as far as this set tells"
    return Leniency(name, count, float(middle), float(low), float(high), said)


def _most_different(maneuvers: tuple[str, ...], shared: Ints, marks: Floats) -> list[str]:
    """The maneuvers whose marks lie furthest apart."""
    spread = _spread(marks)
    order = np.argsort(-spread, kind="stable")
    return [maneuvers[shared[place]] for place in order[:3] if spread[place] > 0]
