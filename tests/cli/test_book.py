"""The book's commands, end to end on a built-in lesson."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from chalkwing.cli import main


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("flown") / "lesson.csv"
    result = CliRunner().invoke(main, ["demo", "lesson", "--keep", str(path), "--format", "json"])
    assert result.exit_code == 0, result.output
    return path


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory, lesson: Path) -> Path:
    place = tmp_path_factory.mktemp("school") / "book"
    run(place, "person", "Mina Orlo", "--student")
    run(place, "person", "Per Askell", "--instructor", "--certificate", "0000000")
    run(place, "airplane", "X-HOLL", "--sheet", "four-seat-160")
    added = run(
        place, "add", str(lesson), "--student", "Mina Orlo", "--instructor", "Per Askell",
        "--airplane", "X-HOLL", "--lesson", "Performance 3", "--flown-by", "student",
    )  # fmt: skip
    assert "lesson 1: 6 maneuvers" in added.stdout
    return place


def run(place: Path, *words: str, code: int = 0) -> Result:
    result = CliRunner().invoke(main, ["book", *words, "--book", str(place)], terminal_width=80)
    assert result.exit_code == code, result.output
    return result


def test_the_same_lesson_again_is_known(place: Path, lesson: Path) -> None:
    told = json.loads(run(place, "add", str(lesson), "--student", "Mina Orlo", "--format", "json").stdout)
    assert told == {"lesson": 1, "known": True}


def test_lessons_are_listed_and_shown(place: Path) -> None:
    assert "Mina Orlo" in run(place, "show").stdout
    (line,) = json.loads(run(place, "show", "--format", "json").stdout)
    told = json.loads(run(place, "show", "1", "--format", "json").stdout)
    page = run(place, "show", "1").stdout
    assert line == told["line"]
    assert [each["kind"] for each in told["maneuvers"]] == [
        each["kind"] for each in told["debrief"]["maneuvers"]
    ]
    for each in told["maneuvers"]:
        assert each["title"] in page


def test_a_student_sees_every_element_tried(place: Path) -> None:
    told = json.loads(run(place, "student", "Mina Orlo", "--format", "json").stdout)
    shown = json.loads(run(place, "show", "1", "--format", "json").stdout)["debrief"]
    judged = sum(1 for each in shown["maneuvers"] for element in each["elements"] if element["verdict"])
    assert sum(len(each["verdicts"]) for each in told["elements"]) == judged > 10
    assert "Lazy eight" in run(place, "student", "Mina Orlo").stdout


def test_few_tries_tell_no_chance(place: Path) -> None:
    told = json.loads(run(place, "progress", "Mina Orlo", "--format", "json").stdout)
    assert {each["kind"] for each in told["chances"]} == {"steep_turn", "lazy_eight", "chandelle"}
    assert all(each["chance"] is None for each in told["chances"])
    page = run(place, "progress", "Mina Orlo").stdout
    assert "too few tries" in page
    assert "replaces no endorsement" in " ".join(page.split())


def test_signing_verifying_and_what_a_change_needs(place: Path) -> None:
    run(place, "sign", "1", "--instructor", "Per Askell")
    assert "as it was sealed" in run(place, "verify").stdout
    refused = run(place, "note", "1", "an afterthought", code=2)
    assert "is signed" in refused.stderr
    run(place, "note", "1", "an afterthought", "--at", "6.5", "--why", "forgotten")
    page = run(place, "show", "1").stdout
    assert "at 6:30: an afterthought" in page
    assert "version 2" in page
    assert json.loads(run(place, "verify", "--format", "json").stdout)["faults"] == []


def test_another_standard_is_told_beside_the_old(place: Path) -> None:
    told = run(place, "judge-again", "1", "--standard", "private", "--why", "a private course").stdout
    # 50 degrees of bank meets the commercial target and misses the private one, 45 (FAA-S-ACS-6C, PA.V.A).
    assert "bank held" in told
    assert "1 judged anew" in told


def test_the_course_the_marks_and_the_handover(place: Path, tmp_path: Path) -> None:
    text = run(place, "course", "--plain").stdout
    (tmp_path / "ours.toml").write_text(text.replace("alone", "unaided"), encoding="utf-8")
    run(place, "course", str(tmp_path / "ours.toml"))
    assert "unaided" in run(place, "course").stdout
    assert (
        json.loads(run(place, "course", "--format", "json").stdout)["lessons"][0]["name"] == "performance-1"
    )
    why = ("--why", "marked late")
    run(place, "mark", "1", "3", "unaided", "--instructor", "Per Askell", *why)
    assert (
        "no step of the scale"
        in run(place, "mark", "1", "3", "alone", "--instructor", "Per Askell", *why, code=2).stderr
    )
    told = json.loads(run(place, "handover", "Mina Orlo", "--format", "json").stdout)
    page = run(place, "handover", "Mina Orlo").stdout
    assert told["last_lesson"] == 1
    assert told["next_title"] in page


def test_keeping(place: Path, tmp_path: Path) -> None:
    run(place, "backup", str(tmp_path / "book.zip"))
    assert "exists already" in run(place, "backup", str(tmp_path / "book.zip"), code=2).stderr
    run(place, "export", str(tmp_path / "out"), "--as", "parquet")
    assert (tmp_path / "out" / "elements.parquet").is_file()
    restored = CliRunner().invoke(
        main, ["book", "restore", str(tmp_path / "book.zip"), "--book", str(tmp_path / "new")]
    )
    assert restored.exit_code == 0, restored.output
    assert "Nothing is due" in run(place, "due").stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["student", "Mina Orla"], "Did you mean Mina Orlo?"),
        (["show", "99"], "there is no lesson 99"),
        (["label", "1", "40", "--flown-by", "student"], "there is no maneuver 40"),
        (["sign", "1", "--instructor", "Mina Orlo"], "not as instructor"),
        (["person", "Odd Brekke"], "say what they are"),
        (["person", "Mina Orlo", "--left", "graduated", "--on", "yesterday"], "YYYY-MM-DD"),
        (["airplane", "X-NEW", "--sheet", "no-such-sheet"], "no airplane sheet|no such|called"),
        (["erase", "abc", "--why", "x"], "no recording"),
    ],
)
def test_bad_input_is_refused_in_words(place: Path, words: list[str], said: str) -> None:
    import re

    assert re.search(said, run(place, *words, code=2).stderr)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("note", "1", " "), "a note without words"),
        # The built-in lesson lasts 14 min 46 s.
        (("note", "1", "rudder", "--at", "9999"), "minute 9999 lies outside the recording"),
        (("note", "1", "rudder", "--at", "-5"), "It lasts 14.8 minutes"),
        (("person", "Mina Orlo", "--left", "ended", "--on", "3026-09-01"), "3026-09-01 has not come yet"),
    ],
)
def test_what_cannot_be_so_enters_no_record(place: Path, words: tuple[str, ...], said: str) -> None:
    before = run(place, "show", "1", "--format", "json").stdout
    done = run(place, *words, "--why", "x", code=2) if words[0] == "note" else run(place, *words, code=2)
    assert said in done.stderr
    assert run(place, "show", "1", "--format", "json").stdout == before
    assert "3026" not in run(place, "people").stdout


def test_a_students_page_does_not_date_lessons_by_their_entering(place: Path) -> None:
    assert "1 lesson. In the book since " in run(place, "student", "Mina Orlo").stdout
