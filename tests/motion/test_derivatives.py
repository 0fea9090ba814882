"""The derivatives in the sparse rows against central differences of the rows' own residuals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from chalkwing.motion import layout as at
from chalkwing.motion.flight_model import THRUST_LAPSE
from chalkwing.motion.linearize import evaluate, linearize
from chalkwing.units import STANDARD_GRAVITY, Floats

KNOTS = np.array([0.0, 1.0, 2.0, 4.0])
ORIGIN = 1000.0
OBSERVED = (0.4, 1.3, 2.9)
DENSITY, PLANE = 0.9, np.array([36.0, 0.09, 50.0, 130.0])
_TAU = np.where(np.isin(np.arange(at.ALL_STATES), (at.THRUST, at.WIND_NORTH, at.WIND_EAST)), -1.0, 4.0)


@dataclass(frozen=True)
class Point:
    """States (K, N) and statics where the rows are taken."""

    states: Floats
    statics: Floats


@pytest.fixture(scope="module", params=[at.ALL_STATES, at.CORE_STATES], ids=["attitude", "no attitude"])
def point(request: pytest.FixtureRequest) -> Point:
    """A climbing, slipping turn: no derivative is zero by symmetry. Without attitude, fewer states."""
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
    return Point(states[:, : request.param].copy(), statics)


def rows(states: Floats, statics: Floats, lags: Floats) -> tuple[Floats, list[dict[int, float]]]:
    """Residuals, and each row's derivatives by global place of the unknown (knots first, then statics)."""
    y, jac = np.empty((len(KNOTS), at.OUTPUTS)), np.empty((len(KNOTS), at.OUTPUTS, at.INPUTS))
    n = states.shape[1]
    evaluate(states, statics, ORIGIN, np.full(len(KNOTS), DENSITY), PLANE, y, jac)
    kinds = np.repeat(np.arange(at.KINDS), len(OBSERVED))
    times = np.tile(OBSERVED, at.KINDS)
    order = np.argsort(times, kind="stable")
    count = _steps(n) + len(times)
    r, scale = np.empty(count), np.empty(count)
    group, knot = np.empty(count, np.int64), np.empty(count, np.int64)
    ptr, index, value = np.empty(count + 1, np.int64), np.empty(count * 60, np.int32), np.empty(count * 60)
    air = np.tile([0.95, -0.0017, 0.98, 1010.0], (len(KNOTS), 1))
    wanders = np.array([at.BANK_WANDER, at.PITCH_WANDER, at.HEADING_WANDER])
    wanders = wanders if n == at.ALL_STATES else np.full(3, -1)
    made = linearize(
        KNOTS, states, statics, lags, y, jac, ORIGIN, air, _TAU[:n],
        wanders,
        times[order], kinds[order], np.zeros(len(times)), np.ones(len(times)),
        r, group, scale, knot, ptr, index, value,
    )  # fmt: skip
    assert made == count
    found = []
    for m in range(count):
        entries: dict[int, float] = {}
        for p in range(ptr[m], ptr[m + 1]):
            i = int(index[p])
            place = knot[m] * n + i if i < 2 * n else len(KNOTS) * n + i - 2 * n
            entries[place] = entries.get(place, 0.0) + value[p]
        found.append(entries)
    return r, found


def _steps(states: int) -> int:
    """How many rows the steps between the knots make."""
    return (len(KNOTS) - 1) * (6 + states - at.ROLL)


def left_out(static: int, group: int) -> bool:
    """Derivatives that the rows leave out on purpose; each has its own test below."""
    if group == at.NOISE_POSITION:
        # The end correction's: it hangs on all that makes acceleration, while the trapezium's terms stay
        # checked in `test_a_step_of_position_states_the_derivatives_of_the_trapezium`.
        return True
    return group == at.SEES_HEADING and static in (at.ZERO_LIFT, at.LIFT_SLOPE)


def groups(point: Point) -> Floats:
    steps = []
    for _ in range(len(KNOTS) - 1):
        for _ in range(3):
            steps += [at.NOISE_POSITION, at.NOISE_STEP]
        steps += [-1] * (point.states.shape[1] - at.ROLL)
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
            if not left_out(static, int(kind[m])):
                miss = abs(entries.get(place, 0.0) - slope[m])
                worst = max(worst, miss / (1.0 + abs(slope[m])))
    # One-sided differences of step 1e-6 inside the rows leave a few millionths.
    assert worst < 2e-4


def test_a_step_of_position_states_the_derivatives_of_the_trapezium(point: Point) -> None:
    _, stated = rows(point.states, point.statics, point.statics)
    steps = np.flatnonzero(groups(point) == at.NOISE_POSITION)
    assert len(steps) == 3 * (len(KNOTS) - 1)
    for number, m in enumerate(steps):
        k, axis = divmod(number, 3)
        half = 0.5 * (KNOTS[k + 1] - KNOTS[k])
        n = point.states.shape[1]
        here, after = k * n + axis, (k + 1) * n + axis
        assert stated[m] == pytest.approx({here: -1.0, after: 1.0, here + 3: -half, after + 3: -half})


SPEED, RATE = 50.0, 0.2


def circle() -> Floats:
    """States of a steady level turn at `SPEED` [m/s] and `RATE` [rad/s], thrust equal to drag."""
    states = np.zeros((len(KNOTS), at.CORE_STATES))
    angle = RATE * KNOTS
    states[:, at.NORTH], states[:, at.EAST] = SPEED / RATE * np.sin(angle), -SPEED / RATE * np.cos(angle)
    states[:, at.HEIGHT] = ORIGIN
    states[:, at.U_NORTH], states[:, at.U_EAST] = SPEED * np.cos(angle), SPEED * np.sin(angle)
    states[:, at.ROLL] = np.arctan(SPEED * RATE / STANDARD_GRAVITY)
    load_squared = 1.0 + (SPEED * RATE / STANDARD_GRAVITY) ** 2
    ratio = DENSITY * SPEED**2 / PLANE[0] ** 2
    drag = 0.5 * PLANE[1] * (ratio + load_squared / ratio)
    states[:, at.THRUST] = drag * (DENSITY * SPEED**2 / PLANE[2] ** 2) ** (0.5 * THRUST_LAPSE)
    return states


def test_a_step_of_position_is_exact_to_the_fourth_order() -> None:
    # Along the circle the trapezium of velocity misses by dt^3 V w^2 / 12 (17 cm in 1 s, 1.3 m in 2 s); with
    # the Euler-Maclaurin end correction what is left is dt^5 V w^4 / 720 to leading order. A tenth allows for
    # the next.
    residuals, _ = rows(circle(), np.zeros(at.ALL_STATICS), np.zeros(at.ALL_STATICS))
    each = residuals[: _steps(at.CORE_STATES)].reshape(len(KNOTS) - 1, -1)
    for k, dt in enumerate(np.diff(KNOTS)):
        left = dt**5 * SPEED * RATE**4 / 720
        assert np.hypot(each[k, 0], each[k, 2]) == pytest.approx(left, rel=0.1)


def test_a_heading_moves_with_the_lift_curve_but_must_not_move_it(point: Point) -> None:
    # What is left out is really there: else the omission, and its reason, would have gone.
    moved = point.statics.copy()
    moved[at.ZERO_LIFT] += 0.01
    before, stated = rows(point.states, point.statics, point.statics)
    after, _ = rows(point.states, moved, point.statics)
    for m in np.flatnonzero(groups(point) == at.SEES_HEADING):
        assert abs(after[m] - before[m]) > 1e-3
        for static in (at.ZERO_LIFT, at.LIFT_SLOPE):
            assert stated[m].get(point.states.size + static, 0.0) == 0.0


LAGGING_KINDS = [kind for kind in range(at.KINDS) if at.LAG_OF[kind] >= 0]
WITHOUT_RATE = (at.SEES_SIDE, at.SEES_SPEED)
"""Kinds whose rows say nothing of their lag: the ball is too quick, ground speed is left as it comes."""


@pytest.mark.parametrize("kind", LAGGING_KINDS)
def test_a_later_channel_shows_an_earlier_value(point: Point, kind: int) -> None:
    # The rate in the lag's term is held fixed, on purpose: its own derivatives would only fill the matrix. So
    # the residual is linear in the lag, exactly.
    later = point.statics.copy()
    later[at.LAG_OF[kind]] += 0.3
    before, stated = rows(point.states, point.statics, point.statics)
    after, _ = rows(point.states, later, point.statics)
    place = point.states.size + at.LAG_OF[kind]
    for m in np.flatnonzero(groups(point) == kind):
        slope = (after[m] - before[m]) / 0.3
        assert slope == pytest.approx(stated[m].get(place, 0.0), rel=1e-9, abs=1e-12)
        assert (slope == 0.0) == (kind in WITHOUT_RATE)


@pytest.mark.parametrize("kind", [at.SEES_U_NORTH, at.SEES_U_EAST, at.SEES_HEADING])
def test_both_ways_of_being_late_agree(kind: int) -> None:
    # A lag may move the place of sight (between solutions) or be expanded about it (within one). Along the
    # circle both show the same to the accuracy of interpolation: accelerations between knots by w^2 dt^2 / 8
    # = 2 % of the largest, velocity's cubic the like. 3 % of the largest change, V w x lag, covers both.
    statics = np.zeros(at.ALL_STATICS)
    late = statics.copy()
    late[at.LAG_OF[kind]] = 0.05
    kinds = np.repeat(np.arange(at.KINDS), len(OBSERVED))[
        np.argsort(np.tile(OBSERVED, at.KINDS), kind="stable")
    ]
    which = _steps(at.CORE_STATES) + np.flatnonzero(kinds == kind)
    there, expanded, moved = (
        rows(circle(), here, about)[0][which]
        for here, about in ((statics, statics), (late, statics), (late, late))
    )
    largest = RATE * 0.05 * (1.0 if kind == at.SEES_HEADING else SPEED)
    assert np.max(np.abs(expanded - there)) > 0.3 * largest
    assert expanded == pytest.approx(moved, abs=0.03 * largest)
