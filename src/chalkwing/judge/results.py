"""A measure's numbers as the result that is told: value, limit, verdict and source in the measure's unit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chalkwing.judge.facts import Fact
from chalkwing.judge.judgement import ElementResult, Excursions, Verdict
from chalkwing.judge.measures import Measuring
from chalkwing.judge.over_draws import moments
from chalkwing.judge.unseen import unseen
from chalkwing.maneuvers.schema import Measure
from chalkwing.maneuvers.vocabulary import UNITS
from chalkwing.motion.motion import Origin
from chalkwing.units import Floats


def result(
    measuring: Measuring,
    measure: Measure,
    part: int | None,
    values: Floats | None,
    *,
    probability: float | None = None,
    ruling: Verdict | None = None,
    reason: str | None = None,
    between: tuple[float, float] | None = None,
    excursions: Excursions | None = None,
    further: float | None = None,
) -> ElementResult:
    """The result of ``values`` [the measure's unit], one per draw, or of none.

    ``between`` is how far a held deviation went to either side; ``further`` is what `unseen` adds to their
    sd, where it has been asked for already.
    A limit that could not be decided is one that cannot be told.
    """
    limit = measuring.limit(measure)
    if values is not None and measure.remark and limit is None:
        beyond = abs(moments(values)[0]) * UNITS[measure.unit] > measure.remark_beyond
        reason = measure.remark if beyond else reason
    if limit is not None and measure.quantity.needs in ("terrain", "sheet") and values is None:
        limit = None  # without terrain or sheet this is no element
    value, sd = (None, None) if values is None else moments(values)
    if values is not None and sd is not None:
        more = unseen(measuring, measure, part, values) if further is None else further
        sd = float(np.hypot(sd, more))
    return ElementResult(
        id=measure.id,
        title=measure.title,
        half=None if part is None else part + 1,
        unit=measure.unit,
        value=value,
        sd=sd,
        origin=None if values is None else _origin(measuring, measure),
        limit=limit.band if limit else None,
        between=between,
        excursions=excursions,
        probability_met=probability,
        verdict=ruling if ruling or limit is None else "cannot_tell",
        reason=reason,
        document=limit.document if limit else None,
        edition=limit.edition if limit else None,
        task=limit.task if limit else None,
        note=None if values is None and limit is None else measuring.note(measure),
    )


def inapplicable(measuring: Measuring, measure: Measure, reason: str) -> ElementResult:
    """No limit can hold here: neither value nor verdict, but why."""
    return replace(
        result(measuring, measure, None, None, reason=reason),
        limit=None, verdict=None, document=None, edition=None, task=None, note=None,
    )  # fmt: skip


def from_fact(measure: Measure, fact: Fact) -> ElementResult:
    """The result of a fact that was not read from draws."""
    return ElementResult(
        id=measure.id,
        title=measure.title,
        half=None,
        unit=fact.unit,
        value=fact.value,
        sd=fact.sd,
        origin=None if fact.value is None else fact.origin,
        reason=fact.reason,
    )


def _origin(measuring: Measuring, measure: Measure) -> Origin:
    return "derived" if measure.functional == "duration" else measuring.flown.origin(measure.quantity.name)
