"""Lift, drag and thrust: hand calculations, limits and round trips."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.dynamics import (
    PointMass,
    angle_of_attack,
    drag,
    lift_coefficient,
    load_factor,
    power_dropoff,
    specific_excess_thrust,
    stall_speed,
    thrust,
)
from chalkwing.units import STANDARD_GRAVITY

AIRPLANE = PointMass(
    mass=1000.0,
    wing_area=16.0,
    zero_lift_drag=0.035,
    induced_drag=0.06,
    lift_slope=4.7,
    zero_lift_angle=-0.03,
    max_lift=1.6,
    torque_thrust=2900.0,
    propeller_drag_area=0.25,
)


def test_lift_coefficient_by_hand():
    # 9806.65 N / (0.5 x 1.225 x 50^2 x 16 = 24500 N) = 0.40027
    assert lift_coefficient(AIRPLANE, 1.0, 1.225, 50.0) == pytest.approx(0.40027, abs=1e-5)


def test_drag_is_least_where_zero_lift_and_induced_drag_are_equal():
    # The textbook result for a parabolic polar: C_L = sqrt(C_D0 / k), and D_min = 2 W sqrt(k C_D0).
    speed = np.linspace(25.0, 80.0, 5501)
    values = drag(AIRPLANE, np.ones_like(speed), 1.225 + 0 * speed, speed)
    best = np.argmin(values)
    at_best = lift_coefficient(AIRPLANE, 1.0, 1.225, float(speed[best]))
    assert at_best == pytest.approx(np.sqrt(0.035 / 0.06), rel=2e-3)
    assert values[best] == pytest.approx(2 * 9806.65 * np.sqrt(0.06 * 0.035), rel=1e-6)


def test_load_factor_and_angle_of_attack_are_inverses():
    attack = angle_of_attack(AIRPLANE, lift_coefficient(AIRPLANE, 1.7, 1.1, 48.0))
    assert load_factor(AIRPLANE, attack, 1.1, 48.0) == pytest.approx(1.7)


def test_thrust_falls_with_speed_and_height_and_windmills_at_idle():
    assert thrust(AIRPLANE, 1.0, 1.225, 0.0) == pytest.approx(2900.0)
    assert thrust(AIRPLANE, 1.0, 1.225, 60.0) == pytest.approx(2900.0 - 0.25 * 1.225 * 3600.0)
    assert thrust(AIRPLANE, 1.0, 0.9, 40.0) < thrust(AIRPLANE, 1.0, 1.225, 40.0)
    assert thrust(AIRPLANE, 0.0, 1.225, 40.0) < 0.0


def test_power_dropoff_ends():
    assert power_dropoff(1.0) == pytest.approx(1.0)
    assert power_dropoff(0.12) == pytest.approx(0.0)


def test_excess_thrust_sets_the_rate_of_climb():
    excess = specific_excess_thrust(AIRPLANE, 1.0, 1.0, 1.225, 40.0)
    climb = excess * 40.0 / STANDARD_GRAVITY
    assert 3.0 < climb < 7.0  # 600 to 1,400 ft/min: what a light airplane of this power does


def test_stall_speed_grows_with_the_root_of_the_load_factor():
    assert stall_speed(AIRPLANE, 2.0, 1.225) == pytest.approx(np.sqrt(2) * stall_speed(AIRPLANE, 1.0, 1.225))
    assert lift_coefficient(AIRPLANE, 1.0, 1.225, stall_speed(AIRPLANE, 1.0, 1.225)) == pytest.approx(1.6)
