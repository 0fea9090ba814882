"""What pictures show is what the JSON says, and it lies where it was flown."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import numpy as np
import pytest

from chalkwing.debriefs import ExcursionReport, MarkReport
from chalkwing.judge import GroundPlace
from chalkwing.trunk import Debriefed
from chalkwing.units import DEGREE, FOOT, KNOT
from chalkwing.views import ManeuverView, view_of, views_of
from chalkwing.views.ground import ground_marks
from chalkwing.views.table import counts, doubt_matters, sentence, table_of


@pytest.fixture(scope="module")
def views(flown_lesson: Debriefed) -> list[ManeuverView]:
    return views_of(flown_lesson)


def of_kind(views: list[ManeuverView], kind: str) -> list[ManeuverView]:
    return [view for view in views if view.report.kind == kind]


# --- Numbers are those of the JSON --------------------------------------------------------------------------


def test_every_number_at_a_point_is_that_of_the_json(flown_lesson, views) -> None:
    told = json.loads(flown_lesson.debrief.to_json())["maneuvers"]
    seen = 0
    for maneuver, view in zip(told, views, strict=True):
        entry = maneuver["points"][0]
        points = {(point["half"], point["name"]): point for point in maneuver["points"]}
        for trace in view.flown:
            for mark in trace.marks:
                point = points[trace.part, mark.name]
                shown = mark.values
                assert mark.heading_change_deg == pytest.approx(point["heading_change_deg"], abs=1e-5)
                assert mark.time_s + view.start_s == pytest.approx(point["t_s"], abs=1e-5)
                for name in ("bank_into_turn_deg", "airspeed_kt"):
                    assert shown[name] == pytest.approx(point[name]["value"], abs=1e-5)
                rise = point["altitude_ft"]["value"] - entry["altitude_ft"]["value"]
                assert shown["altitude_change_ft"] == pytest.approx(rise, abs=1e-5)
                pitch = shown["pitch_from_level_deg"] + view.level_pitch_deg
                assert pitch == pytest.approx(point["pitch_deg"]["value"], abs=1e-5)
                seen += 1
    assert seen > 25


def test_points_lie_on_the_line_that_was_flown(views) -> None:
    # A point is the mean over draws, each at its own place; the line is the best estimate.
    for view in views:
        for trace in view.flown:
            for mark in trace.marks:
                for name, value in mark.values.items():
                    line = float(np.interp(mark.time_s, trace.time_s, trace.values[name]))
                    sd = float(np.interp(mark.time_s, trace.time_s, trace.sds[name]))
                    # Where a turn stops, bank passes through within a second or so.
                    slack = 3.0 if name == "bank_into_turn_deg" else 0.3
                    assert abs(line - value) < max(2.0 * sd, slack), (view.report.kind, mark.name, name)


def test_the_plan_at_a_point_is_that_of_the_json(views) -> None:
    eight = of_kind(views, "lazy_eight")[0]
    for point in eight.report.points:
        assert point.reference is not None
        (mark,) = [m for m in eight.planned[point.half - 1].marks if m.name == point.name]
        assert mark.values["bank_into_turn_deg"] == pytest.approx(point.reference["bank_into_turn_deg"])
        assert mark.values["airspeed_kt"] == pytest.approx(point.reference["airspeed_kt"])
        entry = eight.report.points[0].altitude_ft.value
        assert entry + mark.values["altitude_change_ft"] == pytest.approx(point.reference["altitude_ft"])


# --- Lines lie where it was flown ---------------------------------------------------------------------------


def test_heading_change_is_that_of_the_nose_in_the_direction_of_turn(flown_lesson, views) -> None:
    for attempt, view in zip(flown_lesson.attempts, views, strict=True):
        motion = attempt.flight.motion
        for trace in view.flown:
            heading = np.interp(trace.time_s + view.start_s, motion.time, motion["heading_true"]) / DEGREE
            sign = 1.0 if view.directions[trace.part - 1] == "right" else -1.0
            assert trace.heading_change_deg == pytest.approx(sign * (heading - heading[0]), abs=1e-6)


def test_the_second_half_runs_back_from_where_the_first_ended(views) -> None:
    for eight in of_kind(views, "lazy_eight"):
        first, second = eight.flown
        assert second.nose_deg[0] == pytest.approx(first.nose_deg[-1])
        assert second.nose_deg[-1] == pytest.approx(0.0, abs=12.0)
        assert (first.sense, second.sense) == (1, -1)


def test_pitch_counts_from_the_attitude_that_held_level(views) -> None:
    # Before each entry the airplane flies level: pitch from level begins near zero.
    for view in views:
        assert abs(view.flown[0].values["pitch_from_level_deg"][0]) < 2.0


def test_through_the_air_differs_from_over_the_ground_by_the_wind(flown_lesson, views) -> None:
    for attempt, view in zip(flown_lesson.attempts, views, strict=True):
        motion, trace = attempt.flight.motion, view.flown[-1]
        lasted = trace.time_s[-1]
        drift = trace.values["ground_north_ft"][-1] - trace.values["air_north_ft"][-1]
        during = (motion.time >= view.start_s) & (motion.time <= view.start_s + lasted)
        assert drift == pytest.approx(float(motion["wind_north"][during].mean()) * lasted / FOOT, rel=0.02)


def test_doubt_of_a_change_is_zero_at_its_entry_and_smaller_than_that_of_the_level(
    flown_lesson, views
) -> None:
    for attempt, view in zip(flown_lesson.attempts, views, strict=True):
        sds = view.flown[0].sds["altitude_change_ft"]
        assert sds[0] < 0.2 * float(sds.max()) + 1.0
        marginal = attempt.flight.motion.sd_at("altitude", view.start_s) / FOOT
        assert float(sds.max()) < 2.0 * marginal + 10.0


def test_raw_rows_are_those_of_the_file(flown_lesson, views) -> None:
    eight = of_kind(views, "lazy_eight")[0]
    attempt = flown_lesson.attempts[views.index(eight)]
    times, knots = attempt.flight.motion.recording.samples("indicated_airspeed")
    rows = eight.flown[0].samples["airspeed_kt"]
    for when, value in itertools.islice(zip(rows.time_s, rows.values, strict=True), 5):
        k = int(np.argmin(np.abs(times - (when + eight.start_s))))
        assert value == pytest.approx(knots[k] / KNOT)


def test_the_plan_lies_on_the_entry_heading_that_was_flown(views) -> None:
    planned = [view for view in views if view.planned]
    assert len(planned) >= 5
    for view in planned:
        plan = view.planned[0]
        north, east = plan.values["air_north_ft"][3], plan.values["air_east_ft"][3]
        off = np.degrees(np.arctan2(east, north)) - view.entry["heading_true_deg"]
        assert abs((off + 180.0) % 360.0 - 180.0) < 8.0


# --- Limits -------------------------------------------------------------------------------------------------


def test_limits_stand_at_their_point_about_what_they_are_held_against(views) -> None:
    eight = of_kind(views, "lazy_eight")[0]
    marks = {(mark.element, mark.half): mark for mark in eight.limits}
    altitude, speed = marks["altitude_at_180", 1], marks["airspeed_at_180", 1]
    # FAA-S-ACS-7B, CA.V.D: altitude at the 180° points ±100 ft, airspeed ±10 kt, of those at entry.
    assert (altitude.low, altitude.high) == pytest.approx((-100.0, 100.0))
    entry = eight.report.points[0].airspeed_kt.value
    assert (speed.low, speed.high) == pytest.approx((entry - 10.0, entry + 10.0))
    assert altitude.heading_change_deg == pytest.approx(180.0, abs=10.0)
    heading = marks["heading_at_180", 1]
    assert (heading.low, heading.high) == pytest.approx((170.0, 190.0), abs=0.1)


def test_an_assigned_altitude_moves_its_bracket(flown_lesson) -> None:
    attempt = next(each for each in flown_lesson.attempts if each.report.kind == "steep_turn")
    entry = attempt.report.points[0].altitude_ft.value
    asked = replace(attempt.assigned, altitude=(entry + 40.0) * FOOT)
    view = view_of(replace(attempt, assigned=asked), standard=flown_lesson.standard)
    (mark,) = [mark for mark in view.limits if mark.quantity == "altitude_change_ft"]
    assert (mark.low, mark.high) == pytest.approx((-60.0, 140.0))


def test_a_steep_turns_bank_bracket_stands_about_the_standards_figure(views) -> None:
    turn = of_kind(views, "steep_turn")[0]
    (mark,) = [mark for mark in turn.limits if mark.quantity == "bank_into_turn_deg"]
    # FAA-S-ACS-7B, CA.V.A: 50° of bank, ±5°.
    assert (mark.low, mark.high) == (45.0, 55.0)


# --- Words --------------------------------------------------------------------------------------------------


def test_the_sentence_tells_good_missed_and_by_how_much(views) -> None:
    faulty = of_kind(views, "lazy_eight")[1].report
    said = sentence(faulty)
    (missed,) = [each for each in faulty.elements if each.verdict == "not_met"]
    beyond = abs(missed.value) - 100.0
    assert said.startswith("Lazy eight, first to the right: good in ")
    assert f"missed altitude at 180° in the second half by {beyond:.0f} ft" in said
    flown = replace(faulty, flown_by="student")
    assert ", flown by the student: " in sentence(flown)
    assert ", flown by Ida Renwick: " in sentence(replace(flown, student="Ida Renwick"))


def test_counts_give_no_verdict_over_the_whole(views) -> None:
    report = of_kind(views, "steep_turn")[1].report
    assert counts([each for each in report.elements if each.verdict]) == "1 met, 3 not met"


def test_doubt_stands_beside_a_value_only_where_it_reaches_over_the_limit(views) -> None:
    report = of_kind(views, "steep_turn")[1].report
    for element in report.elements:
        if element.limit is not None and element.sd is not None and element.value is not None:
            nearest = min(abs(element.value - end) for end in element.limit if end is not None)
            assert doubt_matters(element) == (nearest < 1.96 * element.sd or element.verdict == "cannot_tell")


def test_excursions_are_told_as_an_examiner_would(views) -> None:
    report = of_kind(views, "steep_turn")[0].report
    brief = replace(
        next(each for each in report.elements if each.id == "altitude"),
        value=-110.0,
        verdict="met",
        excursions=ExcursionReport(worst=-110.0, count=1, outside_s=2.0, longest_s=2.0),
    )
    (row,) = table_of(replace(report, elements=(brief,))).rows
    assert row.told == "10 ft beyond for 2.0 s, corrected."
    assert row.margin == "−10 ft"


def test_facts_stand_apart_from_elements(views) -> None:
    table = table_of(of_kind(views, "chandelle")[0].report)
    assert [row.id for row in table.rows] == ["heading_at_180"]
    assert len(table.facts) > 10
    assert "no terrain given" in table.lacking


# --- On the ground ------------------------------------------------------------------------------------------


def test_places_on_the_ground_lie_in_feet_from_the_entry() -> None:
    # One minute of latitude is about one nautical mile, 6,076 ft (ellipsoid at 41°: 6,074 ft).
    minute = DEGREE / 60.0
    pylon = GroundPlace("pylon", (1,), 41.0 * DEGREE + minute, -41.0 * DEGREE, sd=3.0, given=False)
    road = GroundPlace(
        "line", (1, 2), 41.0 * DEGREE, -41.0 * DEGREE, sd=0.0, given=True, azimuth=90.0 * DEGREE, length=304.8
    )
    marks = ground_marks((pylon, road), latitude=41.0 * DEGREE, longitude=-41.0 * DEGREE)
    assert marks[0].ends[0] == pytest.approx((6074.0, 0.0), abs=8.0)
    assert marks[1].ends[1] == pytest.approx((0.0, 1000.0), abs=0.1)


def test_a_mark_made_in_flight_stands_where_it_was_made(flown_lesson):
    report = flown_lesson.attempts[0].report
    at = report.start_s + 0.4 * (report.end_s - report.start_s)
    inside = MarkReport(at, "late on the rudder", "Per Askell", report.number, True, 0.0)
    beyond = replace(inside, t_s=report.end_s + 30.0, inside=False, off_s=30.0)
    marked = replace(flown_lesson, debrief=replace(flown_lesson.debrief, marks=(inside, beyond)))
    view = views_of(marked)[0]
    (noted,) = view.noted
    assert noted.words == "late on the rudder"
    assert noted.time_s == pytest.approx(at - view.start_s)
    trace = next(each for each in view.flown if each.time_s[0] <= noted.time_s <= each.time_s[-1])
    assert noted.heading_change_deg == pytest.approx(
        np.interp(noted.time_s, trace.time_s, trace.heading_change_deg)
    )
    assert not views_of(marked)[1].noted
