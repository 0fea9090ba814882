"""Whole lessons: the measurement is held to a flight found without error, and a short one goes through."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import pytest
from tests.flights.accuracy import whole_tables
from tests.flights.accuracy.course import KINDS, bait, counted, share_flown, target
from tests.flights.accuracy.finding import account, match
from tests.flights.accuracy.lesson import Lesson
from tests.flights.accuracy.recorders import RECORDERS
from tests.flights.accuracy.running import Job, run
from tests.flights.accuracy.verdicts import true_occurrence
from tests.flights.accuracy.whole import measure_whole
from tests.flights.course.lessons import whole_lesson
from tests.flights.course.sample import write
from tests.flights.truth import TruthFlight

HOME = Path(os.environ.get("CHALKWING_FLIGHTS", "flights"))


@pytest.fixture(scope="module")
def flight() -> TruthFlight:
    return whole_lesson(2003, "c172r", "schedule")


def test_what_is_found_without_error_matches_whatever_its_kind(flight: TruthFlight) -> None:
    lesson = Lesson(Path("2003_c172r_schedule"), flight)
    found = [true_occurrence(one) for one in flight.maneuvers]
    matching = match(lesson, found, shift=0.0)
    assert len({one.kind for one in flight.maneuvers}) >= 6
    assert matching.missed == ()
    assert matching.false == ()
    told = account(matching, 0.0, KINDS)
    assert told["faults"] == []
    other = replace(found[0], kind="lazy_eight" if found[0].kind != "lazy_eight" else "s_turns")
    assert len(match(lesson, [other, *found[1:]], shift=0.0).false) == 1


def test_what_was_hardly_begun_counts_neither_way(flight: TruthFlight) -> None:
    lesson = Lesson(Path("2003_c172r_schedule"), flight)
    first = flight.maneuvers[0]
    given_up = replace(first, status="broken_off", kind="power_off_stall")
    assert share_flown(lesson, given_up) == 0.0
    assert share_flown(lesson, replace(first, status="complete")) == 1.0
    part = replace(first.parts[0], end=first.parts[0].start)
    spiral = replace(first, status="broken_off", kind="steep_spiral", parts=(part,))
    assert share_flown(lesson, spiral) == 0.0


def test_a_finding_is_put_to_the_bait_that_lies_under_it(flight: TruthFlight) -> None:
    one = true_occurrence(flight.maneuvers[0])
    legs = [
        {"label": "hold", "start": one.start - 50, "end": one.start + 5},
        {"label": "survey", "start": one.start + 5, "end": one.end + 50},
    ]
    assert bait(one, legs, 0.0) == "survey"
    assert bait(one, legs, -300.0) == "hold" or bait(one, [], 0.0) == "none"


def test_older_lessons_are_held_only_to_what_their_truth_tells(flight: TruthFlight) -> None:
    found = [true_occurrence(one) for one in flight.maneuvers]
    older = Lesson(Path("old"), replace(flight, facts={"airplane": "c172r"}))
    assert {one.kind for one in counted(older, found)} <= {"lazy_eight", "chandelle", "steep_turn"}
    assert counted(Lesson(Path("new"), flight), found) == found


def test_less_is_asked_of_a_track_where_it_cannot_show_much() -> None:
    assert target("power_on_stall", "track") == 0.80
    assert target("s_turns", "track") == 0.93
    assert target("power_on_stall", "avionics") == 0.97


def test_a_short_lesson_goes_through_the_whole_measurement(tmp_path: Path) -> None:
    folder = write(tmp_path / "02004_c172p_schedule")
    result = measure_whole(folder, RECORDERS["avionics"], kept=folder.parent / "motions")
    assert result["maneuvers"] == 1
    counts = result["finding"]["counts"]["turns_around_a_point"]
    assert counts == {"hits": 1, "missed": 0, "false": 0}
    assert len(result["values"]) > 20
    held = [abs(one["value"] - one["true_value"]) <= 1.96 * one["sd"] for one in result["values"]]
    assert sum(held) > 0.6 * len(held)
    told = whole_tables.kind_table("avionics", [result])
    assert "| turns around a point | 1 | 0 | 0 | 1.000" in told
    assert "none flown" in told


@pytest.mark.accuracy
@pytest.mark.parametrize("recorder", ["avionics", "track"])
def test_every_reported_lesson_can_be_measured(recorder: str, tmp_path: Path) -> None:
    folders = sorted(path.parent for path in (HOME / "whole").glob("*/done"))
    if not folders:
        pytest.skip(f"no lessons in {HOME / 'whole'}: make them as docs/accuracy.md says")
    results = run([Job("whole", each, recorder, tmp_path) for each in folders], processes=2)
    assert not [each["error"] for each in results if "error" in each]
