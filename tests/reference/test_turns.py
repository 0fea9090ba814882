"""Steep turns and steep spirals against the laws of turning and gliding, and what they refuse."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from tests.reference.days import CALM, FOUR_SEAT, SHEARED, SINGLES, STEADY, TWIN

from chalkwing.conditions import Conditions, WindLevel
from chalkwing.dynamics import glide, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference import solve
from chalkwing.reference.heights import height_at
from chalkwing.reference.laws import roll_heading, roll_rate_for_lead
from chalkwing.units import DEGREE, FOOT, KNOT, ft_to_m


def fitted_radius(north, east):
    """Distance of each point from the center of the circle fitted to them."""
    table = np.column_stack((2 * north, 2 * east, np.ones_like(north)))
    center = np.linalg.lstsq(table, north**2 + east**2, rcond=None)[0][:2]
    return np.hypot(north - center[0], east - center[1])


MIRRORED = ("pitch", "bank_into_turn", "heading_change", "true_airspeed", "altitude_change", "load_factor")


@pytest.mark.parametrize("bank", [20.0, 45.0, 50.0])
def test_a_steep_turn_is_the_level_turn_of_the_handbook(bank):
    # [PHAK] ch. 5: n = 1/cos, stall with its root, radius V²/(g tan), rate g tan/V; figures of these formulas
    # are tested against the published ones in tests/published.
    plan = solve("steep_turn", sheet=FOUR_SEAT, bank=bank * DEGREE, conditions=CALM)
    roll, speed = bank * DEGREE, plan["true_airspeed"][0]
    assert plan.fact("load_factor") == pytest.approx(1.0 / math.cos(roll))
    stall = turning.stall_speed_in_turn(level_stall_speed=FOUR_SEAT.stall_speed, bank=roll)
    assert plan.fact("stall_speed") == pytest.approx(stall)
    assert plan.fact("turn_radius") == pytest.approx(turning.turn_radius(true_airspeed=speed, bank=roll))
    steady = (plan.time > plan.legs[1].start) & (plan.time < plan.legs[1].end)
    rate = np.gradient(plan["heading_true"][steady], plan.time[steady])
    assert rate == pytest.approx(turning.turn_rate(true_airspeed=speed, bank=roll), rel=1e-6)
    assert plan["load_factor"][steady] == pytest.approx(1.0 / math.cos(roll))
    assert fitted_radius(plan["air_north"][steady], plan["air_east"][steady]) == pytest.approx(
        plan.fact("turn_radius"), rel=1e-4
    )


def test_a_steep_turn_stays_level_and_stops_on_its_heading():
    plan = solve("steep_turn", sheet=FOUR_SEAT, bank=50 * DEGREE, conditions=SHEARED)
    assert np.ptp(plan["altitude_change"]) < 1e-6
    assert np.ptp(plan["true_airspeed"]) < 1e-6
    # A hair of bank (below 0.1°) is left, in which the nose stands off the path by a hair.
    assert plan["heading_change"][-1] == pytest.approx(2 * math.pi, abs=0.01 * DEGREE)
    assert abs(plan["bank_into_turn"][-1]) < 0.1 * DEGREE


def test_the_rollout_begins_half_the_bank_before_the_heading():
    # Handbook, [AFH] p. 10-3: entered on 270° turning right at 60°, begin rolling at 240°.
    plan = solve("steep_turn", sheet=TWIN, bank=60 * DEGREE, conditions=CALM, entry_heading=270 * DEGREE)
    nose = math.degrees(float(np.interp(plan.legs[2].start, plan.time, plan["heading_true"]))) % 360
    assert nose == pytest.approx(240.0, abs=0.05)


def test_the_roll_rate_is_the_one_that_uses_up_the_lead():
    rate = roll_rate_for_lead(bank=0.8, lead=0.4, true_airspeed=50.0)
    assert roll_heading(bank=0.8, rate=rate, true_airspeed=50.0) == pytest.approx(0.4)
    # By quadrature: the integral of g tan(bank) / V over the time of the roll.
    bank = np.linspace(0.0, 0.8, 20_001)
    turned = np.trapezoid(9.80665 * np.tan(bank) / 50.0, bank / rate)
    assert turned == pytest.approx(0.4, rel=1e-6)


def test_power_as_set_loses_speed_and_power_added_holds_it():
    held = solve("steep_turn", sheet=FOUR_SEAT, conditions=CALM)
    left = solve("steep_turn", sheet=FOUR_SEAT, conditions=CALM, power="as_set")
    assert held.fact("airspeed_lost") == pytest.approx(0.0, abs=1e-6)
    assert left.fact("airspeed_lost") > 2 * KNOT
    assert held.fact("airspeed_lost_at_level_power") == pytest.approx(left.fact("airspeed_lost"))
    assert held.fact("turn_throttle") > held.fact("level_throttle") == pytest.approx(left["throttle"][0])


def test_a_governed_propeller_holds_its_speed_too():
    # Its windmilling drag goes with the square of what is closed, so that thrust is no line in the throttle.
    plan = solve("steep_turn", sheet=TWIN, bank=55 * DEGREE, conditions=CALM)
    assert np.ptp(plan["true_airspeed"]) < 1e-6


@pytest.mark.parametrize("kind", ["steep_turn", "steep_spiral"])
def test_left_mirrors_right_in_still_air(kind):
    left, right = (solve(kind, sheet=FOUR_SEAT, conditions=CALM, direction=way) for way in ("left", "right"))
    for name in MIRRORED:
        np.testing.assert_allclose(left[name], right[name], atol=1e-9)
    np.testing.assert_allclose(left["ground_north"], right["ground_north"], atol=1e-6)
    np.testing.assert_allclose(left["ground_east"], -right["ground_east"], atol=1e-6)


@pytest.mark.parametrize(
    ("asked", "phrase"),
    [
        ({"bank": 60 * DEGREE}, "full throttle does not hold"),
        ({"bank": 60 * DEGREE, "airspeed": 60 * KNOT}, "Keep the bank under 41° or the speed above 75 KCAS"),
        ({"bank": 45.0}, "Was it in degrees"),
        ({"power": "plenty"}, "hold_speed, as_set"),
        ({"throttle": 0.5}, "Say as_set"),
        ({"bank": 45 * DEGREE, "turn": 20 * DEGREE}, "too short"),
    ],
)
def test_a_steep_turn_that_cannot_be_is_refused_with_the_way_out(asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("steep_turn", sheet=FOUR_SEAT, conditions=CALM, **asked)


def test_the_way_out_of_a_stalled_turn_works():
    # 60 kt: (60/52)² = 1.331 g, which is 41.3° of bank; the refusal says 41.
    slow = {"bank": 41 * DEGREE, "airspeed": 60.0 * KNOT}
    with pytest.raises(OutsideModel, match=r"wing gives 1\.33 g"):
        solve("steep_turn", sheet=FOUR_SEAT, conditions=CALM, bank=60 * DEGREE, airspeed=60.0 * KNOT)
    plan = solve("steep_turn", sheet=FOUR_SEAT, conditions=CALM, **slow)
    assert plan.points[2].accelerated_stall_margin > 0.0


def test_the_bank_and_speed_that_a_weak_engine_is_told_are_held():
    high = {"sheet": FOUR_SEAT, "conditions": Conditions(elevation=2300.0)}
    with pytest.raises(OutsideModel) as refused:
        solve("steep_turn", bank=45 * DEGREE, **high)
    told = re.search(r"under (\d+)° at (\d+) KCAS", refused.value.next_step)
    bank, speed = float(told[1]) * DEGREE, float(told[2]) * KNOT
    plan = solve("steep_turn", bank=bank, airspeed=speed, **high)
    assert np.max(plan["throttle"]) <= 1.0


@pytest.mark.parametrize("sheet", [*SINGLES, TWIN], ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("elevation", [0.0, 1500.0, 2286.0])
def test_every_airplane_turns_at_every_elevation_or_says_what_stops_it(sheet, elevation):
    for mass in (sheet.minimum_mass, sheet.maximum_mass):
        for bank in (30.0, 45.0, 60.0):
            asked = {"bank": bank * DEGREE, "conditions": Conditions(elevation=elevation), "mass": mass}
            try:
                plan = solve("steep_turn", sheet=sheet, **asked)
            except OutsideModel as refusal:
                assert refusal.next_step  # noqa: PT017
            else:
                assert plan["heading_change"][-1] == pytest.approx(2 * math.pi, abs=0.05 * DEGREE)


# --- The spiral -------------------------------------------------------------------------------------------


def circle_of(plan):
    """(radius at each sample, mean) of the established spiral over the ground, about the fitted center."""
    leg = plan.legs[1]
    inside = (plan.time > leg.start) & (plan.time < leg.end)
    return fitted_radius(plan["ground_north"][inside], plan["ground_east"][inside])


@pytest.mark.parametrize("day", [CALM, STEADY, SHEARED], ids=["calm", "steady", "sheared"])
@pytest.mark.parametrize("sheet", SINGLES, ids=lambda sheet: sheet.name)
def test_the_ground_radius_is_constant_and_the_airspeed_held(sheet, day):
    plan = solve("steep_spiral", sheet=sheet, conditions=day)
    radius = circle_of(plan)
    assert radius == pytest.approx(plan.fact("radius"), rel=1e-4)
    # The pilot's own band is ten knots; the law's lag lets it breathe by less than one.
    assert np.ptp(plan["calibrated_airspeed"]) < 2.0 * KNOT
    assert plan.fact("steepest_bank") == pytest.approx(50 * DEGREE, abs=0.2 * DEGREE)


def test_height_lost_per_turn_meets_the_closed_form_in_still_air():
    # 2 pi V²/((L/D) g sin(bank)), formula 10 of the worked examples (derived); L/D at the load carried, bank
    # about the velocity. The closed form takes the path as shallow: sin(path) W = D and the lift that turns
    # carry cos(path), here 0.99. At one calibrated airspeed V falls on the way down, 2 % a thousand feet, and
    # the energy that this frees pays for 0.7 % of the height: 1 / (1 + V dV/dh / g). Both are put in.
    plan = solve("steep_spiral", sheet=FOUR_SEAT, maximum_bank=30 * DEGREE, turns=4, conditions=CALM)
    turned, height = plan["heading_change"], plan["height_change"]
    lost = np.interp(2 * math.pi, turned, height) - np.interp(4 * math.pi, turned, height)
    middle = float(np.interp(3 * math.pi, turned, plan.time))
    at = {name: float(np.interp(middle, plan.time, plan[name])) for name in plan.values}
    density = 1.225 * (at["calibrated_airspeed"] / at["true_airspeed"]) ** 2
    force = {"true_airspeed": at["true_airspeed"], "density": density}
    pull = FOUR_SEAT.drag(**force, load_factor=at["load_factor"]) - FOUR_SEAT.thrust(**force, throttle=0.0)
    ratio = at["load_factor"] * FOUR_SEAT.mass * 9.80665 / pull
    bank = math.asin(math.sin(at["bank_into_turn"]) * math.cos(at["pitch"]) / math.cos(at["path_angle"]))
    closed = glide.spiral_height_loss(true_airspeed=at["true_airspeed"], bank=bank, lift_to_drag=ratio)
    slowing = np.polyfit(plan["height_change"], plan["true_airspeed"], 1)[0]
    freed = 1.0 + at["true_airspeed"] * slowing / 9.80665
    assert lost == pytest.approx(closed * math.cos(at["path_angle"]) / freed, rel=0.003)


def test_bank_downwind_and_upwind_meet_the_closed_form():
    # tan(bank) = GS²/(g R) straight down and up the wind (worked examples, ground reference), level; gliding
    # the horizontal speed is V cos(path), and lift stands against cos(path): both within 1 % here.
    plan = solve("steep_spiral", sheet=FOUR_SEAT, conditions=STEADY)
    for name, sign in (("steepest_1", 1.0), ("shallowest_1", -1.0)):
        point = plan.point(name)
        bank = turning.bank_for_radius(
            true_airspeed=point.true_airspeed, tailwind=sign * 16 * KNOT, radius=plan.fact("radius")
        )
        assert point.bank_into_turn == pytest.approx(bank, abs=1.0 * DEGREE)


def test_the_entry_altitude_found_keeps_the_floor():
    day = replace(SHEARED, terrain_elevation=450.0, isa_deviation=-25.0)
    plan = solve("steep_spiral", sheet=FOUR_SEAT, conditions=day)
    end = height_at(day, plan.entry_altitude) + plan["height_change"][-1] - 450.0
    # The floor and the altimeter's 75 ft; within a foot, the search's own tolerance.
    assert end == pytest.approx(ft_to_m(1575.0), abs=FOOT)
    assert plan.fact("end_above_terrain") == pytest.approx(end)
    # On a cold day the altimeter must show more than the height.
    assert plan.entry_altitude > height_at(day, plan.entry_altitude)


def test_a_given_entry_altitude_is_left_alone():
    plan = solve("steep_spiral", sheet=FOUR_SEAT, conditions=CALM, entry_altitude=1234.0)
    assert plan.entry_altitude == 1234.0


def test_turning_the_wind_turns_the_spiral():
    plans = [
        solve(
            "steep_spiral",
            sheet=FOUR_SEAT,
            conditions=Conditions(elevation=300.0, winds=(WindLevel(300.0, angle, 8.0),)),
            entry_heading=angle,
        )
        for angle in (0.7, 2.9)
    ]
    one, other = plans
    np.testing.assert_allclose(one["bank_into_turn"], other["bank_into_turn"], atol=1e-6)
    swing = 2.9 - 0.7
    north = one["ground_north"] * np.cos(swing) - one["ground_east"] * np.sin(swing)
    np.testing.assert_allclose(north, other["ground_north"], atol=1e-3)


@pytest.mark.parametrize(
    ("asked", "phrase"),
    [
        ({"maximum_bank": 61 * DEGREE}, "never above 60°"),
        ({"radius": 100.0}, "Keep the radius above"),
        ({"airspeed": 55 * KNOT}, "would stall"),
        ({"radius": 500.0 / 0.3048 * 10}, "Was it in feet"),
        ({"turns": 0}, "one turn or more"),
    ],
)
def test_a_spiral_that_cannot_be_is_refused_with_the_way_out(asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("steep_spiral", sheet=FOUR_SEAT, conditions=STEADY, **asked)


def test_the_radius_that_the_refusal_names_works():
    with pytest.raises(OutsideModel) as refused:
        solve("steep_spiral", sheet=FOUR_SEAT, conditions=STEADY, radius=120.0)
    radius = float(refused.value.next_step.split("above ")[1].split(" ft")[0])
    plan = solve("steep_spiral", sheet=FOUR_SEAT, conditions=STEADY, radius=ft_to_m(radius))
    assert plan.fact("steepest_bank") <= 60.1 * DEGREE


def test_a_wind_near_the_airspeed_is_refused():
    storm = Conditions(elevation=300.0, winds=(WindLevel(300.0, 0.0, 35.0),))
    with pytest.raises(OutsideModel, match="too near the airspeed"):
        solve("steep_spiral", sheet=FOUR_SEAT, conditions=storm)


def test_a_twin_flies_no_steep_spiral():
    with pytest.raises(OutsideModel, match="single-engine class"):
        solve("steep_spiral", sheet=TWIN)
