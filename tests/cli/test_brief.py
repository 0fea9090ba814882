"""``chalkwing brief``: what is asked for is planned, printed or written whole; what cannot be is refused."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from chalkwing import units
from chalkwing.cli import brief_values, main
from chalkwing.cli.console import page_console

PLAIN = ("brief", "steep_turn", "--airplane", "four-seat-160", "--max-bank", "40")
METAR = "KXYZ 141453Z 27015G24KT 10SM BKN045 18/07 A3012"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def planned(*more: str) -> dict:
    done = run(*PLAIN, "--format", "json", *more)
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


# --- Text ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize(
    "kind", ["lazy_eight", "chandelle", "steep_turn", "power_off_stall", "eights_on_pylons"]
)
def test_the_page_keeps_to_its_width(kind, width, monkeypatch) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    bank = ["--max-bank", "40"] if kind == "steep_turn" else []
    done = run("brief", kind, "--airplane", "four-seat-160", "--line", "340", "--wind", "270/15", *bank)
    assert done.exit_code == 0, done.output
    assert max(map(len, done.stdout.splitlines())) <= width
    # No cell of the table of points is cut or folded: each row says its load in one piece.
    rows = [line for line in done.stdout.splitlines() if line.rstrip().endswith("kt") and " g " in line]
    assert len(rows) >= 4
    assert page_console().width <= width


def test_the_page_says_what_an_instructor_needs() -> None:
    said = run(*PLAIN, "--line", "340", "--wind", "270/15", "--elevation", "1120", "--terrain", "1450").stdout
    for phrase in (
        "Steep turn, to the right", "KCAS", "magnetic", "Floor", "above terrain at 1,450 ft",
        "What to expect", "Margins", "Held against", "FAA-S-ACS-7B", "±100 ft", "Clear", "Call",
        "A training aid.", "instructor prevail",
    ):  # fmt: skip
        assert phrase in said, phrase


def test_several_maneuvers_make_several_pages() -> None:
    said = run("brief", "Slow-Flight", "chandelle", "--airplane", "four-seat-160").stdout
    assert said.index("Slow flight") < said.index("Chandelle")
    assert said.count("A training aid.") == 2


# --- The day ------------------------------------------------------------------------------------------------


def test_options_tell_the_day() -> None:
    day = planned(
        "--elevation", "1120", "--terrain", "500m", "--altimeter", "1018", "--temperature", "25",
        "--wind", "250/25@3000", "--wind", "240/10@1200", "--ceiling", "4500", "--visibility", "9km",
        "--variation", "4W", "--line", "340",
    )["conditions"]  # fmt: skip
    assert day["terrain_ft"] == pytest.approx(500 / 0.3048)
    assert day["altimeter_hpa"] == pytest.approx(1018.0)
    # 25 °C where the standard says 15 - 1.98 x 0.98: pressure altitude 1,120 - 130 ft.
    assert day["isa_deviation_c"] == pytest.approx(12.0, abs=0.1)
    assert (day["variation_deg"], day["visibility_m"]) == (pytest.approx(-4.0), 9000.0)
    assert 10.0 < day["wind_at_entry"]["speed_kt"] <= 25.0
    assert day["ceiling_ft_agl"] == pytest.approx(4500.0)


def test_a_metar_tells_the_day_and_says_what_it_left_out() -> None:
    day = planned("--metar", METAR, "--elevation", "1120", "--line", "340")["conditions"]
    assert day["altimeter_inhg"] == pytest.approx(30.12, abs=0.001)
    assert day["wind_at_entry"] == {"from_deg_true": pytest.approx(270.0), "speed_kt": pytest.approx(15.0)}
    assert any("Gusts to 24 kt" in note for note in day["notes"])


def test_a_wind_without_altitude_stands_in_place_of_the_reported_one() -> None:
    day = planned("--metar", METAR, "--elevation", "1120", "--wind", "300/30", "--line", "340")["conditions"]
    assert day["wind_at_entry"]["speed_kt"] == pytest.approx(30.0)
    assert not any("Gusts" in note or "surface wind" in note for note in day["notes"])


def test_options_lie_over_a_file(tmp_path) -> None:
    file = tmp_path / "day.toml"
    file.write_text("schema = 1\nelevation_ft = 1120\nisa_deviation_c = 8\n", encoding="utf-8")
    day = planned("--conditions", str(file), "--elevation", "900")["conditions"]
    assert (day["elevation_ft"], day["isa_deviation_c"]) == (pytest.approx(900.0), pytest.approx(8.0))


def test_masses_and_settings_carry_units() -> None:
    told = planned("--mass", "2100lb", "--set", "turn=720deg", "--entry-speed", "95", "--side", "left")
    assert told["mass_lb"] == pytest.approx(2100.0)
    assert told["entry"]["airspeed_kt"] == pytest.approx(95.0)
    assert told["direction"] == "left"
    assert told["settings"]["turn_deg"] == pytest.approx(720.0)
    assert told["settings"]["airspeed_kcas"] == pytest.approx(95.0)


def test_conversions_on_the_command_line_are_those_of_units() -> None:
    table = {
        "lb": units.POUND, "ft": units.FOOT, "sm": units.MILE, "kt": units.KNOT,
        "kg": 1.0, "m": 1.0, "km": 1000.0,
    }  # fmt: skip
    for kind in brief_values._UNITS.values():
        for unit, scale in kind.items():
            assert scale == table[unit.removesuffix("s")]
    assert brief_values._INHG == units.INCH_OF_MERCURY


# --- JSON and PDF -------------------------------------------------------------------------------------------


def test_several_maneuvers_are_a_list_in_json() -> None:
    done = run("brief", "slow_flight", "chandelle", "--airplane", "four-seat-160", "--format", "json")
    assert [each["kind"] for each in json.loads(done.stdout)] == ["slow_flight", "chandelle"]


def test_a_card_is_written_and_never_over_another(tmp_path) -> None:
    card = tmp_path / "card.pdf"
    assert run(*PLAIN, "--format", "pdf", "-o", str(card)).exit_code == 0
    first = card.read_bytes()
    assert first.startswith(b"%PDF")
    again = run(*PLAIN, "--format", "pdf", "-o", str(card), "--paper", "half-letter")
    assert again.exit_code == 2
    assert "--overwrite" in again.stderr
    assert card.read_bytes() == first
    assert run(*PLAIN, "-o", str(card), "--paper", "half-letter", "--overwrite").exit_code == 0
    assert card.read_bytes() != first
    assert list(tmp_path.iterdir()) == [card]


def test_a_refused_plan_leaves_no_file(tmp_path) -> None:
    done = run("brief", "lazy_eight", "--airplane", "light-twin", "-o", str(tmp_path / "card.pdf"))
    assert done.exit_code == 2
    assert "single-engine" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_morning_of_cards(tmp_path) -> None:
    rows = tmp_path / "monday.csv"
    rows.write_text(
        "student,airplane,maneuvers,side\nMara Tolk,four-seat-160,slow_flight chandelle,left\n"
        "Ivo Brandt,two-seat-100,power_off_stall,\n",
        encoding="utf-8",
    )
    cards = tmp_path / "monday.pdf"
    done = run("brief", "--morning", str(rows), "--elevation", "1120", "-o", str(cards))
    assert done.exit_code == 0, done.output
    assert "3 cards, 6 pages" in done.stderr
    assert cards.read_bytes().startswith(b"%PDF")


# --- Refusals -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("arguments", "phrases"),
    [
        (("brief",), ("Name a maneuver", "lazy_eight", "chalkwing maneuvers")),
        (("brief", "chandelle"), ("--airplane", "four-seat-160", "chalkwing airplanes")),
        (("brief", "lazy_ate", "--airplane", "four-seat-160"), ("lazy_ate", "lazy_eight", "chandelle")),
        (("brief", "chandelle", "--airplane", "five-seat"), ("five-seat", "four-seat-160")),
        ((*PLAIN, "--mass", "2300"), ("no unit", "2300lb or")),
        ((*PLAIN, "--mass", "2300st"), ("no unit of mass",)),
        ((*PLAIN, "--mass", "heavy"), ("not a number with a unit",)),
        ((*PLAIN, "--wind", "west"), ("270/15",)),
        ((*PLAIN, "--wind", "370/15"), ("between 0 and 360",)),
        ((*PLAIN, "--wind", "270/15", "--wind", "250/25@3000"), ("altitude each",)),
        ((*PLAIN, "--altimeter", "50"), ("30.12", "1018")),
        ((*PLAIN, "--variation", "-4W"), ("4W",)),
        ((*PLAIN, "--line", "400"), ("360",)),
        ((*PLAIN, "--metar", METAR), ("--elevation",)),
        ((*PLAIN, "--metar", "sunny", "--elevation", "0"), ("METAR",)),
        ((*PLAIN, "--temperature", "20", "--isa-deviation", "5"), ("give one",)),
        ((*PLAIN, "--set", "turns"), ("NAME=VALUE",)),
        ((*PLAIN, "--set", "wingspan=3"), ("wingspan", "lead")),
        ((*PLAIN, "--nose-up", "10"), ("nose_up", "Known")),
        ((*PLAIN, "--format", "pdf"), ("-o card.pdf",)),
        ((*PLAIN, "-o", "somewhere.txt"), ("--format json or pdf",)),
        ((*PLAIN, "-o", "no/such/folder/card.pdf"), ("no such folder",)),
        ((*PLAIN, "--mass", "20000lb"), ("mass",)),
    ],
    ids=lambda value: " ".join(value)[-40:] if isinstance(value, tuple) else None,
)
def test_what_cannot_be_is_refused_with_the_reason(arguments, phrases) -> None:
    done = run(*arguments)
    assert done.exit_code == 2, done.output
    assert "Traceback" not in done.output
    for phrase in phrases:
        assert phrase in done.stderr, done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(
    ("more", "phrase"),
    [
        (("chandelle",), "names the maneuvers"),
        (("--mass", "2300lb"), "--mass"),
        (("--student", "A"), "--student"),
        (("--solo",), "--solo"),
    ],
)
def test_what_the_mornings_file_says_is_not_said_twice(tmp_path, more, phrase) -> None:
    rows = tmp_path / "m.csv"
    rows.write_text("student,airplane,maneuvers\nA,four-seat-160,slow_flight\n", encoding="utf-8")
    done = run("brief", *more, "--morning", str(rows))
    assert done.exit_code == 2
    assert phrase in done.stderr


def test_help_loads_nothing_heavy() -> None:
    heavy = {"casadi", "metar", "numba", "numpy", "polars", "rich", "scipy", "typst"}
    script = (
        "import sys\nfrom chalkwing.cli import main\n"
        "try:\n    main(['brief', '--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert "MANEUVER" in done.stdout
    assert not heavy.intersection(eval(done.stderr))


def test_examples_in_the_help_work(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(*["brief", "lazy_eight", "--airplane", "four-seat-160", "--wind", "270/15", "--line", "340"])
    assert done.exit_code == 0, done.output
    assert not list(Path().iterdir())


# --- Slips of the pen ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("--temperature", "99"), "'99' lies outside −60 to 60 °C."),
        (("--temperature", "warm"), "'warm' is no number; write it in °C, without the unit."),
        (("--elevation", "99999"), "'99999' lies outside −1500 to 30000 ft."),
        (("--mass", "9lb"), "'9lb' lies outside 500 to 13000 lb."),
        # 9,000 lb are within what can be typed, and too much for 160 hp.
        (("--mass", "9000lb"), "cannot hold level flight here at 9,000 lb."),
        (("--entry-speed", "-5"), "'-5' lies outside 20 to 400 kt."),
        # The rooms refuse these in radians and meters.
        (("--max-bank", "60"), "bank of 60° lies outside 15 to 45°."),
        (("--floor", "20000"), "floor of 20,000 ft lies outside 0 to 16,404 ft."),
    ],
)
def test_a_slip_is_told_in_the_pilots_units(typed, said) -> None:
    done = run("brief", "chandelle", "--airplane", "four-seat-160", *typed)
    assert done.exit_code == 2
    assert said in done.stderr
    assert " rad" not in done.stderr
    assert " m " not in done.stderr
    assert " kg" not in done.stderr


def test_no_plan_begins_above_the_never_exceed_speed() -> None:
    # The built-in sheet: never_exceed_speed_kcas = 158.
    done = run("brief", "chandelle", "--airplane", "four-seat-160", "--entry-speed", "159")
    assert done.exit_code == 2
    assert "159 KCAS: the sheet of four-seat-160 has VNE at 158 KCAS." in done.stderr


def test_what_is_to_be_minded_stands_before_the_numbers() -> None:
    said = run("brief", "chandelle", "--airplane", "four-seat-160", "--mass", "2500lb").stdout
    caution = said.index("2,500 lb beside the largest mass of 2,400 lb")
    assert said.index("Mind") < caution < said.index("What to expect")
