"""Bad input: a message that says what, where and what next; exit code 2; no traceback; nothing written."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from click.testing import CliRunner

from chalkwing import trunk
from chalkwing.cli import main
from chalkwing.files import whole_file


def refused(arguments: list[str]) -> str:
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    return done.stderr


@pytest.mark.parametrize("content", [b"", b"\x00\x01\x02\xff" * 300, b"hello\n", b"a,b\n1,2\n"])
def test_a_file_that_is_no_recording(tmp_path, content):
    path = tmp_path / "thing.csv"
    path.write_bytes(content)
    assert "thing.csv" in refused(["debrief", str(path)])


def test_a_missing_file(tmp_path):
    assert "does not exist" in refused(["debrief", str(tmp_path / "gone.csv")])


@pytest.mark.parametrize(
    ("option", "typed", "said"),
    [
        ("--assigned-altitude", "-99999", "outside −1500 to 30000 ft"),
        ("--assigned-altitude", "high", "no number; write it in ft"),
        ("--assigned-airspeed", "1000", "outside 20 to 400 kt"),
        ("--assigned-heading", "400", "outside 0 to 360 °"),
        ("--assigned-bank", "0", "outside 1 to 90 °"),
        ("--mass", "3lb", "outside 500 to 13000 lb"),
        ("--terrain", "90000", "outside −1500 to 30000 ft"),
    ],
)
def test_what_nobody_can_have_assigned_is_not_held_against_a_flight(panel, option, typed, said):
    assert said in refused(["debrief", str(panel.path), option, typed])


@pytest.mark.parametrize("zone", ["99", "+25:00", "Atlantis", "America"])
def test_a_zone_that_is_none_is_refused_by_the_option_it_was_given_to(panel, zone):
    said = refused(["debrief", str(panel.path), "--zone", zone])
    assert "--zone" in said
    assert "is no zone. Write UTC, +02:00 or a zone's name." in said


def test_a_file_that_cannot_be_written_is_told_by_its_own_name(tmp_path):
    folder = tmp_path / "gone"
    folder.mkdir()
    goal = folder / "card.pdf"
    folder.rmdir()
    with pytest.raises(FileNotFoundError) as told, whole_file(goal):
        pytest.fail("nothing can be written there")
    assert told.value.filename == str(goal)


def test_a_folder_that_takes_no_files_is_refused_before_the_work(panel, tmp_path, monkeypatch):
    # Whoever runs the tests as root may write everywhere: what the system would answer is put in its place.
    monkeypatch.setattr(os, "access", lambda path, mode: mode != os.W_OK)
    monkeypatch.setattr(
        trunk, "debriefed", lambda *paths, **options: pytest.fail("it was worked for nothing")
    )
    said = refused(["debrief", str(panel.path), "-o", str(tmp_path / "lesson.pdf")])
    assert "nothing may be written in that folder" in said


def test_no_file_at_all():
    assert "FILE" in refused(["debrief"])


def test_unknown_names_list_the_known_ones(panel):
    path = str(panel.path)
    assert "commercial" in refused(["debrief", path, "--standard", "commerical"])
    assert "four-seat-160" in refused(["debrief", path, "--airplane", "nosuch"])
    assert "bank" in refused(["debrief", path, "--ignore", "banks"])


def test_a_faulty_overlay_is_refused_with_its_faults(panel, tmp_path):
    overlay = tmp_path / "school.toml"
    overlay.write_text('schema = 1\nschool = "S"\nedition = "1"\n[[limit]]\nmaneuver = "lazy_ate"\n')
    said = refused(["debrief", str(panel.path), "--overlay", str(overlay)])
    assert "school.toml" in said
    assert "lazy_ate" in said


def test_a_faulty_column_map_is_refused(panel, tmp_path):
    columns = tmp_path / "map.toml"
    columns.write_text("this is [not toml")
    assert "map.toml" in refused(["debrief", str(panel.path), "--columns", str(columns)])


def test_an_unforeseen_fault_is_told_without_a_traceback(panel, monkeypatch):
    def broken(*paths, **options):
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(trunk, "debriefed", broken)
    said = refused(["debrief", str(panel.path)])
    assert "ZeroDivisionError: division by zero" in said
    assert "--traceback" in said
    shown = CliRunner().invoke(main, ["--traceback", "debrief", str(panel.path)])
    assert isinstance(shown.exception, ZeroDivisionError)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["technique", "-o", "{}/notes.txt"], "ends in .pdf or .json"),
        (["compare", "{file}", "--kind", "chandelle", "-o", "{}/c.txt"], "ends in .pdf"),
        (["maneuvers", "chandelle", "--picture", "{}/c.png"], "ends in .svg"),
        (["debrief", "{file}", "--definitions", "{}"], "holds no definition file"),
        (["serve", "--book", "{}/nowhere/book"], "there is no folder"),
    ],
)
def test_a_name_that_promises_something_else_is_refused(panel, tmp_path, arguments, said):
    places = {"{file}": str(panel.path), "{}": str(tmp_path)}
    for mark, place in places.items():
        arguments = [each.replace(mark, place) for each in arguments]
    assert said in " ".join(refused(arguments).split())
    assert list(tmp_path.iterdir()) == []


def test_one_attempt_is_not_compared(panel, tmp_path):
    said = refused(["compare", str(panel.path), "--kind", "chandelle", "-o", str(tmp_path / "c.pdf")])
    assert "2 to 6 attempts at the chandelle can be laid over each other, not 1." in said
    assert "Give more recordings." in said


def test_the_module_is_the_command():
    done = subprocess.run(
        [sys.executable, "-m", "chalkwing", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("chalkwing, version ")
