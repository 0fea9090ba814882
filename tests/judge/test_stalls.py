"""Stalls of known truth: where the wing lets go, what the recovery costs, what is published."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.judge.spells import BREAK, SETTLE, STALL_SPEED, fly_stall, stall
from tests.judge.synthetic import Error, Flight

from chalkwing.judge import Assigned, ElementResult, Judgement, judge
from chalkwing.judge.spells import BREAK_DOUBT
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, FOOT, KNOT, Floats

PANEL = {
    "load_factor": Error(0.01, 0.02, 2.0),
    "pitch": Error(0.5 * DEGREE, 0.3 * DEGREE, 2.0),
    "bank": Error(0.5 * DEGREE, 0.3 * DEGREE, 2.0),
    "vertical_speed": Error(0.0, 0.2, 3.0),
    "altitude": Error(5.0, 1.0, 10.0),
    "calibrated_airspeed": Error(1.0 * KNOT, 0.3 * KNOT, 5.0),
}


def judged(flight: Flight, *, level_of: str = "commercial", **keywords: object) -> Judgement:
    kind = flight.occurrence.kind
    return judge(flight.motion, flight.occurrence, definition(kind), standard(level_of), **keywords)  # type: ignore[arg-type]


def value(found: Judgement, id_: str) -> float:
    result = found.element(id_).value
    assert result is not None, id_
    return result


def time_of(found: Judgement, point: str) -> float:
    return next(each.time.value for each in found.points if each.name == point) - SETTLE


@pytest.mark.parametrize("border_error", [-3.0, 0.0, 3.0])
def test_the_break_is_found_from_the_flying_wherever_the_finder_put_its_border(border_error: float) -> None:
    found = judged(fly_stall(stall(), border_error=border_error))
    # The doubt is common to all draws' mean: 200 draws leave a tenth of it. The fall takes half a second.
    assert time_of(found, "break") == pytest.approx(BREAK, abs=0.4)
    sd = next(each.time.sd for each in found.points if each.name == "break")
    assert sd == pytest.approx(BREAK_DOUBT, rel=0.25)


def test_the_break_is_found_under_a_panels_errors() -> None:
    for seed in range(6):
        found = judged(fly_stall(stall(), errors=PANEL, seed=seed, border_error=1.5))
        assert time_of(found, "break") == pytest.approx(BREAK, abs=2.0 * BREAK_DOUBT)


def test_height_lost_and_the_times_of_the_recovery() -> None:
    one = stall()
    found = judged(fly_stall(one))
    # The break's doubt of 0.8 s at 0.3 g of sink is a few feet.
    assert value(found, "height_lost") == pytest.approx(one.height_lost / FOOT, abs=5.0)
    assert time_of(found, "lowest") == pytest.approx(one.lowest, abs=0.3)
    assert value(found, "time_to_climb") == pytest.approx(one.lowest - BREAK, abs=1.0)
    assert time_of(found, "recovered") == pytest.approx(one.lowest, abs=0.7)
    assert value(found, "load_factor_least") == pytest.approx(0.6, abs=0.02)
    assert value(found, "load_factor_most") == pytest.approx(1.3, abs=0.02)
    assert value(found, "deceleration") == pytest.approx(-1.0, abs=0.1)


@pytest.mark.parametrize("drop", [-46.0, 46.0])
def test_a_wing_drop_has_the_sign_of_its_side_and_delays_the_recovery(drop: float) -> None:
    found = judged(fly_stall(stall(wing_drop=drop)))
    # Draws that place the break two sd late miss the roll that had gone by 1.5 s before it.
    assert value(found, "wing_drop") == pytest.approx(drop, abs=1.0)
    assert np.sign(value(found, "wing_drop")) == np.sign(drop)
    assert value(found, "time_to_level") > 2.0


def test_rolling_level_from_a_turn_is_no_wing_drop() -> None:
    found = judged(fly_stall(stall(bank=20.0, load=1.0 / np.cos(20.0 * DEGREE))))
    assert value(found, "wing_drop") == pytest.approx(0.0, abs=0.5)
    assert value(found, "bank_at_break") == pytest.approx(20.0, abs=0.5)


def turning(bank_error: float, kind: str) -> Flight:
    """A stall in a turn of 18° whose bank comes to be wrong by so much [deg] for the last eight seconds."""
    one = stall(bank=18.0, load=1.0 / np.cos(18.0 * DEGREE))
    t = np.arange(len(one.path.bank)) * 0.25
    late = np.clip((t - BREAK + 8.0) / 1.5, 0.0, 1.0) * np.clip((BREAK + 3.0 - t) / 1.5, 0.0, 1.0)
    bank = one.path.bank + bank_error * DEGREE * late
    return fly_stall(replace(one, path=replace(one.path, bank=bank)), kind=kind)


def test_bank_is_held_to_5_degrees_power_off_and_to_10_power_on() -> None:
    # FAA-S-ACS-7B, CA.VII.B against CA.VII.C, as restated in the reference: the first of the two traps.
    off, on = (judged(turning(8.0, kind)).element("bank") for kind in ("power_off_stall", "power_on_stall"))
    assert (off.limit, off.verdict, off.task) == ((-5.0, 5.0), "not_met", "CA.VII.B")
    assert (on.limit, on.verdict, on.task) == ((-10.0, 10.0), "met", "CA.VII.C")
    private = judged(turning(8.0, "power_off_stall"), level_of="private").element("bank")
    assert (private.limit, private.verdict) == ((-10.0, 10.0), "met")


def test_a_straight_stall_holds_a_heading_and_a_turning_one_a_bank() -> None:
    straight = judged(fly_stall(stall()))
    assert straight.element("heading").verdict == "met"
    assert straight.element("bank").limit is None
    assert straight.element("bank").verdict is None
    turned = judged(turning(0.0, "power_off_stall"))
    assert turned.element("bank").verdict == "met"
    assert turned.element("heading").limit is None
    assert "no heading to hold" in (turned.element("heading").reason or "")


def test_the_floor_of_a_single_is_not_that_of_a_twin() -> None:
    found = judged(fly_stall(stall()))
    ids = {each.id for each in found.elements}
    assert "floor_agl" in ids
    assert "floor_agl_multi" not in ids
    # Without terrain a height above ground is no element at all.
    assert found.element("floor_agl").verdict is None


def test_an_accelerated_stall_has_no_limit_on_altitude_heading_or_bank() -> None:
    # FAA-S-ACS-7B, CA.VII.D publishes the bank to be flown, 45°, and a floor; no tolerance.
    found = judged(fly_stall(stall(bank=45.0, load=1.41), kind="accelerated_stall"), assigned=Assigned())
    assert {each.id for each in found.elements} == {"floor_agl"}
    assert all(each.verdict is None for each in found.elements + found.facts)
    assert found.element("bank_target").note is not None


def secondary(again: bool) -> ElementResult:
    one = stall(again=again)
    if again:  # the airplane stays slow, so that the pull can bring the wing back to where it let go
        slow = np.where(np.arange(len(one.path.speed)) * 0.25 > BREAK, STALL_SPEED * 1.08, one.path.speed)
        one = replace(one, path=replace(one.path, speed=slow))
    return judged(fly_stall(one)).element("secondary_stall")


def test_a_second_letting_go_is_told_and_a_clean_recovery_is_not_called_one() -> None:
    assert secondary(again=False).value == 0.0
    assert secondary(again=True).value == 1.0


def engine(rise: float) -> Flight:
    time = np.arange(0.0, 100.0, 1.0)
    lever: Floats = 0.1 + rise * (time > SETTLE + BREAK + 3.0)
    return fly_stall(stall(), samples={"throttle": (time, lever)})


def test_power_added_is_told_with_its_place_in_the_order_of_the_recovery() -> None:
    added = judged(engine(0.8)).element("power_added")
    assert added.value == 1.0
    assert "after the unloading" in (added.reason or "")
    assert judged(engine(0.0)).element("power_added").value == 0.0
    none = judged(fly_stall(stall())).element("power_added")
    assert none.value is None
    assert "recorded" in (none.reason or "")


def test_a_recorded_warning_is_told_and_an_unrecorded_one_is_not_in_the_data() -> None:
    time = np.arange(0.0, 100.0, 1.0)
    sounding: Floats = ((time > SETTLE + BREAK - 4.0) & (time < SETTLE + BREAK + 2.0)).astype(float)
    heard = judged(fly_stall(stall(), samples={"stall_warning": (time, sounding)})).element("stall_warning")
    assert heard.value == 1.0
    assert "before the break" in (heard.reason or "")
    assert judged(fly_stall(stall())).element("stall_warning").value is None


def test_beyond_30_of_pitch_the_figure_is_named() -> None:
    found = judged(fly_stall(stall(pitch=33.0), kind="power_on_stall")).element("pitch_peak")
    assert "91.307(c)" in (found.reason or "")
    assert judged(fly_stall(stall(), kind="power_on_stall")).element("pitch_peak").reason is None


def test_power_of_a_power_on_stall_is_held_to_65_percent_where_it_was_recorded() -> None:
    # FAA-S-ACS-7B, CA.VII.C: at least 65 %.
    count = len(fly_stall(stall()).motion.time)

    def power(share: float) -> ElementResult:
        flight = fly_stall(stall(), kind="power_on_stall", extra={"power": np.full(count, share)})
        return judged(flight).element("min_power")

    assert (power(0.6).verdict, power(0.7).verdict) == ("not_met", "met")
    assert power(0.7).limit == (65.0, None)
    unknown = judged(fly_stall(stall(), kind="power_on_stall")).element("min_power")
    assert (unknown.verdict, unknown.reason) == ("cannot_tell", "no power recorded")


def test_a_stall_that_is_turning_when_it_breaks_is_held_to_its_bank_alone() -> None:
    # Twelve seconds straight, then a turn of 18° rolled into.
    one = stall(load=1.0 / np.cos(18.0 * DEGREE))
    t = np.arange(len(one.path.bank)) * 0.25
    rolled = np.clip((t - 12.0) / 2.0, 0.0, 1.0) * np.clip((BREAK + 4.0 - t) / 2.0, 0.0, 1.0)
    found = judged(fly_stall(replace(one, path=replace(one.path, bank=18.0 * DEGREE * rolled))))
    assert found.element("bank").verdict == "met"
    assert found.element("heading").verdict is None
    assert found.element("heading").limit is None
