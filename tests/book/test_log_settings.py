"""How a lesson's logs are read is kept with its judging, sealed, exported, and used when judging anew."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text
from tests.book.school import FOUND, INSTRUCTOR, STUDENT, WHO, add_lesson, ready, recording

from chalkwing.book import Book, exporting, lessons, open_book, people, rejudging, sealing
from chalkwing.book.adding import Added, Entry, add
from chalkwing.book.common.choosing import Candidate, candidates
from chalkwing.book.common.making import order_of
from chalkwing.book.judgings import Basis, Settings, log_of
from chalkwing.book.log_settings import (
    AS_WRITTEN,
    LONGEST_MAP,
    LogSettings,
    column_map_text,
    known_zone,
    log_settings,
)
from chalkwing.errors import BookTrouble, FaultyColumnMap

MAP = '# our panel\n[columns]\nlatitude = "Q1"\n'
LOCAL = LogSettings(MAP, "+02:00")


def entered(book: Book, folder: Path, log: LogSettings | None) -> Added:
    entry = Entry(student=STUDENT, instructor=INSTRUCTOR, flown_by="student")
    return add(book, [recording(folder)], entry, who=WHO, log=log, judge=ready)


def kept(book: Book, number: int) -> LogSettings:
    with book.reading() as session:
        return log_of(lessons.in_force(lessons.lesson(session, number)))


@pytest.fixture
def read_by(monkeypatch: pytest.MonkeyPatch) -> list[LogSettings]:
    """How each lesson that is judged anew was to be read."""
    seen: list[LogSettings] = []

    def judged(paths: Sequence[Path], *, basis: Basis, **_settings: object) -> Mapping[str, Any]:
        seen.append(basis.log)
        start = "2026-05-14T12:05:00Z" if basis.log.zone == "+02:00" else "2026-05-14T14:05:00Z"
        return {**FOUND, "recordings": [{**FOUND["recordings"][0], "start_utc": start}]}

    monkeypatch.setattr(rejudging, "judged", judged)
    return seen


def test_a_lesson_is_judged_anew_by_the_columns_and_zone_it_was_entered_with(
    book: Book, tmp_path: Path, read_by: list[LogSettings]
) -> None:
    number = entered(book, tmp_path, LOCAL).number
    outcome = rejudging.judge_again(book, [number], settings=Settings(), who=WHO, why=None)
    assert (outcome.judged, outcome.left, read_by) == (1, [], [LOCAL])
    assert kept(book, number) == LOCAL


def test_how_it_is_read_can_be_said_later_and_holds_from_then_on(
    book: Book, tmp_path: Path, read_by: list[LogSettings]
) -> None:
    number = entered(book, tmp_path, LogSettings(MAP)).number
    for log in (LogSettings(zone="+02:00"), None):
        outcome = rejudging.judge_again(book, [number], settings=Settings(), who=WHO, why=None, log=log)
        assert outcome.judged == 1, outcome.left
    assert read_by == [LOCAL, LOCAL]
    with book.reading() as session:
        found = lessons.lesson(session, number)
        assert [log_of(each) for each in found.judgings] == [LogSettings(MAP), LOCAL, LOCAL]
        assert found.flown is not None
        assert found.flown.isoformat() == "2026-05-14T12:05:00+00:00"
    assert not list(sealing.faults(book))


def test_the_same_files_read_otherwise_are_not_left_out_in_silence(book: Book, tmp_path: Path) -> None:
    number = entered(book, tmp_path, LOCAL).number
    assert entered(book, tmp_path, None) == Added(number, known=True)
    assert entered(book, tmp_path, LogSettings(zone="+02:00")) == Added(number, known=True)
    with pytest.raises(BookTrouble, match=rf"judge-again {number} --columns"):
        entered(book, tmp_path, LogSettings(zone="UTC"))
    assert kept(book, number) == LOCAL


def test_a_common_set_is_drawn_from_the_files_read_so(book: Book, tmp_path: Path) -> None:
    number = entered(book, tmp_path, LOCAL).number
    with book.reading() as session:
        chosen: list[Candidate] = list(candidates(book, session))
    assert {each.lesson for each in chosen} == {number}
    assert order_of(book, number, chosen).log == LOCAL


def test_what_was_said_is_sealed_with_the_record(book: Book, tmp_path: Path) -> None:
    number = entered(book, tmp_path, LOCAL).number
    with book.writing() as session:
        sealing.sign(session, lessons.lesson(session, number), people.person(session, INSTRUCTOR))
    assert not list(sealing.faults(book))
    for column in ("zone", "column_map"):
        with book.writing() as session:
            before = session.execute(text(f"SELECT {column} FROM judging")).scalar_one()
            session.execute(text(f"UPDATE judging SET {column} = 'UTC'"))
        assert list(sealing.faults(book)) == [f"lesson {number}: changed since it was signed (judging)"]
        with book.writing() as session:
            session.execute(text(f"UPDATE judging SET {column} = :before"), {"before": before})
    assert not list(sealing.faults(book))


def test_a_book_made_before_comes_along_with_its_seals(
    place: tuple[str, Path], book: Book, tmp_path: Path
) -> None:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        sealing.sign(session, lessons.lesson(session, number), people.person(session, INSTRUCTOR))
        for column in ("zone", "column_map"):
            session.execute(text(f"ALTER TABLE judging DROP COLUMN {column}"))
        session.execute(text("UPDATE alembic_version SET version_num = '0005'"))
    book.close()
    where, folder = place
    again = open_book(where, files=folder)
    try:
        assert kept(again, number) == AS_WRITTEN
        assert not list(sealing.faults(again))
    finally:
        again.close()


def test_an_export_holds_what_was_said(book: Book, tmp_path: Path) -> None:
    entered(book, tmp_path, LOCAL)
    exporting.export(book, tmp_path / "out", "csv")
    with (tmp_path / "out" / "judgings.csv").open(newline="", encoding="utf-8") as file:
        (row,) = csv.DictReader(file)
    assert (row["column_map"], row["zone"]) == (MAP, "+02:00")


def test_a_faulty_map_or_zone_is_refused_before_anything_is_done(tmp_path: Path) -> None:
    path = tmp_path / "ours.toml"
    path.write_bytes(b"\xef\xbb\xbf" + MAP.encode())  # as some editors save it
    assert log_settings(column_map=path, zone=None) == LogSettings(MAP)
    path.write_bytes(b"\xff\xfe[")
    with pytest.raises(FaultyColumnMap, match="not UTF-8"):
        log_settings(column_map=path, zone=None)
    for words, phrase in (
        ("[columns", "is not TOML"),
        ("#" * (LONGEST_MAP + 1), f"at most {LONGEST_MAP}"),
        ("# \ud800", "no file can hold"),
        ("x = " + "[" * 10_000, "nested too deeply"),
    ):
        with pytest.raises(FaultyColumnMap, match=phrase):
            column_map_text(words, where="ours.toml")
    assert known_zone("Atlantic/Azores") == "Atlantic/Azores"
    for zone in ("Nowhere/Hollin", "", "+25:00", "U" * 100, "A\x00"):
        with pytest.raises(BookTrouble, match="is no zone"):
            known_zone(zone)
