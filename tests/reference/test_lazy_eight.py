"""The lazy eight: the handbook's points, closure, symmetry, closed-form limits, refusals that help."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chalkwing.airplane import load_sheet
from chalkwing.conditions import Conditions, WindLevel
from chalkwing.errors import CannotBeFlown, OutsideModel, UnknownName
from chalkwing.reference import Reference, Situation, solve
from chalkwing.reference.half_turn import LEAST_PITCH_SLOPE, SHORTEST, Task, solve_half
from chalkwing.reference.lazy_eight_limits import refusal
from chalkwing.units import STANDARD_GRAVITY, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

SHEET = load_sheet("four-seat-160")
DEGREE = float(deg_to_rad(1.0))


@pytest.fixture(scope="module")
def eight() -> Reference:
    return solve("lazy_eight", sheet=SHEET, entry_altitude=ft_to_m(3500.0))


def half_of(reference: Reference, part: int, name: str):
    return reference[name][reference["part"] == part]


def test_points_are_those_of_the_handbook(eight):
    # FAA-H-8083-3C fig. 10-4: bank about 15, 30, 15 at 45, 90, 135; nose highest at 45, level attitude at 90,
    # lowest at 135; entry altitude and airspeed at 180.
    for part in (1, 2):
        points = {name: eight.point(name, part=part) for name in ("entry", "45", "90", "135", "180")}
        for name, bank in (("entry", 0.0), ("45", 15.0), ("90", 30.0), ("135", 15.0), ("180", 0.0)):
            # To a hundredth of a degree in the first half; the second starts from where the first ended.
            at = 0.0 if name == "entry" else float(name)
            assert rad_to_deg(points[name].heading_change) == pytest.approx(at, abs=0.02)
            assert rad_to_deg(points[name].bank_into_turn) == pytest.approx(bank, abs=0.02)
        level = points["entry"].pitch
        assert points["90"].pitch == pytest.approx(level, abs=0.01 * DEGREE)
        assert points["180"].pitch == pytest.approx(level, abs=0.01 * DEGREE)
        pitch = half_of(eight, part, "pitch")
        assert points["45"].pitch == pytest.approx(pitch.max(), abs=0.01 * DEGREE)
        assert points["135"].pitch == pytest.approx(pitch.min(), abs=0.01 * DEGREE)


def test_both_halves_close(eight):
    for part, feet in ((1, 0.05), (2, 1.0)):
        end = eight.point("180", part=part)
        assert m_to_ft(end.altitude_change) == pytest.approx(0.0, abs=feet)
        entry = eight.point("entry").calibrated_airspeed
        assert mps_to_kt(end.calibrated_airspeed - entry) == pytest.approx(0.0, abs=0.01)
        assert m_to_ft(eight.fact(f"altitude_left_{part}")) == pytest.approx(m_to_ft(end.altitude_change))
        assert rad_to_deg(eight.fact(f"heading_left_{part}")) == pytest.approx(0.0, abs=0.02)


def test_nose_and_bank_always_move_one_way_within_a_leg(eight):
    ways = {"rise": (1, 1), "top": (1, -1), "fall": (-1, -1), "return": (-1, 1)}
    for leg in (leg for leg in eight.legs if leg.part == 1):
        # But for the first and last interval, in which bank or nose turn round.
        edge = (leg.end - leg.start) / 8.0 + 0.1
        inside = (eight.time > leg.start + edge) & (eight.time < leg.end - edge) & (eight["part"] == 1.0)
        roll, nose = ways[leg.name]
        assert (roll * eight["roll_rate"][inside]).min() > 0.004 * 30.0 * DEGREE * 0.95
        assert (nose * eight["pitch_rate"][inside]).min() > LEAST_PITCH_SLOPE * DEGREE * 0.95


def test_halves_join_with_one_roll_rate(eight):
    # Into the first half's turn the bank comes off as fast as it goes on into the second's.
    off = half_of(eight, 1, "roll_rate")[-1]
    on = half_of(eight, 2, "roll_rate")[0]
    assert on == pytest.approx(-off, rel=0.02)
    assert on == pytest.approx(half_of(eight, 1, "roll_rate")[0], rel=0.02)
    assert eight.fact("roll_rate_at_180") == pytest.approx(on, rel=0.02)
    nose = half_of(eight, 2, "pitch_rate")[0], half_of(eight, 1, "pitch_rate")[-1]
    assert nose[0] == pytest.approx(nose[1], abs=0.05 * DEGREE)


def test_left_is_the_mirror_of_right(eight):
    left = solve("lazy_eight", sheet=SHEET, entry_altitude=ft_to_m(3500.0), direction="left")
    for name in ("bank_into_turn", "pitch", "true_airspeed", "altitude_change", "heading_change"):
        np.testing.assert_allclose(left[name], eight[name], atol=1e-7)
    np.testing.assert_allclose(left["heading_true"], -eight["heading_true"], atol=1e-7)
    np.testing.assert_allclose(left["air_east"], -eight["air_east"], atol=1e-4)


def test_the_slowest_point_has_the_margin_asked_for():
    for margin in (6.0, 15.0):
        reference = solve("lazy_eight", sheet=SHEET, top_margin=kt_to_mps(margin))
        least = min(
            mps_to_kt(v - SHEET.stall_speed * np.sqrt(SHEET.mass and n))
            for v, n in zip(
                half_of(reference, 1, "calibrated_airspeed"),
                half_of(reference, 1, "load_factor"),
                strict=True,
            )
        )
        assert least == pytest.approx(margin, abs=0.3)
        assert mps_to_kt(reference.fact("least_margin")) == pytest.approx(margin, abs=0.2)


def test_the_nose_up_asked_for_is_flown():
    reference = solve("lazy_eight", sheet=SHEET, nose_up=9.0 * DEGREE, maximum_bank=40.0 * DEGREE)
    entry, at_45 = reference.point("entry"), reference.point("45")
    assert rad_to_deg(at_45.pitch - entry.pitch) == pytest.approx(9.0, abs=0.01)
    assert rad_to_deg(reference.point("90").bank_into_turn) == pytest.approx(40.0, abs=0.02)


def test_slowest_and_highest_come_before_90(eight):
    # A level nose at 90° with the angle of attack of slow flight is a descending path: the top lies before.
    assert 45.0 < rad_to_deg(eight.fact("heading_at_slowest")) < 85.0
    assert eight.fact("heading_at_slowest") < eight.fact("heading_at_highest") < np.pi / 2.0
    assert (
        half_of(eight, 1, "path_angle")[np.argmin(abs(half_of(eight, 1, "heading_change") - np.pi / 2))] < 0.0
    )


# --- Limits known in closed form --------------------------------------------------------------------------


def test_a_gentle_eight_goes_to_level_flight_in_proportion():
    # As nose-up goes to nothing so do the climb and what the throttle lies below that of level flight, both
    # in proportion: the equations are linear about level flight. At 15° of bank the turn's own drag adds tan²
    # of a mean bank of 7°, times the induced third of the drag: half a percent.
    small, double = (
        solve("lazy_eight", sheet=SHEET, nose_up=up * DEGREE, maximum_bank=15.0 * DEGREE) for up in (0.5, 1.0)
    )
    assert double.fact("top_height") / small.fact("top_height") == pytest.approx(2.0, rel=0.05)
    shares = [each.fact("throttle_below_level") / each.fact("level_throttle") for each in (small, double)]
    assert shares[1] - shares[0] == pytest.approx(shares[0] + 0.005, abs=0.005)
    assert shares[0] < 0.012


def test_the_shallow_turn_goes_as_the_formula_says():
    # Small path angles and a path that curves little: heading rate = g tan(bank) / V, over the half.
    gentle = solve("lazy_eight", sheet=SHEET, nose_up=2.0 * DEGREE, maximum_bank=15.0 * DEGREE)
    first = gentle["part"] == 1.0
    rate = STANDARD_GRAVITY * np.tan(gentle["bank_into_turn"][first]) / gentle["true_airspeed"][first]
    assert rad_to_deg(np.trapezoid(rate, gentle.time[first])) == pytest.approx(180.0, rel=0.01)


def test_energy_changes_by_thrust_less_drag_only(eight):
    # The rate of specific energy is V (T - D) / W; the sheet's own thrust and drag say what it must be.
    first = eight["part"] == 1.0
    situation = Situation(SHEET, eight.mass, eight.conditions, eight.entry_altitude)
    speed, load, throttle = (eight[name][first] for name in ("true_airspeed", "load_factor", "throttle"))
    density = situation.density(eight["height_change"][first])
    pull = SHEET.thrust(true_airspeed=speed, density=density, throttle=throttle)
    pull = pull - SHEET.drag(true_airspeed=speed, density=density, load_factor=load, mass=eight.mass)
    gained = np.trapezoid(speed * pull / (eight.mass * STANDARD_GRAVITY), eight.time[first])
    assert m_to_ft(gained) == pytest.approx(m_to_ft(eight["specific_energy"][first][-1]), abs=0.5)
    assert m_to_ft(gained) == pytest.approx(0.0, abs=0.5)


# --- Wind, altimeter, power as set ---------------------------------------------------------------------


def test_wind_moves_only_the_path_over_the_ground(eight):
    wind = Conditions(winds=(WindLevel(0.0, 0.0, 8.0),))  # from the north, the same at all heights
    blown = solve("lazy_eight", sheet=SHEET, entry_altitude=ft_to_m(3500.0), conditions=wind)
    np.testing.assert_allclose(blown["air_north"], eight["air_north"], atol=1e-6)
    np.testing.assert_allclose(blown["ground_north"], eight["air_north"] - 8.0 * eight.time, atol=1e-3)
    np.testing.assert_allclose(blown["ground_east"], eight["air_east"], atol=1e-6)


def test_on_a_warm_day_the_altimeter_shows_less_than_the_height():
    warm = solve("lazy_eight", sheet=SHEET, conditions=Conditions(isa_deviation=20.0))
    top = int(np.argmax(warm["height_change"]))
    # 20 K over a standard 283 K at 2,500 ft: heights are 7.1 % larger than what the altimeter shows.
    assert warm["height_change"][top] / warm["altitude_change"][top] == pytest.approx(1.071, abs=0.001)


def test_power_as_set_flies_the_same_schedule(eight):
    closing = eight.fact("closing_throttle")
    kwargs = {"sheet": SHEET, "entry_altitude": ft_to_m(3500.0)}
    same = solve("lazy_eight", throttle=closing, **kwargs)
    assert m_to_ft(same.fact("altitude_left_1")) == pytest.approx(0.0, abs=0.05)
    more = solve("lazy_eight", throttle=closing + 0.05, **kwargs)
    np.testing.assert_allclose(more["bank_into_turn"], eight["bank_into_turn"], atol=1e-6)
    np.testing.assert_allclose(more["pitch"], eight["pitch"], atol=1e-6)
    assert m_to_ft(more.fact("altitude_left_1")) > 10.0
    assert more.fact("airspeed_left_1") > 0.0
    assert more.fact("altitude_left_2") > more.fact("altitude_left_1")
    # Faster, the same bank turns less.
    assert more.fact("heading_left_1") < 0.0
    assert more.fact("closing_throttle") == pytest.approx(closing)


def test_starting_from_a_neighbor_finds_the_same_eight(eight):
    kwargs = {"sheet": SHEET, "entry_altitude": ft_to_m(5000.0), "maximum_bank": 33.0 * DEGREE}
    cold, warm = solve("lazy_eight", **kwargs), solve("lazy_eight", start_from=eight, **kwargs)
    assert warm.fact("closing_throttle") == pytest.approx(cold.fact("closing_throttle"), abs=2e-5)
    assert warm.fact("top_height") == pytest.approx(cold.fact("top_height"), abs=0.05)


# --- What cannot be flown --------------------------------------------------------------------------------


def test_a_leg_on_its_bound_is_no_solution():
    situation = Situation(SHEET, SHEET.mass, Conditions(), 1000.0)
    task = Task(situation, kt_to_mps(100.0), 30.0 * DEGREE, 10.0 * DEGREE, kt_to_mps(5.0))
    free = solve_half(task)
    assert free.solved
    assert free.durations.min() > SHORTEST
    # Halfway to the longest leg: the optimum presses against the bound, and that is reported as no solution.
    pressed = solve_half(replace(task, longest=0.5 * float(free.durations.max())))
    assert not pressed.solved


def test_time_is_named_when_it_is_what_lacks():
    situation = Situation(SHEET, SHEET.mass, Conditions(), 1000.0)
    task = Task(situation, kt_to_mps(100.0), 30.0 * DEGREE, 10.0 * DEGREE, kt_to_mps(5.0), longest=8.0)
    error = refusal(task, solve_half(task))
    assert error.constraint == "time"
    assert "a leg would take" in str(error)


def test_a_margin_that_cannot_be_had_says_which_can():
    with pytest.raises(CannotBeFlown, match="over the stall") as caught:
        solve("lazy_eight", sheet=SHEET, top_margin=kt_to_mps(49.0))
    remedy = caught.value.remedies["top_margin"]
    assert remedy < kt_to_mps(49.0)
    assert f"{mps_to_kt(remedy):.0f} kt" in str(caught.value)
    solved = solve("lazy_eight", sheet=SHEET, top_margin=remedy)
    assert solved.fact("least_margin") == pytest.approx(remedy, abs=kt_to_mps(0.3))


def test_too_little_power_says_which_mass_and_altitude_would_do():
    small = load_sheet("two-seat-100")
    kwargs = {"sheet": small, "entry_speed": small.maneuvering_speed, "maximum_bank": 45.0 * DEGREE}
    with pytest.raises(CannotBeFlown, match="of full throttle") as caught:
        solve("lazy_eight", entry_altitude=4000.0, **kwargs)
    assert caught.value.constraint == "power"
    assert {"mass", "entry_altitude"} <= caught.value.remedies.keys()
    assert solve("lazy_eight", entry_altitude=caught.value.remedies["entry_altitude"], **kwargs)
    lighter = solve("lazy_eight", entry_altitude=4000.0, mass=caught.value.remedies["mass"], **kwargs)
    assert lighter.fact("throttle") <= 1.0 + 1e-6


@pytest.mark.parametrize(
    ("settings", "phrase"),
    [
        ({"maximum_bank": 30.0}, "15 to 60 degrees"),
        ({"nose_up": 10.0}, "in degrees"),
        ({"throttle": 70.0}, "0.7, not 70"),
        ({"nose_up": 0.1, "top_margin": 5.0}, "each decides the other"),
        ({"top_margin": -1.0}, "above zero"),
    ],
)
def test_what_can_only_be_a_slip_is_refused(settings, phrase):
    with pytest.raises(OutsideModel, match=phrase):
        solve("lazy_eight", sheet=SHEET, **settings)


def test_unknown_names_list_the_known():
    with pytest.raises(UnknownName, match="maximum_bank"):
        solve("lazy_eight", sheet=SHEET, steepness=1.0)
    with pytest.raises(UnknownName, match="chandelle"):
        solve("barrel_roll", sheet=SHEET)
    with pytest.raises(OutsideModel, match="in pounds"):
        solve("lazy_eight", sheet=SHEET, mass=60.0)


def test_a_twin_is_refused_with_the_reason():
    with pytest.raises(Exception, match="single-engine"):
        solve("lazy_eight", sheet=load_sheet("light-twin"))
