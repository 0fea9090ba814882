"""Glides drawn by hand: an idling engine loses energy at one angle, power on the way shows."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.find.extent import _down
from chalkwing.find.glide import evenness, steadiness

INTERVAL = 0.25
SPEED = 35.0
TIME = np.arange(0.0, 90.0, INTERVAL)
WHOLE = np.array([0]), np.array([len(TIME) - 1])


def of(angle_deg: np.ndarray) -> float:
    energy = 300.0 - np.cumsum(SPEED * np.tan(np.radians(angle_deg))) * INTERVAL
    return float(evenness(energy, SPEED * TIME, *WHOLE, INTERVAL)[0])


def test_a_glide_at_one_angle_is_even() -> None:
    assert of(np.full(len(TIME), 7.0)) == pytest.approx(1.0, abs=1e-6)


def test_power_on_the_way_flattens_it() -> None:
    powered = (TIME > 40) & (TIME < 60)
    expected = np.tan(np.radians(3.0)) / np.tan(np.radians(7.0))
    assert of(np.where(powered, 3.0, 7.0)) == pytest.approx(expected, abs=0.02)
    assert of(np.where(powered, -2.0, 7.0)) == 0.0


def test_the_throttle_closing_and_the_round_out_do_not_count() -> None:
    assert of(np.where((TIME < 5) | (TIME > 87), 0.0, 7.0)) == pytest.approx(1.0, abs=0.02)


def test_too_short_a_stretch_says_nothing() -> None:
    short = np.array([0]), np.array([40])
    assert np.isnan(evenness(-TIME, SPEED * TIME, *short, INTERVAL)[0])
    assert np.isnan(steadiness(np.ones(len(TIME)), np.array([0]), np.array([20]), INTERVAL)[0])


def test_an_engine_at_rest_is_steady() -> None:
    engine = np.where(TIME < 30, 1.3, 1.0)
    assert steadiness(engine, *WHOLE, INTERVAL)[0] == pytest.approx(1.0 / 1.3)
    assert np.isnan(steadiness(np.full(len(TIME), np.nan), *WHOLE, INTERVAL)[0])


@pytest.mark.parametrize("drift", [-0.05, 0.0, 0.05], ids=["sinking", "level", "rising"])
def test_a_descent_ends_where_the_wheels_touch_however_the_runway_slopes(drift: float) -> None:
    # 60 s down at 4 m/s, then 60 s along a runway whose altitude is off by some 3 m in a minute.
    time = np.arange(0.0, 120.0, INTERVAL)
    altitude = np.where(time < 60, 240.0 - 4.0 * time, drift * (time - 60))
    (end,) = _down(np.array([40]), altitude, len(time), 16, 8.0, 1.5)
    assert time[end] == pytest.approx(60.0, abs=1.0)


def test_a_go_around_ends_it_low() -> None:
    time = np.arange(0.0, 90.0, INTERVAL)
    altitude = np.where(time < 60, 250.0 - 4.0 * time, 10.0 + 3.0 * (time - 60))
    (end,) = _down(np.array([40]), altitude, len(time), 16, 8.0, 1.5)
    assert time[end] == pytest.approx(60.0, abs=1.0)
