"""Which traces a picture draws: plans that lie on each other are drawn once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chalkwing.units import Floats
from chalkwing.views.traces import Trace

_ALIKE = 0.03
"""Parts whose lines differ by less than this share of the picture's range are drawn once."""


def distinct(traces: Sequence[Trace], quantity: str) -> list[Trace]:
    """The traces, each plan left out whose ``quantity`` lies on an earlier plan's over heading change."""
    kept: list[Trace] = []
    for trace in traces:
        earlier = [other for other in kept if trace.role == other.role == "plan"]
        if not any(_alike(trace, other, quantity) for other in earlier):
            kept.append(trace)
    return kept


def _alike(one: Trace, other: Trace, quantity: str) -> bool:
    place = np.linspace(0.0, float(min(one.heading_change_deg.max(), other.heading_change_deg.max())), 60)
    a, b = (_at(trace, quantity, place) for trace in (one, other))
    return bool(np.max(np.abs(a - b)) <= _ALIKE * max(float(np.ptp(a)), 1.0))


def _at(trace: Trace, quantity: str, heading_change_deg: Floats) -> Floats:
    """Values over heading change, which need not rise everywhere: a running maximum makes it."""
    rising = np.maximum.accumulate(trace.heading_change_deg)
    values: Floats = np.interp(heading_change_deg, rising, trace.values[quantity])
    return values
