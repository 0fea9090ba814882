"""How likely a try is to succeed: logistic regression whose students are pooled.

    log odds = school level + school slope log2(number) + student level + student slope log2(number)

The student's own terms are normal about the school's: with few tries a student is foretold from the school,
with many from his or her own. How far students lie apart is not known either: some spreads are held possible,
each as far as the tries bear it out. Success grows with the logarithm of practice (power law of practice;
[Newell]), so a doubling of tries counts the same each time.

The posterior is drawn, not approximated: where somebody has always succeeded its tail is long on one side,
and a normal about its peak would call a chance of one half likely. Draws come from elliptical slice sampling
about that normal ([Murray], in the form of [Nishihara]), which needs no tuning, in many chains side by side
that each start at a draw of it. Chances are means over draws, so that what is not known of a student draws
the chance toward an even one and widens its interval.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from chalkwing.book.progress.attempts import Ints
from chalkwing.book.progress.pooling import (
    SCHOOL,
    TYPICAL,
    Peak,
    Tries,
    levels_and_slopes,
    peak_of,
    scale_of,
    steps,
)
from chalkwing.units import Floats

SPREADS = np.array([0.6, 1.0, 1.5, 2.2])
"""Spreads of students about their school, in log odds, that are held possible, equally before any try."""
CHAINS, EACH, BURN_IN = 40, 25, 20
DRAWS = CHAINS * EACH


@dataclass(frozen=True)
class Practice:
    """A fitted school, drawn from its posterior: level and slope of the ``school`` (draws, 2) and of each
    student, ``own`` (draws, students, 2), for the list of ``students``.

    ``spread`` (draws,) is that of students about their school.
    """

    students: Ints
    spread: Floats
    school: Floats
    own: Floats

    def chance(self, student: int, number: Ints, *, seed: int = 0) -> Floats:
        """Draws of the chance that tries ``number`` (m,) of ``student`` succeed, shape (draws, m).

        A student who is not in the fit is one about whom only the school is known.
        """
        place = np.flatnonzero(self.students == student)
        if len(place):
            line = self.own[:, place[0]]
        else:
            other = np.random.default_rng([seed, student]).normal(size=self.school.shape)
            line = self.school + scale_of(self.spread)[:, 0] * other
        return np.asarray(expit(line[:, :1] + line[:, 1:] * np.log2(number)))


def fit(student: Ints, number: Ints, success: Floats, *, seed: int = 0) -> Practice:
    """Fit tries: whose (n,), their number (n,), and the probability that each succeeded (n,)."""
    tries, rng = Tries.of(student, number, success), np.random.default_rng(seed)
    peak = peak_of(tries, SPREADS)
    chosen = _shares(peak.evidence)
    scale = peak.scale[chosen]
    school, students = _drawn(tries, _Normal(peak, chosen), rng)
    many = np.repeat(chosen, EACH)
    own = levels_and_slopes(school, students, np.repeat(scale, EACH, axis=0))
    return Practice(tries.students, SPREADS[many], TYPICAL + SCHOOL * school, own)


def _shares(evidence: Floats) -> Ints:
    """Which spread each chain takes, (chains,): as many chains each as its probability bears."""
    share = np.exp(evidence - evidence.max())
    upto = np.cumsum(share) / share.sum()
    even = (np.arange(CHAINS) + 0.5) / CHAINS
    return np.minimum(np.searchsorted(upto, even), len(evidence) - 1)


class _Normal:
    """The normal about each chain's peak, and the posterior beside it."""

    def __init__(self, peak: Peak, chosen: Ints) -> None:
        self.chosen = chosen
        self.scale = peak.scale[chosen]
        self.at = peak.at_school[chosen], peak.at_students[chosen]
        self.own = levels_and_slopes(*self.at, self.scale)
        self._likelihood = peak.likelihood[chosen]
        self._root_school = np.linalg.cholesky(np.linalg.inv(peak.school))[chosen]
        inverse = np.linalg.inv(peak.own)
        self._root_students = np.linalg.cholesky(inverse)[chosen]
        self._through = (inverse @ peak.border)[chosen]

    def draw(self, rng: np.random.Generator) -> tuple[Floats, Floats]:
        """A draw for each chain, as steps away from its peak."""
        school = _times(self._root_school, rng.normal(size=self.at[0].shape))
        students = _times(self._root_students, rng.normal(size=self.at[1].shape))
        return school, students - _times(self._through, school[:, None, :])

    def beyond(self, tries: Tries, school: Floats, students: Floats, chains: Ints) -> Floats:
        """Log of the posterior over the normal, but for a constant, at steps away from ``chains``' peaks."""
        away = steps(school, students, self.scale[chains])
        at_school, at_students = self.at[0][chains] + school, self.at[1][chains] + students
        # The prior stands in both; of its squares only what the peak adds is left.
        prior = (at_school**2 - school**2).sum(axis=-1)
        prior += (at_students**2 - students**2).sum(axis=(-1, -2))
        bent = (away * _times(self._likelihood[chains], away)).sum(axis=(-1, -2))
        return np.asarray(tries.log_likelihood(self.own[chains] + away) + 0.5 * (bent - prior))


def _times(matrix: Floats, vector: Floats) -> Floats:
    return np.asarray((matrix @ vector[..., None])[..., 0])


def _drawn(tries: Tries, normal: _Normal, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draws of the school's (draws, 2) and the students' (draws, students, 2) coefficients."""
    everyone = np.arange(CHAINS)
    at = normal.draw(rng)
    height = normal.beyond(tries, *at, everyone)
    kept: list[tuple[Floats, Floats]] = []
    for step in range(BURN_IN + EACH):
        other = normal.draw(rng)
        at, height = _stepped(tries, normal, at, other, height, rng)
        if step >= BURN_IN:
            kept.append((normal.at[0] + at[0], normal.at[1] + at[1]))
    school, students = (np.stack(each, axis=1) for each in zip(*kept, strict=True))
    return school.reshape(DRAWS, 2), students.reshape(DRAWS, -1, 2)


def _stepped(
    tries: Tries,
    normal: _Normal,
    at: tuple[Floats, Floats],
    other: tuple[Floats, Floats],
    height: Floats,
    rng: np.random.Generator,
) -> tuple[tuple[Floats, Floats], Floats]:
    """Every chain's next place: on the ellipse through it and another draw, high enough in the posterior."""
    floor = height + np.log(rng.uniform(size=CHAINS))
    angle = rng.uniform(0.0, 2.0 * np.pi, CHAINS)
    low, high = angle - 2.0 * np.pi, angle.copy()
    school, students, reached = at[0].copy(), at[1].copy(), height.copy()
    left = np.arange(CHAINS)
    while len(left):
        turned = angle[left]
        cosine, sine = np.cos(turned)[:, None], np.sin(turned)[:, None]
        new_school = at[0][left] * cosine + other[0][left] * sine
        new_students = at[1][left] * cosine[..., None] + other[1][left] * sine[..., None]
        new = normal.beyond(tries, new_school, new_students, left)
        done = new > floor[left]
        through = left[done]
        school[through], students[through], reached[through] = new_school[done], new_students[done], new[done]
        left = left[~done]
        below = angle[left] < 0.0
        low[left] = np.where(below, angle[left], low[left])
        high[left] = np.where(below, high[left], angle[left])
        angle[left] = rng.uniform(low[left], high[left])
    return (school, students), reached
