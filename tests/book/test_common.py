"""A common set: made whole, shown without names, marked once in an order of one's own, told when finished."""

from __future__ import annotations

import json
import zlib
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import select
from tests.book.school import CHIEF, INSTRUCTOR, STUDENT, WHO
from tests.book.sets import HEADING, OTHERS, a_set, add_lessons, draw, view

from chalkwing.book import Book, keeping, ledger, lessons, people, sealing
from chalkwing.book.common import choosing, making, marking, over_time, results
from chalkwing.book.common.results import Reader
from chalkwing.book.common.shown import Order, packed, view_from
from chalkwing.book.common.tables import CommonMark
from chalkwing.book.tables import Recording
from chalkwing.errors import BookTrouble


def mark_all(book: Book, number: int, name: str, steps: dict[int, str], other: str = "close") -> None:
    with book.writing() as session:
        found = making.common_set(session, number)
        one = people.person(session, name)
        for each in found.maneuvers:
            marking.mark(session, found, each.place, instructor=one, step=steps.get(each.place, other))


def numbers(thing: object) -> list[float]:
    if isinstance(thing, dict):
        return [number for each in thing.values() for number in numbers(each)]
    if isinstance(thing, list):
        return [number for each in thing for number in numbers(each)]
    return [float(thing)] if isinstance(thing, int | float) else []


def test_a_set_is_spread_from_clean_to_far_off_over_its_kinds(book: Book, tmp_path: Path) -> None:
    add_lessons(book, tmp_path, 8)
    with book.reading() as session:
        there = choosing.candidates(book, session)
    chosen = choosing.spread(there, count=6, seed=1)
    assert [each.kind for each in chosen] == ["chandelle"] * 3 + ["lazy_eight"] * 3
    for kind in ("chandelle", "lazy_eight"):
        missed = [each.missed for each in chosen if each.kind == kind]
        assert min(missed) == 0.0
        assert max(missed) == 1.0
    assert choosing.spread(there, count=6, seed=1) == chosen
    only = choosing.spread(there, count=4, kinds=["chandelle"], seed=1)
    assert {each.kind for each in only} == {"chandelle"}
    with pytest.raises(BookTrouble, match="only 16 maneuvers"):
        choosing.spread(there, count=17, seed=1)
    with pytest.raises(BookTrouble, match="maneuver 9 of lesson 1"):
        choosing.picked(there, [(1, 9)])


def test_only_maneuvers_whose_recordings_are_kept_and_whose_pilot_is_known(
    book: Book, tmp_path: Path
) -> None:
    add_lessons(book, tmp_path, 3)
    with book.writing() as session:
        lessons.label(session, lessons.lesson(session, 1), [2], "unknown", who=WHO)
        gone = lessons.lesson(session, 2).recordings[0].sha256
    keeping.erase(book, gone, who=WHO, why="asked for")
    with book.reading() as session:
        assert session.get(Recording, gone) is not None
        there = {(each.lesson, each.number) for each in choosing.candidates(book, session)}
    assert there == {(1, 1), (3, 1), (3, 2)}


def test_what_is_shown_names_nobody_no_place_no_time_and_no_verdict() -> None:
    told = json.loads(zlib.decompress(packed(view())))
    assert set(told) == {
        "schema", "kind", "title", "direction", "against", "span_deg", "directions", "speed_name",
        "altitude_name", "entry_airspeed_kt", "wind", "flown", "whole", "ground",
    }  # fmt: skip
    assert set(told["flown"][0]) == {
        "part", "start_deg", "sense", "time_s", "heading_change_deg", "values", "marks",
    }  # fmt: skip
    assert STUDENT not in json.dumps(told)
    assert not {4212.0, 812.0, HEADING, 3.217} & set(numbers(told))
    shown = view_from(packed(view()))
    assert shown.limits == ()
    assert shown.planned == ()
    trace = shown.flown[0]
    assert not trace.sds
    assert not trace.samples
    assert not any(mark.told for mark in trace.marks)
    # Turned so that the entry heading is up: the first steps go ahead, and a right turn goes right.
    north, east = (np.asarray(trace.values[f"ground_{axis}_ft"]) for axis in ("north", "east"))
    assert north[5] > 5.0 * abs(east[5])
    assert east[-1] > 1000.0
    # The wind came 33 degrees from the right of the entry heading, and still does.
    assert shown.wind.from_deg_true == 33.0


def test_everybody_has_an_order_of_their_own_and_always_the_same(book: Book, tmp_path: Path) -> None:
    number = a_set(book, tmp_path)
    with book.reading() as session:
        found = making.common_set(session, number)
        orders = [
            [each.place for each in marking.order_of(found, people.person(session, name))]
            for name in (*OTHERS, INSTRUCTOR)
        ]
        again = [each.place for each in marking.order_of(found, people.person(session, OTHERS[0]))]
    assert again == orders[0]
    assert len({tuple(order) for order in orders}) == len(orders)
    assert all(sorted(order) == list(range(1, 11)) for order in orders)


def test_a_mark_stays_and_a_closed_set_takes_no_more(book: Book, tmp_path: Path) -> None:
    number = a_set(book, tmp_path)
    with book.writing() as session:
        found = making.common_set(session, number)
        one = people.person(session, INSTRUCTOR)
        marking.mark(session, found, 4, instructor=one, step="close", elements={"altitude_at_180": "far off"})
        with pytest.raises(BookTrouble, match="has marked this maneuver"):
            marking.mark(session, found, 4, instructor=one, step="far off")
        with pytest.raises(BookTrouble, match="no step"):
            marking.mark(session, found, 5, instructor=one, step="splendid")
        with pytest.raises(BookTrouble, match="no element"):
            marking.mark(session, found, 5, instructor=one, step="close", elements={"look": "close"})
        with pytest.raises(BookTrouble, match="maneuvers 1 to 10"):
            marking.mark(session, found, 11, instructor=one, step="close")
    with book.writing() as session:
        found = making.common_set(session, number)
        one = people.person(session, INSTRUCTOR)
        assert marking.marks_by(session, found, one) == {4: {"": "close", "altitude_at_180": "far off"}}
        marking.close(session, found, who=CHIEF)
        with pytest.raises(BookTrouble, match="was closed"):
            marking.mark(session, found, 5, instructor=one, step="close")
    with book.reading() as session:
        assert not list(ledger.broken_lines(session))
    assert not list(sealing.faults(book))


def test_what_was_measured_is_told_to_who_has_finished_and_to_all_once_it_is_closed(
    book: Book, tmp_path: Path
) -> None:
    number = a_set(book, tmp_path)
    mark_all(book, number, OTHERS[0], {})
    with book.writing() as session:
        found = making.common_set(session, number)
        first, second = (people.person(session, name) for name in OTHERS[:2])
        assert results.result(session, found, Reader(first)).finished == 1
        with pytest.raises(BookTrouble, match="10 of 10 maneuvers to mark"):
            results.result(session, found, Reader(second))
        with pytest.raises(BookTrouble, match="still open"):
            results.result(session, found, Reader())
        chief = people.person(session, CHIEF)  # an instructor too, who has not marked
        with pytest.raises(BookTrouble, match="to mark yet"):
            results.result(session, found, Reader(chief, names=True))
        marking.close(session, found, who=CHIEF)
        for reader in (Reader(second), Reader(), Reader(chief, names=True)):
            assert results.result(session, found, reader).maneuvers[0].verdict in ("met", "not_met")


def test_an_instructor_reads_the_own_leniency_and_no_names(book: Book, tmp_path: Path) -> None:
    number = a_set(book, tmp_path)
    mark_all(book, number, OTHERS[0], {1: "far off", 2: "far off", 3: "to standard"})
    mark_all(book, number, OTHERS[1], {1: "far off", 2: "close", 3: "to standard"})
    mark_all(book, number, INSTRUCTOR, {1: "to standard", 2: "to standard", 3: "well inside"}, "to standard")
    with book.reading() as session:
        found = making.common_set(session, number)
        own = people.person(session, INSTRUCTOR)
        told = results.result(session, found, Reader(own))
        assert told.agreement.said == "Disagreed on 10 of 10 maneuvers."
        assert told.own is not None
        assert told.own.instructor == INSTRUCTOR
        assert "above the others" in told.own.said
        assert told.leniency == ()
        assert told.agreement.leniency == ()
        # Three instructors: a spread without names would name them.
        assert told.spread == ()
        assert all(each.by == () for each in told.maneuvers)
        assert told.maneuvers[0].own == "to standard"
        assert told.maneuvers[0].counts == (2, 0, 1, 0)
        assert told.maneuvers[0].apart == 2
        # The lessons were the instructor's own: such marks are counted, and their number is told.
        assert told.knew == 10
        with pytest.raises(BookTrouble, match="only a chief"):
            results.result(session, found, Reader(own, names=True))
    mark_all(book, number, CHIEF, {})
    with book.reading() as session:
        found = making.common_set(session, number)
        told = results.result(session, found, Reader(people.person(session, CHIEF), names=True))
        assert len(told.spread) == 4
        assert [each.instructor for each in told.leniency] == sorted([*OTHERS[:2], INSTRUCTOR, CHIEF])
        assert dict(told.maneuvers[0].by)[INSTRUCTOR] == "to standard"


def test_a_set_stopped_while_it_was_made_is_not_there(book: Book, tmp_path: Path) -> None:
    add_lessons(book, tmp_path, 2)
    with book.reading() as session:
        chosen = choosing.candidates(book, session)

    def gone(order: Order, progress: object) -> list[bytes | None]:
        raise BookTrouble("its recording is no longer kept.", where=f"lesson {order.lesson}")

    with pytest.raises(BookTrouble, match="no maneuver of it can be shown"):
        making.make(book, chosen, name="Gone", who=CHIEF, seed=1, draw=gone)
    with book.reading() as session:
        assert results.set_lines(session) == []

    def half(order: Order, progress: object) -> list[bytes | None]:
        return [None, *draw(order, lambda _what, _done: None)[1:]]

    made = making.make(book, chosen, name="Half", who=CHIEF, seed=1, draw=half)
    assert made.maneuvers == 2
    assert len(made.left) == 2
    assert "not found there any more" in made.left[0]


def test_change_over_months_is_told_of_sets_that_the_reader_may_read(book: Book, tmp_path: Path) -> None:
    number = a_set(book, tmp_path)
    steps = {1: "far off", 2: "close", 3: "far off", 4: "well inside"}
    for name in (OTHERS[0], INSTRUCTOR):
        mark_all(book, number, name, steps)
    with book.reading() as session:
        chosen = choosing.candidates(book, session)
    making.make(book, chosen, name="Autumn meeting", who=CHIEF, seed=3, draw=draw)
    with book.reading() as session:
        one, chief = (people.person(session, name) for name in (INSTRUCTOR, CHIEF))
        told = over_time.over_time(session, Reader(one))
        assert [each.name for each in told] == ["Spring meeting"]
        assert told[0].alpha == pytest.approx(1.0)
        assert "Too few sets" in over_time.change_said(told)
        assert over_time.over_time(session, Reader(chief)) == []


def then(name: str, alpha: float) -> over_time.SetThen:
    return over_time.SetThen(1, name, "2026-03-01", "", alpha, alpha - 0.1, alpha + 0.1, None)


def test_a_change_is_named_only_where_the_intervals_part() -> None:
    said = over_time.change_said([then("Spring", 0.4), then("Summer", 0.5), then("Autumn", 0.8)])
    assert (
        said == "From “Spring” to “Autumn” alpha went from 0.40 to 0.80: they judge more alike than before."
    )
    assert "may be no change" in over_time.change_said([then("Spring", 0.5), then("Autumn", 0.6)])
    assert "less alike" in over_time.change_said([then("Spring", 0.8), then("Autumn", 0.3)])


def test_a_mark_changed_behind_the_books_back_shows(book: Book, tmp_path: Path) -> None:
    number = a_set(book, tmp_path)
    mark_all(book, number, INSTRUCTOR, {})
    assert not list(sealing.faults(book))
    with book.writing() as session:
        marks = list(session.scalars(select(CommonMark).order_by(CommonMark.id)))
        marks[0].step = "well inside"
        session.delete(marks[1])
    found = list(sealing.faults(book))
    assert sorted(each.split(": ")[1] for each in found) == [
        "a mark is not what was given",
        "the ledger tells of a mark, but it is gone",
    ]
