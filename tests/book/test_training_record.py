"""A student's training record on paper: what rules ask for stands in it, and what the book lacks is said."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from tests.book.school import INSTRUCTOR, OTHER, STUDENT, WHO, add_lesson, enroll_all
from tests.paper.reading import text_of

from chalkwing.book import Book, lessons, open_book, people, sealing
from chalkwing.book.keeping import Retention
from chalkwing.book.training import TrainingRecord, training_record
from chalkwing.cli import main
from chalkwing.paper.record import record_pdf


def told_of(book: Book, name: str = STUDENT, years: float = 3.0) -> TrainingRecord:
    with book.reading() as session:
        one = people.person(session, name)
        return training_record(session, one, course=None, retention=Retention(record_years=years))


def signed_lesson(book: Book, folder: Path) -> str:
    """The seal of a lesson that was added and signed."""
    added = add_lesson(book, folder)
    with book.writing() as session:
        found = lessons.lesson(session, added.number)
        lessons.note(session, found, "more right rudder over the top", who=INSTRUCTOR)
        return sealing.sign(session, found, people.person(session, INSTRUCTOR)).sha256


def test_a_signed_lesson_stands_with_date_instructor_certificate_and_seal(book: Book, tmp_path: Path) -> None:
    seal = signed_lesson(book, tmp_path)
    told = told_of(book)
    (lesson,) = told.lessons
    assert (lesson.day, lesson.time, lesson.lasted) == ("2026-05-14", "14:05 UTC", "15 min")
    assert lesson.instructor == f"{INSTRUCTOR}, certificate 0000000"
    assert lesson.signature is not None
    assert seal[:16] in lesson.signature
    assert "0000000" in lesson.signature
    assert told.unsigned == 0
    words = text_of(record_pdf(told))
    # 14 CFR 61.51(h)(2): signature with certificate number; 14 CFR 141.101(a): enrolled, log of attendance.
    for each in (
        STUDENT,
        "2026-05-14",
        "0000000",
        seal[:16],
        "more right rudder",
        "Enrolled",
        told.seal[:20],
    ):
        assert each in words
    for rule in ("61.189", "141.101", "61.51", "ORA.ATO.120", "airplane's flight manual"):
        assert rule in words


def test_a_change_after_the_signature_shows_as_not_signed(book: Book, tmp_path: Path) -> None:
    signed_lesson(book, tmp_path)
    with book.writing() as session:
        lessons.label(session, lessons.lesson(session, 1), [1], "instructor", who=WHO, why="a slip")
    told = told_of(book)
    (lesson,) = told.lessons
    assert lesson.signature is None
    assert len(lesson.earlier) == 1
    assert told.unsigned == 1
    assert "not signed" in text_of(record_pdf(told))


def test_retention_counts_from_the_end_of_training(book: Book) -> None:
    # 14 CFR 61.189(b), ORA.ATO.120: three years.
    kept = {field.title: field.said for field in told_of(book).fields}["Kept until"]
    assert kept.startswith("3 years after the end of training")
    with book.writing() as session:
        one = people.person(session, STUDENT)
        people.leave(session, one, how="graduated", when=datetime(2026, 5, 14, tzinfo=UTC), who=WHO)
    kept = {field.title: field.said for field in told_of(book).fields}["Kept until"]
    assert kept.startswith("2029-05-1")


def test_what_the_book_does_not_hold_is_said_with_its_rule(book: Book) -> None:
    words = " ".join(text_of(record_pdf(told_of(book, OTHER), paper="letter")).split())
    for each in ("Ground training", "Solo endorsements", "Places of departure", "does not hold", "medical"):
        assert each in words
    assert "No lesson is in the book" in words


def test_one_pdf_for_each_student_or_for_one(tmp_path: Path) -> None:
    place = tmp_path / "book"
    book = open_book(place)
    enroll_all(book)
    add_lesson(book, tmp_path)
    book.close()
    run = CliRunner().invoke
    made = run(main, ["book", "export", str(tmp_path / "all"), "--as", "pdf", "--book", str(place)])
    assert made.exit_code == 0, made.output
    assert {path.name for path in (tmp_path / "all").iterdir()} == {"1-mina-orlo.pdf", "2-tove-lind.pdf"}
    one = ["book", "export", str(tmp_path / "one"), "--as", "pdf", "--book", str(place)]
    made = run(main, [*one, "--student", STUDENT, "--format", "json"])
    assert json.loads(made.stdout)["files"] == ["1-mina-orlo.pdf"]
    assert (tmp_path / "one" / "1-mina-orlo.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    "said", [["--student", STUDENT], ["--as", "pdf", "--student", "Nobody"]], ids=["no pdf", "unknown"]
)
def test_what_cannot_be_written_is_refused_and_leaves_nothing(tmp_path: Path, said: list[str]) -> None:
    place = tmp_path / "book"
    book = open_book(place)
    enroll_all(book)
    book.close()
    refused = CliRunner().invoke(
        main, ["book", "export", str(tmp_path / "out"), "--book", str(place), *said], standalone_mode=True
    )
    assert refused.exit_code == 2
    assert not (tmp_path / "out").exists()
