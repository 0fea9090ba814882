"""The equations of motion, written once: numbers, compiled kernels and the optimizer's symbols agree."""

from __future__ import annotations

import inspect

import casadi
import numpy as np
import pytest

import chalkwing.dynamics as dynamics
from chalkwing.airplane import load_sheet
from chalkwing.compiled import compiled
from chalkwing.dynamics import PointMass
from chalkwing.reference import collocation, interval
from chalkwing.reference.collocation import COLUMNS, LAYOUT, ROW_COUNT, ROWS, SIZE

FIXED, GOVERNED = (load_sheet(name).point_mass() for name in ("four-seat-160", "four-seat-200"))
VALUES = {
    "path_angle": 0.08,
    "angle_of_attack": 0.11,
    "path_bank": 0.5,
    "bank": 0.52,
    "pitch": 0.18,
    "path_angle_rate": 0.02,
    "true_airspeed": 43.0,
    "air_heading": 1.1,
    "load_factor": 1.15,
    "specific_excess_thrust": 0.3,
    "wind_north": 4.0,
    "wind_east": -3.0,
    "wind_north_gradient": 0.004,
    "wind_east_gradient": 0.002,
    "density": 1.08,
    "lift": 0.8,
    "throttle": 0.62,
    "density_ratio": 0.9,
    "dropoff": 0.12,
}
FUNCTIONS = (
    "air_heading_rate",
    "airspeed_rate",
    "angle_of_attack",
    "angle_of_attack_for",
    "bank_attitude",
    "drag",
    "dynamic_pressure",
    "ground_velocity",
    "lift_coefficient",
    "load_factor",
    "load_factor_for",
    "nose_offset",
    "path_angle_rate",
    "path_bank",
    "path_bank_for",
    "pitch_attitude",
    "power_dropoff",
    "specific_excess_thrust",
    "state_rates",
    "thrust",
)


@pytest.fixture(autouse=True)
def numpy_calls_give_symbols():
    collocation.solver()  # sets how the library answers numpy


def arguments(name: str) -> dict[str, float]:
    names = inspect.signature(getattr(dynamics, name)).parameters
    return {each: VALUES[each] for each in names if each != "airplane"}


@pytest.mark.parametrize("airplane", [FIXED, GOVERNED], ids=["fixed_pitch", "constant_speed"])
@pytest.mark.parametrize("name", FUNCTIONS)
def test_symbols_and_numbers_agree(name, airplane):
    function, numbers = getattr(dynamics, name), arguments(name)
    symbols = {each: casadi.SX.sym(each) for each in numbers}
    fields = [casadi.SX.sym(field) for field in PointMass._fields]
    takes_airplane = "airplane" in inspect.signature(function).parameters
    first = (PointMass(*fields),) if takes_airplane else ()
    built = function(*first, *symbols.values())
    outputs = list(built) if isinstance(built, tuple) else [built]
    evaluate = casadi.Function("f", [*fields, *symbols.values()], outputs)
    got = evaluate(*airplane, *numbers.values())
    got = [float(each) for each in (got if isinstance(got, tuple) else (got,))]
    expected = function(*((airplane,) if takes_airplane else ()), *numbers.values())
    np.testing.assert_allclose(got, np.atleast_1d(expected), rtol=1e-13)


def compiled_thrust(airplane, throttle, density, true_airspeed):
    return dynamics.specific_excess_thrust(airplane, throttle, 1.1, density, true_airspeed)


def compiled_attitude(path_angle, pitch, bank):
    rolled = dynamics.path_bank(path_angle, pitch, bank)
    return dynamics.angle_of_attack_for(path_angle, pitch, rolled) + rolled


@pytest.mark.parametrize("airplane", [FIXED, GOVERNED], ids=["fixed_pitch", "constant_speed"])
def test_compiled_and_numbers_agree(airplane):
    # numba cannot cache a function defined in a test on a read-only tree, but may compile it all the same.
    fast, plain = compiled(compiled_thrust), compiled_thrust
    assert fast(airplane, 0.6, 1.1, 45.0) == pytest.approx(plain(airplane, 0.6, 1.1, 45.0), rel=1e-13)
    fast, plain = compiled(compiled_attitude), compiled_attitude
    assert fast(0.08, 0.18, 0.5) == pytest.approx(plain(0.08, 0.18, 0.5), rel=1e-13)


# --- The optimizer's derivatives ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def point():
    """A plausible point in the program: some airplane, some turn, no solution."""
    rng = np.random.default_rng(4)
    x = np.zeros(SIZE)
    x[LAYOUT.durations], x[LAYOUT.throttle] = 1.5, 0.7
    for places in (LAYOUT.states, LAYOUT.inner):
        shape = LAYOUT.states.shape if places is LAYOUT.states else LAYOUT.inner.shape
        x[places] = np.array([0.85, 0.05, 1.5, 0.5]) + 0.05 * rng.normal(size=shape)
    x[LAYOUT.attitudes] = np.array([18.0, 0.5, 6.0, 0.2]) + 0.5 * rng.normal(size=LAYOUT.attitudes.shape)
    x[LAYOUT.controls] = 0.1 * rng.normal(size=LAYOUT.controls.shape)
    p = np.array([*FIXED, np.log(1.1), -1e-4, -1e-10, 50.0])
    return x, p


def oracle(name: str):
    return collocation.solver().get_function(name)


def test_slopes_of_all_rows_are_those_of_differences(point):
    x, p = point
    slopes = oracle("nlp_jac_g")
    value, matrix = slopes(x, p)
    matrix, rng = np.array(matrix), np.random.default_rng(1)
    assert np.array(value).size == ROW_COUNT
    for _ in range(3):  # along random directions, central differences
        way, h = rng.normal(size=SIZE), 1e-6
        up, down = (np.array(slopes(x + s * h * way, p)[0]).ravel() for s in (1.0, -1.0))
        np.testing.assert_allclose(matrix @ way, (up - down) / (2.0 * h), rtol=1e-5, atol=1e-6)


def test_curvature_of_the_lagrangian_is_that_of_differences(point):
    x, p = point
    rng = np.random.default_rng(2)
    weights = rng.normal(size=ROW_COUNT)
    upper = np.array(oracle("nlp_hess_l")(x, p, 0.7, weights))
    full = upper + np.triu(upper, 1).T
    slopes, cost_slope = oracle("nlp_jac_g"), oracle("nlp_grad_f")

    def gradient(at):
        of_cost = np.array(cost_slope(at, p)[1]).ravel()
        return 0.7 * of_cost + np.array(slopes(at, p)[1]).T @ weights

    for _ in range(3):
        way, h = rng.normal(size=SIZE), 1e-6
        expected = (gradient(x + h * way) - gradient(x - h * way)) / (2.0 * h)
        np.testing.assert_allclose(full @ way, expected, rtol=1e-4, atol=1e-4)


def test_every_variable_and_row_is_used():
    assert set(COLUMNS.ravel().tolist()) == set(range(SIZE))
    assert np.array_equal(np.concatenate([rows.ravel() for rows in ROWS]), np.arange(ROW_COUNT))


def test_the_collocation_points_are_radaus():
    # Radau's three points are (4 ∓ √6)/10 and 1. Source: any text on numerical quadrature, from memory.
    points = interval.radau_points()
    np.testing.assert_allclose(points, [(4 - np.sqrt(6)) / 10, (4 + np.sqrt(6)) / 10, 1.0], rtol=1e-12)
