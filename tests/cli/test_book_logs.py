"""A log with headers of its own goes into the book by a column map and a zone, and is read so again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from chalkwing.book import open_book
from chalkwing.book.common.choosing import candidates
from chalkwing.book.common.making import order_of
from chalkwing.book.common.shown import shown_of
from chalkwing.cli import main
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson

HELD = (
    ("latitude", "deg"),
    ("longitude", "deg"),
    ("geometric_altitude", "ft"),
    ("pressure_altitude", "ft"),
    ("indicated_airspeed", "kt"),
    ("ground_speed", "kt"),
    ("track", "deg"),
    ("heading_magnetic", "deg"),
    ("pitch", "deg"),
    ("bank", "deg"),
)
"""What the first columns after the clock hold, in the order of the recorder."""
MAP = "[columns]\n" + "".join(
    f'{channel} = {{column = "Q{k}", unit = "{unit}"}}\n' for k, (channel, unit) in enumerate(HELD, start=1)
)


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five minutes of a panel that names its columns Q1, Q2, ... and its clock local."""
    _, text = record(fly_lesson(0), "avionics", seed=0)
    rows = [line for line in text.splitlines() if line.startswith("2026")][:300]
    names = ["Local date", "Local time", *(f"Q{k}" for k in range(1, rows[0].count(",")))]
    path = tmp_path_factory.mktemp("flown") / "own.csv"
    path.write_text("\n".join([",".join(names), *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("school") / "book"
    (place.parent / "ours.toml").write_text(MAP, encoding="utf-8")
    run(place, "person", "Mina Orlo", "--student")
    return place


def run(place: Path, *words: str, code: int = 0) -> Result:
    result = CliRunner().invoke(main, ["book", *words, "--book", str(place)], terminal_width=80)
    assert result.exit_code == code, result.output
    return result


def test_a_log_of_unknown_headers_is_entered_by_a_map_and_judged_and_shown_by_it_again(
    place: Path, log: Path
) -> None:
    add = ("add", str(log), "--student", "Mina Orlo", "--flown-by", "student")
    assert "column map" in run(place, *add, code=2).stderr
    given = ("--columns", str(place.parent / "ours.toml"), "--zone", "+02:00")
    assert "lesson 1: 3 maneuvers" in run(place, *add, *given).stdout
    before = json.loads(run(place, "show", "1", "--format", "json").stdout)
    assert before["line"]["flown"] == "2026-05-14T12:05:00+00:00"  # two hours before 14:05 of the log
    (place.parent / "ours.toml").write_text("nothing of it is needed any more", encoding="utf-8")

    assert "1 judged anew, 0 left alone" in run(place, "judge-again", "1").stdout
    after = json.loads(run(place, "show", "1", "--format", "json").stdout)
    assert after["maneuvers"] == before["maneuvers"]
    assert after["line"]["flown"] == before["line"]["flown"]
    page = " ".join(run(place, "show", "1").stdout.split())
    assert "read with a column map, and local times as those of zone +02:00" in page

    book = open_book(place)
    try:
        with book.reading() as session:
            chosen = candidates(book, session)
        shown = shown_of(order_of(book, 1, chosen), tell=lambda _what, _done: None)
    finally:
        book.close()
    assert len(shown) == len(chosen) > 0
    assert all(shown)


@pytest.mark.parametrize(
    ("words", "phrase"),
    [
        (("add", "LOG", "--student", "Mina Orlo", "--zone", "Nowhere"), "is no zone"),
        (
            ("add", "LOG", "--student", "Mina Orlo", "--columns", "BAD"),
            "bad.toml: one fault:\n  file: is not",
        ),
        (("judge-again", "--zone", "UTC"), "Name the lessons"),
    ],
)
def test_what_cannot_be_read_by_is_refused(
    place: Path, log: Path, tmp_path: Path, words: tuple[str, ...], phrase: str
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text("[columns", encoding="utf-8")
    given = {"LOG": str(log), "BAD": str(bad)}
    assert phrase in run(place, *(given.get(word, word) for word in words), code=2).stderr
