"""The conditions of a lesson: altimetry, temperature, winds and north."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chalkwing import air
from chalkwing.conditions import Conditions, WindLevel, from_metar
from chalkwing.errors import OutsideModel, UnreadableReport
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


# --- Cloud, terrain, METAR ----------------------------------------------------------------------------------


def test_terrain_and_ceiling_are_heights_of_their_own() -> None:
    day = Conditions(elevation=300.0, ceiling=1_000.0)
    assert day.highest_terrain == 300.0
    assert day.ceiling_altitude == 1_300.0
    hills = day.completed(terrain_elevation=640.0, notes=("said",))
    assert (hills.highest_terrain, hills.ceiling, hills.notes) == (640.0, 1_000.0, ("said",))
    assert Conditions().ceiling_altitude is None


def test_a_metar_of_the_american_form() -> None:
    # Groups by WMO No. 306 FM 15 and its United States practice; 10SM is 10 statute miles, BKN045 4,500 ft
    # above the field, A3012 30.12 inHg, T01830072 18.3 and 7.2 °C. Ours, no station's.
    day = from_metar(
        "METAR KXYZ 141453Z 27015G24KT 10SM FEW020 BKN045 OVC090 18/07 A3012 RMK AO2 SLP199 T01830072 $",
        elevation=ft_to_m(1_000.0),
        magnetic_variation=deg_to_rad(-4.0),
    )
    assert day.altimeter_setting == pytest.approx(30.12 * INCH_OF_MERCURY, abs=1.0)
    assert day.ceiling is not None
    assert m_to_ft(day.ceiling) == pytest.approx(4_500.0)
    assert day.visibility == pytest.approx(16_093.0, abs=1.0)
    north, east = day.wind_components(ft_to_m(3_000.0))
    assert (north, east) == pytest.approx((0.0, kt_to_mps(15.0)), abs=1e-9)
    # 18.3 °C where the standard says 15 - 1.98 x 0.82 (pressure altitude 818 ft): 4.9 K warmer.
    assert day.isa_deviation == pytest.approx(4.9, abs=0.1)
    assert any("Gusts to 24 kt" in note for note in day.notes)
    assert any("stands in for the wind aloft" in note for note in day.notes)


def test_a_metar_of_the_european_form() -> None:
    aloft = WindLevel(ft_to_m(3_000.0), deg_to_rad(260.0), kt_to_mps(25.0))
    day = from_metar("EDXX 141450Z VRB02KT 9999 FEW030 M03/M07 Q0998 NOSIG=", elevation=200.0, winds=(aloft,))
    assert day.altimeter_setting == 99_800.0
    assert day.ceiling is None
    assert day.visibility == 10_000.0
    assert day.winds[-1] == aloft
    assert day.winds[0].wind_speed == 0.0
    assert any("variable at 2 kt" in note for note in day.notes)
    assert not any("stands in for the wind aloft" in note for note in day.notes)


def test_what_a_report_lacks_is_said() -> None:
    day = from_metar("KXYZ 141453Z /////KT 2SM BR OVC/// XX/XX", elevation=0.0)
    assert (day.isa_deviation, day.altimeter_setting, day.ceiling) == (pytest.approx(0.0), 101_325.0, None)
    said = " ".join(day.notes)
    for lacking in ("no wind", "no temperature", "no altimeter setting", "without its height"):
        assert lacking in said


@pytest.mark.parametrize(
    ("text", "phrase"),
    [
        ("", "names no station"),
        ("hello world", "cannot be read"),
        ("TAF KXYZ 141130Z 1412/1512 27010KT P6SM SCT040", "forecast"),
        ("METAR KXYZ 141453Z NIL", "NIL"),
        ("KXYZ 141453Z 37015KT 10SM BKN045 18/07 A3012", "0..360"),
        ("KXYZ 141453Z 27015KT 10SM BKN045 18,07 A3012", "18,07"),
        ("KXYZ 149953Z 27015KT 10SM CLR 18/07 A3012", "hour"),
    ],
)
def test_what_is_no_metar_is_refused(text: str, phrase: str) -> None:
    with pytest.raises(UnreadableReport, match=phrase):
        from_metar(text, elevation=0.0)


def test_an_impossible_setting_is_refused() -> None:
    with pytest.raises(OutsideModel, match="altimeter setting"):
        from_metar("EDXX 141450Z 24008KT 9999 NSC 22/11 Q9999", elevation=0.0)
