"""How often what is told of simulated instructors holds the truth."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from tests.book.instructors.simulate import Plan, school

from chalkwing.book.agreement import NOTEWORTHY, agreement
from chalkwing.units import Floats

PLANS = (
    Plan(3, 12, 0.4, 0.6),
    Plan(4, 8, 0.4, 0.6),
    Plan(5, 20, 0.0, 0.5),
    Plan(5, 20, 0.15, 0.6),
    Plan(5, 20, 0.4, 0.6),
    Plan(5, 20, 0.8, 0.5),
    Plan(10, 20, 0.4, 0.6),
    Plan(10, 20, 0.4, 0.6, uneven=True),
    Plan(10, 30, 0.3, 0.6, missing=0.3),
)
MANY = 3000
"""Further maneuvers from which the alpha is taken that a set stands for."""


@dataclass(frozen=True)
class Covered:
    """What came of a plan's schools: shares of true values held, mean widths, and what was called what."""

    plan: Plan
    held: float
    width: float
    alpha_held: float
    alpha_width: float
    called_wrongly: float
    """Share of those called lenient or strict who lie less than a fifth of a step that way in truth."""
    called: int
    seen: float
    """Share called so of those who lie half as much again as is noteworthy above or below in truth."""
    far: int


def covered(plan: Plan, seeds: Iterable[int]) -> Covered:
    """Mark and tell many schools of a plan."""
    held, width, alpha_held, alpha_width = [], [], [], []
    called, right, far, seen = 0, 0, 0, 0
    for seed in seeds:
        one = school(plan, seed)
        told = agreement(one.sheet, seed=seed)
        for each, true in zip(told.leniency, one.above, strict=True):
            held.append(each.low <= true <= each.high)
            width.append(each.high - each.low)
            way = 1 if "above" in each.said else -1 if "below" in each.said else 0
            called += way != 0
            right += way != 0 and way * true > 0.2
            far += abs(true) > 1.5 * NOTEWORTHY
            seen += abs(true) > 1.5 * NOTEWORTHY and way * true > 0.0
        if told.low is not None and told.high is not None:
            true_alpha = alpha_by_coincidences(one.more(MANY, np.random.default_rng([seed, 1])))
            alpha_held.append(told.low <= true_alpha <= told.high)
            alpha_width.append(told.high - told.low)
    return Covered(
        plan,
        held=float(np.mean(held)),
        width=float(np.mean(width)),
        alpha_held=float(np.mean(alpha_held)),
        alpha_width=float(np.mean(alpha_width)),
        called_wrongly=1.0 - right / called if called else 0.0,
        called=called,
        seen=seen / far if far else float("nan"),
        far=far,
    )


def alpha_by_coincidences(marks: Floats) -> float:
    """Alpha for ordered marks, ``nan`` where none was given, from the table of coincidences, by no library.

    Krippendorff's ordinal difference of two steps is the square of how many values lie between them, the two
    counted half (Content Analysis, ch. 11, from memory).
    """
    values = np.unique(marks[np.isfinite(marks)])
    table = np.zeros((len(values), len(values)))
    for column in marks.T:
        given = column[np.isfinite(column)]
        if len(given) < 2:
            continue
        counts = (given[:, None] == values).sum(axis=0).astype(float)
        table += (np.outer(counts, counts) - np.diag(counts)) / (len(given) - 1)
    many = table.sum(axis=1)
    until = np.cumsum(many)
    between = np.abs(until[:, None] - until[None, :])
    lower = np.minimum.outer(np.arange(len(values)), np.arange(len(values)))
    higher = np.maximum.outer(np.arange(len(values)), np.arange(len(values)))
    # From the half of the lower to the half of the higher: all up to the higher, less all up to the lower,
    # less half of the higher, and half of the lower.
    distance = (between - 0.5 * many[higher] + 0.5 * many[lower]) ** 2 * (lower != higher)
    observed = float((table * distance).sum()) / many.sum()
    expected = float((np.outer(many, many) * distance).sum()) / (many.sum() * (many.sum() - 1.0))
    return 1.0 - observed / expected
