"""``chalkwing maneuvers``: the list, one explained with its picture, and definition files checked."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from chalkwing.cli import main
from chalkwing.cli.text.definition import strip
from chalkwing.drawing.definition_sketch import definition_sketch, drawn_points, shares
from chalkwing.drawing.palette import Style
from chalkwing.maneuvers import definition, definitions, registry
from chalkwing.maneuvers.vocabulary import QUANTITIES

KINDS = tuple(definitions())


def run(*arguments: object, width: int = 80) -> Result:
    return CliRunner().invoke(main, ["maneuvers", *map(str, arguments)], env={"COLUMNS": str(width)})


def own_definition(folder: Path, kind: str = "ours", **changed: str) -> Path:
    """A school's own file, from the steep turn's."""
    text = (Path(registry.__file__).parent / "definitions" / "steep_turn.toml").read_text(encoding="utf-8")
    text = text.replace('kind = "steep_turn"', f'kind = "{kind}"')
    for old, new in changed.items():
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / f"{kind}.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_list_names_every_kind():
    done = run()
    assert done.exit_code == 0
    assert all(kind in done.stdout for kind in KINDS)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("width", [60, 80])
def test_each_is_explained_on_a_page_of_any_width(kind, width):
    done = run(kind, width=width)
    assert done.exit_code == 0, done.output
    assert max(len(line) for line in done.stdout.splitlines()) <= width
    said = " ".join(done.stdout.split())
    known = definition(kind)
    for title in (
        known.title,
        *(leg.title for leg in known.legs[:1]),
        *(each.title for each in known.errors),
    ):
        assert " ".join(title.split()[:3]) in said


def test_limits_come_with_their_source_and_follow_the_standard():
    # FAA-S-ACS-7B, CA.V.A: 100 ft, 10 kt, 5 and 10 degrees, as tests/published/standards.toml has them.
    said = " ".join(run("steep-turn").stdout.split())
    assert "±100 ft" in said
    assert "FAA-S-ACS-7B, effective 31 May 2024, CA.V.A" in said
    assert "FAA-S-ACS-6C" in run("steep_turn", "--standard", "private").stdout


def test_the_same_for_machines():
    told = json.loads(run("lazy_eight", "--format", "json").stdout)
    assert told["kind"] == "lazy_eight"
    assert [each["name"] for each in told["points"]] == ["entry", "45", "90", "135", "180"]
    altitude = next(each for each in told["elements"] if each["id"] == "altitude_at_180")
    assert altitude["limit"] == [-100.0, 100.0]
    assert altitude["task"] == "CA.V.D"


@pytest.mark.parametrize("kind", KINDS)
def test_points_lie_in_order_in_both_pictures(kind):
    known = definition(kind)
    places = shares(known)
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0.0, 1.0)
    line = strip(known, width=50)[0]
    assert sum(line.count(ring) for ring in "●○") == len(drawn_points(known))
    picture = ElementTree.fromstring(definition_sketch(known, style=Style()))
    circles = picture.findall("{http://www.w3.org/2000/svg}circle")
    assert len(circles) == len(drawn_points(known))
    words = [text.text or "" for text in picture.findall("{http://www.w3.org/2000/svg}text")]
    assert all(any(point.title in word for word in words) for point in drawn_points(known))


def test_a_lazy_eight_is_drawn_as_one_half_each_way_on_one_line():
    picture = ElementTree.fromstring(definition_sketch(definition("lazy_eight"), style=Style()))
    halves = [
        [tuple(map(float, at.split(","))) for at in each.attrib["points"].split()]
        for each in picture.findall("{http://www.w3.org/2000/svg}polyline")
    ]
    assert len(halves) == 2
    entry, middle, end = halves[0][0], halves[0][-1], halves[1][-1]
    assert middle == halves[1][0]
    assert entry[1] == pytest.approx(middle[1], abs=0.5)
    assert end[1] == pytest.approx(middle[1], abs=0.5)
    assert end[0] - middle[0] == pytest.approx(middle[0] - entry[0], abs=0.5)


def test_the_picture_is_written_whole_or_not_at_all(tmp_path):
    path = tmp_path / "eight.svg"
    assert run("lazy_eight", "--picture", path).exit_code == 0
    assert path.read_text(encoding="utf-8").startswith("<svg")
    assert "--overwrite" in run("lazy_eight", "--picture", path).stderr
    assert run("lazy_eight", "--picture", path, "--overwrite").exit_code == 0
    refused = run("barrel_roll", "--picture", tmp_path / "no.svg")
    assert refused.exit_code == 2
    assert "Known: accelerated_stall" in refused.stderr
    assert not (tmp_path / "no.svg").exists()


def test_a_schools_own_maneuver_is_explained_from_its_folder(tmp_path):
    own_definition(tmp_path)
    done = run("ours", "--definitions", tmp_path)
    assert done.exit_code == 0, done.output
    assert "publishes none for this maneuver" in " ".join(done.stdout.split())


def test_a_sound_file_passes_the_check(tmp_path):
    done = run("check", own_definition(tmp_path))
    assert done.exit_code == 0, done.output
    assert "ours, no fault." in done.stdout


def test_every_fault_of_every_file_is_told_with_its_path(tmp_path):
    bad = own_definition(
        tmp_path, "bad", **{"angle_deg = 360": 'angle_deg = "round"', "[finder]": "[seeker]"}
    )
    broken = tmp_path / "broken.toml"
    broken.write_text("schema = 1\nkind = \n", encoding="utf-8")
    done = run("check", bad, broken, own_definition(tmp_path))
    assert done.exit_code == 2
    assert "turns.angle_deg: must be a number" in done.stdout
    assert "finder: is missing" in done.stdout
    assert "seeker: is not a key known here" in done.stdout
    assert "line 2" in done.stdout
    assert "ours, no fault." in done.stdout
    assert "in 3 files" in done.stderr
    told = json.loads(run("check", bad, "--format", "json").stdout)
    assert {"turns.angle_deg", "seeker"} <= {fault["path"] for fault in told[0]["faults"]}


def test_unknown_quantities_name_the_nearest_and_list_all_of_them_once(tmp_path):
    text = own_definition(tmp_path, "many").read_text(encoding="utf-8")
    wrong = text.replace('quantity = "bank_into_turn_deg"', 'quantity = "bank_in_turn_deg"')
    assert text.count('quantity = "bank_into_turn_deg"') >= 3
    wrong = wrong.replace('quantity = "altitude_ft"', 'quantity = "zzz"')
    (tmp_path / "many.toml").write_text(wrong, encoding="utf-8")
    done = run("check", tmp_path / "many.toml")
    assert done.exit_code == 2
    faulty = [line for line in done.stdout.splitlines() if "bank_in_turn_deg" in line]
    assert len(faulty) >= 3
    assert all("did you mean bank_into_turn_deg" in line for line in faulty)
    assert done.stdout.count(", ".join(QUANTITIES)) == 1
    others = [line for line in done.stdout.splitlines() if "'zzz'" in line]
    assert others
    assert all("is not known here" in line for line in others)


def test_a_name_that_is_taken_is_a_fault(tmp_path):
    taken = own_definition(tmp_path, "chandelle")
    assert "comes with chalkwing" in run("check", taken).stdout
    first = own_definition(tmp_path)
    folder = tmp_path / "again"
    folder.mkdir()
    assert "is defined in" in run("check", first, own_definition(folder)).stdout


def test_what_makes_no_sense_is_refused():
    assert run("check").exit_code == 2
    assert run("chandelle", "lazy_eight").exit_code == 2
    assert "name the maneuver" in run("--picture", "x.svg").stderr


def test_a_missing_file_is_told(tmp_path):
    done = run("check", tmp_path / "gone.toml")
    assert done.exit_code == 2
    assert "cannot be read" in done.stdout
