"""``chalkwing book common``, ``marks`` and ``readings`` on the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from tests.book.school import CHIEF, INSTRUCTOR, enroll_all
from tests.book.sets import OTHERS, a_set

from chalkwing.book import open_book, people
from chalkwing.book.common import making, marking
from chalkwing.cli import main


@pytest.fixture
def place(tmp_path: Path) -> str:
    """A book with a set of ten maneuvers that two instructors have marked alike."""
    book = open_book(tmp_path / "book")
    enroll_all(book)
    number = a_set(book, tmp_path)
    with book.writing() as session:
        found = making.common_set(session, number)
        for name in OTHERS[:2]:
            for each in found.maneuvers:
                step = "close" if each.place % 2 else "to standard"
                marking.mark(session, found, each.place, instructor=people.person(session, name), step=step)
    book.close()
    return str(tmp_path / "book")


def run(place: str, *words: str) -> Result:
    return CliRunner().invoke(main, ["book", *words, "--book", place])


def told(place: str, *words: str) -> Any:
    done = run(place, *words, "--format", "json")
    assert done.exit_code == 0, done.output
    return json.loads(done.output)


def test_a_set_is_marked_read_closed_and_printed(place: str, tmp_path: Path) -> None:
    for k in range(1, 11):
        done = run(place, "common", "mark", "1", str(k), "far off", "--instructor", INSTRUCTOR)
        assert done.exit_code == 0, done.output
    assert "0 of 10 to mark" in done.output
    found = told(place, "common", "show", "1", "--as", INSTRUCTOR)
    assert found["agreement"]["said"] == "Disagreed on 10 of 10 maneuvers."
    assert found["own"]["instructor"] == INSTRUCTOR
    assert found["leniency"] == []
    assert "steps below the others" in run(place, "common", "show", "1", "--as", INSTRUCTOR).output
    assert run(place, "common", "close", "1").exit_code == 0
    everybody = told(place, "common", "show", "1", "--as", CHIEF, "--names")
    assert [each["instructor"] for each in everybody["leniency"]] == sorted([*OTHERS[:2], INSTRUCTOR])
    goal = tmp_path / "pack.pdf"
    assert run(place, "common", "pack", "1", "-o", str(goal), "--most", "2").exit_code == 0
    assert goal.read_bytes().startswith(b"%PDF")
    sets = told(place, "common", "show")
    assert [each["finished"] for each in sets["sets"]] == [3]
    assert [each["name"] for each in sets["over_time"]] == ["Spring meeting"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["common", "show", "9"], "there is no common set 9"),
        (["common", "show", "1"], "still open"),
        (["common", "show", "1", "--as", INSTRUCTOR], "10 of 10 maneuvers to mark"),
        (["common", "show", "1", "--as", OTHERS[0], "--names"], "only a chief"),
        (["common", "pack", "1", "-o", "x.pdf", "--as", INSTRUCTOR], "to mark yet"),
        (["common", "mark", "1", "11", "close", "--instructor", INSTRUCTOR], "maneuvers 1 to 10"),
        (["common", "mark", "1", "1", "fine", "--instructor", INSTRUCTOR], "no step"),
        (
            ["common", "mark", "1", "1", "close", "--instructor", INSTRUCTOR, "--element", "bank"],
            "ELEMENT=STEP",
        ),
        (["common", "make", "X", "--pick", "1.2"], "LESSON:MANEUVER"),
        (["common", "make", "X", "--pick", "1:2", "--count", "3"], "leave --count and --kinds out"),
        (["common", "make", "X", "--count", "40"], "only 10 maneuvers"),
        (["common", "make", "X", "--count", "4", "--kinds", "spin"], "only 0 maneuvers of spin"),
        (["marks", "--names"], "only a chief"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    place: str, words: list[str], said: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run(place, *words)
    assert done.exit_code == 2
    assert said in " ".join(done.output.split())
    assert not (tmp_path / "x.pdf").exists()


def test_marks_and_readings_say_what_they_cannot_tell(place: str) -> None:
    assert "no leniency" in told(place, "marks")["limits"]
    assert "No maneuver is marked" in run(place, "marks").output
    found = told(place, "readings")
    assert {each["kind"] for each in found["compared"]} == {"bank", "pitch", "stall_speed"}
    assert all(each["reason"] for each in found["compared"])
    assert "do not show" in " ".join(run(place, "readings").output.split())
