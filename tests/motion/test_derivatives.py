"""The derivatives in the sparse rows against central differences of the rows' own residuals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from chalkwing.motion import layout as at
from chalkwing.motion.linearize import evaluate, linearize
from chalkwing.units import Floats

KNOTS = np.array([0.0, 1.0, 2.0, 4.0])
ORIGIN = 1000.0
OBSERVED = (0.4, 1.3, 2.9)
_TAU = np.where(np.isin(np.arange(at.ALL_STATES), (at.THRUST, at.WIND_NORTH, at.WIND_EAST)), -1.0, 4.0)


@dataclass(frozen=True)
class Point:
    """States (K, N) and statics where the rows are taken."""

    states: Floats
    statics: Floats


@pytest.fixture(scope="module")
def point() -> Point:
    """A climbing, slipping turn: no derivative is zero by symmetry."""
    rng = np.random.default_rng(3)
    states = rng.normal(0.0, 0.02, (len(KNOTS), at.ALL_STATES))
    states[:, at.NORTH : at.HEIGHT] += np.cumsum(np.full((len(KNOTS), 2), 40.0), axis=0)
    states[:, at.HEIGHT] += ORIGIN + 30.0
    states[:, at.U_NORTH : at.ROLL] += (38.0, 27.0, 3.0)
    states[:, at.ROLL] += 0.6
    states[:, at.WIND_NORTH : at.BANK_WANDER] += rng.normal(0, 2, (len(KNOTS), 5))
    states[:, at.THRUST] += 0.12
    statics = rng.normal(0.0, 0.05, at.ALL_STATICS)
    statics[at.SHEAR_NORTH : at.INDICATED_SCALE] *= 0.05
    return Point(states, statics)


def rows(states: Floats, statics: Floats, lags: Floats) -> tuple[Floats, list[dict[int, float]]]:
    """Residuals, and each row's derivatives by global place of the unknown (knots first, then statics)."""
    y, jac = np.empty((len(KNOTS), at.OUTPUTS)), np.empty((len(KNOTS), at.OUTPUTS, at.INPUTS))
    density, plane = np.full(len(KNOTS), 0.9), np.array([36.0, 0.09, 50.0, 130.0])
    evaluate(states, statics, ORIGIN, density, plane, y, jac)
    kinds = np.repeat(np.arange(at.KINDS), len(OBSERVED))
    times = np.tile(OBSERVED, at.KINDS)
    order = np.argsort(times, kind="stable")
    count = (len(KNOTS) - 1) * (6 + at.ALL_STATES - at.ROLL) + len(times)
    r, scale = np.empty(count), np.empty(count)
    group, knot = np.empty(count, np.int64), np.empty(count, np.int64)
    ptr, index, value = np.empty(count + 1, np.int64), np.empty(count * 60, np.int32), np.empty(count * 60)
    air = np.tile([0.95, -0.0017, 0.98, 1010.0], (len(KNOTS), 1))
    made = linearize(
        KNOTS, states, statics, lags, y, jac, ORIGIN, air, _TAU,
        np.array([at.BANK_WANDER, at.PITCH_WANDER, at.HEADING_WANDER]),
        times[order], kinds[order], np.zeros(len(times)), np.ones(len(times)),
        r, group, scale, knot, ptr, index, value,
    )  # fmt: skip
    assert made == count
    found = []
    for m in range(count):
        entries: dict[int, float] = {}
        for p in range(ptr[m], ptr[m + 1]):
            i = int(index[p])
            n = at.ALL_STATES
            place = knot[m] * n + i if i < 2 * n else len(KNOTS) * n + i - 2 * n
            entries[place] = entries.get(place, 0.0) + value[p]
        found.append(entries)
    return r, found


def left_out(row: int, place: int, group: int) -> bool:
    """Derivatives that the rows leave out on purpose, each with its reason beside it in the code."""
    static = place - len(KNOTS) * at.ALL_STATES
    if group == at.SEES_HEADING and static in (at.ZERO_LIFT, at.LIFT_SLOPE):
        return True  # a compass must not be let near the lift curve
    return group == at.NOISE_POSITION  # the end correction's own derivatives would only fill the matrix


def groups(point: Point) -> Floats:
    steps = []
    for _ in range(len(KNOTS) - 1):
        for _ in range(3):
            steps += [at.NOISE_POSITION, at.NOISE_STEP]
        steps += [-1] * (at.ALL_STATES - at.ROLL)
    kinds = np.repeat(np.arange(at.KINDS), len(OBSERVED))
    order = np.argsort(np.tile(OBSERVED, at.KINDS), kind="stable")
    return np.concatenate((steps, kinds[order]))


def test_every_derivative_is_that_of_its_residual(point: Point) -> None:
    # At the lags about which the rows are expanded the lag terms vanish, so nothing else is approximate.
    lags = point.statics.copy()
    _, stated = rows(point.states, point.statics, lags)
    kind = groups(point)
    worst = 0.0
    unknowns = point.states.size + at.ALL_STATICS
    for place in range(unknowns):
        static = place - point.states.size
        if static >= at.FIRST_LAG:
            continue  # tested below
        step = 1e-5
        moved = []
        for sign in (1.0, -1.0):
            states, statics = point.states.copy(), point.statics.copy()
            if static < 0:
                states.ravel()[place] += sign * step
            else:
                statics[static] += sign * step
            moved.append(rows(states, statics, lags)[0])
        change = np.arctan2(np.sin(moved[0] - moved[1]), np.cos(moved[0] - moved[1]))
        angular = np.isin(kind, (at.SEES_BANK, at.SEES_PITCH, at.SEES_HEADING))
        slope = np.where(angular, change, moved[0] - moved[1]) / (2 * step)
        for m, entries in enumerate(stated):
            if not left_out(m, place, int(kind[m])):
                miss = abs(entries.get(place, 0.0) - slope[m])
                worst = max(worst, miss / (1.0 + abs(slope[m])))
    # One-sided differences of step 1e-6 inside the rows leave a few millionths.
    assert worst < 2e-4


def test_a_later_channel_shows_an_earlier_value(point: Point) -> None:
    lags = point.statics.copy()
    later = point.statics.copy()
    later[at.LAG_OF[at.SEES_INDICATED]] += 0.01
    before, stated = rows(point.states, point.statics, lags)
    after, _ = rows(point.states, later, lags)
    kind = groups(point)
    place = point.states.size + at.LAG_OF[at.SEES_INDICATED]
    for m in np.flatnonzero(kind == at.SEES_INDICATED):
        assert (after[m] - before[m]) / 0.01 == pytest.approx(stated[m][place], rel=1e-6)
