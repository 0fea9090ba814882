"""The equations of motion against Newton's law in an inertial frame, and against handbook figures."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.dynamics import (
    air_heading_rate,
    ground_velocity,
    load_factor_for,
    path_angle_rate,
    state_rates,
)
from chalkwing.units import STANDARD_GRAVITY, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, rad_to_deg


def newton(state, *, bank, load_factor, excess, gradient):
    """Acceleration over the ground from forces alone: excess along the path, lift across it, gravity down."""
    _, _, _, _, climb, heading = state
    along = np.array([np.cos(climb) * np.cos(heading), np.cos(climb) * np.sin(heading), np.sin(climb)])
    upward = np.array([-np.sin(climb) * np.cos(heading), -np.sin(climb) * np.sin(heading), np.cos(climb)])
    right = np.array([-np.sin(heading), np.cos(heading), 0.0])
    lift = load_factor * STANDARD_GRAVITY * (np.cos(bank) * upward + np.sin(bank) * right)
    return excess * along + lift - np.array([0.0, 0.0, STANDARD_GRAVITY])


@pytest.mark.parametrize("seed", range(5))
def test_acceleration_over_the_ground_is_newtons(seed):
    # Differentiating the ground velocity that the rates imply must give force over mass in the inertial
    # frame, wind gradient included. Central differences with h = 1e-4 s leave about 1e-7 m/s2.
    rng = np.random.default_rng(seed)
    state = np.array([0.0, 0.0, 900.0, rng.uniform(30, 80), rng.uniform(-0.4, 0.4), rng.uniform(0, 6)])
    gradient = rng.normal(0, 0.02, 2)
    wind = rng.normal(0, 8, 2)
    controls = {"bank": rng.uniform(-1, 1), "load_factor": rng.uniform(0.5, 2), "excess": rng.normal(0, 2)}

    def velocity(at):
        carried = wind + gradient * (at[2] - 900.0)
        return np.array(ground_velocity(at[3], at[4], at[5], carried[0], carried[1]))

    rates = np.array(
        state_rates(
            *state[3:], controls["bank"], controls["load_factor"], controls["excess"], *wind, *gradient
        )
    )
    h = 1e-4
    acceleration = (velocity(state + h * rates) - velocity(state - h * rates)) / (2 * h)
    assert acceleration == pytest.approx(newton(state, gradient=gradient, **controls), abs=1e-5)


def test_turn_rate_and_radius_of_a_level_turn_agree_with_the_handbook():
    # FAA-H-8083-25, ch. 5, "Radius of Turn": 120 kt, 30 degrees -> 2,215 ft. The handbook's constant 11.26 is
    # rounded (exact 11.294), which makes its own figure 0.30 % high: 0.4 % covers that and nothing more.
    speed, bank = kt_to_mps(120.0), deg_to_rad(30.0)
    factor = load_factor_for(speed, 0.0, bank, 0.0)
    radius = speed / air_heading_rate(speed, 0.0, bank, factor)
    assert m_to_ft(radius) == pytest.approx(2215, rel=0.004)


@pytest.mark.parametrize(("bank", "factor"), [(45, 1.41), (50, 1.56), (60, 2.00)])
def test_load_factor_of_a_level_turn(bank, factor):
    # FAA-H-8083-3C, ch. 10: 1.4 at 45 degrees, 2.0 at 60; 1.56 at 50 is 1/cos 50. Rounded to 0.01.
    assert load_factor_for(50.0, 0.0, deg_to_rad(float(bank)), 0.0) == pytest.approx(factor, abs=0.006)


def test_turn_rate_at_100_knots_and_50_degrees():
    # Hand calculation: rate = g tan(bank) / V = 9.80665 x 1.19175 / 51.444 = 0.22718 rad/s = 13.02 deg/s.
    factor = load_factor_for(kt_to_mps(100.0), 0.0, deg_to_rad(50.0), 0.0)
    rate = air_heading_rate(kt_to_mps(100.0), 0.0, deg_to_rad(50.0), factor)
    assert rad_to_deg(rate) == pytest.approx(13.02, abs=0.01)


def test_arrays_give_what_numbers_give_and_left_mirrors_right():
    speed = np.array([40.0, 55.0, np.nan])
    bank = np.array([0.3, -0.8, 0.1])
    factor = load_factor_for(speed, 0.1 + 0 * speed, bank, 0.02 + 0 * speed)
    for k in range(2):
        assert factor[k] == load_factor_for(speed[k], 0.1, bank[k], 0.02)
    assert np.isnan(factor[2])
    assert path_angle_rate(50.0, 0.1, 0.5, 1.3) == path_angle_rate(50.0, 0.1, -0.5, 1.3)
    assert air_heading_rate(50.0, 0.1, 0.5, 1.3) == -air_heading_rate(50.0, 0.1, -0.5, 1.3)


def test_climbing_into_a_rising_headwind_gains_airspeed():
    # Heading north into air that blows south faster with height: the gradient is negative.
    calm = state_rates(50.0, 0.1, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    headwind = state_rates(50.0, 0.1, 0.0, 0.0, 1.0, 0.0, -5.0, 0.0, kt_to_mps(-5.0) / ft_to_m(1000.0), 0.0)
    assert headwind[3] > calm[3]
    assert headwind[4] < calm[4]
