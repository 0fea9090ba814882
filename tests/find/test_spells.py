"""Maneuvers that go by time, on flights drawn by hand: what was flown is known, and what was not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.find.fake_estimator import motion
from tests.find.kinematics import truth_table

from chalkwing.find import Occurrence, find
from chalkwing.find.borders import instants
from chalkwing.find.finder import explain, flight_seen
from chalkwing.find.scales import scales
from chalkwing.find.spells import to_one_side
from chalkwing.maneuvers import definitions
from chalkwing.trunk import reconstructions
from chalkwing.units import DEGREE, FOOT_PER_MINUTE, KNOT, Floats

KINDS = ("slow_flight", "power_off_stall", "power_on_stall", "accelerated_stall", "emergency_descent")
INTERVAL = 0.25
Knots = list[tuple[float, float, float, float]]

CRUISE: Knots = [(0, 100, 0, 1), (600, 100, 0, 1)]
SLOW: Knots = [(620, 60, 0, 5), (740, 60, 0, 5), (765, 100, 0, 1), (1000, 100, 0, 1)]
WANDERING: Knots = [
    (620, 60, 0, 5), (720, 60, 0, 5), (732, 76, 0, 3), (744, 76, 0, 3), (756, 60, 0, 5), (840, 60, 0, 5),
    (865, 100, 0, 1), (1000, 100, 0, 1),
]  # fmt: skip
STALL: Knots = [
    (640, 52, -150, 12), (643, 52, -900, -4), (648, 72, -1500, -6), (652, 80, 0, 5),
    (670, 100, 0, 1), (1000, 100, 0, 1),
]  # fmt: skip
POWER_ON: Knots = [
    (622, 62, 0, 5), (624, 61, 500, 9), (638, 52, 500, 17), (641, 53, -500, -4), (646, 72, -1200, -6),
    (650, 80, 0, 5), (670, 100, 0, 1), (1000, 100, 0, 1),
]  # fmt: skip
HANGING: Knots = [
    (640, 52, -150, 12), (643, 52, -900, -4), (648, 57, -1500, -6), (652, 57, 0, 9), (667, 57, 0, 9),
    (690, 100, 0, 1), (1000, 100, 0, 1),
]  # fmt: skip
BREAKING: Knots = [
    (620, 60, 0, 5), (690, 60, 0, 5), (698, 53, 0, 11), (701, 53, -700, -3), (705, 59, -900, -3),
    (709, 61, 0, 5), (790, 61, 0, 5), (815, 100, 0, 1), (1000, 100, 0, 1),
]  # fmt: skip
SHORT: Knots = [(620, 60, 0, 5), (640, 60, 0, 5), (665, 100, 0, 1), (1000, 100, 0, 1)]
MUSHING: Knots = [
    (640, 52, -150, 12), (643, 52, -900, -4), (648, 72, -1500, -6), (653, 80, -180, 5),
    (670, 100, -170, 1), (1000, 100, -170, 1),
]  # fmt: skip
DIVING_OUT: Knots = [
    (640, 52, -150, 12), (643, 52, -900, -4), (648, 72, -1500, -6), (651, 78, -300, 0), (653, 80, -300, -4),
    (658, 110, -3000, -13), (700, 125, -3000, -13), (706, 110, 0, 1), (720, 100, 0, 1), (1000, 100, 0, 1)
]  # fmt: skip
DESCENT: Knots = [
    (606, 110, -3000, -13), (650, 125, -3000, -13), (656, 110, 0, 1), (670, 100, 0, 1), (1000, 100, 0, 1)
]  # fmt: skip
LANDING: Knots = [
    (630, 75, -500, 0), (760, 65, -500, 0), (766, 56, -60, 8), (772, 40, 0, 2), (790, 5, 0, 0), (900, 5, 0, 0)
]  # fmt: skip
PATTERN: Knots = [(620, 78, 0, 3), (700, 78, 0, 3), (720, 100, 0, 1), (1000, 100, 0, 1)]


def flown(after: Knots) -> dict[str, Floats]:
    """A straight flight through knots of (time s, airspeed kt, vertical speed ft/min, pitch deg)."""
    time, speed, climb, pitch = np.array(CRUISE + after).T
    grid = np.arange(0.0, time[-1], INTERVAL)
    airspeed, vertical, nose = (np.interp(grid, time, each) for each in (speed, climb, pitch))
    still = np.zeros(len(grid))
    table = truth_table(
        time=grid,
        bank=still,
        pitch=nose * DEGREE,
        heading=still,
        altitude=1500.0 + np.cumsum(vertical * FOOT_PER_MINUTE) * INTERVAL,
        speed=airspeed * KNOT,
    )
    table["load_factor"] = 1.0 + np.gradient(vertical * FOOT_PER_MINUTE, grid) / 9.80665
    return table


def found(after: Knots) -> tuple[Occurrence, ...]:
    return find(motion(flown(after)), [definitions()[kind] for kind in KINDS])


def test_a_slow_spell_lies_where_the_airspeed_is_held() -> None:
    (one,) = found(SLOW)
    assert (one.kind, one.status) == ("slow_flight", "complete")
    assert (one.start, one.end) == (pytest.approx(619, abs=2), pytest.approx(742, abs=2))
    assert [border.event for border in one.borders] == ["slowed", "ends"]


def test_a_stall_begins_with_the_throttle_and_ends_with_the_sinking() -> None:
    (one,) = found(STALL)
    assert one.kind == "power_off_stall"
    times = {border.event: border.time for border in one.borders}
    assert times["throttle_closed"] == pytest.approx(600, abs=2)
    assert times["breaks"] == pytest.approx(641, abs=2.5)
    assert times["lowest"] == pytest.approx(652, abs=2)
    assert all(border.sd > 0.0 for border in one.borders)


def test_power_before_the_break_makes_it_a_power_on_stall() -> None:
    (one,) = found(POWER_ON)
    assert one.kind == "power_on_stall"
    times = {border.event: border.time for border in one.borders}
    assert times["throttle_opened"] == pytest.approx(623, abs=3)
    assert times["breaks"] == pytest.approx(639, abs=2.5)


def test_a_recovery_into_a_gentle_descent_ends_where_the_plunge_does() -> None:
    # From 653 s on it sinks at some 175 ft/min: that is a descent and no part of the stall.
    (one,) = found(MUSHING)
    assert one.kind == "power_off_stall"
    assert one.end == pytest.approx(652, abs=2)


@pytest.mark.parametrize(("after", "finished"), [(STALL, True), (HANGING, False)], ids=["flown out", "hangs"])
def test_a_stall_that_is_not_flown_out_of_is_not_finished(after: Knots, finished: bool) -> None:
    # The same break and plunge; one is fast again, the other stays where slow flight is flown.
    known = definitions()["power_off_stall"]
    explained = explain(known, flight_seen(motion(flown(after)), [known]))
    assert explained is not None
    best = int(np.argmax(explained.weights))
    assert bool(explained.broken[best]) is not finished
    assert explained.occurrence(best).status == ("complete" if finished else "broken_off")


def test_slow_flight_with_a_break_in_it_is_slow_flight() -> None:
    # A student who lets it break and never leaves the slow speeds has flown no stall to its end.
    (one,) = found(BREAKING)
    assert (one.kind, one.status) == ("slow_flight", "complete")


def test_a_short_change_of_speed_is_no_slow_flight() -> None:
    assert found(SHORT) == ()


def test_the_same_flying_close_to_its_own_runway_is_no_slow_flight() -> None:
    table = flown(SLOW)
    high = find(motion(rolled_off(table, 900.0)), [definitions()["slow_flight"]])
    low = find(motion(rolled_off(table, 60.0)), [definitions()["slow_flight"]])
    assert [one.kind for one in high] == ["slow_flight"]
    assert low == ()


def rolled_off(table: dict[str, Floats], height: float) -> dict[str, Floats]:
    """The flight with a takeoff before it, from a runway ``height`` [m] below where it begins."""
    changed = {name: values.copy() for name, values in table.items()}
    rolls, climbs = table["time"] < 25.0, (table["time"] >= 25.0) & (table["time"] < 250.0)
    share = np.clip((table["time"] - 25.0) / 225.0, 0.0, 1.0)
    changed["altitude"] = table["altitude"] - height * (1.0 - share)
    for name in ("calibrated_airspeed", "true_airspeed"):
        changed[name] = np.where(rolls, 10.0 + 1.2 * table["time"], np.where(climbs, 40.0, table[name]))
    return changed


def test_a_steep_fast_descent_is_an_emergency_descent() -> None:
    table = flown(DESCENT)
    table["bank"] = np.interp(table["time"], [602, 606, 646, 650], [0, 35 * DEGREE, 35 * DEGREE, 0])
    table["heading_true"] = np.interp(table["time"], [602, 650], [0.0, 280 * DEGREE])
    (one,) = find(motion(table), [definitions()[kind] for kind in KINDS])
    assert one.kind == "emergency_descent"
    assert (one.start, one.end) == (pytest.approx(601, abs=2), pytest.approx(655, abs=2))


def test_a_descent_may_begin_in_the_recovery_from_a_stall() -> None:
    flight = flight_seen(motion(flown(DIVING_OUT)), [definitions()["emergency_descent"]])
    begins = instants("descent_starts", flight).time
    assert begins == pytest.approx([641, 653], abs=2)
    assert instants("levels_off", flight).time == pytest.approx([705], abs=2)


@pytest.mark.parametrize("ordinary", [LANDING, PATTERN], ids=["landing", "downwind at 0.78 of cruise"])
def test_landing_and_pattern_are_none(ordinary: Knots) -> None:
    assert found(ordinary) == ()


def test_a_flight_that_never_was_slow_does_not_call_its_slowest_cruise_slow() -> None:
    speed = np.full(8000, 100.0 * KNOT)
    speed[4000:5000] = 80.0 * KNOT
    own = scales(speed, np.full(8000, KNOT), np.ones(8000), INTERVAL, flying=np.ones(8000, dtype=np.bool_))
    assert own.slow < 60.0 * KNOT


def test_a_school_adds_a_maneuver_that_goes_by_time_with_a_file(tmp_path: Path) -> None:
    # A glide alone is no more than a descent; in a lesson of stalls and slow flight it is one of them.
    (tmp_path / "glide.toml").write_text(GLIDE)
    glide: Knots = [(606, 70, -950, -5), (700, 70, -950, -5), (706, 80, 0, 3), (720, 100, 0, 1)]
    slow = [(time + 300, *rest) for time, *rest in SLOW]
    stall = [(time + 900, *rest) for time, *rest in STALL]
    table = flown([*glide, (900, 100, 0, 1), *slow, (1500, 100, 0, 1), *stall])  # type: ignore[list-item]
    known = definitions([tmp_path])
    one, *others = find(motion(table), [known[kind] for kind in (*KINDS, "practice_glide")])
    assert [each.kind for each in others] == ["slow_flight", "power_off_stall"]
    assert one.kind == "practice_glide"
    assert (one.start, one.end) == (pytest.approx(604, abs=3), pytest.approx(702, abs=3))


def test_the_real_stall_breaks_where_the_recorded_attitude_does(shared_data: Path) -> None:
    # Listed by hand: roll goes from -0.2 to -10.7 deg and pitch from 18.7 to 16.2 between 17.5 and 18.0 s.
    # Half a minute does not show what the airplane cruises at, so no stall is claimed; its break is seen.
    done = reconstructions(shared_data / "stall" / "deceleration_to_stall.csv.gz")
    seen = flight_seen(done.flights[0].motion, [definitions()[kind] for kind in KINDS])
    assert np.min(np.abs(instants("breaks", seen).time - 17.75)) < 1.5


GLIDE = """
schema = 1
kind = "practice_glide"
title = "Practice glide"
summary = "A glide at idle."
source = "the school"
progress = "time"
solver = "none"
[finder]
repeats = "single"
excludes = []
begins = "descent_starts"
shortest_s = 30
longest_s = 300
[[leg]]
name = "gliding"
title = "Gliding"
until = "levels_off"
duration_s = [30, 90, 300]
trend = [{ quantity = "airspeed_kt", goes = "steady", at_most_per_s = 0.2 }]
mean = [
  { quantity = "path_angle_deg", low = -10, high = -6 },
  { quantity = "specific_energy_rate_ft_per_min", low = -1500, high = -700 },
  { quantity = "airspeed_over_slow_percent", low = 110, high = 150 },
]
[[point]]
name = "entry"
title = "Entry"
where = "turn_starts"
[[point]]
name = "end"
title = "End"
where = "turn_stops"
"""


def test_slow_flight_whose_speed_wanders_is_one_and_not_two() -> None:
    (one,) = [each for each in found(WANDERING) if each.kind == "slow_flight"]
    assert one.start < 640
    assert one.end > 820


def test_a_maneuver_flown_banked_is_none_with_level_wings() -> None:
    legs = {kind: [leg for leg in definitions()[kind].legs if leg.outside == "no"] for kind in KINDS}
    assert {kind for kind in KINDS if to_one_side(legs[kind])} == {"accelerated_stall"}
