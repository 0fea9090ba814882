"""Slow flight and the emergency descent: stretches, one-sided bands, what cannot be told unassigned."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.judge.spells import spell
from tests.judge.synthetic import INTERVAL, Flight, Path, smooth, turn_rate

from chalkwing.find.occurrence import Border
from chalkwing.judge import Assigned, ElementResult, Judgement, judge
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT, Floats

ALTITUDE = 3000.0 * FOOT
SLOW = 50.0 * KNOT


def judged(flight: Flight, *, level_of: str = "commercial", **assigned: float) -> Judgement:
    kind = flight.occurrence.kind
    return judge(
        flight.motion, flight.occurrence, definition(kind), standard(level_of), assigned=Assigned(**assigned)
    )


def pulse(t: Floats, start: float, end: float, ramp: float = 2.0) -> Floats:
    """One from ``start`` to ``end`` [s], nothing outside."""
    return np.asarray(smooth((t - start) / ramp) * smooth((end - t) / ramp))


def slow(
    *, seconds: float = 150.0, faster: float = 0.0, slower: float = 0.0, bank_error: float = 0.0,
    altitude: float = 0.0, heading: float = 0.0, climb: bool = False,
) -> Flight:  # fmt: skip
    """Straight, a right turn from 40 to 70 s at 12°, straight, a left turn from 100 to 120 s.

    ``faster`` and ``slower`` [kt] from 10 to 30 s, ``altitude`` [ft] off from 75 to 95 s, ``heading`` [deg]
    off and back from 74 to 98 s, ``bank_error`` [deg] from 50 to 62 s; ``climb`` of 400 ft from 75 to 95 s.
    """
    t = np.arange(0.0, seconds, INTERVAL)
    off = pulse(t, 10.0, 30.0)
    speed = SLOW + KNOT * (faster - slower) * off
    bank = 12.0 * pulse(t, 40.0, 70.0, 3.0) - 12.0 * pulse(t, 100.0, 120.0, 3.0)
    bank = bank + bank_error * pulse(t, 50.0, 62.0)
    # A little bank for ten seconds turns the nose, the same the other way brings it back.
    rate = float(turn_rate(Path(np.array([2.0 * DEGREE]), np.array([SLOW]), t[:1], t[:1]))[0]) / DEGREE
    bank = bank + 2.0 * heading / (10.0 * rate) * (pulse(t, 74.0, 86.0) - pulse(t, 86.0, 98.0))
    height = ALTITUDE + FOOT * altitude * pulse(t, 75.0, 95.0, 4.0)
    if climb:
        height = height + FOOT * 400.0 * smooth((t - 75.0) / 45.0)
    path = Path(bank * DEGREE, speed, height, np.full(len(t), 8.0 * DEGREE))
    return spell(path, kind="slow_flight", borders=(Border("slowed", 0.5, 0.5), Border("ends", seconds, 0.5)))


def airspeed(level_of: str, **keywords: float) -> ElementResult:
    return judged(slow(**keywords), level_of=level_of, airspeed=SLOW).element("airspeed")


def test_the_airspeed_band_of_slow_flight_is_one_sided() -> None:
    # FAA-S-ACS-7B, CA.VII.A: +5/-0 kt; FAA-S-ACS-6C, PA.VII.A: +10/-0 kt: the second of the two traps.
    assert airspeed("commercial").limit == (0.0, 5.0)
    assert airspeed("private").limit == (0.0, 10.0)
    assert airspeed("commercial", faster=4.0).verdict == "met"
    assert airspeed("commercial", slower=4.0).verdict == "not_met"
    assert airspeed("commercial", faster=8.0).verdict == "not_met"
    assert airspeed("private", faster=8.0).verdict == "met"
    assert airspeed("private", slower=8.0).verdict == "not_met"


def test_without_an_assigned_airspeed_there_is_no_verdict_unless_none_at_all_would_do() -> None:
    steady = judged(slow(faster=3.0)).element("airspeed")
    assert (steady.verdict, steady.value) == ("cannot_tell", None)
    assert "no airspeed was assigned" in (steady.reason or "")
    wild = judged(slow(faster=14.0)).element("airspeed")
    assert wild.verdict == "not_met"
    assert "whatever airspeed was assigned" in (wild.reason or "")


def test_altitude_heading_and_bank_are_held_where_they_were_meant_to_be() -> None:
    good = judged(slow(), airspeed=SLOW)
    assert [good.element(id_).verdict for id_ in ("altitude", "heading", "airspeed", "bank")] == ["met"] * 4
    assert judged(slow(altitude=90.0)).element("altitude").verdict == "not_met"
    assert judged(slow(altitude=90.0), level_of="private").element("altitude").verdict == "met"
    assert judged(slow(heading=14.0)).element("heading").verdict == "not_met"
    assert judged(slow(bank_error=9.0)).element("bank").verdict == "not_met"
    # FAA-S-ACS-7B holds the bank to 5°, FAA-S-ACS-6C to 10°.
    assert judged(slow(bank_error=9.0), level_of="private").element("bank").verdict == "met"


def test_turning_is_no_heading_lost_and_a_climb_no_altitude_lost() -> None:
    found = judged(slow(climb=True))
    assert found.element("heading").verdict == "met"
    assert found.element("altitude").verdict == "met"
    assert found.element("altitude").note is not None


def test_what_was_assigned_takes_the_place_of_what_was_flown() -> None:
    high = judged(slow(), altitude=ALTITUDE - 80.0 * FOOT).element("altitude")
    assert high.value == pytest.approx(80.0, abs=1.0)
    assert (high.verdict, high.note) == ("not_met", None)


def test_slow_flight_bounds_the_stall_speed_from_above() -> None:
    found = judged(slow())
    assert found.break_speed is None
    assert found.slow_speed is not None
    # The slowest at 1 g is in the turns: 50 kt over the root of 1/cos 12°.
    assert found.slow_speed.value / KNOT == pytest.approx(50.0 * np.cos(12.0 * DEGREE) ** 0.5, abs=0.1)


def descent(*, bank: float = 38.0, faster: float = 0.0, slower: float = 0.0, short: float = 0.0) -> Flight:
    """Down for 60 s at 3,000 ft/min, banked from 3 to 40 s; level at 3,000 ft plus ``short`` [ft]."""
    t = np.arange(0.0, 75.0, INTERVAL)
    rate = -3000.0 * FOOT_PER_MINUTE * pulse(t, 0.0, 64.0, 4.0)
    height = np.cumsum(rate) * INTERVAL
    height += 3000.0 * FOOT + short * FOOT - height[-1]
    speed = 120.0 * KNOT + KNOT * (faster - slower) * pulse(t, 20.0, 40.0)
    path = Path(bank * DEGREE * pulse(t, 3.0, 40.0, 3.0), speed, height, -12.0 * DEGREE * pulse(t, 0.0, 64.0))
    borders = (Border("descent_starts", 1.0, 0.5), Border("levels_off", 62.0, 0.5))
    return spell(path, kind="emergency_descent", borders=borders)


def test_the_airspeed_of_an_emergency_descent_is_never_above_the_assigned_one() -> None:
    # FAA-S-ACS-7B, CA.IX.A: +0/-10 kt, one-sided.
    def at(**keywords: float) -> ElementResult:
        return judged(descent(**keywords), airspeed=121.0 * KNOT).element("airspeed")

    assert at().limit == (-10.0, 0.0)
    assert at().verdict == "met"
    assert at(slower=7.0).verdict == "met"
    assert at(faster=6.0).verdict == "not_met"
    assert at(slower=14.0).verdict == "not_met"
    assert judged(descent()).element("airspeed").verdict == "cannot_tell"


@pytest.mark.parametrize(
    ("bank", "least", "most"), [(22.0, "not_met", "met"), (38.0, "met", "met"), (52.0, "met", "not_met")]
)
def test_bank_in_an_emergency_descent_lies_between_30_and_45(bank: float, least: str, most: str) -> None:
    found = judged(descent(bank=bank))
    assert found.element("bank_min").limit == (30.0, None)
    assert found.element("bank_max").limit == (None, 45.0)
    assert (found.element("bank_min").verdict, found.element("bank_max").verdict) == (least, most)


@pytest.mark.parametrize(("short", "verdict"), [(60.0, "met"), (-60.0, "met"), (170.0, "not_met")])
def test_the_level_off_is_held_to_the_assigned_altitude_and_is_a_fact_without_one(
    short: float, verdict: str
) -> None:
    found = judged(descent(short=short), altitude=3000.0 * FOOT).element("level_off_altitude")
    assert found.limit == (-100.0, 100.0)
    assert found.value == pytest.approx(short, abs=25.0)
    assert found.verdict == verdict
    without = judged(descent(short=short)).element("level_off_altitude")
    assert (without.limit, without.verdict, without.value) == (None, None, None)
    assert "no altitude was assigned" in (without.reason or "")


def test_facts_of_a_descent() -> None:
    found = judged(descent())
    assert found.element("height_descended").value == pytest.approx(3000.0, abs=60.0)
    assert found.element("rate_of_descent").value == pytest.approx(-3000.0, abs=60.0)
    turned = found.element("heading_turned").value
    assert turned is not None
    assert abs(turned) > 90.0


def test_how_long_a_descent_took_is_known_no_better_than_its_rows_lie_apart() -> None:
    flight = descent()
    rows = np.diff(flight.motion.recording.time)
    took = judged(flight).element("time_descending")
    # Two instants, each anywhere between two rows: their difference has a row's length over root six.
    assert took.sd == pytest.approx(float(np.median(rows)) / np.sqrt(6.0), rel=0.3)


def test_the_doubt_of_an_edge_goes_into_what_is_measured_from_it() -> None:
    flight = slow(slower=3.0)
    sure, unsure = (
        replace(flight, occurrence=replace(flight.occurrence, start_sd=sd, end_sd=sd)) for sd in (0.2, 4.0)
    )
    small, large = (judged(each).element("time_held").sd for each in (sure, unsure))
    assert large > 3.0 * small


def test_the_stretches_that_limits_are_held_over_are_told_with_their_times():
    flight = slow()
    told = judged(flight).stretches
    turning = [each for each in told if each.during == "turning"]
    straight = [each for each in told if each.during == "straight"]
    began = flight.occurrence.start
    # From 40 to 70 s and from 100 to 120 s, rolled in and out within 3 s.
    for each, (start, end) in zip(turning, ((40.0, 70.0), (100.0, 120.0)), strict=True):
        assert each.start - began == pytest.approx(start, abs=4.0)
        assert each.end - began == pytest.approx(end, abs=4.0)
    assert len(straight) == 3
    assert all(one.end <= other.start for one, other in zip(straight, turning, strict=False))
    assert any(each.during == "level" and each.end - each.start > 100.0 for each in told)
