"""The conditions of a lesson: altimetry, temperature, winds and north."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chalkwing import air
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import OutsideModel
from chalkwing.units import INCH_OF_MERCURY, celsius_to_kelvin, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft


def test_the_handbook_chart_problem() -> None:
    # FAA-H-8083-25 ch. 11 (read in a reproduction): field 5,883 ft, 30.10 inHg, 70 °F: pressure altitude
    # 5,718 ft, density altitude 7,700 ft. 3 ft is the table's rounding, 150 ft the reading of the chart.
    day = Conditions.with_temperature(
        temperature=celsius_to_kelvin((70.0 - 32.0) / 1.8),
        elevation=ft_to_m(5883.0),
        altimeter_setting=30.10 * INCH_OF_MERCURY,
    )
    assert m_to_ft(day.pressure_altitude(day.elevation)) == pytest.approx(5718.0, abs=3.0)
    assert m_to_ft(day.density_altitude(day.elevation)) == pytest.approx(7700.0, abs=150.0)


@settings(max_examples=50, deadline=None)
@given(st.floats(-300.0, 5_000.0), st.floats(95_000.0, 105_000.0))
def test_pressure_and_altimeter_altitude_undo_each_other(altitude: float, setting: float) -> None:
    day = Conditions(altimeter_setting=setting)
    assert day.altimeter_altitude(day.pressure_altitude(altitude)) == pytest.approx(altitude, abs=1e-6)


def test_standard_conditions_change_nothing() -> None:
    day = Conditions()
    altitude = np.array([0.0, 500.0, 3_000.0])
    np.testing.assert_allclose(day.pressure_altitude(altitude), altitude, atol=1e-6)
    np.testing.assert_allclose(day.density_altitude(altitude), altitude, atol=1e-6)
    assert day.wind_components(500.0) == (0.0, 0.0)


def test_true_airspeed_uses_the_level_and_the_warmth() -> None:
    day = Conditions(altimeter_setting=100_000.0, isa_deviation=15.0)
    expected = air.true_from_calibrated(
        calibrated_airspeed=50.0, pressure_altitude=day.pressure_altitude(1_500.0), isa_deviation=15.0
    )
    assert day.true_airspeed(calibrated_airspeed=50.0, altimeter_altitude=1_500.0) == expected
    assert expected > 50.0


def test_wind_is_interpolated_by_components_and_held_beyond() -> None:
    # From 350° and from 010°, 20 kt each: halfway it blows from north, 20 cos 10° kt, never from 180°.
    levels = (
        WindLevel(ft_to_m(5000.0), deg_to_rad(10.0), kt_to_mps(20.0)),
        WindLevel(ft_to_m(3000.0), deg_to_rad(350.0), kt_to_mps(20.0)),
    )
    north, east = Conditions(winds=levels).wind_components(
        ft_to_m(np.array([1000.0, 3000.0, 4000.0, 9000.0]))
    )
    along, across = 20.0 * np.cos(np.radians(10.0)), 20.0 * np.sin(np.radians(10.0))
    np.testing.assert_allclose(north, -kt_to_mps(along) * np.ones(4), rtol=1e-12)
    np.testing.assert_allclose(east, kt_to_mps(across) * np.array([1.0, 1.0, 0.0, -1.0]), atol=1e-12)


def test_variation_east_makes_the_magnetic_direction_the_smaller() -> None:
    day = Conditions(magnetic_variation=deg_to_rad(10.0))
    assert day.magnetic(deg_to_rad(100.0)) == pytest.approx(deg_to_rad(90.0))
    assert day.magnetic(deg_to_rad(5.0)) == pytest.approx(deg_to_rad(355.0))
    assert day.true(day.magnetic(1.234)) == pytest.approx(1.234)


@pytest.mark.parametrize(
    ("make", "phrase"),
    [
        (lambda: Conditions(altimeter_setting=29.92), "hPa or inHg"),
        (lambda: Conditions(elevation=7_000.0), "in feet"),
        (lambda: Conditions(magnetic_variation=12.0), "degrees"),
        (lambda: Conditions(isa_deviation=293.0), "ISA deviation"),
        (lambda: WindLevel(500.0, 270.0, 5.0), "degrees"),
        (lambda: WindLevel(500.0, 1.0, -5.0), "wind speed"),
        (lambda: Conditions(winds=(WindLevel(5.0, 1.0, 5.0), WindLevel(5.0, 2.0, 5.0))), "two winds"),
        (lambda: Conditions.with_temperature(temperature=15.0), "kelvins"),
    ],
)
def test_what_can_only_be_in_another_unit_is_refused(make: object, phrase: str) -> None:
    with pytest.raises(OutsideModel, match=phrase):
        make()  # type: ignore[operator]
