"""Common errors flown: nothing changed gives the plan back, and each shows as the teaching says it shows.

What an error looks like is checked against what FAA-H-8083-3C, ch. 10, says of it (restated in the
definitions: "high and fast is too much power, low and slow too little"), not against ourselves.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from chalkwing.airplane import load_sheet
from chalkwing.errors import OutsideModel
from chalkwing.maneuvers import definitions
from chalkwing.reference import solve
from chalkwing.reference.by_headings import fly_by_headings
from chalkwing.reference.common_errors import FLYABLE, fly_error, leg_headings, schedule_of
from chalkwing.reference.flown import histories
from chalkwing.reference.what_if import situation_of
from chalkwing.units import DEGREE, FOOT, KNOT

KINDS = sorted(FLYABLE)


@cache
def plan(kind):
    return solve(kind, sheet=load_sheet("four-seat-160"))


@cache
def outcome(kind, change, by):
    """At the last point of the first part, less the plan: feet, knots, degrees; and the top of it [ft]."""
    flown, meant = fly_error(plan(kind), change, by).reference, plan(kind)
    last = [point for point in meant.points if point.part == 1][-1].name
    end, wanted = flown.point(last), meant.point(last)
    first = flown["part"] == 1.0
    return (
        (end.altitude_change - wanted.altitude_change) / FOOT,
        (end.calibrated_airspeed - wanted.calibrated_airspeed) / KNOT,
        (end.heading_change - wanted.heading_change) / DEGREE,
        float(np.max(flown["altitude_change"][first])) / FOOT,
    )


@pytest.mark.parametrize("kind", KINDS)
def test_the_plan_flown_without_an_error_is_the_plan(kind):
    meant = plan(kind)
    situation, closed = situation_of(meant), schedule_of(meant)
    parts = fly_by_headings(
        situation, closed, meant.direction, headings=leg_headings(meant), turns=closed.turns
    )
    time, values = histories(situation, parts)
    assert time[-1] == pytest.approx(meant.time[-1], abs=0.02)
    for name, unit, within in (
        ("altitude_change", FOOT, 0.5),
        ("calibrated_airspeed", KNOT, 0.05),
        ("heading_change", DEGREE, 0.05),
    ):
        assert (values[name][-1] - meant[name][-1]) / unit == pytest.approx(0.0, abs=within), name


def test_high_and_fast_is_too_much_power_and_low_and_slow_too_little():
    feet, knots, _, _ = outcome("lazy_eight", "throttle", 0.08)
    assert feet > 20.0
    assert knots > 2.0
    feet, knots, _, _ = outcome("lazy_eight", "throttle", -0.08)
    assert feet < -20.0
    assert knots < -2.0


def test_a_nose_not_lowered_ends_high_and_slow_and_one_that_falls_through_low_and_fast():
    feet, knots, _, _ = outcome("lazy_eight", "nose_down", 0.5)
    assert feet > 20.0
    assert knots < -2.0
    feet, knots, _, _ = outcome("lazy_eight", "nose_down", 2.0)
    assert feet < -20.0
    assert knots > 2.0
    feet, knots, _, _ = outcome("lazy_eight", "nose_late", 3.0)
    assert feet > 20.0
    assert knots < -1.0


def test_rolling_in_too_fast_brings_45_before_the_nose_has_peaked_and_gains_less_height():
    meant, flown = plan("lazy_eight"), fly_error(plan("lazy_eight"), "roll_in", 3.0).reference
    assert flown.point("45").time < meant.point("45").time - 3.0
    assert flown.point("45").pitch < meant.point("45").pitch - 0.1 * DEGREE
    assert outcome("lazy_eight", "roll_in", 3.0)[3] < float(np.max(meant["altitude_change"])) / FOOT - 10.0


def test_too_much_nose_up_comes_nearer_the_stall_and_too_little_stays_far_from_it():
    slowest = {
        by: float(
            np.min(fly_error(plan("lazy_eight"), "nose_up", by * DEGREE).reference["calibrated_airspeed"])
        )
        for by in (-4.0, 2.0)
    }
    usual = float(np.min(plan("lazy_eight")["calibrated_airspeed"]))
    assert slowest[2.0] < usual - 2.0 * KNOT < usual + 5.0 * KNOT < slowest[-4.0]


def test_a_chandelle_too_steep_climbs_little_and_is_fast_and_one_too_shallow_ends_nearer_the_stall():
    feet, knots, _, _ = outcome("chandelle", "steepest_bank", 10.0 * DEGREE)
    assert feet < -30.0
    assert knots > 2.0
    shallow = fly_error(plan("chandelle"), "steepest_bank", -8.0 * DEGREE).reference
    assert shallow.point("90").time > plan("chandelle").point("90").time + 1.0
    assert outcome("chandelle", "steepest_bank", -8.0 * DEGREE)[1] < 0.0


def test_rolling_out_too_fast_ends_short_of_the_heading_and_too_late_past_it():
    assert outcome("chandelle", "roll_out", 1.5)[2] < -10.0
    assert outcome("steep_turn", "bank_held", 2.0)[2] > 5.0


def test_overbanking_and_a_low_nose_lose_height_and_too_little_power_loses_speed():
    assert outcome("steep_turn", "steepest_bank", 5.0 * DEGREE)[0] < -10.0
    assert outcome("steep_turn", "nose_up", -1.0 * DEGREE)[0] < -30.0
    assert outcome("steep_turn", "throttle", -0.15)[1] < -5.0


def test_every_error_that_a_definition_says_can_be_flown_is_flown():
    for kind in KINDS:
        for error in definitions()[kind].errors:
            for way in error.flown:
                found = fly_error(plan(kind), way.change, way.by)
                assert found.stopped is None, way.title
                assert len(found.reference.points) >= len(plan(kind).points) - 2, way.title


def test_only_plans_that_can_be_flown_again_have_flown_errors():
    known = definitions()
    assert {kind for kind in known if any(error.flown for error in known[kind].errors)} == FLYABLE
    with pytest.raises(OutsideModel, match="told in words"):
        fly_error(solve("steep_spiral", sheet=load_sheet("four-seat-160")), "throttle", 0.1)


def test_an_error_that_would_stall_the_wing_is_refused_and_not_drawn():
    with pytest.raises(OutsideModel, match="more lift than the wing gives"):
        fly_error(plan("lazy_eight"), "nose_up", 12.0 * DEGREE)


@pytest.mark.parametrize("kind", KINDS)
def test_an_error_to_the_left_is_the_mirror_of_one_to_the_right_on_any_heading(kind):
    turned = solve(kind, sheet=load_sheet("four-seat-160"), direction="left", entry_heading=350.0 * DEGREE)
    left, right = (fly_error(each, "throttle", 0.05).reference for each in (turned, plan(kind)))
    for one, other in zip(left.points, right.points, strict=True):
        assert one.name == other.name
        assert one.altitude_change == pytest.approx(other.altitude_change, abs=0.05)
        assert one.heading_change == pytest.approx(other.heading_change, abs=0.01 * DEGREE)
    assert left["bank_into_turn"].max() == pytest.approx(right["bank_into_turn"].max(), abs=1e-3)
