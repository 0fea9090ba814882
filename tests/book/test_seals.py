"""Whatever is changed behind the book's back shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.book.school import INSTRUCTOR, add_lesson

from chalkwing.book import Book, keeping, lessons, people, sealing


@pytest.fixture
def signed(book: Book, tmp_path: Path) -> int:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        sealing.sign(session, lessons.lesson(session, number), people.person(session, INSTRUCTOR))
    assert not list(sealing.faults(book))
    return number


CHANGES = {
    "a verdict": ("UPDATE element SET verdict = 'met'", "changed since it was signed .judging."),
    "a value": ("UPDATE element SET value = 3.5", "changed since it was signed .judging."),
    "who flew": ("UPDATE maneuver SET flown_by = 'instructor'", "changed since it was signed .judging."),
    "the student": ("UPDATE lesson SET student_id = 2", "changed since it was signed .student."),
    "a new note": (
        "INSERT INTO note (lesson_id, text, who, made) VALUES (1, 'x', 'y', '2026-01-01')",
        "changed since it was signed .notes.",
    ),
    "the signed document": ("UPDATE sign_off SET document = '{}'", "document of version 1 has been changed"),
    "the signature's seal": ("UPDATE sign_off SET sha256 = 'f'", "not what was sealed"),
    "a signature gone": ("DELETE FROM sign_off", "the signature of version 1 is gone"),
    "the ledger's words": (
        "UPDATE ledger SET who = 'another' WHERE number = 3",
        "line 3 .* not what was sealed",
    ),
    "the ledger's end": ("UPDATE ledger SET content = '{}' WHERE act = 'signed'", "is not what was sealed"),
    "a line gone": ("DELETE FROM ledger WHERE number = 2", "line 2 is missing"),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_change_shows(book: Book, signed: int, name: str) -> None:
    change, pattern = CHANGES[name]
    with book.engine.begin() as connection:
        connection.execute(text(change))
    assert any(re.search(pattern, fault) for fault in sealing.faults(book)), list(sealing.faults(book))


def changed(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b" ")


def removed(path: Path) -> None:
    path.unlink()


@pytest.mark.parametrize(("do", "said"), [(changed, "is not what was recorded"), (removed, "is missing")])
def test_a_changed_recording_shows(book: Book, signed: int, do: Callable[[Path], None], said: str) -> None:
    (digest,) = book.vault.everything()
    do(book.vault.path(digest))
    assert any(said in fault for fault in sealing.faults(book))


def test_an_erased_recording_is_no_fault_and_what_was_judged_stays(book: Book, signed: int) -> None:
    (digest,) = book.vault.everything()
    keeping.erase(book, digest[:10], who=INSTRUCTOR, why="the student asked")
    assert not book.vault.holds(digest)
    assert not list(sealing.faults(book))
    with book.reading() as session:
        found = lessons.lesson(session, signed)
        assert found.recordings[0].recording.erased_why == "the student asked"
        assert lessons.in_force(found).maneuvers
