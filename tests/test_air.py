"""The atmosphere and the airspeeds against independent libraries, and the laws they must obey.

The published rows are in ``tests/published``. Here: ``ambiance`` (its own code of the ICAO standard
atmosphere, doc 7488) and ``fluids`` (US Standard Atmosphere 1976, the same as ICAO's below 32 km, and its
isentropic flow relations).
"""

from __future__ import annotations

from collections.abc import Callable

import ambiance
import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chalkwing import air
from chalkwing.errors import OutsideModel
from chalkwing.units import ft_to_m, kt_to_mps, m_to_ft

GEOMETRIC = np.linspace(-4_900.0, 19_900.0, 63)
altitudes = st.floats(-1_000.0, 15_000.0)
speeds = st.floats(0.5, 150.0)
deviations = st.floats(-30.0, 40.0)
quick = settings(max_examples=60, deadline=None)


def _close_to_ambiance(ours: object, theirs: object, scale: object = 1.0) -> None:
    """Within round-off from 0 to 11 km; elsewhere ambiance starts from base pressures of six printed digits.

    It has 22,632.0 Pa at 11 km where the formula gives 22,632.04: 1.8e-6. 2e-6 covers that and nothing more.
    """
    level = ambiance.Atmosphere(GEOMETRIC).H
    tolerance = np.where((level >= 0.0) & (level <= 11_000.0), 1e-9, 2e-6)
    assert np.all(np.abs(np.asarray(ours) - np.asarray(theirs)) <= tolerance * np.asarray(scale))


def test_atmosphere_agrees_with_ambiance() -> None:
    theirs = ambiance.Atmosphere(GEOMETRIC)
    ours = air.geopotential_altitude(GEOMETRIC)
    np.testing.assert_allclose(ours, theirs.H, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(air.standard_temperature(ours), theirs.temperature, rtol=1e-9)
    sound = air.speed_of_sound(air.standard_temperature(ours))
    np.testing.assert_allclose(sound, theirs.speed_of_sound, rtol=1e-9)
    _close_to_ambiance(air.standard_pressure(ours), theirs.pressure, scale=theirs.pressure)
    _close_to_ambiance(air.standard_density(ours), theirs.density, scale=theirs.density)


def test_atmosphere_agrees_with_fluids() -> None:
    # The US Standard Atmosphere of 1976 uses R = 8.31432/0.0289644 (287.0529) and r = 6,356,766 m: R differs
    # in the seventh digit, which the exponent turns into 1e-6 at 20 km. 5e-6 covers that.
    for geometric in (-500.0, 0.0, 1_000.0, 3_048.0, 8_000.0, 11_500.0, 19_000.0):
        theirs = fluids.ATMOSPHERE_1976(geometric)
        ours = air.geopotential_altitude(geometric)
        assert air.standard_pressure(ours) == pytest.approx(theirs.P, rel=5e-6)
        assert air.standard_temperature(ours) == pytest.approx(theirs.T, rel=5e-6)
        assert air.standard_density(ours) == pytest.approx(theirs.rho, rel=5e-6)


def test_pressure_altitude_agrees_with_ambiance_inverted() -> None:
    # A relative error of pressure is worth one pressure scale height (at most 9,400 m) of altitude.
    theirs = ambiance.Atmosphere(GEOMETRIC)
    _close_to_ambiance(air.pressure_altitude(theirs.pressure), theirs.H, scale=9_400.0)


def test_density_altitude_agrees_with_ambiance_inverted() -> None:
    # Where its atmosphere has our density, by its own search; that search stops at about 1e-3 m.
    for level, deviation in ((0.0, 20.0), (1_500.0, 15.0), (2_438.4, 18.85), (3_000.0, -20.0)):
        rho = air.density(pressure_altitude=level, isa_deviation=deviation)
        theirs = ambiance.Atmosphere.from_density(rho).H[0]
        ours = air.density_altitude(pressure_altitude=level, isa_deviation=deviation)
        assert ours == pytest.approx(theirs, abs=0.01)


def test_impact_pressure_agrees_with_stagnation_in_fluids() -> None:
    # Stagnation pressure of an ideal gas brought to rest, through stagnation temperature with cp = 3.5 R:
    # another path to the same quantity. 1e-6 Pa is round-off of the difference p_stagnation - p.
    for knots in (40.0, 100.0, 160.0, 300.0):
        speed = kt_to_mps(knots)
        at_rest = fluids.T_stagnation_ideal(T=air.SEA_LEVEL_TEMPERATURE, V=speed, Cp=3.5 * air.GAS_CONSTANT)
        stagnation = fluids.P_stagnation(P=101325.0, T=air.SEA_LEVEL_TEMPERATURE, Tst=at_rest, k=1.4)
        assert air.impact_pressure(speed) == pytest.approx(stagnation - 101325.0, abs=1e-6)


def test_true_airspeed_agrees_with_stagnation_in_fluids() -> None:
    # Fly at a true airspeed, bring that air to rest (fluids), and compare with the impact pressure of the
    # calibrated airspeed. 1e-6 Pa is round-off of the difference p_stagnation - p.
    for level, deviation, true in ((1_524.0, 20.0, 57.0), (3_048.0, -15.0, 75.0), (7_000.0, 5.0, 120.0)):
        temperature = air.temperature(pressure_altitude=level, isa_deviation=deviation)
        pressure = air.standard_pressure(level)
        at_rest = fluids.T_stagnation_ideal(T=temperature, V=true, Cp=3.5 * air.GAS_CONSTANT)
        impact = fluids.P_stagnation(P=pressure, T=temperature, Tst=at_rest, k=1.4) - pressure
        shown = air.calibrated_from_true(true_airspeed=true, pressure_altitude=level, isa_deviation=deviation)
        assert air.impact_pressure(shown) == pytest.approx(impact, abs=1e-6)


# --- Laws -------------------------------------------------------------------------------------------------


@quick
@given(altitudes)
def test_altitude_and_pressure_undo_each_other(altitude: float) -> None:
    assert air.pressure_altitude(air.standard_pressure(altitude)) == pytest.approx(altitude, abs=1e-6)
    assert air.geopotential_altitude(air.geometric_altitude(altitude)) == pytest.approx(altitude, abs=1e-6)
    assert air.density_altitude(pressure_altitude=altitude) == pytest.approx(altitude, abs=1e-6)


@quick
@given(speeds, altitudes, deviations)
def test_airspeeds_undo_each_other(speed: float, altitude: float, deviation: float) -> None:
    day = {"pressure_altitude": altitude, "isa_deviation": deviation}
    shown = air.calibrated_from_true(true_airspeed=speed, **day)
    assert air.true_from_calibrated(calibrated_airspeed=shown, **day) == pytest.approx(speed, rel=1e-10)
    same = air.equivalent_from_true(true_airspeed=speed, **day)
    assert air.true_from_equivalent(equivalent_airspeed=same, **day) == pytest.approx(speed, rel=1e-10)
    # Two routes from calibrated to equivalent: by Mach number and pressure, by true airspeed and density.
    direct = air.equivalent_from_calibrated(calibrated_airspeed=shown, pressure_altitude=altitude)
    assert direct == pytest.approx(same, rel=1e-10)
    back = air.calibrated_from_equivalent(equivalent_airspeed=same, pressure_altitude=altitude)
    assert back == pytest.approx(shown, rel=1e-10)


@quick
@given(speeds, st.floats(1.0, 5_000.0), deviations)
def test_compressibility_makes_the_calibrated_airspeed_the_larger(
    speed: float, altitude: float, deviation: float
) -> None:
    day = {"pressure_altitude": altitude, "isa_deviation": deviation}
    same = air.equivalent_from_true(true_airspeed=speed, **day)
    assert air.calibrated_from_true(true_airspeed=speed, **day) >= same * (1 - 1e-12)


def test_at_sea_level_all_airspeeds_are_one() -> None:
    speed = np.linspace(1.0, 300.0, 40)
    true = air.true_from_calibrated(calibrated_airspeed=speed, pressure_altitude=0.0)
    equivalent = air.equivalent_from_calibrated(calibrated_airspeed=speed, pressure_altitude=0.0)
    np.testing.assert_allclose(true, speed, rtol=1e-12)
    np.testing.assert_allclose(equivalent, speed, rtol=1e-12)


def test_small_speeds_keep_their_digits() -> None:
    # Incompressible limit: qc = rho V²/2 to 0.25 M², that is 2e-9 at 0.03 m/s; written naively, noise.
    speed = 0.03
    assert air.impact_pressure(speed) == pytest.approx(0.5 * air.SEA_LEVEL_DENSITY * speed**2, rel=1e-8)


def test_layers_meet_at_the_tropopause() -> None:
    just = np.array([-1e-6, 1e-6]) + air.TROPOPAUSE
    for law in (air.standard_temperature, air.standard_pressure, air.standard_density):
        below, above = law(just)
        assert below == pytest.approx(above, rel=1e-9)


def test_the_altimeter_shows_field_elevation_when_set_for_it() -> None:
    # By definition of the setting (QNH): on the ground, the altimeter shows the field's elevation.
    for elevation_ft, hectopascals in ((0.0, 1013.25), (600.0, 1002.0), (5883.0, 1019.3)):
        level = air.pressure_altitude_of_reading(
            altimeter_altitude=ft_to_m(elevation_ft), altimeter_setting=hectopascals * 100.0
        )
        shown = air.altimeter_altitude(pressure_altitude=level, altimeter_setting=hectopascals * 100.0)
        assert m_to_ft(shown) == pytest.approx(elevation_ft, abs=1e-9)
    # Low setting, high pressure altitude.
    low = air.pressure_altitude_of_reading(altimeter_altitude=0.0, altimeter_setting=99_000.0)
    assert low > 0.0


LAWS: list[tuple[Callable[..., object], dict[str, float]]] = [
    (air.standard_temperature, {"altitude": 1_000.0}),
    (air.standard_pressure, {"altitude": 1_000.0}),
    (air.standard_density, {"altitude": 12_000.0}),
    (air.geopotential_altitude, {"geometric_altitude": 1_000.0}),
    (air.geometric_altitude, {"geopotential_altitude": 1_000.0}),
    (air.pressure_altitude, {"static_pressure": 90_000.0}),
    (air.isa_deviation, {"pressure_altitude": 1_000.0, "temperature": 290.0}),
    (air.temperature, {"pressure_altitude": 1_000.0, "isa_deviation": 5.0}),
    (air.density, {"pressure_altitude": 1_000.0, "isa_deviation": 5.0}),
    (air.density_altitude, {"pressure_altitude": 1_000.0, "isa_deviation": 5.0}),
    (air.speed_of_sound, {"temperature": 290.0}),
    (air.altimeter_altitude, {"pressure_altitude": 1_000.0, "altimeter_setting": 101_000.0}),
    (air.pressure_altitude_of_reading, {"altimeter_altitude": 1_000.0, "altimeter_setting": 101_000.0}),
    (air.impact_pressure, {"calibrated_airspeed": 50.0}),
    (air.mach_number, {"calibrated_airspeed": 50.0, "pressure_altitude": 1_000.0}),
    (air.calibrated_from_mach, {"mach_number": 0.2, "pressure_altitude": 1_000.0}),
    (air.true_from_mach, {"mach_number": 0.2, "temperature": 280.0}),
    (air.mach_from_true, {"true_airspeed": 60.0, "temperature": 280.0}),
    (
        air.true_from_calibrated,
        {"calibrated_airspeed": 50.0, "pressure_altitude": 900.0, "isa_deviation": 5.0},
    ),
    (air.calibrated_from_true, {"true_airspeed": 50.0, "pressure_altitude": 900.0, "isa_deviation": 5.0}),
    (air.equivalent_from_true, {"true_airspeed": 50.0, "pressure_altitude": 900.0, "isa_deviation": 5.0}),
    (
        air.true_from_equivalent,
        {"equivalent_airspeed": 50.0, "pressure_altitude": 900.0, "isa_deviation": 5.0},
    ),
    (air.equivalent_from_calibrated, {"calibrated_airspeed": 50.0, "pressure_altitude": 900.0}),
    (air.calibrated_from_equivalent, {"equivalent_airspeed": 50.0, "pressure_altitude": 900.0}),
]


@pytest.mark.parametrize(("law", "inputs"), LAWS, ids=[law.__name__ for law, _ in LAWS])
def test_arrays_give_what_their_elements_give_and_nan_stays_nan(
    law: Callable[..., object], inputs: dict[str, float]
) -> None:
    scale = np.array([0.9, 1.0, 1.05])
    arrays = {name: value * scale for name, value in inputs.items()}
    one_by_one = [law(**{name: values[k] for name, values in arrays.items()}) for k in range(3)]
    np.testing.assert_allclose(np.asarray(law(**arrays)), np.asarray(one_by_one), rtol=1e-14)
    assert np.ndim(law(**inputs)) == 0
    for name in inputs:
        assert np.isnan(law(**{**inputs, name: np.nan})), name
        holed = np.array([inputs[name], np.nan])
        assert list(np.isnan(np.asarray(law(**{**inputs, name: holed})))) == [False, True], name


@pytest.mark.parametrize(
    ("law", "inputs", "phrase"),
    [
        (air.standard_pressure, {"altitude": 35_000.0}, "in feet"),
        (air.pressure_altitude, {"static_pressure": 1013.25}, "hPa or inHg"),
        (air.pressure_altitude, {"static_pressure": 29.92}, "hPa or inHg"),
        (air.speed_of_sound, {"temperature": 15.0}, "kelvins"),
        (air.density, {"pressure_altitude": 0.0, "isa_deviation": 288.0}, "difference"),
        (air.impact_pressure, {"calibrated_airspeed": -3.0}, "speed of sound"),
        (air.true_from_calibrated, {"calibrated_airspeed": 400.0, "pressure_altitude": 0.0}, "400 m/s"),
        (air.mach_number, {"calibrated_airspeed": 330.0, "pressure_altitude": 8_000.0}, "subsonic"),
        (air.altimeter_altitude, {"pressure_altitude": 0.0, "altimeter_setting": 29.92}, "hPa or inHg"),
    ],
)
def test_the_wrong_unit_is_refused(law: Callable[..., object], inputs: dict[str, float], phrase: str) -> None:
    with pytest.raises(OutsideModel, match=phrase):
        law(**inputs)
    with pytest.raises(OutsideModel, match=phrase):
        law(**{name: np.array([value, value]) for name, value in inputs.items()})
