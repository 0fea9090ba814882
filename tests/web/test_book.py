"""The book in the pages: a lesson is entered, its record keeps up with it, marks come before verdicts."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from tests.paper.reading import text_of
from tests.web.conftest import ADDRESS, PATIENCE, Visitor, some_assets, visitor

from chalkwing.book import lessons, open_book
from chalkwing.book.course import PLAIN, course_from, enter_course
from chalkwing.book.following import own_verdicts, standing_corrections
from chalkwing.web.app import create_app
from chalkwing.web.settings import Settings

CHIEF, STUDENT = "Runa Tveit", "Ola Brekk"
BY = {"by": CHIEF}


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visitor]:
    """A desk of its own, with people and an airplane in its book."""
    folder = tmp_path_factory.mktemp("school")
    app = create_app(Settings(folder=folder), assets=some_assets(tmp_path_factory.mktemp("assets")))
    with TestClient(app, base_url=ADDRESS) as client:
        at = visitor(client)
        people = "/book/people"
        chief = {**BY, "name": CHIEF, "roles": ["instructor", "chief"], "certificate": "C-417"}
        assert at.post(people, chief).status_code == 201
        assert at.post(people, {**BY, "name": STUDENT, "roles": ["student"]}).status_code == 201
        entered = at.post("/book/airplanes", {**BY, "registration": "X-KVIK", "sheet": ""})
        assert entered.status_code == 201
        yield at


@pytest.fixture(scope="module")
def flown(school: Visitor, recording: bytes) -> str:
    return school.lesson(("steep turns.csv", recording))


@pytest.fixture(scope="module")
def record(school: Visitor, flown: str) -> int:
    answer = school.post(
        f"{flown}/record",
        {**BY, "student": STUDENT, "instructor": CHIEF, "airplane": "X-KVIK", "flown_by": "student"},
    )
    assert answer.status_code == 201, answer.text
    number: int = answer.json()["record"]
    return number


def first(school: Visitor, flown: str) -> dict[str, object]:
    found: dict[str, object] = school.client.get(f"{flown}/debrief.json").json()["maneuvers"][0]
    return found


def at(maneuver: dict[str, object]) -> dict[str, object]:
    return {"kind": maneuver["kind"], "at_s": maneuver["start_s"]}


def place(school: Visitor) -> Path:
    folder: Path = school.client.app.state.desk.settings.folder  # type: ignore[attr-defined]
    return folder / "book"


def chance_told(school: Visitor, student: int) -> str:
    """The page of a student once the chance on the next try is worked out."""
    end = time.monotonic() + PATIENCE
    while not school.client.get(f"/student/{student}/chance").json()["current"]:
        assert time.monotonic() < end
        time.sleep(0.2)
    text: str = school.page(f"/student/{student}").text
    return text


def test_a_lesson_entered_counts_for_the_student_and_is_the_same_on_desk_and_record(
    school: Visitor, flown: str, record: int
) -> None:
    debrief = school.client.get(f"{flown}/debrief.json").json()
    assert {each["flown_by"] for each in debrief["maneuvers"]} == {"student"}
    with open_book(place(school)).reading() as session:
        found = lessons.lesson(session, record)
        judged = [(each.kind, each.start_s, each.flown_by) for each in lessons.in_force(found).maneuvers]
    assert judged == [(each["kind"], each["start_s"], "student") for each in debrief["maneuvers"]]
    assert f"lesson {record}" in school.page(flown).text
    assert STUDENT in school.page(f"/record/{record}").text
    again = school.post(f"{flown}/record", {**BY, "student": STUDENT})
    assert again.status_code == 409


def test_every_page_of_the_book_answers(school: Visitor, flown: str, record: int) -> None:
    for url in (
        "/book", "/book/lessons", "/book/people", "/book/airplanes", "/book/course", f"/record/{record}",
        "/student/2", "/student/2/handover", f"{flown}/record",
    ):  # fmt: skip
        answer = school.page(url)
        assert answer.status_code == 200, url
        assert "training aid" in answer.text
    assert "too few tries" in chance_told(school, 2)
    assert school.page("/student/99").status_code == 422
    assert school.page("/record/99").status_code == 422


def test_the_training_record_is_printed_from_the_page_of_a_student(school: Visitor, record: int) -> None:
    assert "/student/2/record.pdf" in school.page("/student/2").text
    answer = school.page("/student/2/record.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    words = text_of(answer.content)
    assert STUDENT in words
    assert f"record {record}" in words


def test_what_is_changed_on_the_desk_stands_in_the_record(school: Visitor, flown: str, record: int) -> None:
    one = first(school, flown)
    note = school.post(f"{flown}/changes", {**BY, "act": "note", "text": "lead with the rudder", **at(one)})
    label = school.post(f"{flown}/changes", {**BY, "act": "label", "flown_by": "instructor", **at(one)})
    override = school.post(
        f"{flown}/changes",
        {**BY, "act": "override", "element": "altitude", "verdict": "met", "why": "gust seen", **at(one)},
    )
    assert [each.status_code for each in (note, label, override)] == [201, 201, 201]
    with open_book(place(school)).reading() as session:
        found = lessons.lesson(session, record)
        assert lessons.in_force(found).maneuvers[0].flown_by == "instructor"
        assert [each.text for each in found.notes] == ["lead with the rudder"]
        assert [each["verdict"] for each in own_verdicts(found)] == ["met"]
        assert standing_corrections(found)[-1]["flown_by"] == "instructor"
    undone = school.post(f"{flown}/changes", {**BY, "act": "undo", "undoes": label.json()["id"]})
    assert undone.status_code == 201
    with open_book(place(school)).reading() as session:
        found = lessons.lesson(session, record)
        assert lessons.in_force(found).maneuvers[0].flown_by == "student"
        assert standing_corrections(found)[-1]["flown_by"] == "student"


def test_a_signed_record_changes_only_with_a_reason_and_as_a_new_version(
    school: Visitor, flown: str, record: int
) -> None:
    assert school.post(f"/record/{record}/signature", {"instructor": CHIEF}).status_code == 201
    change = {**BY, "act": "note", "text": "talked over", **at(first(school, flown))}
    refused = school.post(f"{flown}/changes", change)
    assert refused.status_code == 409
    assert "signed" in refused.json()["error"]["what"]
    before = len(school.client.get(f"{flown}/changes").json()["changes"])
    assert school.post(f"{flown}/changes", {**change, "why": "forgotten on the day"}).status_code == 201
    assert len(school.client.get(f"{flown}/changes").json()["changes"]) == before + 1
    with open_book(place(school)).reading() as session:
        found = lessons.lesson(session, record)
        assert (found.version, lessons.signed(found)) == (2, False)


def test_a_lesson_taken_off_the_desk_keeps_its_record_and_comes_back_from_it(
    school: Visitor, flown: str, record: int
) -> None:
    gone = school.client.delete(flown, headers={"x-chalkwing-token": school.token})
    assert gone.status_code == 200
    opened = school.post(f"/record/{record}/desk", BY)
    assert opened.status_code == 200, opened.text
    url = opened.json()["url"]
    assert school.worked_out(url)["state"] == "done"
    back = school.client.get(f"{url}/debrief.json").json()
    assert {each["flown_by"] for each in back["maneuvers"]} == {"student"}
    assert school.post(f"/record/{record}/desk", BY).json()["url"] == url
    note = {**BY, "act": "note", "text": "once more", "why": "added", **at(back["maneuvers"][0])}
    assert school.post(f"{url}/changes", note).status_code == 201
    with open_book(place(school)).reading() as session:
        assert "once more" in [each.text for each in lessons.lesson(session, record).notes]


def test_names_are_not_made_by_the_way(school: Visitor, recording: bytes) -> None:
    other = school.lesson(("other.csv", recording + b"\n"))
    answer = school.post(f"{other}/record", {**BY, "student": "Ola Breck"})
    assert answer.status_code == 422
    assert "Ola Brekk" in answer.json()["error"]["next"]
    assert school.post(f"{other}/record", {"student": STUDENT}).status_code == 400


def test_blind_first_hides_verdicts_everywhere_until_they_are_marked(
    school: Visitor, recording: bytes
) -> None:
    text = PLAIN.read_text(encoding="utf-8").replace("blind_first = false", "blind_first = true")
    book = open_book(place(school))
    with book.writing() as session:
        enter_course(session, course_from(text, where="blind"), who=CHIEF)
    url = school.lesson(("blind.csv", recording + b"\n\n"))
    hidden = [school.page(f"{url}/maneuver/1"), school.page(url)]
    assert all("to be marked" in each.text or "marks before" in each.text for each in hidden)
    assert all('class="ring' not in each.text for each in hidden)
    for form in ("debrief.json", "debrief.pdf", "debrief.html"):
        assert school.client.get(f"{url}/{form}").status_code == 409, form
    entered = school.post(f"{url}/record", {**BY, "student": STUDENT, "instructor": CHIEF})
    number = entered.json()["record"]
    assert "to be marked" in school.page(f"/record/{number}").text
    with book.reading() as session:
        count = len(lessons.in_force(lessons.lesson(session, number)).maneuvers)
    for place_ in range(1, count + 1):
        mark = {"maneuver": str(place_), "step": "alone", "instructor": CHIEF}
        assert school.post(f"/record/{number}/marks", mark).status_code == 201
    assert school.client.get(f"{url}/debrief.json").status_code == 200
    assert 'class="ring' in school.page(url).text
    with book.reading() as session:
        assert {mark.blind for mark in lessons.lesson(session, number).marks} == {True}
    wrong = school.post(f"/record/{number}/marks", {"maneuver": 1, "step": "great", "instructor": CHIEF})
    assert wrong.status_code == 422


def test_stage_limits_of_the_course_hold_for_an_entered_lesson(school: Visitor, recording: bytes) -> None:
    url = school.lesson(("stage.csv", recording + b"\n\n\n"))
    answer = school.post(
        f"{url}/record", {**BY, "student": STUDENT, "instructor": CHIEF, "unit": "performance-1"}
    )
    assert answer.status_code == 201, answer.text
    with open_book(place(school)).reading() as session:
        found = lessons.lesson(session, answer.json()["record"])
        limits = {
            (each.low, each.high)
            for flown in lessons.in_force(found).maneuvers
            if flown.kind == "steep_turn"
            for each in flown.elements
            if each.name == "altitude"
        }
    assert limits == {(-200.0, 200.0)}


def test_text_of_people_never_becomes_markup(school: Visitor) -> None:
    name = "<script>alert(1)</script>"
    assert school.post("/book/people", {**BY, "name": name, "roles": ["student"]}).status_code == 201
    for url in ("/book", "/book/people"):
        assert name not in school.page(url).text
    assert json.dumps(name)[1:-1] not in school.page("/book").text
