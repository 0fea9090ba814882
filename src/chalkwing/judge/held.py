"""Held limits, judged as examiners do: how often, how long and how far left, and whether corrected."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from chalkwing.judge import kernels
from chalkwing.judge.judgement import Excursions
from chalkwing.maneuvers.standards import Band, HeldRules
from chalkwing.units import Floats

MERGE = 2.0
"""Seconds back inside that end an excursion: a shorter return is one excursion still being corrected."""
BRIEF = 0.5
"""Seconds outside that nobody would see; the worst deviation counts them all the same."""

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Held:
    """Per draw (draws,): how far it went to either side [limit's unit], and what failed.

    ``above`` and ``below`` are the largest and the smallest deviation in the window, whatever their sign;
    ``worst`` is whichever lies worse in ``band`` on the whole.
    """

    band: Band
    above: Floats
    below: Floats
    count: Floats
    outside: Floats
    longest: Floats
    sustained: Flags
    repeated: Flags
    gross: Flags
    uncorrected: Flags
    known: Flags

    @property
    def worst(self) -> Floats:
        """The worst deviation, on one side for all draws.

        Taking each draw's larger side instead would mix +90 with -92 into a mean of nearly nothing.
        """
        if not self.known.any():
            return self.above
        low, high = self.band
        over = np.nanmean(self.above) - high if high is not None else -np.inf
        under = low - np.nanmean(self.below) if low is not None else -np.inf
        return self.above if over >= under else self.below

    def between(self) -> tuple[float, float] | None:
        """The smallest and the largest deviation, means over the draws; None if the window was not flown."""
        if not self.known.any():
            return None
        return float(np.mean(self.below[self.known])), float(np.mean(self.above[self.known]))

    @property
    def met(self) -> Flags:
        """Draws in which the limit counts as met, among those with a window."""
        failed = self.sustained | self.repeated | self.gross | self.uncorrected
        return np.asarray(~failed[self.known])

    def excursions(self) -> Excursions | None:
        """Medians over the draws, or None where most draws never left the limit."""
        known = self.known
        if not known.any() or np.median(self.outside[known]) <= 0.0:
            return None
        return Excursions(
            worst=float(np.mean(self.worst[known])),
            count=int(np.median(self.count[known]) + 0.5),
            outside=float(np.median(self.outside[known])),
            longest=float(np.median(self.longest[known])),
        )


def gross_band(band: Band, factor: float) -> tuple[float, float]:
    """The band beyond which an excursion is gross.

    Each bound moves out by (factor - 1) of the larger bound: ``factor`` times a symmetric limit, and a bound
    of zero (as in +10/-0) still leaves room for the width of a needle instead of none.

    >>> gross_band((-100.0, 100.0), 1.5)
    (-150.0, 150.0)
    >>> gross_band((0.0, 10.0), 1.5)
    (-5.0, 15.0)
    """
    low, high = _open(band)
    room = (factor - 1.0) * max(abs(bound) for bound in band if bound is not None)
    return low - room, high + room


def _open(band: Band) -> tuple[float, float]:
    low, high = band
    return (-np.inf if low is None else low), (np.inf if high is None else high)


def hold(
    deviation: Floats, begin: Floats, end: Floats, *, interval: float, band: Band, rules: HeldRules
) -> Held:
    """Judge ``deviation`` (draws, times), in the unit of ``band``, from ``begin`` to ``end`` of each draw."""
    low, high = _open(band)
    found = kernels.held_excursions(deviation, begin, end, low, high, MERGE / interval, BRIEF / interval)
    above, below = found[:, kernels.WORST_ABOVE], found[:, kernels.WORST_BELOW]
    gross_low, gross_high = gross_band(band, rules.gross)
    longest = found[:, kernels.LONGEST] * interval
    return Held(
        band=band,
        above=above,
        below=below,
        count=found[:, kernels.COUNT],
        outside=found[:, kernels.OUTSIDE] * interval,
        longest=longest,
        sustained=longest > rules.sustained,
        repeated=found[:, kernels.COUNT] >= rules.repeated,
        gross=(above > gross_high) | (below < gross_low),
        uncorrected=found[:, kernels.OPEN_AT_END] > 0.0,
        known=np.isfinite(above),
    )
