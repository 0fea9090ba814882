"""Tries of a school's students, and the peak of what they say of school and students.

    log odds of a try = level + slope log2(number), of each student
    level, slope of a student: normal about the school's, with a spread common to all

Every student has two coefficients of his or her own and shares two: the curvature is a row of 2 x 2 blocks
with a border of width 2 (an arrow), which is solved block by block. Arrays lead with the spreads tried.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from chalkwing.book.progress.attempts import Ints
from chalkwing.units import Floats

TYPICAL, SCHOOL = np.array([-2.0, 0.8]), np.array([1.0, 0.4])
"""What a school's own level and slope are believed to be before any try, and their spread: a first try meets
everything with 2 to 50 %, each doubling of tries multiplies the odds by 1 to 5. By simulated schools."""
SLOPE_SHARE = 0.4
"""How much less students differ in how quickly they learn than in where they begin. By simulated schools."""
_STEPS, _NEAR = 60, 1e-7


@dataclass(frozen=True)
class Tries:
    """Tries sorted by student: ``starts`` (students,) are the first of each, ``practice`` (n,) is log2 of a
    try's number, ``rows`` (2 students, n) holds of every try 1 and its practice in its student's place.
    """

    students: Ints
    starts: Ints
    practice: Floats
    rows: Floats
    success: Floats

    @classmethod
    def of(cls, student: Ints, number: Ints, success: Floats) -> Tries:
        """From tries in any order: whose (n,), their number (n,), the probability that each succeeded."""
        order = np.argsort(student, kind="stable")
        students, starts, place = np.unique(student[order], return_index=True, return_inverse=True)
        practice, every = np.log2(number[order].astype(float)), np.arange(len(order))
        # Mostly zeros, and yet quicker than picking: one product gives the odds of every try in every chain.
        rows = np.zeros((2 * len(students), len(order)))
        rows[2 * place, every], rows[2 * place + 1, every] = 1.0, practice
        return cls(students, starts, practice, rows, success[order])

    def by_student(self, rows: Floats) -> Floats:
        """Sums of (..., n) within each student, (..., students)."""
        return np.asarray(np.add.reduceat(rows, self.starts, axis=-1))

    def odds(self, own: Floats) -> Floats:
        """Log odds (..., n) from the students' levels and slopes (..., students, 2)."""
        return np.asarray(own.reshape(*own.shape[:-2], -1) @ self.rows)

    def log_likelihood(self, own: Floats) -> Floats:
        """Log likelihood (...) of levels and slopes (..., students, 2); a try in doubt counts as both."""
        odds = self.odds(own)
        size = np.abs(odds)  # log(1 + e^x) = (x + |x|) / 2 + log(1 + e^-|x|), which never overflows
        rest = np.log1p(np.exp(-size)).sum(axis=-1)
        return np.asarray(odds @ (self.success - 0.5) - 0.5 * size.sum(axis=-1) - rest)

    def curvature(self, own: Floats) -> tuple[Floats, Floats]:
        """Slope of the log likelihood (..., students, 2) in levels and slopes, and its curvature, negated."""
        chance = expit(self.odds(own))
        left, weight = self.success - chance, chance * (1.0 - chance)
        slope = np.stack((self.by_student(left), self.by_student(left * self.practice)), axis=-1)
        flat, tilted = self.by_student(weight), self.by_student(weight * self.practice)
        steep = self.by_student(weight * self.practice**2)
        rows = np.stack((flat, tilted, tilted, steep), axis=-1)
        return slope, rows.reshape(*rows.shape[:-1], 2, 2)


@dataclass(frozen=True)
class Peak:
    """The most probable school (k, 2) and students (k, students, 2) for each of k spreads, and about them.

    Coefficients are divided by the spread that they are believed to have, so that each is a priori of spread
    1. ``own`` (k, students, 2, 2) and ``border`` (k, students, 2, 2) are blocks of the information, and
    ``school`` (k, 2, 2) is what is left of the school's, students integrated out. ``likelihood`` is the part
    of the tries alone, in levels and slopes. ``evidence`` (k,) is the log of how probable the tries are for
    each spread, by Laplace, but for a constant.
    """

    spread: Floats
    at_school: Floats
    at_students: Floats
    likelihood: Floats
    own: Floats
    border: Floats
    school: Floats
    evidence: Floats

    @property
    def scale(self) -> Floats:
        """What students' coefficients are multiplied by, (k, 1, 2)."""
        return scale_of(self.spread)


def scale_of(spread: Floats) -> Floats:
    """Spread of students' levels and slopes about their school's, (k, 1, 2)."""
    return np.asarray(spread[:, None, None] * np.array([1.0, SLOPE_SHARE]))


def levels_and_slopes(school: Floats, students: Floats, scale: Floats) -> Floats:
    """Levels and slopes (..., students, 2) from coefficients of spread 1."""
    return np.asarray(TYPICAL + steps(school, students, scale))


def steps(school: Floats, students: Floats, scale: Floats) -> Floats:
    """By how much levels and slopes move with coefficients of spread 1."""
    return np.asarray(SCHOOL * school[..., None, :] + scale * students)


def peak_of(tries: Tries, spread: Floats) -> Peak:
    """The peak for each spread (k,), by Newton's method: the log posterior is concave, so there is one."""
    scale = scale_of(spread)
    school, students = np.zeros((len(spread), 2)), np.zeros((len(spread), len(tries.students), 2))
    height = _height(tries, school, students, scale)
    for _ in range(_STEPS):
        slope, curvature = tries.curvature(levels_and_slopes(school, students, scale))
        own, border, left = _arrow(curvature, scale)
        step_school, step_students = _solved(
            own, border, left, SCHOOL * slope.sum(axis=-2) - school, scale * slope - students
        )
        share = np.ones(len(spread))
        while True:
            new_school = school + share[:, None] * step_school
            new_students = students + share[:, None, None] * step_students
            new = _height(tries, new_school, new_students, scale)
            low = new < height - 1e-9 * np.abs(height)
            if not low.any() or share.min() < 1e-6:
                break
            share[low] *= 0.5
        school, students, height = new_school, new_students, new
        if max(np.abs(step_school).max(), np.abs(step_students).max()) < _NEAR:
            break
    _, curvature = tries.curvature(levels_and_slopes(school, students, scale))
    own, border, left = _arrow(curvature, scale)
    evidence = height - 0.5 * (np.linalg.slogdet(left)[1] + np.linalg.slogdet(own)[1].sum(axis=-1))
    return Peak(spread, school, students, curvature, own, border, left, evidence)


def _height(tries: Tries, school: Floats, students: Floats, scale: Floats) -> Floats:
    """Log of the posterior but for a constant, (k,)."""
    prior = (school**2).sum(axis=-1) + (students**2).sum(axis=(-1, -2))
    return np.asarray(tries.log_likelihood(levels_and_slopes(school, students, scale)) - 0.5 * prior)


def _arrow(curvature: Floats, scale: Floats) -> tuple[Floats, Floats, Floats]:
    """The students' blocks, their borders, and the school's block less what the students take up of it."""
    across = scale[..., :, None]
    own = across * curvature * scale[..., None, :] + np.eye(2)
    border = across * curvature * SCHOOL
    school = SCHOOL[:, None] * curvature.sum(axis=-3) * SCHOOL + np.eye(2)
    taken = np.swapaxes(border, -1, -2) @ np.linalg.solve(own, border)
    return own, border, school - taken.sum(axis=-3)


def _solved(
    own: Floats, border: Floats, left: Floats, school: Floats, students: Floats
) -> tuple[Floats, Floats]:
    alone = np.linalg.solve(own, students[..., None])
    through = (np.swapaxes(border, -1, -2) @ alone).sum(axis=-3)[..., 0]
    step = np.linalg.solve(left, (school - through)[..., None])[..., 0]
    return step, (alone - np.linalg.solve(own, border @ step[:, None, :, None]))[..., 0]
