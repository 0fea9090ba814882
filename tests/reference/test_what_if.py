"""What-if rows against physics: signs, proportion, an own re-flight, and that nothing is solved anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import chalkwing.reference.half_turn as half_turn
from chalkwing.airplane import load_sheet
from chalkwing.errors import OutsideModel
from chalkwing.reference import Reference, Sensitivity, solve
from chalkwing.reference.closed import fly_closed
from chalkwing.reference.what_if import situation_of, what_if
from chalkwing.units import STANDARD_GRAVITY, deg_to_rad, ft_to_m, kt_to_mps, m_to_ft, mps_to_kt

SHEET = load_sheet("four-seat-160")
ROWS = (
    "entry_speed",
    "mass",
    "temperature",
    "wind",
    "wind_gradient",
    "throttle",
    "maximum_bank",
    "nose_up",
    "roll_timing",
)


@pytest.fixture(scope="module")
def eight() -> Reference:
    return solve("lazy_eight", sheet=SHEET, entry_altitude=ft_to_m(3500.0))


@pytest.fixture(scope="module")
def rows(eight) -> dict[str, Sensitivity]:
    return {row.changed: row for row in what_if(eight)}


def test_every_change_has_a_row(rows):
    assert tuple(rows) == ROWS
    assert all(row.effect is not None for row in rows.values())


def test_signs_are_those_of_physics(rows):
    # Less throttle ends low and slow; faster entry, higher top, less turned; heavier and hotter end low; a
    # higher nose climbs more and is slower at the top; more bank turns further.
    assert rows["throttle"].effect.exit_altitude < 0.0 > rows["throttle"].effect.exit_airspeed
    assert rows["entry_speed"].effect.top_height > 0.0 > rows["entry_speed"].effect.exit_heading
    assert rows["mass"].effect.exit_altitude < 0.0
    assert rows["temperature"].effect.exit_altitude < 0.0
    assert rows["nose_up"].effect.top_height > 0.0 > rows["nose_up"].effect.top_speed
    assert rows["maximum_bank"].effect.exit_heading > deg_to_rad(5.0)


def test_a_steady_wind_moves_only_the_ground(rows, eight):
    effect = rows["wind"].effect
    np.testing.assert_allclose(effect[:5], 0.0, atol=1e-9)
    # 10 kt on the nose for the time of the half.
    drift = np.hypot(effect.ground_north, effect.ground_east)
    assert drift == pytest.approx(kt_to_mps(10.0) * eight.fact("time_of_half"), rel=1e-6)


def test_a_headwind_that_grows_helps_the_climb(rows):
    # Climbing into a rising headwind adds airspeed, for the air ahead is faster: energy from the gradient.
    assert rows["wind_gradient"].effect.top_height > 0.0


def test_lost_throttle_is_lost_energy(rows, eight):
    # Five points of throttle over the half: the work of the thrust missing, less what the lower speed saves
    # in drag; so between half of it and all of it.
    situation = situation_of(eight)
    speed = eight["true_airspeed"][eight["part"] == 1.0]
    throttle = eight.fact("closing_throttle")
    density = float(situation.density())
    missing = SHEET.thrust(true_airspeed=speed, density=density, throttle=throttle) - SHEET.thrust(
        true_airspeed=speed, density=density, throttle=throttle - 0.05
    )
    time = eight.time[eight["part"] == 1.0]
    work = np.trapezoid(missing * speed, time) / (eight.mass * STANDARD_GRAVITY)
    effect = rows["throttle"].effect
    lost = -effect.exit_altitude - effect.exit_airspeed * speed[-1] / STANDARD_GRAVITY
    assert 0.5 * work < lost < work


def test_effects_are_in_proportion(eight):
    # Twice the change, about twice the effect: what is told as a sensitivity is one.
    situation, closed = situation_of(eight), eight.schedule

    def exit_height(change: float) -> float:
        schedule = closed.schedule.with_more_throttle(change)
        part = fly_closed(situation, replace(closed, schedule=schedule), "right", turns=1)[0]
        return float(part.flown.end.height)

    one, two = exit_height(-0.025), exit_height(-0.05)
    assert two / one == pytest.approx(2.0, rel=0.1)
    assert m_to_ft(exit_height(0.0)) == pytest.approx(0.0, abs=0.05)


def test_nothing_is_solved_anew(eight, monkeypatch):
    def refuse(*_, **__):
        raise AssertionError("solved")

    monkeypatch.setattr(half_turn.program, "solver", refuse)
    assert len(what_if(eight)) == len(ROWS)


def test_left_and_right_agree(rows):
    left = solve("lazy_eight", sheet=SHEET, entry_altitude=ft_to_m(3500.0), direction="left")
    for row in what_if(left):
        np.testing.assert_allclose(row.effect[:5], rows[row.changed].effect[:5], atol=1e-4)


def test_pilot_units_name_theirs(rows):
    row = rows["throttle"].pilot_units()
    effect = rows["throttle"].effect
    assert row["exit_altitude_ft"] == pytest.approx(m_to_ft(effect.exit_altitude))
    assert row["top_speed_kt"] == pytest.approx(mps_to_kt(effect.top_speed))
    assert row["exit_heading_deg"] == pytest.approx(np.degrees(effect.exit_heading))
    assert row["title"] == "Throttle 5 points lower"


def test_a_change_that_stalls_is_told_and_not_left_out():
    # So slow at the top that a nose 2° higher asks more of the wing than it has.
    slow = solve("lazy_eight", sheet=SHEET, top_margin=kt_to_mps(0.3))
    row = next(row for row in what_if(slow) if row.changed == "nose_up")
    assert row.effect is None
    assert "more lift than the wing gives" in row.reason
    assert row.pilot_units()["exit_altitude_ft"] is None


def test_the_chandelle_has_a_table_too():
    rows = {row.changed: row for row in what_if(solve("chandelle", sheet=SHEET))}
    assert rows["throttle"].effect.exit_altitude < 0.0
    assert rows["nose_up"].effect.exit_airspeed < 0.0


def test_a_plan_without_schedule_is_refused():
    with pytest.raises(OutsideModel, match="no schedule"):
        what_if(solve("slow_flight", sheet=SHEET))
