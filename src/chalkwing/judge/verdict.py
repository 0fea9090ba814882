"""From draws to a verdict and its reason in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from chalkwing.judge.held import Flags, Held
from chalkwing.judge.judgement import Verdict
from chalkwing.maneuvers.standards import Band, HeldRules
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

SURE_MET = 0.95
SURE_NOT_MET = 0.05
GAP_MARGIN = 1.5
"""Seconds by which a gap's true ends lie outside ``in_gap``, which starts 1.5 s from the nearest row."""
HIDDEN = 5.0
"""A gap as long as this [s] hides what it touches; shorter ones are bridged. Common practice, no source."""
COARSE = 1.0 / 3.0
"""An sd above this share of the limit's half width leaves next to nothing decidable."""

_SPOKEN = {
    "ft": "{:.0f} ft",
    "kt": "{:.1f} kt",
    "deg": "{:.1f}°",
    "s": "{:.1f} s",
    "g": "{:.2f} g",
    "ft_per_min": "{:.0f} ft/min",
    "ft_per_s": "{:.1f} ft/s",
    "kt_per_s": "{:.1f} kt/s",
    "deg_per_s": "{:.1f}°/s",
    "percent": "{:.0f} %",
    "count": "{:.0f}",
}
"""How a value of each unit is said; no more digits than anyone flies to."""

_RECORDER = {
    "bank_into_turn": ("attitude", "bank"),
    "bank": ("attitude", "bank"),
    "pitch": ("attitude", "pitch"),
    "airspeed": ("airspeed", "airspeed"),
    "altitude": ("pressure altitude", "altitude"),
    "heading": ("heading", "heading"),
}
"""What was not recorded when a quantity is derived, and what to call the quantity."""


def speak(value: float, unit: str) -> str:
    """A value with its unit as people say it.

    >>> speak(92.3, "ft"), speak(-3.04, "deg")
    ('92 ft', '-3.0°')
    """
    return _SPOKEN.get(unit, "{:.2f}").format(value)


def inside(values: Floats, band: Band) -> Flags:
    """Which finite values lie in the band, both ends included."""
    low, high = band
    finite = values[np.isfinite(values)]
    within = np.ones(len(finite), dtype=bool)
    if low is not None:
        within &= finite >= low
    if high is not None:
        within &= finite <= high
    return within


def chance_inside(values: Floats, band: Band, further: float) -> float:
    """Probability that the value lies in the band: of the draws, each with a further sd of its own."""
    if further == 0.0:
        return float(np.mean(inside(values, band)))
    low, high = band
    finite = values[np.isfinite(values)]
    under = ndtr((high - finite) / further) if high is not None else np.ones(len(finite))
    short = ndtr((low - finite) / further) if low is not None else np.zeros(len(finite))
    return float(np.mean(under - short))


def decide(probability: float, doubt: Doubt | None = None) -> Verdict:
    """Met, not met, or cannot tell, by the probability that the true value is inside.

    Where a gap hides the stretch that decides, nothing can be told: what the airplane does in a gap is a
    guess about the pilot, and its probability is not one of measurement.

    >>> decide(0.95), decide(0.94), decide(0.05)
    ('met', 'cannot_tell', 'not_met')
    """
    if doubt is not None and doubt.gap >= HIDDEN:
        return "cannot_tell"
    if probability >= SURE_MET:
        return "met"
    return "not_met" if probability <= SURE_NOT_MET else "cannot_tell"


def gap_within(motion: Motion, begin: float, end: float) -> float:
    """Length of the longest gap that touches ``begin`` to ``end`` [s], 0 if there is none."""
    hidden = motion.in_gap
    first, last = motion.index(begin), motion.index(end)
    borders = np.flatnonzero(np.diff(hidden.astype(np.int8), prepend=0, append=0))
    longest = 0.0
    for start, stop in zip(borders[::2], borders[1::2], strict=True):
        if start <= last and stop > first:
            longest = max(longest, (stop - start) * motion.interval + 2.0 * GAP_MARGIN)
    return longest


@dataclass(frozen=True)
class Doubt:
    """What a reason may need to know beside the draws."""

    quantity: str
    unit: str
    band: Band
    derived: bool
    gap: float
    hides: str


def half_width(band: Band) -> float:
    """Half the width of the band, or the size of its only bound."""
    low, high = band
    if low is None or high is None:
        return abs(high if low is None else low)  # type: ignore[arg-type]  # one of them is there
    return 0.5 * (high - low)


def nearest_bound(value: float, band: Band) -> float:
    """The bound of the band that lies nearer to ``value``."""
    bounds = [bound for bound in band if bound is not None]
    return min(bounds, key=lambda bound: abs(value - bound))


def why_in_doubt(value: float, sd: float, doubt: Doubt, *, what: str = "the value") -> str:
    """Why a limit can neither be called met nor not met: a gap, a quantity not recorded, or too near."""
    if doubt.gap > 0.0:
        return f"a gap of {doubt.gap:.0f} s hides {doubt.hides}"
    near = (
        f"{what} {speak(value, doubt.unit)} ± {speak(sd, doubt.unit)} lies too near the limit of "
        f"{speak(nearest_bound(value, doubt.band), doubt.unit)}"
    )
    recorder = _RECORDER.get(doubt.quantity)
    if doubt.derived and recorder is not None and sd > COARSE * half_width(doubt.band):
        missing, name = recorder
        return f"no {missing} recorded: {name} known to ±{speak(sd, doubt.unit)}; {near}"
    return near


def why_at_point(value: float, unit: str, band: Band, verdict: Verdict) -> str:
    """A decided limit in words."""
    bound = speak(nearest_bound(value, band), unit)
    if verdict == "met":
        return f"{speak(value, unit)} lies inside the limit of {bound}"
    return f"{speak(value, unit)} lies outside the limit of {bound}"


def why_held(held: Held, unit: str, band: Band, rules: HeldRules, verdict: Verdict) -> str:
    """A decided held limit in words: the excursion that decided, or that there was none to speak of."""
    known = held.known
    worst = speak(float(np.mean(held.worst[known])), unit)
    longest = float(np.median(held.longest[known]))
    count = int(np.median(held.count[known]) + 0.5)
    if verdict == "met":
        if count == 0:
            return f"never outside; {_how_far(held, unit)}"
        times = "one brief excursion" if count == 1 else f"{count} brief excursions"
        return f"{times}, {longest:.1f} s at most, to {worst}, corrected"
    failures = {
        f"outside for {longest:.1f} s at a time, to {worst}": held.sustained,
        f"still outside when the rollout began, to {worst}": held.uncorrected,
        f"left {count} times, to {worst}": held.repeated,
        f"to {worst}, beyond {rules.gross:g} times the limit": held.gross,
    }
    return max(failures, key=lambda words: float(np.mean(failures[words][known])))


def _how_far(held: Held, unit: str) -> str:
    """How far a quantity went inside its limit: to either side, or toward the only bound."""
    low, high = held.band
    sides = held.between()
    if low is None or high is None or sides is None:
        return f"{speak(float(np.mean(held.worst[held.known])), unit)} at most"
    below, above = (speak(side, unit) for side in sides)
    return f"between {below} and {above}"


def why_held_in_doubt(held: Held, doubt: Doubt, rules: HeldRules) -> str:
    """Why a held limit is in doubt: the size of the worst deviation, or how long an excursion lasted."""
    known = held.known
    worst, sd = float(np.mean(held.worst[known])), float(np.std(held.worst[known]))
    outside = float(np.mean(held.outside[known] > 0.0))
    if doubt.gap == 0.0 and outside > 0.95 and not held.gross[known].any():
        longest, longest_sd = float(np.mean(held.longest[known])), float(np.std(held.longest[known]))
        sustained = float(np.mean(held.sustained[known]))
        if 0.05 < sustained < 0.95:
            return (
                f"the longest excursion, {longest:.1f} s ± {longest_sd:.1f}, to {speak(worst, doubt.unit)}, "
                f"lies too near the {rules.sustained:g} s that count as sustained"
            )
    return why_in_doubt(worst, sd, doubt, what="the worst deviation")
