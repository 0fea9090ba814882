"""What the school enters by forms: its course outline, sheets of its own, roles, and an end taken back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import select
from starlette.testclient import TestClient
from tests.book.school import AIRPLANE, CHIEF, INSTRUCTOR, OTHER, STUDENT, add_lesson, enroll_all
from tests.web.conftest import ADDRESS, Visitor, some_assets, visitor

from chalkwing.airplane import load_sheet
from chalkwing.book import Book, keeping, people
from chalkwing.book.course import PLAIN, course_in_force
from chalkwing.book.sealing import faults
from chalkwing.book.tables import Airplane, CourseText
from chalkwing.web.app import create_app
from chalkwing.web.settings import Settings

BY = {"by": CHIEF}
SHEET = Path(load_sheet.__code__.co_filename).parent / "sheets" / "two-seat-100.toml"
OUTLINE = PLAIN.read_text(encoding="utf-8")


@pytest.fixture
def school(tmp_path: Path) -> Iterator[Visitor]:
    app = create_app(Settings(folder=tmp_path / "desk"), assets=some_assets(tmp_path))
    client = TestClient(app, base_url=ADDRESS)  # not entered: no process is started that these forms need
    enroll_all(client.app.state.desk.book)  # type: ignore[attr-defined]
    yield visitor(client)
    client.app.state.desk.close()  # type: ignore[attr-defined]


@pytest.fixture
def book(school: Visitor) -> Book:
    found: Book = school.client.app.state.desk.book  # type: ignore[attr-defined]
    return found


def number(book: Book, name: str) -> int:
    with book.reading() as session:
        return people.person(session, name).id


def roles(book: Book, name: str) -> tuple[str, ...]:
    with book.reading() as session:
        return people.person(session, name).roles


def test_an_outline_is_looked_at_and_put_in_force_and_the_one_before_stays(
    school: Visitor, book: Book, tmp_path: Path
) -> None:
    looked = school.post("/book/course", {**BY, "text": OUTLINE, "act": "check"})
    assert looked.status_code == 200
    assert "No fault found" in looked.json()["said"]
    with book.reading() as session:
        assert course_in_force(session) is None
    assert school.post("/book/course", {**BY, "text": OUTLINE}).status_code == 201
    add_lesson(book, tmp_path, unit="performance-2")
    other = OUTLINE.replace('name = "performance-2"', 'name = "second"').replace("plain course", "ours")
    said = school.post("/book/course", {**BY, "text": other, "act": "check"}).json()["said"]
    assert "no lesson 'performance-2', which 1 record was entered under" in said
    assert school.post("/book/course", {**BY, "text": other}).status_code == 201
    with book.reading() as session:
        found = course_in_force(session)
        assert found is not None
        assert found.name == "Performance maneuvers, ours"
        assert len(session.scalars(select(CourseText)).all()) == 2
    assert school.client.get("/book/course/file").text.strip() == other.strip()
    assert school.page("/book/course/new").text.count("Performance maneuvers, plain course") == 1
    assert not list(faults(book))


def test_all_faults_of_an_outline_are_told_and_none_is_entered(school: Visitor, book: Book) -> None:
    wrong = OUTLINE.replace('kind = "chandelle"', 'kind = "chandele"').replace("schema = 1", "schema = 7")
    answer = school.post("/book/course", {**BY, "text": wrong})
    assert answer.status_code == 422
    told = answer.json()["error"]["what"]
    assert "chandele" in told
    assert "schema" in told
    assert school.post("/book/course", {**BY, "text": "lesson = ["}).status_code == 422
    assert school.post("/book/course", {**BY, "text": " "}).status_code == 400
    with book.reading() as session:
        assert course_in_force(session) is None


def test_the_words_of_an_outline_never_become_markup(school: Visitor) -> None:
    text = OUTLINE.replace("plain course", "</textarea><script>x</script>")
    assert school.post("/book/course", {**BY, "text": text}).status_code == 201
    for url in ("/book/course", "/book/course/new", "/book"):
        assert "<script>x" not in school.page(url).text, url


def test_a_sheet_of_the_school_is_kept_with_the_airplane_and_a_faulty_one_refused(
    school: Visitor, book: Book
) -> None:
    text = SHEET.read_text(encoding="utf-8")
    sent = {**BY, "registration": AIRPLANE, "text": text}
    assert school.post("/book/airplanes/sheet", {**sent, "text": "schema = 1"}).status_code == 422
    with book.reading() as session:
        assert people.airplane(session, AIRPLANE).sheet_text is None
    assert school.post("/book/airplanes/sheet", sent).status_code == 201
    with book.reading() as session:
        kept = session.scalars(select(Airplane).where(Airplane.registration == AIRPLANE)).one()
        assert kept.sheet == "two-seat-100"
        assert kept.sheet_text is not None
        assert kept.sheet_text.strip() == text.strip()


def test_roles_are_taken_away_but_not_from_who_has_a_record(
    school: Visitor, book: Book, tmp_path: Path
) -> None:
    add_lesson(book, tmp_path)
    chief = f"/book/people/{number(book, CHIEF)}"
    assert school.post(chief, {**BY, "roles": ["instructor"], "certificate": "222"}).status_code == 200
    assert roles(book, CHIEF) == ("instructor",)
    student = f"/book/people/{number(book, STUDENT)}"
    refused = school.post(student, {**BY, "roles": ["instructor"]})
    assert refused.status_code == 422
    assert "as a student" in refused.json()["error"]["what"]
    assert roles(book, STUDENT) == ("student",)
    both = school.post(student, {**BY, "roles": ["student", "instructor"], "certificate": "333"})
    assert both.status_code == 200
    assert roles(book, STUDENT) == ("student", "instructor")
    other = f"/book/people/{number(book, OTHER)}"
    assert school.post(other, {**BY, "roles": []}).status_code == 200
    assert roles(book, OTHER) == ()
    assert "1 lesson taught" in school.page(f"/book/people/{number(book, INSTRUCTOR)}").text
    assert not list(faults(book))


def test_an_end_of_training_noted_by_mistake_is_taken_back(school: Visitor, book: Book) -> None:
    who = f"/book/people/{number(book, STUDENT)}"
    assert school.post(f"{who}/left", {**BY, "how": "graduated"}).status_code == 200
    assert "Back in training" in school.page(who).text
    assert school.post(f"{who}/back", BY).status_code == 200
    with book.reading() as session:
        found = people.person(session, STUDENT)
        assert found.left is None
        assert found.left_as is None
        assert keeping.Retention().record_until(found) is None
    assert "Back in training" not in school.page(who).text
    assert school.post(f"{who}/back", BY).status_code == 422
    assert not list(faults(book))


def test_every_write_needs_its_page_and_a_name(school: Visitor, book: Book) -> None:
    one = number(book, STUDENT)
    sent = {
        "/book/course": {"text": OUTLINE},
        "/book/airplanes/sheet": {"registration": "X-NEWS", "text": SHEET.read_text(encoding="utf-8")},
        f"/book/people/{one}": {"roles": ["student"]},
        f"/book/people/{one}/back": {},
    }
    for url, plain in sent.items():
        assert school.client.post(url, json={**BY, **plain}).status_code == 403, url
        assert school.post(url, plain).status_code == 400, url
        assert school.post(url, {**BY, **plain}, origin="http://elsewhere.example").status_code == 403, url
    with book.reading() as session:
        assert course_in_force(session) is None


def test_nobody_has_that_number(school: Visitor) -> None:
    assert school.page("/book/people/99").status_code == 422
    assert school.post("/book/people/99", {**BY, "roles": []}).status_code == 422


def test_an_airplane_of_the_book_can_be_chosen_for_a_recording(school: Visitor, recording: bytes) -> None:
    sent = {**BY, "registration": "X-OURS", "text": SHEET.read_text(encoding="utf-8")}
    assert school.post("/book/airplanes/sheet", sent).status_code == 201
    assert 'value="book:X-OURS"' in school.page("/").text
    stored = school.put("lesson.csv", recording).json()
    wanted = {"files": [stored], "airplane": "book:X-OURS", "standard": "commercial"}
    opened = school.post("/lessons", wanted)
    assert opened.status_code == 201, opened.text
    sheet = school.client.app.state.desk.shelf.lesson(opened.json()["id"]).airplane  # type: ignore[attr-defined]
    kept = Path(sheet).read_text(encoding="utf-8")
    assert kept.strip() == SHEET.read_text(encoding="utf-8").strip()
    assert "a sheet of the school&#39;s" in school.page("/").text
    assert school.post("/lessons", {**wanted, "airplane": "book:X-NONE"}).status_code == 400
    assert school.post("/lessons", {**wanted, "airplane": sheet}).status_code == 400
