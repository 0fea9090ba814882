"""From results to figures: each a function of sums or of lists over flights, with an interval by bootstrap.

Flights, not samples, are drawn with replacement: errors within a flight go together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from tests.flights.accuracy.verdicts import AT_PART_END

from chalkwing.units import Floats

Result = dict[str, Any]
RESAMPLES = 2000
SEED = 20260101


@dataclass(frozen=True)
class Figure:
    """A measured value with its 95 % interval; ``count`` is how many things it rests on."""

    value: float
    low: float
    high: float
    count: int


def resamples(flights: int) -> Floats:
    """How often each flight occurs in each resample, shape (resamples, flights)."""
    rng = np.random.default_rng(SEED)
    return rng.multinomial(flights, np.full(flights, 1 / flights), size=RESAMPLES).astype(float)


@dataclass(frozen=True)
class OfSums:
    """``combine`` turns sums over flights, (..., parts), into the figure; the last part is the count."""

    parts: Callable[[Result], Sequence[float]]
    combine: Callable[[Floats], Floats]

    def figure(self, results: Sequence[Result]) -> Figure:
        rows = np.array([self.parts(result) for result in results], dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            value = float(self.combine(rows.sum(axis=0)))
            spread = self.combine(resamples(len(rows)) @ rows)
        return _figure(value, spread, int(rows[:, -1].sum()))


@dataclass(frozen=True)
class OfValues:
    """A quantile of values pooled over flights."""

    values: Callable[[Result], Sequence[float]]
    quantile: float

    def figure(self, results: Sequence[Result]) -> Figure:
        each = [np.asarray(self.values(result), dtype=float) for result in results]
        pooled = np.concatenate(each)
        if not len(pooled):
            return _figure(np.nan, np.array([np.nan]), 0)
        order = np.argsort(pooled)
        flight = np.repeat(np.arange(len(each)), [len(part) for part in each])[order]
        weights = np.cumsum(resamples(len(each))[:, flight], axis=1)
        with np.errstate(invalid="ignore"):
            reached = weights >= self.quantile * weights[:, -1:]
        spread = pooled[order][np.argmax(reached, axis=1)]
        return _figure(float(np.quantile(pooled, self.quantile, method="inverted_cdf")), spread, len(pooled))


def _figure(value: float, spread: Floats, count: int) -> Figure:
    finite = spread[np.isfinite(spread)]
    low, high = np.quantile(finite, [0.025, 0.975]) if len(finite) else (np.nan, np.nan)
    return Figure(value, float(low), float(high), count)


def rms(name: str) -> OfSums:
    """Root mean square error of a tally."""
    return OfSums(
        lambda result: (result["tallies"][name]["squares"], result["tallies"][name]["n"]),
        lambda sums: np.sqrt(sums[..., 0] / sums[..., 1]),
    )


def bias(name: str) -> OfSums:
    return OfSums(
        lambda result: (result["tallies"][name]["sum"], result["tallies"][name]["n"]),
        lambda sums: sums[..., 0] / sums[..., 1],
    )


def coverage(name: str) -> OfSums:
    """Share of samples [%] whose 95 % interval holds the truth."""
    return OfSums(
        lambda result: (result["tallies"][name]["held"], result["tallies"][name]["n"]),
        lambda sums: 100 * sums[..., 0] / sums[..., 1],
    )


def sharpness(name: str) -> OfSums:
    """Mean sd over root mean square error: 1 when doubt and error are of one size."""
    return OfSums(
        lambda result: [result["tallies"][name][part] for part in ("sd", "squares", "n")],
        lambda sums: (sums[..., 0] / sums[..., 2]) / np.sqrt(sums[..., 1] / sums[..., 2]),
    )


def eight_change(name: str) -> OfSums:
    """RMS error of exit minus entry, at the true times, neither of them inside a long gap."""

    def parts(result: Result) -> tuple[float, int]:
        errors = [eight[name][0] for eight in result["eights"] if not eight["in_gap"]]
        return float(np.sum(np.square(errors))), len(errors)

    return OfSums(parts, lambda sums: np.sqrt(sums[..., 0] / sums[..., 1]))


def eight_coverage(name: str) -> OfSums:
    def parts(result: Result) -> tuple[int, int]:
        return sum(abs(eight[name][0]) <= 1.96 * eight[name][1] for eight in result["eights"]), len(
            result["eights"]
        )

    return OfSums(parts, lambda sums: 100 * sums[..., 0] / sums[..., 1])


def f1(kind: str | None = None) -> OfSums:
    """Harmonic mean of the share found and the share of what was found that is right."""

    def parts(result: Result) -> tuple[float, float, int]:
        counts = result["finding"]["counts"]
        chosen = [counts[kind]] if kind else list(counts.values())
        hits, missed, false = (sum(each[word] for each in chosen) for word in ("hits", "missed", "false"))
        return 2 * hits, 2 * hits + missed + false, hits + missed

    return OfSums(parts, lambda sums: sums[..., 0] / sums[..., 1])


def f1_of(hits: int, missed: int, false: int) -> float:
    """The same of counts at hand; 0 where there is nothing to find and nothing found."""
    return 2 * hits / max(2 * hits + missed + false, 1)


def edge(which: str, quantile: float) -> OfValues:
    return OfValues(lambda result: np.abs(result["finding"][f"{which}_errors"]), quantile)


def _verdicts(result: Result, element: str | None) -> list[Result]:
    return [each for each in result["verdicts"] if element in (None, each["id"])]


def contradicts(record: Result) -> bool:
    """Whether a verdict was given, and the truth is the other one."""
    return bool(record["verdict"] != "cannot_tell" and (record["verdict"] == "met") != record["met"])


def by_reading_alone(record: Result) -> bool:
    """Whether the judge, given the perfect flight and the true edges, would contradict the truth as well."""
    if record["id"] not in AT_PART_END or record["ruled_value"] is None:
        return False
    low, high = record["limit"]
    value = record["ruled_value"]
    within = (low is None or value >= low) and (high is None or value <= high)
    return bool(within != record["met"])


MISPLACED = 3.0
"""Seconds by which a found edge may lie beside the true one before what is read there is another value."""


def why_contradicted(record: Result) -> str:
    """What made a verdict contradict the truth, by the first of these that holds."""
    if by_reading_alone(record):
        return "the edge is defined otherwise"
    if max(abs(record["start_error"]), abs(record["end_error"])) > MISPLACED:
        return "an edge was misplaced"
    if abs(record["value"] - record["true_value"]) <= 2.5 * record["sd"]:
        return "the luck that the interval allows"
    return "the value is wrong"


def why_undecided(record: Result) -> str:
    """What kept an element from being told."""
    reason = str(record["reason"])
    for words, cause in (
        ("gap of", "hidden by a gap"),
        ("no rollout", "no rollout to judge"),
        ("broken off", "taken for broken off"),
        ("sustained", "near the length of a sustained excursion"),
        ("near the limit", "near the limit"),
    ):
        if words in reason:
            return cause
    return "other"


def contradictions(element: str | None = None) -> OfSums:
    """Share of decided verdicts [%] that contradict the truth."""

    def parts(result: Result) -> tuple[int, int]:
        chosen = _verdicts(result, element)
        decided = sum(each["verdict"] != "cannot_tell" for each in chosen)
        return sum(map(contradicts, chosen)), decided

    return OfSums(parts, lambda sums: 100 * sums[..., 0] / sums[..., 1])


def undecided(element: str | None = None) -> OfSums:
    """Share of elements [%] of which it cannot be told."""

    def parts(result: Result) -> tuple[int, int]:
        chosen = _verdicts(result, element)
        return sum(each["verdict"] == "cannot_tell" for each in chosen), len(chosen)

    return OfSums(parts, lambda sums: 100 * sums[..., 0] / sums[..., 1])


def element_error(element: str) -> OfSums:
    """RMS error of an element's value as the debrief tells it."""

    def parts(result: Result) -> tuple[float, int]:
        known = [each for each in _verdicts(result, element) if each["value"] is not None]
        return float(sum((each["value"] - each["true_value"]) ** 2 for each in known)), len(known)

    return OfSums(parts, lambda sums: np.sqrt(sums[..., 0] / sums[..., 1]))


def element_coverage(element: str) -> OfSums:
    def parts(result: Result) -> tuple[int, int]:
        known = [each for each in _verdicts(result, element) if each["value"] is not None]
        held = sum(abs(each["value"] - each["true_value"]) <= 1.96 * each["sd"] for each in known)
        return held, len(known)

    return OfSums(parts, lambda sums: 100 * sums[..., 0] / sums[..., 1])
