"""The briefing: what a card says follows from the Reference, the day, the school and the standard."""

from __future__ import annotations

import json
import re
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest

import chalkwing
from chalkwing.airplane import load_sheet
from chalkwing.briefing import (
    Briefing,
    Lesson,
    brief,
    briefable,
    generic_school,
    report,
)
from chalkwing.briefing.limits import limit_reports
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import OutsideModel, UnknownName
from chalkwing.maneuvers import standard
from chalkwing.reference import solve
from chalkwing.units import DEGREE, FOOT, KNOT, POUND

ROOT = Path(__file__).parents[2]
SHEET = load_sheet("four-seat-160")
DAY = Conditions(
    elevation=1_120 * FOOT,
    terrain_elevation=1_450 * FOOT,
    winds=(WindLevel(3_000 * FOOT, 270 * DEGREE, 15 * KNOT),),
    magnetic_variation=-4 * DEGREE,
)
LINE = 340 * DEGREE


@pytest.fixture(scope="module")
def eight() -> Briefing:
    return brief("lazy_eight", airplane=SHEET, conditions=DAY, line=LINE, what_if=True)


@pytest.fixture(scope="module")
def turn() -> Briefing:
    return brief("steep_turn", airplane=SHEET, conditions=DAY, direction="left", line=LINE, what_if=False)


# --- What it says -------------------------------------------------------------------------------------------


def test_the_public_name_is_loaded_when_used() -> None:
    assert chalkwing.brief is brief


def test_points_are_those_of_the_reference_in_pilot_units(eight) -> None:
    reference = solve(
        "lazy_eight",
        sheet=SHEET,
        conditions=DAY,
        entry_altitude=eight.entry.altitude_ft * FOOT,
        entry_heading=float(DAY.true(LINE)),
    )
    assert len(eight.points) == len(reference.points)
    for told, point in zip(eight.points, reference.points, strict=True):
        assert told.bank_into_turn_deg == pytest.approx(np.degrees(point.bank_into_turn), abs=1e-6)
        assert told.airspeed_kt == pytest.approx(point.calibrated_airspeed / KNOT, abs=1e-6)
        assert told.altitude_ft == pytest.approx(
            eight.entry.altitude_ft + point.altitude_change / FOOT, abs=1e-6
        )
        assert told.margin_over_stall_kt == pytest.approx(point.stall_margin / KNOT, abs=1e-6)


def test_the_nose_is_told_from_level_flight(eight) -> None:
    # The task of the lazy eight: level at entry, at 90° and at the 180° point (FAA-H-8083-3C, fig. 10-4).
    nose = {point.name: point.pitch_from_level_deg for point in eight.points if point.part == 1}
    assert nose["entry"] == pytest.approx(0.0, abs=1e-6)
    assert nose["90"] == pytest.approx(0.0, abs=0.5)
    assert nose["45"] > 5.0 > 0.0 > nose["135"]


def test_reference_headings_turn_from_the_line_and_back(eight) -> None:
    # By hand, line 340 magnetic, right first: 025 070 115 160; then left from 160: 115 070 025 340.
    first, second = eight.headings
    assert (first.direction, second.direction) == ("right", "left")
    named = dict(entry=340, **{"45": 25, "90": 70, "135": 115, "180": 160})
    assert first.headings_deg_magnetic == pytest.approx(named)
    named = dict(entry=160, **{"45": 115, "90": 70, "135": 25, "180": 340})
    assert second.headings_deg_magnetic == pytest.approx(named)


def test_to_the_left_headings_fall(turn) -> None:
    headings = turn.headings[0].headings_deg_magnetic
    assert headings == pytest.approx({"entry": 340, "90": 250, "180": 160, "270": 70, "end": 340})


def test_without_a_line_no_heading_is_made_up_and_the_air_is_still() -> None:
    blank = brief("steep_turn", airplane=SHEET, conditions=DAY, what_if=False)
    assert blank.headings == ()
    assert blank.entry.heading_deg_magnetic is None
    assert all(point.heading_deg_magnetic is None for point in blank.points)
    assert any("still air" in note for note in blank.notes)
    assert blank.conditions.wind_at_entry.speed_kt == pytest.approx(15.0)
    path = blank.path
    assert path is not None
    # In still air a level 360, rolled in and out alike, ends straight ahead of where it began; the day's wind
    # would carry it 1,000 ft east.
    assert abs(path.ground_east_ft[-1]) < 50.0


def test_wind_moves_the_path_over_the_ground(turn) -> None:
    calm = brief(
        "steep_turn", airplane=SHEET, conditions=replace(DAY, winds=()), direction="left", line=LINE
    ).path
    assert calm is not None
    assert turn.path is not None
    drift = turn.path.ground_east_ft[-1] - calm.ground_east_ft[-1]
    # Wind from 270 true at 15 kt: due east, 15 x 1.6878 ft/s for as long as it takes.
    assert drift == pytest.approx(15 * 1.68781 * turn.path.t_s[-1], rel=0.02)


def test_the_entry_keeps_all_of_it_above_the_floor(eight) -> None:
    floor = generic_school().floor_dual / FOOT
    assert eight.floor_agl_ft == floor
    assert eight.floor_ft == pytest.approx(1_450 + floor)
    assert eight.entry.altitude_ft % 100 == pytest.approx(0.0, abs=1e-6)
    lowest = min(point.altitude_ft for point in eight.points)
    assert lowest >= eight.floor_ft - 0.1
    solo = brief("lazy_eight", airplane=SHEET, conditions=DAY, solo=True, what_if=False)
    assert min(point.altitude_ft for point in solo.points) >= 1_450 + 3_000 - 0.1
    assert solo.floor_for == "solo"


def test_the_published_floor_prevails_where_it_is_higher() -> None:
    # FAA-S-ACS-7B, CA.VII.D: an accelerated stall is recovered no lower than 3,000 ft above ground.
    stall = brief("accelerated_stall", airplane=SHEET, conditions=DAY, what_if=False)
    assert stall.floor_agl_ft == pytest.approx(3_000.0)
    assert "CA.VII.D" in stall.floor_for


def test_margins_count_from_the_plan_itself(eight) -> None:
    margins = {row.name: row for row in eight.margins}
    top = max(point.altitude_ft for point in eight.points)
    assert margins["highest_altitude"].value >= top - 0.5
    assert margins["room_above_floor"].unit == "ft"
    least = min(point.margin_over_accelerated_stall_kt for point in eight.points)
    assert margins["least_over_stall"].value <= least + 1e-6
    assert margins["room_to_limit_load"].unit == "g"


def test_cautions_name_the_limit_and_never_a_broken_rule() -> None:
    steep = brief("lazy_eight", airplane=SHEET, conditions=DAY, maximum_bank=58 * DEGREE, what_if=False)
    bank = next(caution for caution in steep.cautions if caution.name == "bank")
    # 14 CFR 91.307(c): 60° of bank, parachutes; 91.303 has no number of bank or pitch.
    assert bank.limit == pytest.approx(60.0)
    assert "91.307(c)" in bank.source
    said = " ".join(caution.text for caution in steep.cautions)
    assert "91.303" not in said
    assert not re.search("violat|illegal|broken|must not", said)


def test_speeds_are_indicated_only_where_the_sheet_can_tell() -> None:
    without = replace(SHEET, indicated_to_calibrated=None)
    table = (tuple(speed * KNOT for speed in (40, 60, 120)), tuple(speed * KNOT for speed in (50, 65, 119)))
    corrected = replace(SHEET, indicated_to_calibrated=table)
    plain, told = (
        brief("steep_turn", airplane=sheet, entry_speed=100 * KNOT, maximum_bank=0.6, what_if=False)
        for sheet in (without, corrected)
    )
    assert (plain.airspeed_kind, told.airspeed_kind) == ("calibrated", "indicated")
    assert plain.entry.airspeed_kt == pytest.approx(100.0)
    # Between 65 KCAS (60 KIAS) and 119 (120), 100 lies 35/54 of the way: the correction is -5 + 6 x 35/54.
    assert told.entry.airspeed_kt == pytest.approx(100.0 - 5.0 + 6.0 * 35.0 / 54.0, abs=0.01)
    assert any("KCAS" in note for note in plain.notes)
    assert not any("KCAS" in note for note in told.notes)


def test_limits_name_document_edition_and_task(eight) -> None:
    # FAA-S-ACS-7B, CA.V.D: ±100 ft, ±10 kt, ±10° at the 180° points; not below 1,500 ft above ground.
    limits = {row.title: row for row in eight.limits}
    altitude = next(row for title, row in limits.items() if title.startswith("Altitude at the 180°"))
    assert altitude.limit == (-100.0, 100.0)
    assert (altitude.document, altitude.task) == ("FAA-S-ACS-7B", "CA.V.D")
    assert "31 May 2024" in altitude.edition
    assert any(row.limit == (1500.0, None) for row in eight.limits)


@pytest.mark.parametrize(
    ("level", "kind", "title", "band"),
    [
        # FAA-S-ACS-7B, CA.VII.A: +5/-0 kt, one-sided; CA.V.B: never above 60°, three turns or more.
        ("commercial", "slow_flight", "Airspeed", (0.0, 5.0)),
        ("commercial", "slow_flight", "Altitude", (-50.0, 50.0)),
        ("commercial", "steep_spiral", "Bank", (None, 60.0)),
        ("commercial", "steep_spiral", "Turns", (3.0, None)),
        ("commercial", "eights_on_pylons", "Bank", (None, 40.0)),
        # CA.VII.B holds bank to ±5°, CA.VII.C to ±10°: not the same.
        ("commercial", "power_off_stall", "Bank", (-5.0, 5.0)),
        ("commercial", "power_on_stall", "Bank", (-10.0, 10.0)),
        ("commercial", "accelerated_stall", "Height above ground", (3000.0, None)),
        ("commercial", "emergency_descent", "Airspeed", (-10.0, 0.0)),
        # FAA-S-ACS-6, PA.VII.A: +10/-0 kt; PA.V.B: 600 to 1,000 ft above ground.
        ("private", "slow_flight", "Airspeed", (0.0, 10.0)),
        ("private", "turns_around_a_point", "Height above ground", (600.0, None)),
    ],
)
def test_published_limits_of_maneuvers_without_a_definition(level, kind, title, band) -> None:
    found = [row.limit for row in limit_reports(standard(level), None, kind, engines=1) if row.title == title]
    assert band in found


def test_the_floor_of_the_airplanes_own_class_is_shown() -> None:
    # FAA-S-ACS-7B, CA.VII.A: 1,500 ft above ground in a single, 3,000 ft in a multi-engine airplane.
    def floors(engines: int) -> list[float | None]:
        rows = limit_reports(standard("commercial"), None, "slow_flight", engines=engines)
        return [row.limit[0] for row in rows if row.title.startswith("Height")]

    assert (floors(1), floors(2)) == ([1500.0], [3000.0])


def test_what_if_says_what_each_change_does(eight) -> None:
    assert len(eight.what_if) >= 5
    rows = {row.change: row.effects for row in eight.what_if}
    # Less power leaves the eight low: height is energy.
    lower = next(effects for change, effects in rows.items() if "Throttle" in change)
    assert lower["exit_altitude_ft"] < 0


def test_every_kind_can_be_briefed_or_says_why_not() -> None:
    for kind in briefable():
        made = brief(kind, airplane=SHEET, conditions=DAY, line=LINE, what_if=False, **easy(kind))
        text = made.to_json()
        assert json.loads(text)["kind"] == kind
        assert made.points
        assert not [name for name in made.settings if name.endswith("_si")]
        assert made.caution


def easy(kind: str) -> dict[str, float]:
    """The steep turn's own bank is more than 160 hp hold at this height; the refusal says so."""
    return {"maximum_bank": 40 * DEGREE} if kind == "steep_turn" else {}


def test_whose_card_it_is() -> None:
    lesson = Lesson(student="Mara Tolk", date="2026-05-14")
    made = brief("slow_flight", airplane=SHEET, lesson=lesson, what_if=False)
    assert json.loads(made.to_json())["lesson"]["student"] == "Mara Tolk"


# --- JSON ---------------------------------------------------------------------------------------------------


def test_every_key_is_explained_on_the_page_of_quantities(eight) -> None:
    page = (ROOT / "docs" / "quantities.md").read_text(encoding="utf-8")
    known = set(re.findall(r"`([a-z0-9_]+)`", page))
    classes = [each for each in vars(report).values() if isinstance(each, type) and hasattr(each, "__mro__")]
    keys = {field.name for each in classes if hasattr(each, "__dataclass_fields__") for field in fields(each)}
    keys |= {name for row in eight.what_if for name in row.effects}
    assert keys - known == set()


def test_json_is_finite_ordered_and_complete(eight) -> None:
    told = json.loads(eight.to_json(), parse_constant=lambda name: pytest.fail(name))
    assert next(iter(told)) == "schema"
    assert set(told) == {field.name for field in fields(Briefing)}
    assert len(set(map(len, told["path"].values()))) == 1
    assert told["mass_lb"] == pytest.approx(SHEET.mass / POUND, abs=1e-3)


def test_the_path_keeps_its_ends_and_its_parts(eight) -> None:
    path = eight.path
    assert path is not None
    assert set(path.part) == {1, 2}
    assert eight.part_directions == ("right", "left")
    assert path.t_s[0] == 0.0
    assert path.t_s[-1] == pytest.approx(max(point.t_s for point in eight.points), abs=0.5)


# --- Refusals -----------------------------------------------------------------------------------------------


def test_an_unknown_maneuver_lists_the_known() -> None:
    with pytest.raises(UnknownName, match="lazy_eight"):
        brief("lazy_ate", airplane=SHEET)


def test_an_unknown_airplane_lists_the_known() -> None:
    with pytest.raises(UnknownName, match="four-seat-160"):
        brief("lazy_eight", airplane="five-seat")


def test_a_setting_that_the_maneuver_has_not_lists_its_own() -> None:
    with pytest.raises(UnknownName, match="bank"):
        brief("steep_turn", airplane=SHEET, nose_up=0.2)


def test_a_twin_is_refused_maneuvers_of_the_single_engine_class() -> None:
    with pytest.raises(OutsideModel, match="single-engine"):
        brief("lazy_eight", airplane="light-twin")


def test_degrees_for_radians_are_refused() -> None:
    with pytest.raises(OutsideModel, match="degrees"):
        brief("steep_turn", airplane=SHEET, maximum_bank=45.0)
