"""Slow flight, stalls, the power-off 180 and the emergency descent: speeds, heights and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.reference import newton
from tests.reference.days import CALM, FOUR_SEAT, SHEARED, SINGLES, STEADY, TWIN

from chalkwing.conditions import Conditions, WindLevel
from chalkwing.dynamics import glide, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference import solve
from chalkwing.reference.emergency_descent import steady_descent
from chalkwing.reference.stalls import ALLOWANCE, DECELERATION
from chalkwing.units import DEGREE, FOOT, KNOT, NAUTICAL_MILE, ft_to_m

ALL = [*SINGLES, TWIN]
STALLS = ("power_off_stall", "power_on_stall", "accelerated_stall")


@pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.name)
def test_slow_flight_is_level_above_the_warning_and_near_the_stall(sheet):
    plan = solve("slow_flight", sheet=sheet, conditions=CALM, bank=20 * DEGREE)
    assert np.ptp(plan["altitude_change"]) < 1e-6
    slow = plan.time > plan.legs[0].end + 1e-6
    warning = sheet.stall_warning_speed_at(mass=plan.mass, load_factor=plan["load_factor"][slow])
    assert np.all(plan["calibrated_airspeed"][slow] > warning)
    # 5 kt and more above the 1 g stall (the low end of the 5 to 10 kt that the handbook is quoted with).
    assert plan.fact("margin") >= 5 * KNOT - 1e-9
    assert plan["calibrated_airspeed"][slow] == pytest.approx(plan.fact("airspeed"), abs=1e-3)


@pytest.mark.parametrize("mass", [800.0, 950.0])
def test_stall_speeds_go_with_the_root_of_mass_and_load(mass):
    # [PHAK] ch. 5: VS sqrt(n m / m0).
    plan = solve("slow_flight", sheet=FOUR_SEAT, mass=mass, conditions=CALM, bank=30 * DEGREE)
    level = FOUR_SEAT.stall_speed * math.sqrt(mass / FOUR_SEAT.mass)
    assert plan.fact("stall_speed") == pytest.approx(level)
    banked = turning.stall_speed_in_turn(level_stall_speed=level, bank=30 * DEGREE)
    assert plan.fact("stall_speed_banked") == pytest.approx(banked)


def test_slow_flight_turns_out_and_back():
    plan = solve("slow_flight", sheet=FOUR_SEAT, conditions=CALM, turn=60 * DEGREE, direction="right")
    assert np.max(plan["heading_change"]) == pytest.approx(60 * DEGREE, abs=1.0 * DEGREE)
    assert plan["heading_change"][-1] == pytest.approx(0.0, abs=0.3 * DEGREE)


def test_slow_flight_below_the_stall_is_refused_with_a_speed_that_works():
    with pytest.raises(OutsideModel) as refused:
        solve("slow_flight", sheet=FOUR_SEAT, conditions=CALM, airspeed=50 * KNOT)
    speed = float(refused.value.next_step.split("Ask for ")[1].split(" ")[0]) * KNOT
    solve("slow_flight", sheet=FOUR_SEAT, conditions=CALM, airspeed=speed)


@pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("kind", STALLS)
def test_a_full_stall_is_reached_at_the_stall_speed_of_the_load_carried(kind, sheet):
    plan = solve(kind, sheet=sheet, conditions=CALM, recovery="full")
    point = plan.point("stall")
    stall = sheet.stall_speed_at(mass=plan.mass, load_factor=point.load_factor)
    # The stall is found in true airspeed, with one ratio of true to calibrated for all of it.
    assert point.calibrated_airspeed == pytest.approx(stall, rel=0.004)
    assert plan.point("warning").time < point.time
    assert 0.0 < plan.fact("height_lost") < plan.fact("height_to_allow")
    assert plan.fact("height_to_allow") >= ALLOWANCE[min(sheet.engines, 2)]
    assert plan.points[-1].name == "level"
    assert abs(plan["path_angle"][-1]) < 0.01 * DEGREE


@pytest.mark.parametrize("kind", STALLS[:2])
def test_the_airspeed_falls_a_knot_a_second_on_the_way_in(kind):
    plan = solve(kind, sheet=FOUR_SEAT, conditions=CALM)
    way_in = plan.time < plan.legs[0].end - 0.3
    rate = np.gradient(plan["true_airspeed"][way_in], plan.time[way_in])
    assert rate[4:] == pytest.approx(-DECELERATION, rel=0.05)


def test_an_impending_stall_ends_at_the_warning_and_costs_less_height():
    first, full = (
        solve("power_off_stall", sheet=FOUR_SEAT, conditions=CALM, recovery=way)
        for way in ("impending", "full")
    )
    point = first.point("warning")
    warning = FOUR_SEAT.stall_warning_speed_at(mass=first.mass, load_factor=point.load_factor)
    assert point.calibrated_airspeed == pytest.approx(warning, rel=0.004)
    assert first.fact("height_lost") < full.fact("height_lost")


def test_the_accelerated_stall_comes_at_the_load_of_its_bank():
    plan = solve("accelerated_stall", sheet=FOUR_SEAT, conditions=CALM, recovery="full")
    point = plan.point("stall")
    assert point.load_factor == pytest.approx(math.sqrt(2.0), rel=1e-6)
    assert point.calibrated_airspeed == pytest.approx(52 * KNOT * 2**0.25, rel=0.004)


def test_a_power_on_stall_holds_65_percent_or_says_that_there_is_less():
    plan = solve("power_on_stall", sheet=FOUR_SEAT, conditions=CALM)
    assert 0.65 < plan.fact("throttle") < 1.0
    high = solve("power_on_stall", sheet=FOUR_SEAT, conditions=Conditions(elevation=3800.0))
    assert high.fact("throttle") == 1.0
    assert any("% of rated power" in note for note in high.notes)


@pytest.mark.parametrize(
    ("kind", "asked", "phrase"),
    [
        ("power_off_stall", {"bank": 25 * DEGREE}, "20° of bank at most"),
        ("power_on_stall", {"power": 65.0}, "0.65 is 65 %"),
        ("power_off_stall", {"entry_speed": 51 * KNOT}, "no faster than the stall"),
        ("power_off_stall", {"recovery": "late"}, "impending, full"),
        ("accelerated_stall", {"entry_speed": 105 * KNOT}, "Enter at 100 KCAS or less"),
    ],
)
def test_a_stall_that_cannot_be_planned_is_refused(kind, asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve(kind, sheet=FOUR_SEAT, conditions=CALM, **asked)


# --- Power-off 180 ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "direction", "day"),
    [
        *((sheet, "left", SHEARED) for sheet in SINGLES),
        (FOUR_SEAT, "right", SHEARED),
        (FOUR_SEAT, "left", CALM),
        (FOUR_SEAT, "right", STEADY),
    ],
)
def test_the_power_off_180_comes_out_in_the_middle_of_the_window_on_the_centerline(sheet, direction, day):
    plan = solve("power_off_180", sheet=sheet, conditions=day, direction=direction)
    final = float(plan.settings["runway"])
    side = 1.0 if direction == "right" else -1.0
    north, east = plan["ground_north"], plan["ground_east"]
    along = north * math.cos(final) + east * math.sin(final)
    across = side * (east * math.cos(final) - north * math.sin(final))
    # Touchdown 0 to 200 ft beyond the point ([ACS-7B] CA.IV.M): planned at 100, aimed 300 ft before that.
    assert along[-1] == pytest.approx(ft_to_m(-200.0), abs=1.0)
    assert plan.fact("touchdown") == pytest.approx(ft_to_m(100.0), abs=1.0)
    assert across[-1] == pytest.approx(-0.5 * NAUTICAL_MILE, abs=3.0)
    assert plan["height_change"][-1] == pytest.approx(-ft_to_m(1000.0), abs=0.01)
    at_base = np.interp(plan.point("turn_to_base").time, plan.time, along)
    assert -at_base == pytest.approx(plan.fact("base_turn_past_abeam"), abs=0.5)


def test_a_headwind_on_final_brings_the_base_turn_nearer():
    def past_abeam(speed: float) -> float:
        day = Conditions(elevation=300.0, winds=(WindLevel(300.0, 1.0, speed),))
        return solve("power_off_180", sheet=FOUR_SEAT, conditions=day, runway=1.0).fact(
            "base_turn_past_abeam"
        )

    assert past_abeam(0.0) > past_abeam(5.0) > past_abeam(10.0)


def test_the_glide_ranges_are_those_of_the_glide_law():
    plan = solve("power_off_180", sheet=FOUR_SEAT, conditions=STEADY)
    ratio = plan.fact("glide_ratio")
    speed = FOUR_SEAT.best_glide_speed * 1.022  # true over calibrated at about 2,000 ft
    for way, sign in (("upwind", 1.0), ("downwind", -1.0)):
        reach = glide.glide_distance(
            height=ft_to_m(1000.0), glide_ratio=ratio, true_airspeed=speed, headwind=sign * 16 * KNOT
        )
        assert plan.fact(f"glide_range_{way}") == pytest.approx(reach, rel=0.02)
    # The sheet's own glide ratio, on which its drag was fitted.
    assert ratio == pytest.approx(FOUR_SEAT.glide_ratio, rel=0.03)


@pytest.mark.parametrize(
    ("asked", "phrase"),
    [
        ({"abeam": 250.0}, "no room for two turns"),
        ({"abeam": 2.0 * NAUTICAL_MILE}, "does not carry around"),
        ({"height": 1000.0 * 3.28}, "Was it in feet"),
    ],
)
def test_a_pattern_that_cannot_be_glided_is_refused(asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("power_off_180", sheet=FOUR_SEAT, conditions=CALM, **asked)


def test_the_distance_abeam_that_the_refusal_names_works():
    with pytest.raises(OutsideModel) as refused:
        solve("power_off_180", sheet=FOUR_SEAT, conditions=CALM, abeam=250.0)
    wider = float(refused.value.next_step.split("Fly it ")[1].split(" ft")[0])
    solve("power_off_180", sheet=FOUR_SEAT, conditions=CALM, abeam=ft_to_m(wider))


# --- Emergency descent ------------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", ALL, ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("rough_air", [False, True])
def test_the_emergency_descent_keeps_its_speed_its_load_and_its_level_off(sheet, rough_air):
    plan = solve("emergency_descent", sheet=sheet, conditions=CALM, rough_air=rough_air)
    limit = plan.fact("airspeed")
    assert limit <= (sheet.maneuvering_speed_at(plan.mass) if rough_air else sheet.never_exceed_speed)
    # +0/-10 kt is the task's band ([ACS-7B] CA.IX.A): nothing above the speed not to be exceeded.
    assert np.max(plan["calibrated_airspeed"]) <= limit
    assert np.min(plan["load_factor"]) > 0.0
    assert np.max(plan["load_factor"]) < 2.2
    assert plan["height_change"][-1] == pytest.approx(-ft_to_m(2000.0), abs=FOOT)
    assert abs(plan["path_angle"][-1]) < 0.5 * DEGREE
    steady = (plan.time > plan.legs[1].start) & (plan.time < plan.legs[1].end)
    assert np.degrees(plan["bank_into_turn"][steady]) == pytest.approx(45.0, abs=1.0)


def test_the_steady_descent_is_one():
    # sin(path) = (T - D) / W at n = cos(path) / cos(bank), in forces taken from the sheet.
    situation = newton.situation_of(solve("emergency_descent", sheet=FOUR_SEAT, conditions=CALM))
    angle, load = steady_descent(situation, airspeed=60.0, bank=40 * DEGREE)
    speed, density = float(situation.true_from_calibrated(60.0)), float(situation.density())
    pull = FOUR_SEAT.thrust(true_airspeed=speed, density=density, throttle=0.0)
    pull -= FOUR_SEAT.drag(true_airspeed=speed, density=density, load_factor=load, mass=situation.mass)
    assert pull == pytest.approx(situation.mass * 9.80665 * math.sin(angle), rel=1e-9)
    assert load * math.cos(40 * DEGREE) == pytest.approx(math.cos(angle))


@pytest.mark.parametrize(
    ("asked", "phrase"),
    [
        ({"bank": 20 * DEGREE}, "30° to 45°"),
        ({"airspeed": 170 * KNOT}, "above VNE"),
        ({"height": 20.0}, "height to lose"),
        ({"height": 5000.0}, "Was it in feet"),
    ],
)
def test_an_emergency_descent_that_cannot_be_is_refused(asked, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("emergency_descent", sheet=FOUR_SEAT, conditions=CALM, **asked)
