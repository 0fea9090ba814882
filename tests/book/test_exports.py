"""What leaves the book in open forms says what the book says."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import polars as pl
import pytest
from tests.book.school import STUDENT, WHO, add_lesson

from chalkwing.book import Book, exporting, keeping, people
from chalkwing.book.columns import now
from chalkwing.errors import BookTrouble


@pytest.mark.parametrize("form", ["csv", "parquet", "json"])
def test_an_export_holds_every_row(book: Book, tmp_path: Path, form: exporting.Form) -> None:
    add_lesson(book, tmp_path)
    written = exporting.export(book, tmp_path / "out", form)
    if form == "json":
        tables = json.loads(written[0].read_text(encoding="utf-8"))
        rows = tables["elements"]
        students = [each["name"] for each in tables["people"]]
    else:
        read = pl.read_csv if form == "csv" else pl.read_parquet
        assert {path.stem for path in written} == set(exporting.TABLES)
        rows = read(tmp_path / "out" / f"elements.{form}").to_dicts()
        students = read(tmp_path / "out" / f"people.{form}")["name"].to_list()
    assert STUDENT in students
    assert [(each["value"], each["verdict"], each["low"], each["unit"]) for each in rows] == [
        (40.0, "met", -100.0, "ft"),
        (-140.0, "not_met", -100.0, "ft"),
    ]


def test_an_export_writes_over_nothing(book: Book, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("mine")
    with pytest.raises(BookTrouble, match="something here already"):
        exporting.export(book, tmp_path / "out", "csv")
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine.txt"]


def test_nothing_is_due_while_the_training_goes_on_and_the_rule_counts_from_its_end(book: Book) -> None:
    # 14 CFR 61.189(b) and ORA.ATO.120: three years; they count from the end of the training.
    rule = keeping.Retention(record_years=3.0)
    with book.writing() as session:
        assert not list(keeping.due(session, rule))
        student = people.person(session, STUDENT)
        people.leave(session, student, how="graduated", when=now() - timedelta(days=3 * 365), who=WHO)
        assert not list(keeping.due(session, rule))
        people.leave(session, student, how="graduated", when=now() - timedelta(days=3 * 366), who=WHO)
        assert any(STUDENT in each for each in keeping.due(session, rule))


def test_raw_recordings_have_a_shorter_life(book: Book, tmp_path: Path) -> None:
    add_lesson(book, tmp_path)
    with book.reading() as session:
        assert not list(keeping.due(session, keeping.Retention(recording_days=1)))
        assert any(
            "lesson.csv" in each for each in keeping.due(session, keeping.Retention(recording_days=-1))
        )
