"""Simulated schools: every instructor sees the same maneuvers, adds a leniency and a noise, and says a step.

    step = nearest of 0 … K - 1 to (maneuver + leniency + noise)

The ends of the scale hold marks in, as they do for people: leniency in steps is therefore what is expected of
the marks, not the number that was drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from chalkwing.book.agreement import Sheet
from chalkwing.units import Floats

STEPS = 4


@dataclass(frozen=True)
class Plan:
    """How a school is simulated: ``spread`` of leniency and ``noise`` of a mark [steps], and what lacks."""

    instructors: int
    maneuvers: int
    spread: float
    noise: float
    uneven: bool = False
    """Whether the instructors differ in their noise."""
    missing: float = 0.0

    @property
    def said(self) -> str:
        """The plan in words."""
        words = f"{self.instructors} instructors, {self.maneuvers} maneuvers, leniency {self.spread:g}"
        words += f", noise {self.noise:g}" + (" (uneven)" if self.uneven else "")
        return words + (f", {100 * self.missing:.0f} % of marks missing" if self.missing else "")


@dataclass(frozen=True)
class School:
    """A simulated school: its marks, and how far each instructor's lie above the others' in truth [steps]."""

    sheet: Sheet
    above: Floats
    leniency: Floats
    noise: Floats

    def more(self, count: int, rng: np.random.Generator) -> Floats:
        """Marks of the same instructors for many further maneuvers, shape (instructors, count)."""
        return _marks(_levels(rng, count), self.leniency, self.noise, rng)


def school(plan: Plan, seed: int) -> School:
    """One school of a plan."""
    rng = np.random.default_rng([seed, plan.instructors, plan.maneuvers])
    levels = _levels(rng, plan.maneuvers)
    leniency = rng.normal(0.0, plan.spread, plan.instructors)
    own = np.exp(rng.normal(0.0, 0.35, plan.instructors)) if plan.uneven else np.ones(plan.instructors)
    noise = plan.noise * own
    marks = _marks(levels, leniency, noise, rng)
    marks[rng.random(marks.shape) < plan.missing] = np.nan
    expected = _expected(levels, leniency, noise)
    others = (expected.sum(axis=0) - expected) / (plan.instructors - 1)
    sheet = Sheet(
        tuple(f"instructor {k}" for k in range(plan.instructors)),
        tuple(f"maneuver {k}" for k in range(plan.maneuvers)),
        marks,
        STEPS,
    )
    return School(sheet, (expected - others).mean(axis=1), leniency, noise)


def _levels(rng: np.random.Generator, count: int) -> Floats:
    """From clean to far off, as a set is chosen."""
    return rng.uniform(-0.3, STEPS - 0.7, count)


def _marks(levels: Floats, leniency: Floats, noise: Floats, rng: np.random.Generator) -> Floats:
    shape = (len(leniency), len(levels))
    exact = levels + leniency[:, None] + noise[:, None] * rng.normal(size=shape)
    return np.clip(np.round(exact), 0.0, STEPS - 1.0)


def _expected(levels: Floats, leniency: Floats, noise: Floats) -> Floats:
    """The mean mark of each instructor for each maneuver: the chances to reach each step, added up."""
    middle = levels + leniency[:, None]
    reached = [1.0 - norm.cdf((edge - middle) / noise[:, None]) for edge in np.arange(0.5, STEPS - 1.0)]
    return np.asarray(np.sum(reached, axis=0))
