"""Files of a briefing: the day, the school, a morning's lessons; and what is said where they are faulty."""

from __future__ import annotations

import pytest

from chalkwing.briefing import brief, brief_morning, conditions_from, read_morning, read_school
from chalkwing.conditions import Conditions
from chalkwing.errors import ChalkwingError, FaultyPlan
from chalkwing.units import DEGREE, FOOT, INCH_OF_MERCURY


def test_a_day_from_a_file() -> None:
    day = conditions_from(
        {
            "schema": 1,
            "elevation_ft": 1120,
            "terrain_ft": 1450,
            "altimeter_inhg": 30.12,
            "isa_deviation_c": 5,
            "ceiling_ft_agl": 4500,
            "visibility_km": 9,
            "variation_deg": -4,
            "wind": [{"altitude_ft": 3000, "from_deg_true": 360, "speed_kt": 15}],
        },
        where="day.toml",
    )
    assert day.elevation == pytest.approx(1120 * FOOT)
    assert day.highest_terrain == pytest.approx(1450 * FOOT)
    assert day.altimeter_setting == pytest.approx(30.12 * INCH_OF_MERCURY)
    assert (day.isa_deviation, day.visibility) == (5.0, 9000.0)
    assert day.winds[0].wind_from == 0.0
    assert day.magnetic_variation == pytest.approx(-4 * DEGREE)


def test_a_day_from_a_metar_in_a_file() -> None:
    day = conditions_from(
        {"schema": 1, "elevation_ft": 1120, "metar": "KXYZ 141453Z 27015KT 10SM BKN045 18/07 A3012"},
        where="day.toml",
    )
    assert day.ceiling == pytest.approx(4500 * FOOT)
    assert any("METAR" in note for note in day.notes)


def test_all_faults_of_a_day_are_told_at_once() -> None:
    with pytest.raises(FaultyPlan) as caught:
        conditions_from({"schema": 2, "altimeter_inhg": "high", "celing_ft_agl": 4000}, where="day.toml")
    said = str(caught.value)
    for phrase in ("schema", "elevation_ft: is missing", "altimeter_inhg", "celing_ft_agl: is not a key"):
        assert phrase in said


def test_what_the_models_refuse_is_a_fault_of_the_file() -> None:
    with pytest.raises(FaultyPlan, match="altimeter setting"):
        conditions_from({"schema": 1, "elevation_ft": 0, "altimeter_inhg": 1018}, where="day.toml")


def test_a_school_writes_its_own_texts(tmp_path) -> None:
    file = tmp_path / "school.toml"
    file.write_text(
        'schema = 1\nschool = "Heron Field"\n[floors]\ndual_ft_agl = 2000\nsolo_ft_agl = 3500\n'
        'low_ft_agl = 600\n[default]\ncalls = ["Ours."]\n'
        '[maneuver.chandelle]\nclearing = ["Left, then right."]\n',
        encoding="utf-8",
    )
    school = read_school(file)
    assert school.texts("chandelle").clearing == ("Left, then right.",)
    assert school.texts("chandelle").calls == ("Ours.",)
    made = brief("steep_turn", airplane="four-seat-160", school=school, maximum_bank=0.7, what_if=False)
    assert (made.school.school, made.floor_agl_ft) == ("Heron Field", pytest.approx(2000.0))


MORNING = """schema = 1
[day]
schema = 1
elevation_ft = 1120
[[lesson]]
student = "Mara Tolk"
airplane = "four-seat-160"
maneuvers = ["steep_turn", "chandelle"]
side = "left"
line_deg_magnetic = 340
max_bank_deg = 35
[[lesson]]
student = "Ivo Brandt"
airplane = "two-seat-100"
maneuvers = ["slow_flight"]
mass_lb = 1500
solo = true
"""
ROWS = """student,airplane,maneuvers,side,line_deg_magnetic,mass_lb,solo,max_bank_deg
Mara Tolk,four-seat-160,steep_turn chandelle,left,340,,no,35

Ivo Brandt,two-seat-100,slow_flight,,,1500,yes,
"""


def test_a_morning_from_toml_and_from_csv_is_the_same(tmp_path) -> None:
    (tmp_path / "m.toml").write_text(MORNING.replace("[day]\nschema = 1\n", "[day]\n"), encoding="utf-8")
    (tmp_path / "m.csv").write_text(ROWS, encoding="utf-8")
    day = Conditions(elevation=1120 * FOOT)
    by_table = brief_morning(read_morning(tmp_path / "m.toml"), what_if=False)
    by_row = brief_morning(read_morning(tmp_path / "m.csv"), day=day, what_if=False)
    assert [(each.kind, each.lesson.student) for each in by_row] == [
        ("steep_turn", "Mara Tolk"),
        ("chandelle", "Mara Tolk"),
        ("slow_flight", "Ivo Brandt"),
    ]
    assert [each.to_json() for each in by_table] == [each.to_json() for each in by_row]
    assert by_row[2].floor_for == "solo"
    assert by_row[2].mass_lb == pytest.approx(1500.0)


def test_all_faults_of_a_morning_are_told_with_their_lines(tmp_path) -> None:
    file = tmp_path / "m.csv"
    file.write_text(
        "student,airplane,maneuvers,side,shade\nA,no-such,lazy_eight,left,\nB,four-seat-160,lazy_ate,up,red\n",
        encoding="utf-8",
    )
    with pytest.raises(FaultyPlan) as caught:
        read_morning(file)
    said = str(caught.value)
    for phrase in ("line 2.airplane", "no-such", "line 3.maneuvers", "lazy_ate", "line 3.side", "shade"):
        assert phrase in said


def test_a_lesson_that_cannot_be_flown_makes_no_card_and_says_which(tmp_path) -> None:
    file = tmp_path / "m.csv"
    file.write_text(
        "student,airplane,maneuvers\nA,four-seat-160,slow_flight\nB,light-twin,lazy_eight\n", encoding="utf-8"
    )
    with pytest.raises(FaultyPlan, match=r"line 3: lazy_eight: .*single-engine"):
        brief_morning(read_morning(file))


def test_every_refusal_is_ours(tmp_path) -> None:
    for content in ("", "schema = 1", "not toml [", "student\n"):
        for name in ("m.toml", "m.csv"):
            (tmp_path / name).write_text(content, encoding="utf-8")
            with pytest.raises(ChalkwingError):
                read_morning(tmp_path / name)
