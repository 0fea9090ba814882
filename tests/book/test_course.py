"""The course outline: limits by stage, marks on the school's scale, what is carried over, the handover."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.book.school import INSTRUCTOR, STUDENT, WHO, document, element, maneuver, recording

from chalkwing.book import Book, lessons, people
from chalkwing.book.adding import Entry, add
from chalkwing.book.course import PLAIN, course_from, course_in_force, enter_course, read_course
from chalkwing.book.handover import Open, handover
from chalkwing.book.judgings import Settings
from chalkwing.errors import BookTrouble, ChalkwingError, FaultyPlan
from chalkwing.maneuvers import definition, standard


def test_lesson_one_is_not_judged_to_the_limits_of_the_check_ride() -> None:
    course = read_course(PLAIN)
    published = standard("commercial")
    altitude = definition("steep_turn").measure("altitude")
    airspeed = definition("steep_turn").measure("airspeed")
    assert altitude is not None
    assert airspeed is not None
    early = course.standard_at("performance-1", published)
    last = course.standard_at("performance-4", published)
    limit = early.limit("steep_turn", altitude)
    assert limit is not None
    assert limit.band == (-200.0, 200.0)
    assert limit.document == course.name  # a school's figure never stands under the authority's name
    # FAA-S-ACS-7B, CA.V.A: altitude held within 100 ft, airspeed within 10 kt.
    for held_to, measure, band in ((last, altitude, (-100.0, 100.0)), (early, airspeed, (-10.0, 10.0))):
        held = held_to.limit("steep_turn", measure)
        assert held is not None
        assert held.band == band
        assert held.document == "FAA-S-ACS-7B"


def test_every_fault_of_a_course_is_told_at_once() -> None:
    text = PLAIN.read_text(encoding="utf-8")
    text = text.replace('kind = "chandelle"', 'kind = "chandele"', 1).replace(
        "attempts = 4", "attempts = 0", 1
    )
    with pytest.raises(FaultyPlan) as refused:
        course_from(text, where="ours.toml")
    said = str(refused.value)
    assert "lesson[0].maneuver[0].attempts" in said
    assert "lesson[1].maneuver[1].kind" in said
    with pytest.raises(ChalkwingError, match="no element or fact"):
        course_from(PLAIN.read_text().replace('element = "bank"', 'element = "blank"'), where="ours.toml")


def flown(book: Book, folder: Path, unit: str, day: int, *maneuvers: dict[str, Any]) -> int:
    found = document(*maneuvers)
    found["recordings"][0]["start_utc"] = f"2026-05-{day:02d}T14:00:00+00:00"
    entry = Entry(student=STUDENT, instructor=INSTRUCTOR, unit=unit, flown_by="student")
    files = [recording(folder, content=f"{unit} {day}")]
    return add(book, files, entry, who=WHO, judge=lambda paths, **_: found).number


def turn(altitude: float) -> dict[str, Any]:
    one = maneuver(100.0, 0.0, kind="steep_turn")
    one["elements"] = [element("altitude", altitude, (-100.0, 100.0))]
    return one


@pytest.fixture
def course(book: Book) -> None:
    with book.writing() as session:
        enter_course(session, read_course(PLAIN), who=WHO)


@pytest.mark.usefixtures("course")
def test_what_was_asked_for_and_not_flown_well_is_carried_over(book: Book, tmp_path: Path) -> None:
    flown(book, tmp_path, "performance-1", 1, turn(20.0), turn(150.0), turn(30.0), turn(40.0))
    flown(book, tmp_path, "performance-2", 8, turn(10.0), turn(15.0), maneuver(400.0, 130.0))
    with book.reading() as session:
        found = course_in_force(session)
        assert found is not None
        told = handover(session, people.person(session, STUDENT), found)
    assert told.next_unit == "performance-3"
    assert told.good == ("Steep turn",)
    assert [each.kind for each in told.missed] == ["lazy_eight"]
    assert told.carried_over == (
        Open("performance-2", "chandelle", 4, 0, 0),
        Open("performance-2", "lazy_eight", 2, 1, 0),
    )


@pytest.mark.usefixtures("course")
def test_before_the_first_lesson_the_course_begins(book: Book) -> None:
    with book.reading() as session:
        found = course_in_force(session)
        assert found is not None
        told = handover(session, people.person(session, STUDENT), found)
    assert (told.last_lesson, told.next_unit, told.carried_over) == (None, "performance-1", ())


@pytest.mark.usefixtures("course")
def test_a_lesson_that_the_course_does_not_have_is_refused(book: Book, tmp_path: Path) -> None:
    with pytest.raises(BookTrouble, match="has no lesson 'performance-9'"):
        flown(book, tmp_path, "performance-9", 1, turn(10.0))


def test_a_lesson_is_judged_by_the_limits_of_its_stage() -> None:
    course = read_course(PLAIN)
    early, last = (Settings().basis(unit, course) for unit in ("performance-1", "performance-4"))
    assert early.standard_print != last.standard_print
    assert last.standard_print == Settings().basis().standard_print


@pytest.mark.usefixtures("course")
def test_marks_are_words_of_the_school_s_scale(book: Book, tmp_path: Path) -> None:
    number = flown(book, tmp_path, "performance-1", 1, turn(20.0))
    with book.writing() as session:
        scale = read_course(PLAIN).scale
        found = lessons.lesson(session, number)
        by = people.person(session, INSTRUCTOR)
        lessons.mark(session, found, 1, instructor=by, scale=scale, step="alone", blind=True)
        with pytest.raises(BookTrouble, match=r"no step of the scale.*shown, helped, alone, to standard"):
            lessons.mark(session, found, 1, instructor=by, scale=scale, step="splendid")
    with book.reading() as session:
        (given,) = lessons.lesson(session, number).marks
        assert (given.step, given.blind, given.kind) == ("alone", True, "steep_turn")
