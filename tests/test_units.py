"""Conversions: there and back, on arrays and on single numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chalkwing import units


@given(st.floats(-1e4, 1e4))
def test_conversions_come_back(value: float) -> None:
    for there, back in (
        (units.ft_to_m, units.m_to_ft),
        (units.kt_to_mps, units.mps_to_kt),
        (units.deg_to_rad, units.rad_to_deg),
        (units.celsius_to_kelvin, units.kelvin_to_celsius),
    ):
        assert back(there(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.floats(-1e3, 1e3))
def test_wrapped_angles_are_the_same_direction(angle: float) -> None:
    wrapped, compass = units.wrap_angle(angle), units.wrap_compass(angle)
    assert -math.pi < wrapped <= math.pi
    assert 0.0 <= compass <= 2 * math.pi
    for same in (wrapped, compass):
        assert math.cos(same) == pytest.approx(math.cos(angle), abs=1e-9)
        assert math.sin(same) == pytest.approx(math.sin(angle), abs=1e-9)


def test_arrays_convert_as_their_elements_do() -> None:
    values = np.array([-400.0, 0.0, 3.5, np.nan, 721.0])
    for convert in (
        units.ft_to_m,
        units.kt_to_mps,
        units.deg_to_rad,
        units.celsius_to_kelvin,
        units.wrap_angle,
    ):
        np.testing.assert_array_equal(convert(values), [convert(float(value)) for value in values])
