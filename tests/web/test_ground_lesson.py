"""The ground lesson from the server's side: its numbers are the briefing's, refusals come in words."""

from __future__ import annotations

import html
import json
import re
import shlex

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from chalkwing.airplane import load_sheet
from chalkwing.briefing import briefable
from chalkwing.briefing import words as said
from chalkwing.briefing.report import FactReport
from chalkwing.cli import main
from chalkwing.errors import OutsideModel, RefusedRequest
from chalkwing.units import FOOT
from chalkwing.web.ground_lesson_asked import asked_in, controls
from chalkwing.words import number

ASKED = {
    "maneuver": "lazy_eight",
    "airplane": "four-seat-160",
    "mass_lb": "2150",
    "density_altitude_ft": "4500",
    "isa_deviation_c": "12",
    "nose_up_deg": "13.5",
    "wind_from_deg": "250",
    "wind_kt": "14",
    "line_deg": "340",
}


@pytest.fixture(scope="module")
def plan(desk):
    """Asks the server for a plan."""

    def ask(**query):
        return desk.client.get("/ground-lesson/plan", params=query)

    return ask


def test_the_page_has_three_sliders_and_folds_the_rest(desk):
    text = desk.page("/ground-lesson").text
    assert re.findall(r'type="range"[^>]*name="(\w+)"', text) == [
        "mass_lb",
        "density_altitude_ft",
        "nose_up_deg",
    ]
    folded = text[text.index('<details class="folded"') : text.index("</details>")]
    for name in ("wind_kt", "entry_speed_kt", "max_bank_deg", "throttle_percent", "isa_deviation_c"):
        assert f'name="{name}"' in folded, name
    assert "A training aid" in text
    assert 'href="/ground-lesson"' in desk.page("/").text


def test_every_number_is_what_the_command_says_of_the_same(plan):
    pieces = plan(**ASKED).json()
    command = shlex.split(pieces["command"])
    assert command[:2] == ["chalkwing", "brief"]
    ran = CliRunner().invoke(main, [*command[1:], "--format", "json"])
    assert ran.exit_code == 0, ran.output
    told = json.loads(ran.stdout)
    shown = html.unescape(pieces["numbers"])

    def cell(attribute):
        found = re.search(rf'data-{attribute}">([^<]*)<', shown)
        assert found, attribute
        return found[1]

    assert cell('name="airspeed_kt') == number(told["entry"]["airspeed_kt"])
    assert cell('name="altitude_ft') == number(told["entry"]["altitude_ft"])
    assert cell('name="throttle_percent') == number(told["entry"]["throttle_percent"])
    assert cell('name="floor') == f"{number(told['floor_ft'])} ft"
    for row in told["facts"]:
        assert cell(f'fact="{row["name"]}') == said.fact(FactReport(**row)), row
    margins = {row["name"]: said.fact(FactReport(**row)) for row in told["margins"]}
    for name in ("room_above_floor", "least_over_stall", "lowest_height", "room_to_maneuvering_speed"):
        assert cell(f'name="{name}') == margins[name]
    assert pieces["free"]["nose_up_deg"] == pytest.approx(13.5, abs=0.05)
    for caution in told["cautions"]:
        assert caution["text"] in shown
    _agree_on_points(pieces, told)


def _agree_on_points(pieces, told):
    first = [point for point in told["points"] if point["part"] == 1]
    texts = re.findall(r'class="expect">(.*?)</p>', html.unescape(pieces["steps"]), re.DOTALL)
    assert len(texts) == len(first)
    for text, point in zip(texts, first, strict=True):
        assert f"{number(point['bank_into_turn_deg'])}° of bank" in text
        assert f"nose {number(point['pitch_from_level_deg'], signed=True)}°" in text
        assert f"{number(point['airspeed_kt'])} KCAS" in text
        assert f"{number(point['altitude_change_ft'], signed=True)} ft" in text
        assert f"{number(point['margin_over_accelerated_stall_kt'])} kt over the stall" in text
    flown = {point["name"]: point["time_s"] for point in pieces["flown"]["points"] if point["part"] == 1}
    for point in first[1:]:
        assert flown[f"{point['name']}°"] == pytest.approx(point["t_s"], abs=0.006)


def test_the_machine_readable_briefing_is_the_commands(desk, plan):
    told = desk.client.get("/ground-lesson/briefing.json", params=ASKED).json()
    command = shlex.split(plan(**ASKED).json()["command"])
    ran = CliRunner().invoke(main, [*command[1:], "--format", "json"])
    assert told == json.loads(ran.stdout)


@pytest.mark.parametrize("kind", ["chandelle", "steep_turn", "slow_flight", "rectangular_course"])
def test_other_maneuvers_are_planned_too(plan, kind):
    pieces = plan(maneuver=kind, airplane="four-seat-160", mass_lb="2200").json()
    assert "<svg" in pieces["pictures"]
    assert pieces["flown"]["columns"]["altitude_change_ft"]


def test_the_path_over_the_ground_stands_on_top_where_it_is_what_is_taught(plan):
    wind = {"airplane": "four-seat-160", "wind_from_deg": "250", "wind_kt": "15", "line_deg": "340"}
    pylons = plan(maneuver="eights_on_pylons", **wind).json()
    assert pylons["pictures"].index("Plan: path") < pylons["pictures"].index("Nose path")
    assert "pylon" in pylons["pictures"]
    assert "Plan: path" not in pylons["places"]
    assert {mark["what"] for mark in pylons["flown"]["ground"]} == {"pylon"}
    eight = plan(maneuver="lazy_eight", **wind).json()
    assert "Plan: path" not in eight["pictures"]
    assert "Plan: path" in eight["places"]


def test_an_error_is_flown_over_the_plan_in_the_second_chalk(plan):
    alone = plan(**ASKED).json()
    erring = plan(**ASKED, error="altitude_trend.1").json()
    assert "var(--second)" in erring["pictures"]
    assert "with the error" in erring["pictures"]
    assert "with the error" not in alone["pictures"]
    end = re.search(
        r"At the first 180° point, against the plan: (\d+) ft higher and (\d+) kt faster", erring["pictures"]
    )
    assert end, erring["pictures"][:900]
    planned = erring["flown"]["plan"][0]["columns"]["altitude_change_ft"][-1]
    first = erring["flown"]["parts"][0]["last"]
    flown = erring["flown"]["columns"]["altitude_change_ft"][first]
    assert flown - planned == pytest.approx(float(end[1]), abs=1.0)
    # The plan's own numbers stay the plan's.
    assert erring["numbers"] == alone["numbers"]


def test_an_error_that_would_stall_is_told_and_not_drawn(plan):
    steep = {"maneuver": "lazy_eight", "airplane": "four-seat-160", "nose_up_deg": "20"}
    late = plan(**steep, error="altitude_trend.3").json()
    assert "Not drawn:" in late["pictures"]
    assert "more lift than the wing gives" in late["pictures"]
    assert "with the error" not in late["pictures"]
    assert "with the error" in plan(**steep, error="altitude_trend.1").json()["pictures"]


def test_what_cannot_be_flown_is_refused_in_words(plan):
    answer = plan(maneuver="steep_turn", airplane="two-seat-100", density_altitude_ft="10000")
    assert answer.status_code == 422
    assert "full throttle does not hold" in answer.json()["error"]["what"]
    assert "Keep the bank under" in answer.json()["error"]["next"]


@pytest.mark.parametrize(
    "query",
    [
        {"maneuver": "loop"},
        {"airplane": "../../etc/passwd"},
        {"side": "up"},
        {"mass_lb": "nan"},
        {"mass_lb": "1e9"},
        {"error": "<script>"},
        {"error": "uncoordinated.1"},
    ],
)
def test_nonsense_is_refused(plan, query):
    answer = plan(**query)
    assert answer.status_code in (404, 422)
    assert answer.json()["error"]["what"]


def test_the_card_is_printed_from_here(desk, tmp_path):
    answer = desk.client.get("/ground-lesson/card.pdf", params={**ASKED, "paper": "a5"})
    assert answer.headers["content-type"] == "application/pdf"
    path = tmp_path / "card.pdf"
    path.write_bytes(answer.content)
    pages = PdfReader(path).pages
    assert len(pages) == 2
    assert "Lazy eight" in pages[0].extract_text()
    assert desk.client.get("/ground-lesson/card.pdf", params={**ASKED, "paper": "a0"}).status_code == 404


def test_a_field_has_the_density_altitude_that_is_asked_for():
    # ICAO Doc 7488 by way of chalkwing.air: in standard air density altitude is the altitude.
    assert asked_in({"density_altitude_ft": "5000"}).elevation_ft() == 5000.0
    warm = asked_in({"density_altitude_ft": "5000", "isa_deviation_c": "20"})
    assert float(warm.day().density_altitude(warm.day().elevation)) / FOOT == pytest.approx(5000.0, abs=1.0)
    # Common practice: about 120 ft of density altitude a degree.
    assert 5000.0 - warm.elevation_ft() == pytest.approx(20.0 * 120.0, rel=0.1)
    with pytest.raises(OutsideModel, match="no airfield lies so low"):
        asked_in({"density_altitude_ft": "0", "isa_deviation_c": "25"}).elevation_ft()


def test_every_maneuver_has_sliders_that_its_solver_knows():
    for kind in briefable():
        for name in ("four-seat-160", "light-twin"):
            known = controls(kind, load_sheet(name))
            assert 2 <= len(known.sliders) <= 3
            middle = {each.name: str(0.5 * (each.low + each.high)) for each in known.sliders}
            assert asked_in({"maneuver": kind, "airplane": name, **middle}).arguments()
    with pytest.raises(RefusedRequest, match="from 3 to 25°"):
        asked_in({"nose_up_deg": "40"})
