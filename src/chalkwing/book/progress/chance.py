"""The chance on the next try, for one student and every kind of maneuver, and what to fly next.

Shown only when the tries bear it. It speaks of what was measured and of nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from chalkwing.book.judgings import Progress
from chalkwing.book.progress.attempts import Attempts
from chalkwing.book.progress.kept import Kept
from chalkwing.book.tables import Person
from chalkwing.maneuvers import Definition, definitions
from chalkwing.units import Floats

LEAST_TRIES = 4
WIDEST = 0.5
"""A chance is shown from this many tries of the student's own on, and if its 90 % interval is no wider."""
NEXT = 5
"""Over how many next tries it is told how many succeed."""
MOST_TOLD = 3
UNSEEN = (
    "It sees only what was measured: not knowledge, not risk management, not look-out. "
    "It replaces no endorsement."
)


@dataclass(frozen=True)
class ElementChance:
    """One element: the chance that the next try meets it, with its 90 % interval, and what may help."""

    element: str
    title: str
    chance: float
    low: float
    high: float
    help: tuple[str, ...]


@dataclass(frozen=True)
class Chance:
    """The chance that the next try of a kind meets every element measured; None with the reason.

    ``of_next[k]`` is the probability that exactly k of the next `NEXT` tries do. ``limiting`` holds the
    elements least likely to be met.
    """

    kind: str
    title: str
    tries: int
    met: int
    chance: float | None
    low: float | None
    high: float | None
    of_next: tuple[float, ...]
    reason: str | None
    limiting: tuple[ElementChance, ...]


def chances(
    session: Session, student: Person, *, kept: Kept | None = None, progress: Progress | None = None
) -> list[Chance]:
    """Every kind that the student has tried, pooled with students of the book; ``kept`` spares fits."""
    known, held = definitions(), kept or Kept()
    tell = progress or (lambda what, done: None)
    tell("reading the tries", 0.0)
    tried = held.tries(session, student.id)
    found = []
    for done, (kind, tries) in enumerate(sorted(tried.items())):
        tell("working out the chance on the next try", (done + 0.5) / (len(tried) + 0.5))
        found.append(chance_of(tries, student.id, known.get(kind), kept=held))
    return found


def chance_of(
    tried: Attempts, student: int, definition: Definition | None = None, *, kept: Kept | None = None
) -> Chance:
    """The chance of one student at one kind, from the tries that the student is pooled with."""
    fits = kept or Kept()
    own = tried.of(student)
    following = np.arange(len(own) + 1, len(own) + 1 + NEXT)
    drawn = fits.fit(tried.student, tried.number, tried.all_met).chance(student, following)
    low, high = _interval(drawn[:, 0])
    reason = _too_little(len(own), high - low)
    shown = reason is None
    return Chance(
        kind=tried.kind,
        title=definition.title if definition else tried.kind,
        tries=len(own),
        met=int(np.sum(own.all_met >= 0.95)),
        chance=float(drawn[:, 0].mean()) if shown else None,
        low=low if shown else None,
        high=high if shown else None,
        of_next=tuple(float(share) for share in how_many(drawn)) if shown else (),
        reason=reason,
        limiting=tuple(_limiting(tried, student, definition, fits)) if shown else (),
    )


def _too_little(tries: int, width: float) -> str | None:
    if tries < LEAST_TRIES:
        return f"too few tries to say: {tries} of the student's own, at least {LEAST_TRIES} are needed"
    if width > WIDEST:
        return "too little is known to say: the tries so far fit both a small and a large chance"
    return None


def _interval(drawn: Floats) -> tuple[float, float]:
    low, high = np.quantile(drawn, [0.05, 0.95])
    return float(low), float(high)


def how_many(drawn: Floats) -> Floats:
    """Probability that 0, 1, … of the next tries succeed, shape (tries + 1,), from draws (draws, tries).

    Within a draw tries are independent, each with its own chance (the count is then Poisson's binomial).
    """
    counts = np.zeros((len(drawn), drawn.shape[1] + 1))
    counts[:, 0] = 1.0
    for chance in drawn.T:
        moved = counts[:, :-1] * chance[:, None]
        counts *= (1.0 - chance)[:, None]
        counts[:, 1:] += moved
    return np.asarray(counts.mean(axis=0))


def _limiting(
    tried: Attempts, student: int, definition: Definition | None, fits: Kept
) -> list[ElementChance]:
    """The elements that the next try is least likely to meet."""
    found = []
    for place, element in enumerate(tried.elements):
        measured = np.isfinite(tried.met[:, place])
        own = measured & (tried.student == student)
        if not own.any():
            continue
        fitted = fits.fit(tried.student[measured], tried.number[measured], tried.met[measured, place])
        following = np.array([int(tried.number[tried.student == student].max()) + 1])
        drawn = fitted.chance(student, following)[:, 0]
        title, words = _words(definition, element)
        found.append(ElementChance(element, title, float(drawn.mean()), *_interval(drawn), words))
    return sorted(found, key=lambda each: each.chance)[:MOST_TOLD]


def _words(definition: Definition | None, element: str) -> tuple[str, tuple[str, ...]]:
    """An element's title, and what the definition's common errors say of it."""
    measure = definition.measure(element) if definition else None
    if definition is None or measure is None:
        return element.replace("_", " "), ()
    errors = [error for error in definition.errors if element in error.measures]
    return measure.title, tuple(f"{error.title}: {error.correction}" for error in errors)
