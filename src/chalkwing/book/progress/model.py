"""How likely a try is to succeed: logistic regression whose students are pooled.

    log odds = school level + school slope log2(number) + student level + student slope log2(number)

The student's own terms are held toward the school's by a ridge, which is what a normal spread of students
about their school amounts to: with few tries a student is foretold from the school, with many from his or her
own. The strength of that ridge is chosen by how well it foretells tries that were held back, by scikit-learn.
Success grows with the logarithm of practice (power law of practice; [Newell]), so a doubling of tries
counts the same each time.

The posterior is drawn, not approximated: where somebody has always succeeded its tail is long on one side,
and a normal about its peak would call a chance of one half likely. Draws come from elliptical slice sampling
about that normal ([Murray], in the form of [Nishihara]), which needs no tuning. Chances are means over
draws, so that what is not known of a student draws the chance toward an even one and widens its interval.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import sparse
from scipy.special import expit

from chalkwing.book.progress.attempts import Ints
from chalkwing.units import Floats

STRENGTHS = (0.3, 0.6, 1.0, 1.5)
"""Spreads of students about their school, in log odds, among which the best is chosen."""
SLOPE_SHARE = 0.2
"""How much less students differ in how quickly they learn than in where they begin (by simulated schools)."""
SCHOOL_SPREAD = (2.5, 2.0)
"""Spread of the school's own level and slope: wide, so that it says little."""
FOLDS = 5
DRAWS, BURN_IN = 1000, 100
_LEAST = 12
"""Tries under which the strength is not chosen but taken from the middle of its range."""

Rows = Any
"""A sparse matrix (tries, columns): of a row's columns only the school's and one student's are not zero."""


@dataclass(frozen=True)
class Practice:
    """A fitted school: ``coefficients`` drawn from their posterior (draws, columns), for a list of students.

    Columns: school level, school slope, then a level and a slope for each student; each already multiplied by
    the spread that it is believed to have, so that all coefficients are a priori of spread 1.
    """

    students: Ints
    spread: float
    coefficients: Floats

    def chance(self, student: int, number: Ints, *, seed: int = 0) -> Floats:
        """Draws of the chance that tries ``number`` (m,) of ``student`` succeed, shape (draws, m).

        A student who is not in the fit is one about whom only the school is known.
        """
        rows = _rows(np.full(len(number), student), number, self.students, self.spread)
        odds = self.coefficients @ rows.toarray().T
        if student not in self.students:
            rng = np.random.default_rng([seed, student])
            own = rng.normal(size=(DRAWS, 2))
            odds += self.spread * (own[:, :1] + SLOPE_SHARE * own[:, 1:] * np.log2(number))
        return np.asarray(expit(odds))


def fit(student: Ints, number: Ints, success: Floats, *, seed: int = 0) -> Practice:
    """Fit tries: whose (n,), their number (n,), and the probability that each succeeded (n,)."""
    students = np.unique(student)
    spread = _best_spread(student, number, success, students)
    rows = _rows(student, number, students, spread)
    return Practice(students, spread, _drawn(rows, success, _fitted(rows, success), seed))


def _drawn(rows: Rows, success: Floats, peak: Floats, seed: int) -> Floats:
    """Draws from the posterior (draws, columns): along random ellipses about its peak."""
    rng = np.random.default_rng(seed)
    chance = expit(rows @ peak)
    weighted = rows.multiply((chance * (1.0 - chance))[:, None]).tocsr()
    information = (weighted.T @ rows).toarray() + np.eye(rows.shape[1])
    normal = np.linalg.cholesky(np.linalg.inv(information))

    def beyond_normal(away: Floats) -> float:
        """Log of the posterior over the normal about its peak, but for a constant."""
        at = peak + away
        odds = rows @ at
        posterior = success @ odds - np.logaddexp(0.0, odds).sum() - 0.5 * at @ at
        return float(posterior + 0.5 * away @ information @ away)

    away = np.zeros_like(peak)
    height = beyond_normal(away)
    kept = np.empty((DRAWS, len(peak)))
    for step in range(-BURN_IN, DRAWS):
        other = normal @ rng.normal(size=len(peak))
        floor = height + np.log(rng.uniform())
        angle = rng.uniform(0.0, 2.0 * np.pi)
        low, high = angle - 2.0 * np.pi, angle
        while True:
            tried = away * np.cos(angle) + other * np.sin(angle)
            height = beyond_normal(tried)
            if height > floor:
                break
            low, high = (angle, high) if angle < 0.0 else (low, angle)
            angle = rng.uniform(low, high)
        away = tried
        if step >= 0:
            kept[step] = peak + away
    return kept


def _rows(student: Ints, number: Ints, students: Ints, spread: float) -> Rows:
    practice = np.log2(number.astype(float))
    own = sparse.csr_array(spread * (student[:, None] == students[None, :]).astype(float))
    school = sparse.csr_array(np.column_stack((np.ones(len(number)), practice)) * SCHOOL_SPREAD)
    return sparse.hstack((school, own, own.multiply(SLOPE_SHARE * practice[:, None])), format="csr")


def _fitted(rows: Rows, success: Floats) -> Floats:
    """The most probable coefficients: logistic regression with a ridge of 1 on every column.

    A try in doubt counts as both outcomes, each by its probability.
    """
    from sklearn.linear_model import LogisticRegression

    count = len(success)
    doubled, outcome = sparse.vstack((rows, rows), format="csr"), np.repeat([1.0, 0.0], count)
    weight = np.concatenate((success, 1.0 - success))
    used = weight > 0.0
    if len(np.unique(outcome[used])) < 2:
        # All tries went one way: the library asks for both, so one is added that weighs next to nothing.
        doubled, outcome = (
            sparse.vstack((doubled[used], sparse.csr_array((1, rows.shape[1]))), format="csr"),
            np.append(outcome[used], 1.0 - outcome[used][0]),
        )
        weight, used = np.append(weight[used], 1e-9), np.ones(used.sum() + 1, dtype=bool)
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # it says that it stopped early where the odds run off; the ridge holds them
        model = LogisticRegression(C=1.0, fit_intercept=False, max_iter=500)
        model.fit(doubled[used], outcome[used], sample_weight=weight[used])
    return np.asarray(model.coef_[0])


def _best_spread(student: Ints, number: Ints, success: Floats, students: Ints) -> float:
    """The spread that best foretells tries that were held back, a fifth of them at a time."""
    middle = STRENGTHS[2]
    if len(student) < _LEAST or len(students) < 2:
        return middle
    newest = number > 1
    loss = dict.fromkeys(STRENGTHS, 0.0)
    for fold in range(FOLDS):
        held = newest & (number % FOLDS == fold)
        if not held.any() or held.all():
            continue
        for spread in STRENGTHS:
            rows = _rows(student, number, students, spread)
            odds = rows[held] @ _fitted(rows[~held], success[~held])
            loss[spread] += float(np.sum(np.logaddexp(0.0, odds) - success[held] * odds))
    return min(loss, key=lambda spread: loss[spread])
