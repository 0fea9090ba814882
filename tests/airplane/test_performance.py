"""What a sheet says of speeds, loads and thrust, and for which maneuvers it is refused."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.airplane.test_sheets import faults_of, sheet

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane import load_sheet, refuse_unfit, sheet_names, unfit_reason
from chalkwing.airplane.assembling import limit_loads
from chalkwing.airplane.loading import sheet_from
from chalkwing.airplane.quantities import KEYS, ROWS
from chalkwing.dynamics import drag, thrust
from chalkwing.errors import ChalkwingError, OutsideModel, UnfitAirplane
from chalkwing.units import HORSEPOWER, KNOT, POUND

# --- Speeds and loads -------------------------------------------------------------------------------------


def test_maneuvering_speed_falls_with_the_root_of_mass() -> None:
    # PHAK ch. 5: VA goes with the root of weight. 100 kt at 2,400 lb is 100 sqrt(1750/2400) = 85.4 kt.
    plane = load_sheet("four-seat-160")
    assert plane.maneuvering_speed_at(1750 * POUND) / KNOT == pytest.approx(85.39, abs=0.01)


def test_maneuvering_speeds_at_several_masses_are_followed() -> None:
    rows = [{"mass_lb": 1600, "speed_kcas": 91}, {"mass_lb": 1300, "speed_kcas": 80}]
    plane = sheet(maneuvering_speed_kcas=None, maneuvering=rows)
    assert plane.maneuvering_speed == pytest.approx(91 * KNOT)
    assert plane.maneuvering_speed_at(1450 * POUND) == pytest.approx(85.5 * KNOT)
    assert plane.maneuvering_speed_at(1200 * POUND) == pytest.approx(80 * KNOT * math.sqrt(1200 / 1300))


def test_stall_rises_with_the_root_of_load_factor_and_the_warning_stays_above_it() -> None:
    plane = load_sheet("four-seat-160")
    two_g = plane.stall_speed_at(mass=plane.mass, load_factor=np.array([1.0, 2.0]))
    assert two_g[1] == pytest.approx(52 * KNOT * math.sqrt(2.0))
    warning = plane.stall_warning_speed_at(mass=plane.mass, load_factor=2.0)
    assert warning == pytest.approx(58 * KNOT * math.sqrt(2.0))
    landing = plane.stall_speed_at(mass=plane.mass, configuration="landing")
    assert landing == pytest.approx(47 * KNOT)
    with pytest.raises(OutsideModel, match="landing"):
        sheet().stall_speed_at(mass=700.0, configuration="landing")


def test_limit_loads_by_category() -> None:
    # 14 CFR 23.337 before amendment 64 (from memory): 3.8 up to 4,117 lb, where the formula crosses it; at
    # 12,500 lb 2.1 + 24000/22500 = 3.167.
    assert limit_loads("normal", 2400 * POUND) == (3.8, -1.52)
    assert limit_loads("normal", 12_500 * POUND)[0] == pytest.approx(3.1667, abs=1e-4)
    assert limit_loads("acrobatic", 800.0) == (6.0, -3.0)


def test_speeds_of_a_sheet_given_as_indicated_pass_through_its_table() -> None:
    table = {"indicated_kt": [40.0, 60.0, 100.0], "calibrated_kt": [47.0, 62.0, 99.0], "source": "invented"}
    plane = sheet(stall_speed_kcas=None, stall_speed_kias=40, indicated_to_calibrated=table)
    assert plane.stall_speed == pytest.approx(47 * KNOT)
    assert "indicated" in faults_of(stall_speed_kcas=None, stall_speed_kias=40)["stall_speed_kias"]


def test_the_manual_entry_speed_for_a_maneuver() -> None:
    plane = sheet(recommended_entry=[{"maneuver": "lazy_eight", "speed_kcas": 88}])
    assert plane.recommended_entry_speed("lazy_eight") == pytest.approx(88 * KNOT)
    assert plane.recommended_entry_speed("chandelle") is None


# --- Thrust -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sheet_names())
def test_full_throttle_at_maneuvering_speed_gives_the_useful_power(name: str) -> None:
    plane = load_sheet(name)
    speed = plane.maneuvering_speed
    useful = plane.thrust(true_airspeed=speed, density=SEA_LEVEL_DENSITY, throttle=1.0) * speed
    assert useful / plane.power == pytest.approx(plane.propeller_efficiency, rel=1e-3)


@pytest.mark.parametrize("name", sheet_names())
def test_thrust_rises_with_throttle_and_falls_with_airspeed_and_height(name: str) -> None:
    plane = load_sheet(name)
    speed, throttle = np.linspace(25.0, 70.0, 19), np.linspace(0.0, 1.0, 21)
    pull = plane.thrust(true_airspeed=speed[:, None], density=SEA_LEVEL_DENSITY, throttle=throttle)  # type: ignore[call-overload, type-var, unused-ignore]
    assert np.all(np.diff(pull, axis=1) > 0)
    assert np.all(np.diff(pull, axis=0) < 0)
    assert np.all(pull[:, 0] < 0)  # windmilling
    high = plane.thrust(true_airspeed=50.0, density=0.9, throttle=1.0)
    assert high < plane.thrust(true_airspeed=50.0, density=SEA_LEVEL_DENSITY, throttle=1.0)


def test_no_propeller_is_better_than_perfect() -> None:
    for name in sheet_names():
        plane = load_sheet(name)
        speed = np.linspace(20.0, 90.0, 40)
        pull = plane.thrust(true_airspeed=speed, density=np.full(40, SEA_LEVEL_DENSITY), throttle=np.ones(40))
        assert np.max(pull * speed) < 0.92 * plane.power, name


def test_an_engine_that_holds_its_power_hardly_loses_thrust_with_height() -> None:
    # At 10,000 ft (density ratio 0.7385) a plain engine keeps 70 %, one that holds its power 99.5 %.
    held = sheet(engine="electric", propeller="constant_speed")
    low, high = (held.thrust(true_airspeed=45.0, density=d, throttle=1.0) for d in (1.225, 0.9046))
    assert high / low == pytest.approx(1.0, abs=0.01)


def test_an_optimizer_symbol_passes_through_the_point_mass() -> None:
    casadi = pytest.importorskip("casadi")
    plane = load_sheet("four-seat-200")
    mass, speed = casadi.SX.sym("mass"), casadi.SX.sym("speed")
    symbolic = plane.point_mass(mass)
    pulls = casadi.Function(
        "pulls", [mass, speed], [thrust(symbolic, 0.6, 1.1, speed), drag(symbolic, 1.3, 1.1, speed)]
    )
    numeric = plane.point_mass(1100.0)
    expected = [thrust(numeric, 0.6, 1.1, 48.0), drag(numeric, 1.3, 1.1, 48.0)]
    np.testing.assert_allclose([float(value) for value in pulls(1100.0, 48.0)], expected, rtol=1e-12)


# --- Faults of the whole sheet ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "path", "phrase"),
    [
        ({"wing_area_ft2": None, "wing_area_m2": 174}, "wing_area_m2", "believable as wing_area_ft2"),
        ({"stall_speed_landing_kcas": 50}, "stall_speed_landing", "above the clean one"),
        ({"never_exceed_speed_kcas": 90}, "maneuvering_speed", "not below the never-exceed speed"),
        (
            {"flaps_extended_speed_kcas": 40, "stall_speed_landing_kcas": 42},
            "stall_speed_landing",
            "flaps-ext",
        ),
        ({"stall_warning_speed_kcas": 45}, "stall_warning_speed", "not above the stall speed"),
        ({"stall_warning_speed_kcas": 80}, "stall_warning_speed", "more than 20 kt"),
        ({"maximum_mass_lb": 1500}, "mass", "not below maximum_mass"),
        ({"minimum_mass_lb": 1700}, "minimum_mass", "not below mass"),
        ({"maximum_mass_lb": 1600, "utility_mass_lb": 1700}, "utility_mass", "above maximum_mass"),
        ({"category": "acro"}, "category", "must be normal, utility, acrobatic"),
        ({"engine": "steam"}, "engine", "must be normally_aspirated"),
        ({"stall_speed_kcas": None}, "stall_speed_kcas or stall_speed_kias or [[stall]]", "is missing"),
        ({"maneuvering": [{"speed_kcas": 80}]}, "maneuvering[1].mass_lb or mass_kg", "is missing"),
        ({"stall": [{"speed_kcas": 40}]}, "stall[1].configuration", "is missing"),
        ({"stall": [{"configuration": "clean", "speed_kcas": 55}]}, "stall[1].speed", "disagrees"),
        ({"climb": {"speed_kcas": 70}}, "climb", "must be one or more tables"),
        ({"climb": [{"speed_kcas": 70, "rate_fpm": 700, "flaps": 1}]}, "climb[1].flaps", "no key"),
        ({"climb": [{"speed_kcas": 30, "rate_fpm": 700}]}, "climb[1].speed", "below the stall"),
        ({"level_flight": [{"power_percent": 75}]}, "level_flight[1]", "needs one of true_airspeed or speed"),
        (
            {
                "level_flight": [
                    {"true_airspeed_ktas": 90, "power_percent": 90, "pressure_altitude_ft": 10000}
                ]
            },
            "level_flight[1].power_percent",
            "more than an engine",
        ),
        (
            {"level_flight": [{"true_airspeed_ktas": 90, "power_percent": 60, "engine_speed_rpm": 2400}]},
            "level_flight[1].engine_speed_rpm",
            "rated_engine_speed_rpm",
        ),
        (
            {"maneuvering": [{"mass_lb": 1300, "speed_kcas": 85}, {"mass_lb": 1600, "speed_kcas": 84}]},
            "maneuvering[1].speed",
            "falls with mass",
        ),
        (
            {"center_of_gravity_limit": [{"mass_lb": 1600, "forward_in": 40, "aft_in": 35}]},
            "center_of_gravity_limit[1].forward",
            "ahead of the aft",
        ),
    ],
)
def test_a_contradiction_names_its_path(changes: dict[str, Any], path: str, phrase: str) -> None:
    assert phrase in faults_of(**changes)[path]


_VALUES = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True),
    st.integers(-10, 10_000),
    st.text(max_size=5),
    st.booleans(),
    st.lists(st.dictionaries(st.sampled_from(["speed_kcas", "mass_lb", "rate_fpm", "ratio"]), st.integers())),
)


@given(
    st.dictionaries(st.sampled_from([*KEYS, *(kind.name for kind in ROWS), "engines", "propeller"]), _VALUES)
)
@settings(max_examples=150, deadline=None)
def test_whatever_a_file_says_it_is_read_or_refused(changes: dict[str, Any]) -> None:
    tables: dict[str, Any] = {
        "schema": 1,
        "title": "Invented",
        "propeller": "fixed_pitch",
        "source": "invented",
        "mass_lb": 1600,
        "wing_area_ft2": 160,
        "wing_span_ft": 33,
        "power_hp": 100,
        "stall_speed_kcas": 47,
        "maneuvering_speed_kcas": 91,
        **changes,
    }
    try:
        plane = sheet_from(tables, name="any", where="any.toml")
    except ChalkwingError as error:
        assert str(error)  # noqa: PT017
    else:
        assert math.isfinite(plane.zero_lift_drag)
        assert plane.power >= 15e3 / HORSEPOWER


# --- Which maneuvers ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "kind", ["lazy_eight", "chandelle", "steep_spiral", "eights_on_pylons", "power_off_180"]
)
def test_a_twin_is_refused_for_maneuvers_of_the_single_engine_class(kind: str) -> None:
    with pytest.raises(UnfitAirplane, match="single-engine class"):
        refuse_unfit(kind, load_sheet("light-twin"))
    refuse_unfit(kind, load_sheet("four-seat-200"))


def test_a_twin_may_fly_what_its_class_flies() -> None:
    for kind in ("steep_turn", "slow_flight", "power_off_stall", "emergency_descent"):
        assert unfit_reason(kind, load_sheet("light-twin")) is None
