"""Airplane sheets: what a file may hold, how its faults are told, and what follows from its numbers."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from chalkwing.air import SEA_LEVEL_DENSITY
from chalkwing.airplane import AirplaneSheet, generic_priors, load_sheet, sheet_names
from chalkwing.airplane.loading import sheet_from
from chalkwing.airplane.priors import finite_wing_lift_slope
from chalkwing.airplane.quantities import FIGURES, ROWS, WORDS
from chalkwing.errors import FaultySheet, OutsideModel, UnknownName
from chalkwing.units import STANDARD_GRAVITY, kt_to_mps

PLAIN = """
schema = 1
title = "Invented two-seater"
propeller = "fixed_pitch"
source = "invented for this test"
mass_lb = 1600
wing_area_ft2 = 160
wing_span_ft = 33
power_hp = 100
stall_speed_kcas = 47
maneuvering_speed_kcas = 91
"""


def sheet(text: str = PLAIN, **changes: Any) -> AirplaneSheet:
    tables = tomllib.loads(text)
    tables.update(changes)
    return sheet_from(
        {k: v for k, v in tables.items() if v is not None}, name="invented", where="invented.toml"
    )


def faults_of(**changes: Any) -> dict[str, str]:
    with pytest.raises(FaultySheet) as caught:
        sheet(**changes)
    return {fault.path: fault.message for fault in caught.value.faults}


def test_pilot_units_become_si() -> None:
    # NIST SP 811: 1 lb = 0.45359237 kg, 1 ft = 0.3048 m; 550 ft lbf/s = 745.6999 W. Rounded to 6 digits here.
    plane = sheet()
    assert plane.mass == pytest.approx(725.748, rel=1e-6)
    assert plane.wing_area == pytest.approx(14.8645, rel=1e-5)
    assert plane.power == pytest.approx(74569.99, rel=1e-6)
    assert plane.stall_speed == pytest.approx(24.1789, rel=1e-5)


def test_metric_and_pilot_units_give_the_same_airplane() -> None:
    metric = sheet(mass_lb=None, mass_kg=725.747792, wing_area_ft2=None, wing_area_m2=14.8644864)
    assert metric.mass == pytest.approx(sheet().mass, rel=1e-9)
    assert metric.wing_area == pytest.approx(sheet().wing_area, rel=1e-9)


def test_largest_lift_holds_the_weight_at_the_stall_speed() -> None:
    plane = sheet()
    lift = plane.lift_max * 0.5 * SEA_LEVEL_DENSITY * plane.stall_speed**2 * plane.wing_area
    assert lift == pytest.approx(plane.mass * STANDARD_GRAVITY, rel=1e-12)


def test_what_the_file_leaves_out_is_named_as_assumed() -> None:
    assert set(sheet().assumed) == {
        "category",
        "maximum_mass",
        "minimum_mass",
        "limit_load_positive",
        "limit_load_negative",
        "lift_slope",
        "zero_lift_angle",
        "zero_lift_drag",
        "span_efficiency",
        "propeller_efficiency",
        "propeller_drag_area",
        "propeller_drag_open",
        "power_dropoff",
    }
    assert "lift_slope" not in sheet(lift_slope_per_rad=4.7).assumed


def test_the_handbook_glide_is_kept_and_the_model_glides_nearly_so() -> None:
    # Both numbers of the manual are worth 2 kt and 5 %: the model must come within one such sd.
    given = sheet(best_glide_speed_kcas=60, glide_ratio=9.0)
    assert given.best_glide_speed == pytest.approx(kt_to_mps(60.0), rel=1e-12)
    assert given.glide_ratio == 9.0
    assert max(abs(residual.standardized) for residual in given.fit.residuals) < 1.0


def test_best_glide_is_where_the_sum_of_airframe_and_windmilling_drag_is_least() -> None:
    plane = sheet(zero_lift_drag=0.032, span_efficiency=0.75)
    speed = np.linspace(0.6, 1.6, 2001) * plane.best_glide_speed
    drag = plane.drag(true_airspeed=speed, density=SEA_LEVEL_DENSITY, load_factor=1.0)
    drag = drag - plane.thrust(true_airspeed=speed, density=SEA_LEVEL_DENSITY, throttle=0.0)
    assert speed[np.argmin(drag)] == pytest.approx(plane.best_glide_speed, rel=1e-3)
    assert plane.mass * STANDARD_GRAVITY / drag.min() == pytest.approx(plane.glide_ratio, rel=1e-5)


def test_speeds_scale_with_the_root_of_mass() -> None:
    plane = sheet()
    assert plane.speed_at_mass(plane.stall_speed, 0.81 * plane.mass) == pytest.approx(0.9 * plane.stall_speed)
    with pytest.raises(OutsideModel, match="no mass"):
        plane.speed_at_mass(plane.stall_speed, 0.0)


def test_lift_slope_of_a_finite_wing_reaches_the_textbook_limits() -> None:
    # Anderson, Fundamentals of Aerodynamics, sec. 5.3 (from memory): 2 pi for an endless wing, pi A / 2 for a
    # tiny one; at A = 6 Helmbold's form lies within 5 % of lifting-line theory, 2 pi / (1 + 2/A).
    assert finite_wing_lift_slope(50.0) == pytest.approx(2 * np.pi, rel=0.05)
    assert finite_wing_lift_slope(6.0) == pytest.approx(2 * np.pi / (1 + 2 / 6), rel=0.05)


# --- The airspeed correction ------------------------------------------------------------------------------

TABLE = {"indicated_kt": [40.0, 60.0, 100.0], "calibrated_kt": [48.0, 62.0, 99.0], "source": "invented"}


def test_correction_passes_through_its_table_and_is_held_beyond_it() -> None:
    plane = sheet(indicated_to_calibrated=TABLE)
    shown = kt_to_mps(np.array([30.0, 40.0, 50.0, 60.0, 100.0, 120.0]))
    expected = kt_to_mps(np.array([38.0, 48.0, 55.0, 62.0, 99.0, 119.0]))
    np.testing.assert_allclose(plane.calibrated(shown), expected, rtol=1e-12)
    np.testing.assert_allclose(plane.indicated(plane.calibrated(shown)), shown, rtol=1e-12)
    assert np.isnan(plane.calibrated(np.array([np.nan]))).all()


def test_no_correction_table_is_said_rather_than_guessed() -> None:
    with pytest.raises(OutsideModel, match="no airspeed correction"):
        sheet().calibrated(50.0)


# --- Faults -----------------------------------------------------------------------------------------------


def test_all_faults_are_told_at_once_with_their_keys() -> None:
    told = faults_of(mass_lb=None, stall_speed_kcas=95, shade="red", engines=0, propeller="wooden")
    assert told["mass_lb or mass_kg"] == "is missing"
    assert "not below the maneuvering speed" in told["stall_speed"]
    assert "no key" in told["shade"]
    assert "whole number" in told["engines"]
    assert "fixed_pitch" in told["propeller"]
    assert len(told) == 5


@pytest.mark.parametrize(
    ("changes", "path", "phrase"),
    [
        ({"wing_area_ft2": 14.9}, "wing_area_ft2", "another unit"),
        ({"wing_area_ft2": None, "wing_area_m2": 55}, "wing_span", "aspect ratio"),
        ({"mass_lb": 400, "wing_area_ft2": 400, "wing_span_ft": 50}, "wing_area", "wing loading"),
        ({"wing_area_ft2": None, "wing_area_m2": 160}, "wing_area_m2", "another unit"),
        ({"mass_kg": 700}, "mass_kg", "repeats mass_lb"),
        ({"mass_lb": True}, "mass_lb", "must be a number"),
        ({"mass_lb": float("nan")}, "mass_lb", "must be a number"),
        ({"mass_lb": {"value": 1600, "sauce": "x"}}, "mass_lb.sauce", "did you mean source"),
        ({"source": None}, "mass_lb.source", "is missing"),
        ({"lift_max": 2.4}, "lift_max", "contradicts the stall speed"),
        ({"stall_speed_kcas": 85}, "stall_speed", "largest lift coefficient"),
        ({"stall_speed": 47}, "stall_speed", "did you mean stall_speed_"),
        ({"best_glide_speed_kcas": 40}, "best_glide_speed", "not above the stall speed"),
        ({"schema": 2}, "schema", "must be 1"),
        ({"title": None}, "title", "is missing"),
        ({"generic": "yes"}, "generic", "true or false"),
        ({"indicated_to_calibrated": 3}, "indicated_to_calibrated", "must be a table"),
        (
            {"indicated_to_calibrated": {**TABLE, "indicated_kt": [60, 40, 100]}},
            "indicated_to_calibrated.indicated_kt",
            "must rise",
        ),
        (
            {"indicated_to_calibrated": {**TABLE, "calibrated_kt": [48, 62]}},
            "indicated_to_calibrated",
            "pairs 3",
        ),
    ],
)
def test_a_fault_names_its_key_and_says_why(changes: dict[str, Any], path: str, phrase: str) -> None:
    assert phrase in faults_of(**changes)[path]


def test_a_file_that_is_no_sheet_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FaultySheet, match="cannot be read"):
        load_sheet(tmp_path / "missing.toml")
    broken = tmp_path / "broken.toml"
    broken.write_text("mass_lb = = 3")
    with pytest.raises(FaultySheet, match="not TOML"):
        load_sheet(str(broken))
    broken.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FaultySheet, match="not UTF-8"):
        load_sheet(broken)


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(UnknownName, match="four-seat-160"):
        load_sheet("six-seat")


# --- What comes with chalkwing ----------------------------------------------------------------------------


@pytest.mark.parametrize("name", sheet_names())
def test_every_shipped_sheet_is_generic_and_lies_within_the_generic_beliefs(name: str) -> None:
    plane, beliefs = load_sheet(name), generic_priors()
    assert plane.generic
    assert plane.name == name
    assert set(plane.assumed) <= {"power_dropoff"}  # a light twin's few climbs hardly tell it
    assert set(plane.sources.values()) == {plane.sources["mass"]}
    for quantity in (
        "wing_loading",
        "lift_slope",
        "zero_lift_angle",
        "zero_lift_drag",
        "span_efficiency",
        "lift_max",
    ):
        spread = getattr(beliefs, quantity)
        assert abs(getattr(plane, quantity) - spread.mean) < 2 * spread.sd, quantity


def test_the_four_generic_airplanes_are_there() -> None:
    assert sheet_names() == ("four-seat-160", "four-seat-200", "light-twin", "two-seat-100")
    assert load_sheet("light-twin").engines == 2
    assert load_sheet("four-seat-200").propeller == "constant_speed"


# --- The documentation ------------------------------------------------------------------------------------

PAGE = (Path(__file__).parent.parent.parent / "docs" / "airplane_sheets.md").read_text(encoding="utf-8")


def test_the_example_of_the_documentation_is_a_sheet() -> None:
    example = PAGE.split("```toml\n")[1].split("```")[0]
    plane = sheet(example)
    assert plane.category == "utility"
    assert len(plane.handbook.level_flights) == 2
    assert max(abs(residual.standardized) for residual in plane.fit.residuals) < 1.0


def test_the_documentation_names_every_number_row_and_word() -> None:
    for figure in FIGURES:
        assert f"`{next(iter(figure.keys))}`" in PAGE, figure.name
    for kind in ROWS:
        assert f"`[[{kind.name}]]`" in PAGE
        for figure in kind.figures:
            assert next(iter(figure.keys)) in PAGE, figure.name
    for words in WORDS.values():
        assert all(word in PAGE for word in words)
