"""Correcting a debrief from the command line: what is typed, kept, told and refused."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner, Result

from chalkwing.cli import main
from chalkwing.errors import FaultyCorrections
from chalkwing.find.corrections import (
    Add,
    Address,
    Asked,
    Assign,
    Drop,
    Ground,
    Label,
    Mark,
    Moment,
    Rename,
    Stretch,
    Trim,
)
from chalkwing.find.corrections.phrases import PHRASES, read_phrase
from chalkwing.trunk import reconstructing
from chalkwing.units import DEGREE, FOOT


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["debrief", *map(str, arguments)])


@pytest.fixture(scope="module")
def corrected(panel, tmp_path_factory) -> tuple[Result, str]:
    """The lesson with corrections of every kind, and the file they were kept in."""
    kept = tmp_path_factory.mktemp("kept") / "kept.toml"
    done = run(
        panel.path, "--no-facts", "--by", "Per Askell", "--why", "flown as a demonstration",
        "--flown-by", "14:00-14:11 student Mina Orlo",
        "--flown-by", "14:12 instructor",
        "--drop", "14:09:20",
        "--rename", "14:17 steep_turn",
        "--assign", "14:08:30 altitude=3600",
        "--mark", "16:07:30 rudder",
        "--clock", "+02:00",
        "--save-corrections", kept,
    )  # fmt: skip
    return done, kept.read_text(encoding="utf-8") if kept.exists() else ""


def test_times_typed_without_a_zone_are_kept_in_that_of_the_clock(corrected):
    # 14:09 is UTC: with --clock +02:00 the recording runs from 16:05, and 14:09 lies outside it.
    done, kept = corrected
    assert done.exit_code == 2
    assert "14:09:20 lies outside the recording" in done.stderr
    assert "16:05:00" in done.stderr
    assert done.stdout == ""
    assert kept == "", "nothing is written when something is refused"


@pytest.fixture(scope="module")
def told(panel, tmp_path_factory):
    """The same with times that fit: the page, the file kept, and the JSON that the file alone gives."""
    kept = tmp_path_factory.mktemp("told") / "kept.toml"
    page = run(
        panel.path, "--no-facts", "--by", "Per Askell", "--why", "flown as a demonstration",
        "--flown-by", "16:00-16:11 student Mina Orlo",
        "--flown-by", "16:12 instructor",
        "--drop", "16:09:20",
        "--rename", "16:17 steep_turn",
        "--assign", "16:08:30 altitude=3600",
        "--mark", "14:07:30Z rudder",
        "--clock", "+02:00",
        "--save-corrections", kept,
    )  # fmt: skip
    assert page.exit_code == 0, page.output
    again = run(panel.path, "--corrections", kept, "--format", "json")
    assert again.exit_code == 0, again.output
    return page.stdout, kept, json.loads(again.stdout)


def test_the_page_tells_the_lesson_with_its_corrections(told):
    page = told[0]
    assert "from 16:05:00 +02:00" in page
    assert "dropped by Per Askell: steep turn to the left" in " ".join(page.split())
    assert "mark: rudder" in page
    assert "student Mina Orlo, flown by the student" in page
    assert "Renamed by Per Askell: flown as a demonstration." in page
    assert "Found by itself at 16:16:4" in page
    assert "Assigned: 3,600 ft." in page


def test_a_file_that_was_kept_gives_the_same_again(told):
    _, kept, again = told
    text = kept.read_text(encoding="utf-8")
    assert 'kind = "chandelle"' in text
    assert "recording = " in text
    kinds = [each["kind"] for each in again["maneuvers"]]
    assert kinds == ["clearing_turns", "steep_turn", "lazy_eight", "lazy_eight", "steep_turn"]
    assert [each["number"] for each in again["maneuvers"]] == [1, 2, 3, 4, 5]
    renamed = again["maneuvers"][4]
    assert renamed["corrected"]
    assert renamed["found"]["kind"] == "chandelle"
    assert again["dropped"][0]["found"]["kind"] == "steep_turn"
    assert again["maneuvers"][1]["assigned"]["altitude_ft"] == pytest.approx(3600.0)
    assert again["maneuvers"][1]["student"] == "Mina Orlo"
    assert again["maneuvers"][2]["flown_by"] == "instructor"
    mark = again["marks"][0]
    assert (mark["t_s"], mark["text"], mark["maneuver"], mark["inside"]) == (150.0, "rudder", 1, True)
    assert all(each["fits"] and each["by"] == "Per Askell" for each in again["corrections"])


def test_what_is_not_corrected_is_judged_as_before(panel, told):
    before = {each.start_s: each for each in panel.debrief.maneuvers}
    eight = told[2]["maneuvers"][2]
    same = min(before.values(), key=lambda each: abs(each.start_s - eight["start_s"]))
    assert [each["value"] for each in eight["elements"]] == [
        None if each.value is None else pytest.approx(each.value, abs=1e-5) for each in same.elements
    ]


def test_only_some_are_shown_and_keep_their_numbers(panel):
    done = run(panel.path, "--only", "Steep-Turn", "--from", "14:09", "--to", "10min", "--format", "json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)["maneuvers"]
    assert [(each["number"], each["kind"]) for each in found] == [(3, "steep_turn")]


def test_seconds_are_taken_as_a_debrief_tells_them(panel):
    # The third maneuver begins 246 s after the first row, the fourth at 393 s: the README's first look.
    done = run(panel.path, "--from", "245 s", "--to", "300s", "--format", "json")
    assert [each["number"] for each in json.loads(done.stdout)["maneuvers"]] == [3]
    assert "such as 12min or 245s" in run(panel.path, "--from", "245 h").stderr


def test_what_was_found_and_not_asked_for_is_counted(panel, tmp_path):
    said = run(panel.path, "--no-facts", "--only", "chandelle", "--to", "5min").stdout
    assert "none of those asked for. Left out: 6 (--only, --from, --to)." in said
    assert "none of the known kinds" not in said
    path = tmp_path / "none.pdf"
    refused = run(panel.path, "--only", "chandelle", "--to", "5min", "-o", path)
    assert refused.exit_code == 2
    assert "none of the maneuvers found is left to print" in refused.stderr
    assert not path.exists()


def test_an_older_file_that_fits_nothing_any_more_is_told(panel, tmp_path):
    path = tmp_path / "old.toml"
    path.write_text(
        'schema = 1\n[[correction]]\nact = "drop"\nkind = "steep_spiral"\nat_s = 200\nby = "Per Askell"\n',
        encoding="utf-8",
    )
    done = run(panel.path, "--no-facts", "--only", "chandelle", "--corrections", path)
    assert done.exit_code == 0, done.output
    assert "Corrections that fit nothing here any more" in done.stdout
    assert "there is no steep spiral" in done.stdout


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--add", "barrel_roll 14:07:00-14:07:30"], "no maneuver is called 'barrel_roll'"),
        (["--add", "slow_flight 14:08:00-14:08:40"], "would overlap the steep turn at 14:08:1"),
        (["--mark", "11:42 rudder"], "11:42 lies outside the recording"),
        (["--drop", "14:18:30"], "the nearest is the chandelle"),
        (["--to", "14:01", "--from", "14:08"], "lies outside"),
    ],
)
def test_what_does_not_fit_is_refused_with_what_to_do(panel, options, said):
    done = run(panel.path, *options)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert said in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--mark", "rudder"], "it begins with no time; write it like '10:42 rudder'"),
        (["--drop", "4.2"], "write it like '10:42', or in seconds from the first row like '245s'"),
        (["--clock", "Atlantis"], "no zone"),
        (["--only", "barrel_roll"], "Known: accelerated_stall"),
        (["--assign", "10:42 bank=steep"], "no number of deg"),
    ],
)
def test_what_cannot_be_read_is_refused_before_anything_is_done(panel, options, said, monkeypatch):
    monkeypatch.setattr(reconstructing, "read", lambda *paths, **options: pytest.fail("it was read"))
    done = run(panel.path, *options)
    assert done.exit_code == 2
    assert said in done.stderr


def test_corrections_for_another_recording_are_refused(panel, tmp_path):
    path = tmp_path / "other.toml"
    path.write_text('schema = 1\nrecording = "0123456789abcdef"\n', encoding="utf-8")
    done = run(panel.path, "--corrections", path)
    assert done.exit_code == 2
    assert "another recording (01234567)" in done.stderr


def test_broken_toml_is_refused_with_its_line(panel, tmp_path):
    path = tmp_path / "broken.toml"
    path.write_text("schema = 1\nzone = nowhere\n", encoding="utf-8")
    done = run(panel.path, "--corrections", path)
    assert done.exit_code == 2
    assert "line 2" in done.stderr


def test_terrain_makes_height_above_ground_an_element(panel):
    # The eights are flown near 3,500 ft: over ground at 2,500 ft they stay under the standard's 1,500 ft.
    done = run(panel.path, "--terrain", "2500", "--only", "lazy_eight", "--format", "json")
    assert done.exit_code == 0, done.output
    for maneuver in json.loads(done.stdout)["maneuvers"]:
        floor = next(each for each in maneuver["elements"] if each["id"] == "floor_agl")
        assert floor["limit"] == [1500.0, None]
        assert floor["verdict"] == "not_met"
        assert 700.0 < floor["value"] < 1300.0


AT = Address(Moment(clock="10:42"))


@pytest.mark.parametrize(
    ("act", "text", "what"),
    [
        ("mark", "10:42 more right rudder", Mark(Moment(clock="10:42"), "more right rudder")),
        ("mark", "245s look out", Mark(Moment(seconds=245.0), "look out")),
        ("drop", "10:42", Drop(AT)),
        ("drop", "10:42 Steep-Turn", Drop(Address(Moment(clock="10:42"), "steep_turn"))),
        ("rename", "10:42 steep spiral", Rename(AT, "steep_spiral")),
        ("trim", "10:42 10:42:05-", Trim(AT, Moment(clock="10:42:05"), None)),
        (
            "add",
            "S-turns 10:42:05-10:44Z left",
            Add("s_turns", Moment(clock="10:42:05"), Moment(clock="10:44Z"), "left"),
        ),
        ("flown-by", "student", Stretch(flown_by="student")),
        ("flown-by", "10:42 shared", Label(AT, "shared")),
        (
            "flown-by",
            "10:42-11:05 instructor Per Askell",
            Stretch(
                Moment(clock="10:42"), Moment(clock="11:05"), instructor="Per Askell", flown_by="instructor"
            ),
        ),
        ("assign", "altitude=3500ft", Assign(None, Asked(altitude=3500 * FOOT))),
        ("assign", "10:42 bank=50", Assign(AT, Asked(bank=50 * DEGREE))),
        (
            "ground",
            "10:42 line=41.2,-41.7;41.3,-41.7 elevation=820",
            Ground(
                AT,
                line=((41.2 * DEGREE, -41.7 * DEGREE), (41.3 * DEGREE, -41.7 * DEGREE)),
                elevation=820 * FOOT,
            ),
        ),
    ],
)
def test_a_line_says_what_a_file_says(act, text, what):
    assert read_phrase(act, text) == what


@pytest.mark.parametrize(
    ("act", "text"),
    [
        ("mark", "10:42"),
        ("drop", "25:10"),
        ("add", "10:42-10:43"),
        ("add", "steep_turn 10:42"),
        ("trim", "10:42 soon"),
        ("flown-by", "10:42 somebody"),
        ("flown-by", "10:42 student Mina"),
        ("assign", "10:42 altitude"),
        ("ground", "10:42 field=41,2;42,2"),
        ("ground", "10:42 point=141,2"),
    ],
)
def test_a_line_that_says_nothing_sensible_is_refused_with_an_example(act, text):
    with pytest.raises(FaultyCorrections, match="write it like") as caught:
        read_phrase(act, text)
    assert caught.value.where == f"--{act}"


@pytest.mark.parametrize("act", PHRASES)
def test_the_examples_of_a_refusal_can_be_typed(act):
    _, by_clock, in_seconds = PHRASES[act]
    clocked, counted = read_phrase(act, by_clock), read_phrase(act, in_seconds)
    assert type(clocked) is type(counted)
    assert "245" in str(counted) or "240" in str(counted)
