"""Entering, changing, signing and reading lessons, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import func, select
from tests.book.school import (
    AIRPLANE,
    FOUND,
    INSTRUCTOR,
    OTHER,
    STUDENT,
    WHO,
    add_lesson,
    document,
    maneuver,
    ready,
    recording,
)

from chalkwing.book import Book, lessons, open_book, people, reports, sealing
from chalkwing.book.adding import Entry, add
from chalkwing.book.judgings import Settings, unpacked
from chalkwing.book.tables import Lesson, Recording
from chalkwing.errors import BookTrouble


def test_a_lesson_is_entered_with_all_that_was_judged(book: Book, tmp_path: Path) -> None:
    added = add_lesson(book, tmp_path, unit="Performance 3")
    assert not added.known
    with book.reading() as session:
        found = lessons.lesson(session, added.number)
        report = reports.lesson_report(session, found)
        assert unpacked(lessons.in_force(found)) == FOUND
    assert report.line.student == STUDENT
    assert report.line.instructor == INSTRUCTOR
    assert report.line.airplane == AIRPLANE
    assert report.line.unit == "Performance 3"
    assert report.line.flown == "2026-05-14T14:05:00+00:00"
    assert [(each.kind, each.start_s, each.flown_by) for each in report.maneuvers] == [
        ("lazy_eight", 100.0, "student"),
        ("lazy_eight", 300.0, "student"),
    ]
    assert (report.line.elements.met, report.line.elements.not_met) == (1, 1)


def test_the_same_file_twice_is_one_recording_and_one_lesson(book: Book, tmp_path: Path) -> None:
    first = add_lesson(book, tmp_path)
    again = add_lesson(book, tmp_path)
    assert again.known
    assert again.number == first.number
    other = add_lesson(book, tmp_path, student=OTHER)
    assert other.number != first.number  # two students in one airplane: one recording, two lessons
    with book.reading() as session:
        assert session.scalar(select(func.count(Recording.sha256))) == 1
        assert session.scalar(select(func.count(Lesson.id))) == 2
    assert len(list(book.vault.everything())) == 1


def test_names_are_looked_up_and_not_made(book: Book, tmp_path: Path) -> None:
    with pytest.raises(BookTrouble, match=r"Did you mean Mina Orlo\?"):
        add_lesson(book, tmp_path, student="Mina Orla")
    with pytest.raises(BookTrouble, match="not as instructor"):
        add_lesson(book, tmp_path, instructor=OTHER)
    with pytest.raises(BookTrouble, match="no airplane"):
        add_lesson(book, tmp_path, airplane="X-NONE")
    with book.reading() as session:
        assert session.scalar(select(func.count(Lesson.id))) == 0


def test_what_cannot_be_judged_is_not_entered(book: Book, tmp_path: Path) -> None:
    from chalkwing.errors import ChalkwingError

    with pytest.raises(ChalkwingError):
        add(book, [recording(tmp_path, content="no flight at all")], Entry(student=STUDENT), who=WHO)
    with book.reading() as session:
        assert session.scalar(select(func.count(Lesson.id))) == 0
    assert not list(sealing.faults(book))


def test_a_signed_record_changes_only_with_a_reason_and_as_a_new_version(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        found = lessons.lesson(session, number)
        first = sealing.sign(session, found, people.person(session, INSTRUCTOR, role="instructor"))
        sealed = first.document
    with book.writing() as session, pytest.raises(BookTrouble, match="version 1 is signed"):
        lessons.note(session, lessons.lesson(session, number), "an afterthought", who=WHO)
    with book.writing() as session:
        lessons.note(session, lessons.lesson(session, number), "an afterthought", who=WHO, why="forgotten")
    with book.reading() as session:
        found = lessons.lesson(session, number)
        assert found.version == 2
        assert not lessons.signed(found)
        assert found.sign_offs[0].document == sealed
        assert [each.text for each in found.notes] == ["an afterthought"]
    assert not list(sealing.faults(book))


def test_a_refused_change_leaves_nothing_behind(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        sealing.sign(session, lessons.lesson(session, number), people.person(session, INSTRUCTOR))
    with pytest.raises(BookTrouble), book.writing() as session:
        lessons.note(session, lessons.lesson(session, number), "an afterthought", who=WHO)
    with book.reading() as session:
        assert not lessons.lesson(session, number).notes


def test_nobody_signs_without_a_certificate_or_twice(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        newcomer = people.enroll(session, "Odd Brekke", roles=["instructor"], who=WHO)
        with pytest.raises(BookTrouble, match="certificate number of Odd Brekke"):
            sealing.sign(session, lessons.lesson(session, number), newcomer)
        signer = people.person(session, INSTRUCTOR)
        sealing.sign(session, lessons.lesson(session, number), signer)
        with pytest.raises(BookTrouble, match="signed already"):
            sealing.sign(session, lessons.lesson(session, number), signer)


def test_who_flew_decides_whose_record_it_enters(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    with book.writing() as session:
        lessons.label(session, lessons.lesson(session, number), [2], "instructor", who=WHO)
    with book.reading() as session:
        report = reports.student_report(session, people.person(session, STUDENT))
    (line,) = report.elements
    assert line.values == (40.0,)
    assert line.verdicts == ("met",)
    with book.writing() as session, pytest.raises(BookTrouble, match="It has maneuvers 1 to 2"):
        lessons.label(session, lessons.lesson(session, number), [3], "student", who=WHO)


def test_judging_anew_keeps_the_old_beside_the_new(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    stricter = document(maneuver(102.0, 40.0), maneuver(500.0, 20.0), standard="stricter")
    stricter["maneuvers"][0]["elements"][0].update(limit=[-30.0, 30.0], verdict="not_met")
    with book.writing() as session:
        found = lessons.lesson(session, number)
        lessons.judge_anew(session, found, stricter, basis=Settings().basis(), who=WHO, why=None)
    with book.reading() as session:
        found = lessons.lesson(session, number)
        assert [each.in_force for each in found.judgings] == [False, True]
        assert [each.flown_by for each in lessons.in_force(found).maneuvers] == ["student", "unknown"]
        from chalkwing.book.rejudging import differences

        said = differences(*found.judgings)
    assert any("met becomes not met" in each for each in said)
    assert any("300 s is no longer found" in each for each in said)
    assert any("500 s is new" in each for each in said)


def test_a_solo_flight_has_no_instructor(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path, instructor=None).number
    with book.reading() as session:
        assert reports.lesson_report(session, lessons.lesson(session, number)).line.instructor is None


def test_an_unknown_lesson_is_refused_with_the_newest(book: Book, tmp_path: Path) -> None:
    number = add_lesson(book, tmp_path).number
    with book.reading() as session, pytest.raises(BookTrouble, match=f"newest is lesson {number}"):
        lessons.lesson(session, number + 7)


def test_instants_keep_their_zone(book: Book, tmp_path: Path) -> None:
    with book.writing() as session:
        one = people.person(session, STUDENT)
        people.leave(session, one, how="graduated", when=datetime(2026, 7, 1, tzinfo=UTC), who=WHO)
    with book.reading() as session:
        assert people.person(session, STUDENT).left == datetime(2026, 7, 1, tzinfo=UTC)


def test_a_book_opens_again_as_it_was(place: tuple[str, Path], tmp_path: Path) -> None:
    where, folder = place
    for expected in (False, True):
        book = open_book(where, files=folder)
        with book.writing() as session:
            people.enroll(session, STUDENT, roles=["student"], who=WHO)
        added = add(book, [recording(tmp_path)], Entry(student=STUDENT), who=WHO, judge=ready)
        assert added.known is expected
        book.close()


def test_no_book_is_made_by_looking(tmp_path: Path) -> None:
    with pytest.raises(BookTrouble, match="there is no book here"):
        open_book(tmp_path / "nowhere", create=False)
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("where", ["mysql://a/b", "http://elsewhere"])
def test_other_databases_are_refused(where: str, tmp_path: Path) -> None:
    with pytest.raises(BookTrouble, match="PostgreSQL or in a folder"):
        open_book(where, files=tmp_path)
