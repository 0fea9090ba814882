"""Technique notes: the card's numbers, the judge's limits, and words for every maneuver."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.paper.reading import read_pdf

from chalkwing.briefing import brief
from chalkwing.briefing.school import School, read_school, school_from
from chalkwing.briefing.technique import TechniqueNotes, technique_notes
from chalkwing.cli import main
from chalkwing.errors import FaultyPlan, UnknownName
from chalkwing.maneuvers import definitions, standard
from chalkwing.paper.technique import PAPERS, technique_pdf
from chalkwing.words import number


def text_of(content: bytes) -> str:
    """All that is written, lines joined."""
    return " ".join(" ".join(page.extract_text() for page in read_pdf(content).pages).split())


DOCS = Path(__file__).parents[2] / "docs" / "school_file.md"


@pytest.fixture(scope="module")
def school() -> School:
    """The school of the documentation's example."""
    block = re.search(r"```toml\n(.*?)```", DOCS.read_text(encoding="utf-8"), re.DOTALL)
    assert block
    return school_from(tomllib.loads(block[1]), where="docs/school_file.md")


@pytest.fixture(scope="module")
def notes(school: School) -> TechniqueNotes:
    return technique_notes(school, kinds=("lazy_eight", "clearing_turns", "steep_turn"))


@pytest.fixture(scope="module")
def told(notes: TechniqueNotes) -> str:
    return text_of(technique_pdf(notes))


def test_every_maneuver_has_technique_with_its_source_and_errors_with_what_helps():
    for kind, definition in definitions().items():
        said = [advice for leg in definition.legs for advice in leg.technique]
        assert said, kind
        assert all(advice.source.strip() and advice.text.strip().endswith(".") for advice in said), kind
        assert definition.errors, kind
        assert all(error.shows and error.correction for error in definition.errors), kind


def test_numbers_are_those_of_the_card(school, notes, told):
    airplane, day = school.fleet.airplanes[0], school.fleet.days[1]
    card = brief(
        "lazy_eight",
        airplane=airplane.sheet,
        mass=airplane.heavy,
        conditions=day.conditions,
        school=school,
        what_if=False,
    )
    case = notes.chapters[0].airplanes[0].cases[-1]
    assert case.name == "heavy, hot"
    assert case.briefing is not None
    assert case.briefing.plain() == card.plain()
    for point in [each for each in card.points if each.part == 1 and each.name != "entry"]:
        cell = (
            f"{number(point.pitch_from_level_deg, signed=True)}° · {number(point.airspeed_kt)} · "
            f"{number(point.altitude_change_ft, signed=True)}"
        )
        assert cell in told, point.name
    assert f"{number(card.entry.altitude_ft)} ft" in told


def test_limits_are_those_the_judge_holds(notes, told):
    held = standard("commercial")
    chapter = notes.chapters[2]
    definition = definitions()["steep_turn"]
    limits = {
        limit.band
        for measure in definition.measures
        if (limit := held.limit("steep_turn", measure)) is not None
    }
    assert limits <= {each.limit for each in chapter.limits}
    assert "FAA-S-ACS-7B" in told
    assert "CA.V.A" in told
    assert "±100 ft" in told


def test_the_school_s_words_stand_first_and_sources_beside_the_technique(told):
    assert "To feel how the controls grow soft and firm again" in told
    assert "Into the wind first." in told
    assert told.index("To feel how the controls") < told.index("Technique", told.index("To feel how"))
    assert "common practice, no source" in told
    assert "Hollin Field · May 2026" in told


def test_what_has_no_plan_has_a_chapter_without_numbers(notes):
    chapter = notes.chapters[1]
    assert chapter.kind == "clearing_turns"
    assert not chapter.airplanes
    assert chapter.limits == ()


def test_what_cannot_be_flown_says_why(school):
    # Over 12,000 ft on a hot day this airplane has not the power to close an eight.
    tables = {
        "schema": 1,
        "school": "Hollin Field",
        "floors": {"dual_ft_agl": 1500, "solo_ft_agl": 3000, "low_ft_agl": 500},
        "default": {},
        "airplane": [
            {"registration": "X-HOLL", "sheet": "four-seat-160", "light_lb": 2300, "heavy_lb": 2300}
        ],
        "day": [{"name": "thin", "elevation_ft": 13500, "temperature_c": 30}],
    }
    notes = technique_notes(school_from(tables, where="thin"), kinds=("lazy_eight",))
    cases = notes.chapters[0].airplanes[0].cases
    assert all(case.briefing is None and case.refusal for case in cases)
    assert "No plan:" in text_of(technique_pdf(notes))


@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_page_has_the_caution_and_fonts_come_along(notes, paper):
    made = technique_pdf(notes, paper=paper)
    reader = read_pdf(made)
    size = PAPERS[paper]
    for page in reader.pages:
        assert "A training aid" in page.extract_text()
        assert float(page.mediabox.width) == pytest.approx(size.size[0] * 72 / 25.4, abs=0.5)
    assert b"/FontFile" in made
    assert technique_pdf(notes, paper=paper) == made


def test_a_faulty_file_is_told_whole(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_text(
        'schema = 1\nschool = "Hollin Field"\nedtion = "x"\n[floors]\ndual_ft_agl = 1\nsolo_ft_agl = 1\n'
        'low_ft_agl = 1\n[default]\n[[airplane]]\nregistration = "X-HOLL"\nsheet = "six-seat"\n'
        'light_lb = 2\nheavy_lb = 1\n[[day]]\nname = "cool"\nelevation_ft = "high"\ntemperature_c = 0\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultyPlan) as refused:
        read_school(path)
    for place in ("edtion", "airplane[0].sheet", "day[0].elevation_ft"):
        assert place in str(refused.value)


def test_a_school_without_airplanes_or_a_name_not_known_is_refused(school):
    from chalkwing.briefing.fleet import Fleet

    with pytest.raises(FaultyPlan, match="airplane"):
        technique_notes(School(**{**vars(school), "fleet": Fleet()}))
    with pytest.raises(UnknownName, match="X-HOLL"):
        technique_notes(school, registrations=("X-NONE",))
    with pytest.raises(UnknownName):
        technique_notes(school, kinds=("loop",))


def test_the_command_writes_a_booklet_or_its_numbers(tmp_path):
    out = tmp_path / "notes.json"
    arguments = ["technique", "--maneuver", "Steep-Turn", "-o", str(out)]
    made = CliRunner().invoke(main, arguments)
    assert made.exit_code == 0, made.output
    plain = json.loads(out.read_text(encoding="utf-8"))
    assert plain["schema"] == 1
    assert [each["name"] for each in plain["chapters"][0]["airplanes"][0]["cases"]] == [
        "light, cool",
        "light, hot",
        "heavy, cool",
        "heavy, hot",
    ]
    again = CliRunner().invoke(main, arguments)
    assert again.exit_code == 2
    assert CliRunner().invoke(main, ["technique"]).exit_code == 2
