"""Turns around a point, S-turns, the rectangular course and eights on pylons: geometry over the ground."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.reference import newton
from tests.reference.days import CALM, FOUR_SEAT, SINGLES, STEADY, TWIN

from chalkwing.conditions import Conditions, WindLevel
from chalkwing.dynamics import rules_of_thumb, turning, wind_triangle
from chalkwing.errors import OutsideModel
from chalkwing.reference import solve
from chalkwing.reference.ground_path import GroundPath, SteadyWind
from chalkwing.reference.heights import height_at
from chalkwing.units import DEGREE, KNOT, NAUTICAL_MILE, ft_to_m

GROUND = ("turns_around_a_point", "s_turns", "rectangular_course", "eights_on_pylons")
WIND = 16.0 * KNOT


def windy(angle: float, speed: float = 8.0) -> Conditions:
    return Conditions(elevation=300.0, winds=(WindLevel(300.0, angle % (2 * np.pi), speed),))


@pytest.mark.parametrize("day", [CALM, STEADY], ids=["calm", "wind"])
@pytest.mark.parametrize("sheet", [*SINGLES, TWIN], ids=lambda sheet: sheet.name)
def test_circles_around_a_point_are_circles(sheet, day):
    plan = solve("turns_around_a_point", sheet=sheet, conditions=day, turns=2)
    leg = next(each for each in plan.legs if each.name == "circles")
    inside = (plan.time > leg.start) & (plan.time < leg.end)
    north = plan["ground_north"][inside] - plan.fact("point_north")
    east = plan["ground_east"][inside] - plan.fact("point_east")
    assert np.hypot(north, east) == pytest.approx(plan.fact("radius"), rel=1e-9)
    assert np.max(np.abs(plan["altitude_change"])) < 1e-9


def test_bank_straight_down_and_up_the_wind_is_the_published_one():
    # worked_examples, ground reference (derived): 80 kt, 15 kt, 1,000 ft: 38.63° downwind, 20.51° upwind.
    wind = SteadyWind(80 * KNOT, 0.0, 15 * KNOT)
    downwind, upwind = (
        math.degrees(wind.circle_bank(track, ft_to_m(1000.0))) for track in (90 * DEGREE, -90 * DEGREE)
    )
    assert downwind == pytest.approx(38.63, abs=0.05)
    assert upwind == pytest.approx(20.51, abs=0.05)


def test_bank_across_the_wind_follows_from_newtons_law():
    # The acceleration over the ground, by differences of velocity along the circle; no formula of the path.
    wind, radius = SteadyWind(45.0, -6.0, 7.0), 320.0
    track = np.linspace(0.0, 2 * np.pi, 20_001)
    drift, ground_speed = wind.drift(track)
    time = np.concatenate(
        ([0.0], np.cumsum(radius * np.diff(track) * 0.5 * (1 / ground_speed[1:] + 1 / ground_speed[:-1])))
    )
    turning_rate = np.gradient(track + drift, time)
    bank = np.arctan(45.0 * turning_rate / 9.80665)
    assert bank[5:-5] == pytest.approx(wind.circle_bank(track, radius)[5:-5], rel=1e-5)


def test_an_s_turn_crosses_its_line_level_square_and_at_even_distances():
    plan = solve("s_turns", sheet=FOUR_SEAT, conditions=STEADY, halves=4)
    across = np.array([math.cos(240 * DEGREE), math.sin(240 * DEGREE)])  # downwind, from 060
    along = np.array([-across[1], across[0]])
    reach, steps = [], []
    for half in (1, 2, 3, 4):
        rows = plan["part"] == half
        path = np.stack((plan["ground_north"][rows], plan["ground_east"][rows]), axis=1)
        off, down = path @ across, path @ along
        assert off[[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-6)
        assert plan["bank_into_turn"][rows][[0, -1]] == pytest.approx([0.0, 0.0], abs=1e-9)
        end = path[-1] - path[-2]
        assert abs(end @ along) < 1e-3 * np.linalg.norm(end)
        reach.append(float(np.max(np.abs(off))))
        steps.append(float(down[-1] - down[0]))
    assert reach == pytest.approx([reach[0]] * 4, rel=0.01)  # sampled extremes, 0.2 s apart
    assert np.abs(steps) == pytest.approx([abs(steps[0])] * 4, rel=1e-9)
    assert len({np.sign(step) for step in steps}) == 1


def test_wind_correction_and_corners_of_the_rectangle():
    plan = solve("rectangular_course", sheet=FOUR_SEAT, conditions=STEADY, direction="left")
    speed = float(plan["true_airspeed"][0])
    course = 240 * DEGREE
    for k, name in enumerate(("downwind", "base", "upwind", "crosswind")):
        correction, ground_speed = wind_triangle.heading_for_course(
            course=(course - k * 90 * DEGREE) % (2 * np.pi),
            true_airspeed=speed,
            wind_from=60 * DEGREE,
            wind_speed=WIND,
        )
        assert plan.fact(f"drift_{name}") == pytest.approx(correction, abs=1e-9)
        assert plan.fact(f"leg_groundspeed_{name}") == pytest.approx(ground_speed)
    # The handbook's words (older text, read): the turns that touch the downwind leg take more than 90°.
    assert plan.fact("turn_after_downwind") > 90 * DEGREE < plan.fact("turn_after_crosswind")
    assert plan.fact("turn_after_base") < 90 * DEGREE > plan.fact("turn_after_upwind")
    turned = [plan.fact(f"turn_after_{name}") for name in ("downwind", "base", "upwind", "crosswind")]
    assert sum(turned) == pytest.approx(2 * math.pi)
    assert math.hypot(plan["ground_north"][-1], plan["ground_east"][-1]) < 1e-6


def test_in_a_calm_every_corner_is_a_right_angle_at_one_bank():
    plan = solve("rectangular_course", sheet=FOUR_SEAT, conditions=CALM)
    for name in ("downwind", "base", "upwind", "crosswind"):
        assert plan.fact(f"turn_after_{name}") == pytest.approx(90 * DEGREE)
        assert plan.fact(f"bank_after_{name}") == pytest.approx(30 * DEGREE)


def test_a_field_too_small_for_its_corners_is_refused():
    with pytest.raises(OutsideModel, match="too short for its two corners"):
        solve(
            "rectangular_course", sheet=FOUR_SEAT, conditions=CALM, width=100.0, spacing=0.1 * NAUTICAL_MILE
        )


def test_a_straight_leg_of_no_length_adds_nothing():
    path = GroundPath(SteadyWind(45.0, 0.0, 0.0), 0.0)
    path.straight(0.0, "nothing")
    assert path.names == []


@pytest.mark.parametrize("kind", GROUND)
def test_left_mirrors_right(kind):
    left, right = (
        solve(kind, sheet=FOUR_SEAT, conditions=windy(0.0), direction=way) for way in ("left", "right")
    )
    for name in (
        "bank_into_turn",
        "heading_change",
        "true_airspeed",
        "load_factor",
        "altitude_change",
        "pitch",
    ):
        np.testing.assert_allclose(left[name], right[name], atol=1e-7)
    np.testing.assert_allclose(left["ground_north"], right["ground_north"], atol=1e-5)
    np.testing.assert_allclose(left["ground_east"], -right["ground_east"], atol=1e-5)


@pytest.mark.parametrize("kind", GROUND)
def test_turning_the_wind_turns_the_path_and_changes_nothing_else(kind):
    one, other = (solve(kind, sheet=FOUR_SEAT, conditions=windy(angle)) for angle in (0.4, 5.1))
    for name in ("bank_into_turn", "heading_change", "throttle", "calibrated_airspeed", "altitude_change"):
        np.testing.assert_allclose(one[name], other[name], atol=1e-7)
    swing = 5.1 - 0.4
    north = one["ground_north"] * np.cos(swing) - one["ground_east"] * np.sin(swing)
    np.testing.assert_allclose(north, other["ground_north"], atol=1e-5)


@pytest.mark.parametrize("kind", GROUND[:3])
@pytest.mark.parametrize("asked", [{"maximum_bank": 46 * DEGREE}, {"radius": 120.0}])
def test_more_than_45_degrees_is_refused_with_the_radius_that_works(kind, asked):
    with pytest.raises(OutsideModel, match="Keep the radius above"):
        solve(kind, sheet=FOUR_SEAT, conditions=STEADY, **asked)


# --- Eights on pylons -------------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", SINGLES, ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("bank", [25.0, 40.0])
def test_height_is_the_exact_pivotal_altitude_all_the_way_around(sheet, bank):
    # h = TAS (TAS + tailwind along the heading) / g: worked examples, pivotal altitude, exact rows.
    plan = solve("eights_on_pylons", sheet=sheet, conditions=STEADY, maximum_bank=bank * DEGREE)
    for part in (1, 2):
        leg = next(each for each in plan.legs if each.part == part and each.name == "pylon")
        inside = (plan["part"] == part) & (plan.time > leg.start + 1e-6) & (plan.time < leg.end - 1e-6)
        heading = newton.air_heading(plan, newton.path_bank(plan))[inside]
        climb = plan["path_angle"][inside]
        tail = WIND * np.cos(heading - 240 * DEGREE) * np.cos(climb)
        exact = turning.pivotal_altitude(true_airspeed=plan["true_airspeed"][inside], tailwind=tail)
        height = plan.fact("entry_height") + plan["height_change"][inside]
        assert height == pytest.approx(exact, abs=0.02)
    assert plan.fact("steepest_bank") == pytest.approx(bank * DEGREE, abs=0.1 * DEGREE)


def test_in_still_air_the_altitude_stays_and_the_rule_of_thumb_is_right():
    plan = solve("eights_on_pylons", sheet=FOUR_SEAT, conditions=CALM)
    # Drag in the bank costs speed, which the leg gives back: a few feet, no more.
    assert plan.fact("highest") - plan.fact("lowest") < ft_to_m(10.0)
    speed = float(plan["true_airspeed"][0])
    assert plan.fact("entry_estimate") == pytest.approx(rules_of_thumb.pivotal_altitude_rule(speed))
    # 11.3 is 11.294 rounded.
    assert plan.fact("entry_estimate") == pytest.approx(plan.fact("entry_height"), rel=0.01)
    slow, fast = plan.fact("slowest"), plan.fact("fastest")
    assert fast - slow < 1.0 * KNOT


def test_the_eight_closes_and_the_pylons_lie_across_the_wind():
    plan = solve("eights_on_pylons", sheet=FOUR_SEAT, conditions=STEADY, straight=5.0)
    assert math.hypot(plan["ground_north"][-1], plan["ground_east"][-1]) < 0.1
    assert abs(plan["height_change"][-1]) < 0.05
    assert plan["true_airspeed"][-1] == pytest.approx(plan["true_airspeed"][0], abs=0.02)
    legs = [leg for leg in plan.legs if leg.name == "straight"]
    assert [leg.end - leg.start for leg in legs] == pytest.approx([5.0, 5.0])
    assert np.ptp(plan["throttle"]) == 0.0
    # Upwind is lowest, and turned into: the first turn begins with the wind behind.
    assert plan.point("lowest").true_airspeed > plan.point("highest").true_airspeed


def test_the_entry_altitude_is_the_pivotal_height_over_the_highest_terrain():
    day = Conditions(elevation=300.0, terrain_elevation=420.0, isa_deviation=-20.0)
    plan = solve("eights_on_pylons", sheet=FOUR_SEAT, conditions=day)
    assert height_at(day, plan.entry_altitude) - 420.0 == pytest.approx(plan.fact("entry_height"))


@pytest.mark.parametrize(
    ("asked", "phrase"),
    [({"maximum_bank": 41 * DEGREE}, "40° at most"), ({"maximum_bank": 35.0}, "In degrees")],
)
def test_an_eight_that_cannot_be_is_refused(asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("eights_on_pylons", sheet=FOUR_SEAT, conditions=CALM, **asked)
