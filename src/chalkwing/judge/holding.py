"""Limits held over the stretches of a spell, and what can be told of one when nothing was assigned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from chalkwing.judge.held import Flags, Held, hold
from chalkwing.judge.judgement import StretchFlown
from chalkwing.judge.measures import Measuring
from chalkwing.judge.stretches import Stretch, stretches
from chalkwing.maneuvers.schema import Measure
from chalkwing.maneuvers.standards import Band, HeldRules
from chalkwing.maneuvers.vocabulary import During
from chalkwing.units import DEGREE, FOOT, Floats

NEAR = {"altitude": 300.0 * FOOT, "heading": 30.0 * DEGREE, "bank": 15.0 * DEGREE}
"""How near to what was assigned a later stretch must begin for the same assignment to hold there."""
SETTLING = 1.0
"""Seconds over which a stretch's own starting value is read."""
LEADS = 4.0
"""A stretch that ends more than this [s] before a break does not lead to it."""
TRIED = 25
"""Airspeeds tried where none was assigned."""


@dataclass(frozen=True)
class Holding:
    """One held measure over its stretches: ``begin`` and ``end`` [places] of the first and last of them.

    ``fit`` is the share of draws in which some one value of the reference would have been held, and ``best``
    that value [SI], where nothing was assigned; else None.
    """

    held: Held
    begin: float
    end: float
    fit: float | None = None
    best: float | None = None


def stretches_flown(measuring: Measuring) -> tuple[StretchFlown, ...]:
    """The stretches over which a spell's limits are held, kind by kind; none where all is held alike."""
    found: dict[During, tuple[Stretch, ...]] = {}
    for measure in measuring.definition.elements:
        if measure.during != "any" and measure.during not in found:
            found[measure.during] = _stretches_of(measuring, measure)
    flown = measuring.flown
    return tuple(
        StretchFlown(during, flown.start + flown.interval * one.begin, flown.start + flown.interval * one.end)
        for during, several in found.items()
        for one in several
    )


def _stretches_of(measuring: Measuring, measure: Measure) -> tuple[Stretch, ...]:
    window = measuring.window(measure, None)
    found = stretches(measuring.flown, measure.during, window.begin, window.end)
    if "breaks" in measuring.flown.points[0] and measure.during != "any":
        return _until_the_break(found, window.end, measuring.flown.interval)
    return found


def holding(measuring: Measuring, measure: Measure, band: Band, rules: HeldRules) -> Holding | None:
    """The measure held over all its stretches; None where none of them was flown."""
    window = measuring.window(measure, None)
    found = _stretches_of(measuring, measure)
    if not found:
        return None
    spans = [
        (np.maximum(window.begin, one.begin), np.minimum(window.end, one.end)) for one in found
    ]  # an end that moves from draw to draw still bounds the stretch
    begin, end = found[0].begin, found[-1].end
    if measure.against == "assigned" and measuring.assigned_value(measure) is None:
        signals = [measuring.flown.signal(measure.quantity.name, 0)] * len(found)
        return _fitted(measuring, measure, signals, spans, band, rules, begin, end)
    off = [_deviation(measuring, measure, one, first=one is found[0]) for one in found]
    return Holding(_held_over(measuring, measure, off, spans, band, rules), begin, end)


def _until_the_break(found: tuple[Stretch, ...], end: Floats, interval: float) -> tuple[Stretch, ...]:
    """The stretch that leads to the break, none if it ends before: a stall is flown straight or turning."""
    near = float(np.nanmedian(end)) - LEADS / interval
    return found[-1:] if found and found[-1].end >= near else ()


def _deviation(measuring: Measuring, measure: Measure, stretch: Stretch, *, first: bool) -> Floats:
    """How far the quantity lies from what it is held against in one stretch, (draws, times) [SI]."""
    name, flown = measure.quantity.name, measuring.flown
    signal = flown.signal(name, 0)
    if measure.against == "own" and name == "bank":
        return _bank_deviation(measuring, signal, stretch)
    assigned = measuring.assigned_value(measure)
    if name == "heading" and assigned is not None:
        signal = flown.values["heading_magnetic"]
        off = np.asarray(np.arctan2(np.sin(signal - assigned), np.cos(signal - assigned)))
    elif assigned is not None:
        off = signal - assigned
    elif measure.magnitude:
        return np.abs(signal)
    else:
        off = signal - measuring.reference(measure, 0)[:, None]
    if measure.against != "own":
        return off
    start = _starting(off, stretch, flown.interval)
    near = first or abs(float(np.median(start))) <= NEAR.get(name, 0.0)
    return off if assigned is not None and near else off - start[:, None]


def _starting(signal: Floats, stretch: Stretch, interval: float) -> Floats:
    begin = int(max(stretch.begin, 0))
    return np.asarray(signal[:, begin : begin + max(round(SETTLING / interval), 1)].mean(axis=1))


def _bank_deviation(measuring: Measuring, bank: Floats, stretch: Stretch) -> Floats:
    """Steeper than what was assigned, or than the bank it settled at, positive."""
    inside = bank[:, int(max(stretch.begin, 0)) : int(stretch.end) + 1]
    side = float(np.sign(np.median(inside)))
    settled = np.median(side * inside, axis=1)
    assigned = measuring.assigned.bank
    if assigned is not None and abs(float(np.median(settled)) - abs(assigned)) <= NEAR["bank"]:
        settled = np.full(len(bank), abs(assigned))
    return np.asarray(side * bank - settled[:, None])


Spans = Sequence[tuple[Floats, Floats]]


def _held_over(
    measuring: Measuring, measure: Measure, off: Sequence[Floats], spans: Spans, band: Band, rules: HeldRules
) -> Held:
    scale, interval = measure.quantity.scale, measuring.flown.interval
    parts = [
        hold(deviation / scale, begin, end, interval=interval, band=band, rules=rules)
        for deviation, (begin, end) in zip(off, spans, strict=True)
    ]
    return parts[0] if len(parts) == 1 else merged(parts, rules)


def merged(parts: Sequence[Held], rules: HeldRules) -> Held:
    """Several stretches as one: excursions add up, and each draw's furthest in any of them counts."""

    def total(name: str) -> Floats:
        return np.asarray(sum(np.where(one.known, getattr(one, name), 0.0) for one in parts))

    def ever(name: str) -> Flags:
        return np.asarray(np.any([getattr(one, name) & one.known for one in parts], axis=0))

    count = total("count")
    return Held(
        band=parts[0].band,
        above=np.fmax.reduce([one.above for one in parts]),
        below=np.fmin.reduce([one.below for one in parts]),
        count=count,
        outside=total("outside"),
        longest=np.max([np.where(one.known, one.longest, 0.0) for one in parts], axis=0),
        sustained=ever("sustained"),
        repeated=count >= rules.repeated,
        gross=ever("gross"),
        uncorrected=ever("uncorrected"),
        known=ever("known"),
    )


def _fitted(
    measuring: Measuring, measure: Measure, signals: Sequence[Floats], spans: Spans, band: Band,
    rules: HeldRules, begin: float, end: float,
) -> Holding:  # fmt: skip
    """Nothing was assigned: in how many draws would any one value have been held, and which most often?"""
    scale = measure.quantity.scale
    inside = signals[0].mean(axis=0)[int(max(begin, 0)) : int(end) + 1]
    lowest = inside.min() if band[1] is None else min(inside.min(), inside.max() - band[1] * scale)
    highest = inside.max() if band[0] is None else max(inside.max(), inside.min() - band[0] * scale)
    tries = np.linspace(lowest, highest, TRIED)
    helds = [
        _held_over(measuring, measure, [signal - tried for signal in signals], spans, band, rules)
        for tried in tries
    ]
    met = np.array(
        [~(one.sustained | one.repeated | one.gross | one.uncorrected) & one.known for one in helds]
    )
    shares = met.mean(axis=1)
    # Of values held alike the middle one is the likeliest to have been meant.
    best = np.flatnonzero(shares >= shares.max() - 1e-9)
    chosen = int(best[len(best) // 2])
    return Holding(helds[chosen], begin, end, float(met.any(axis=0).mean()), float(tries[chosen]))
