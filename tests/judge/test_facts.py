"""Facts: clearing turns, throttle, chains, dwelling, reversals, symmetry; values without limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.judge.synthetic import (
    ENTRY_SPEED,
    Flight,
    Path,
    bump,
    chandelle,
    fly,
    half_eight,
    level,
    steep_turn,
)

from chalkwing.find.occurrence import Occurrence
from chalkwing.judge import Judgement, judge
from chalkwing.judge.facts import chain_start
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, FOOT, INCH_OF_MERCURY, KNOT, Floats

RPM = 2.0 * np.pi / 60.0


def judged(flight: Flight, earlier: tuple[Occurrence, ...] = ()) -> Judgement:
    kind = flight.occurrence.kind
    return judge(
        flight.motion, flight.occurrence, definition(kind), standard("commercial"), earlier=earlier, draws=4
    )


def value(flight: Flight, id_: str, half: int | None = 1) -> float:
    found = judged(flight).element(id_, half).value
    assert found is not None
    return found


def eight(first: Path | None = None, second: Path | None = None, **keywords: object) -> Flight:
    parts = [first or half_eight(), second or half_eight()]
    return fly(parts, kind="lazy_eight", **keywords)  # type: ignore[arg-type]


def turn(degrees: float) -> Path:
    path = steep_turn(bank=25.0, degrees=abs(degrees))
    return path if degrees > 0 else path.mirrored()


@pytest.mark.parametrize(
    ("turns", "seen"),
    [
        ((90.0, -90.0), 1.0),
        ((180.0,), 1.0),
        ((-90.0, 90.0), 1.0),
        ((90.0,), 0.0),
        ((40.0, -40.0), 0.0),
        ((), 0.0),
    ],
)
def test_two_nineties_or_a_180_beforehand_are_seen(turns: tuple[float, ...], seen: float) -> None:
    # Two 90s or one 180: common practice, no source.
    before = level(60.0)
    for degrees in turns:
        before = before.then(turn(degrees), level(5.0))
    fact = judged(eight(before=before)).element("clearing_turns")
    assert fact.value == seen
    assert fact.verdict is None
    assert fact.limit is None


def test_clearing_turns_long_ago_do_not_count() -> None:
    before = level(10.0).then(turn(180.0), level(125.0))
    assert judged(eight(before=before)).element("clearing_turns").value == 0.0


def test_another_maneuver_is_no_clearing_turn() -> None:
    before = level(10.0).then(turn(180.0), level(20.0))
    flight = eight(before=before)
    other = replace(flight.occurrence, kind="chandelle", start=9.0, end=flight.occurrence.start - 15.0)
    assert judged(flight).element("clearing_turns").value == 1.0
    assert judged(flight, (other,)).element("clearing_turns").value == 0.0


def engine(name: str, make: object) -> Flight:
    """An eight with one engine channel recorded at 1 Hz, made from airspeed and altitude."""
    plain = eight()
    time = np.arange(0.0, plain.motion.end, 1.0)
    speed = np.interp(time, plain.motion.time, plain.motion["airspeed"])
    altitude = np.interp(time, plain.motion.time, plain.motion["altitude"])
    return eight(samples={name: (time, make(time - plain.occurrence.start, speed, altitude))})  # type: ignore[operator]


def test_a_fixed_pitch_engines_swing_is_no_power_change() -> None:
    # 28 kt of airspeed at 6.5 rpm/kt: about 180 rpm, a fixed-pitch propeller's swing at constant throttle.
    def fixed(time: Floats, speed: Floats, altitude: Floats) -> Floats:
        return (2400.0 + 6.5 * (speed - ENTRY_SPEED) / KNOT) * RPM

    fact = judged(engine("engine_speed", fixed)).element("throttle_moved")
    assert fact.reason is not None
    assert fact.reason.startswith("constant")
    assert "swing of 18" in fact.reason
    assert fact.value == pytest.approx(0.0, abs=5.0)


def test_engine_speed_that_airspeed_does_not_explain_is_a_power_change() -> None:
    def moved(time: Floats, speed: Floats, altitude: Floats) -> Floats:
        return (2400.0 + 6.5 * (speed - ENTRY_SPEED) / KNOT - 300.0 * (time > 25.0)) * RPM

    fact = judged(engine("engine_speed", moved)).element("throttle_moved")
    assert fact.reason is not None
    assert fact.reason.startswith("moved")
    assert fact.unit == "rpm"


def test_manifold_pressure_is_freed_of_height() -> None:
    def constant(time: Floats, speed: Floats, altitude: Floats) -> Floats:
        return (24.0 - (altitude / FOOT - 3500.0) / 1000.0) * INCH_OF_MERCURY

    fact = judged(engine("manifold_pressure", constant)).element("throttle_moved")
    assert fact.value == pytest.approx(0.0, abs=0.02)
    assert fact.unit == "inHg"


@pytest.mark.parametrize(("step", "word"), [(0.0, "constant"), (0.2, "moved")])
def test_the_lever_itself_is_believed(step: float, word: str) -> None:
    fact = judged(engine("throttle", lambda time, speed, altitude: 0.7 - step * (time > 20.0))).element(
        "throttle_moved"
    )
    assert fact.value == pytest.approx(100.0 * step, abs=0.1)
    assert fact.reason == word


def test_without_an_engine_channel_nothing_is_said_of_the_throttle() -> None:
    fact = judged(eight()).element("throttle_moved")
    assert fact.value is None
    assert fact.reason is not None
    assert "recorded" in fact.reason


def test_left_less_right_has_one_sign_whichever_loop_came_first() -> None:
    gentle, strong = half_eight(gain=200.0, pitch=8.0), half_eight(gain=350.0, pitch=13.0)
    for direction, parts in (("left", (strong, gentle)), ("right", (gentle, strong))):
        found = judged(eight(*parts, direction=direction))
        assert found.element("height_gain_left_minus_right").value == pytest.approx(150.0, abs=3.0)
        assert found.element("pitch_left_minus_right").value == pytest.approx(5.0, abs=0.1)


def test_the_slowest_and_highest_points_are_told_by_heading_change() -> None:
    assert value(eight(), "heading_at_slowest") == pytest.approx(90.0, abs=1.5)
    assert value(eight(), "heading_at_highest") == pytest.approx(90.0, abs=1.5)
    assert value(eight(), "airspeed_slowest") == pytest.approx(72.0, abs=0.1)


def test_a_held_pitch_is_told_as_dwell() -> None:
    smooth = half_eight()
    t = np.arange(len(smooth.pitch)) * 0.25
    held = replace(smooth, pitch=np.where((t > 8.0) & (t < 18.0), 9.0 * DEGREE, smooth.pitch))
    assert value(eight(held), "pitch_dwell") == pytest.approx(9.5, abs=1.0)
    assert value(eight(held), "pitch_dwell") > value(eight(), "pitch_dwell") + 3.0


def test_speed_that_rises_in_a_chandelle_is_told() -> None:
    falling, rising = chandelle(), bump(chandelle(), "speed", start=25.0, seconds=4.0, by=6.0 * KNOT)
    assert value(fly([falling], kind="chandelle"), "airspeed_rise") == pytest.approx(0.0, abs=0.01)
    # 6 kt up while the speed falls by about 1 kt/s for the half second of the rise.
    assert value(fly([rising], kind="chandelle"), "airspeed_rise") == pytest.approx(5.5, abs=0.5)
    assert value(fly([falling], kind="chandelle"), "height_gain") == pytest.approx(500.0, abs=2.0)


def test_a_rate_has_the_unit_of_a_rate() -> None:
    creep = judged(fly([chandelle()], kind="chandelle")).element("bank_creep", 1)
    assert creep.unit == "deg_per_s"
    assert creep.value == pytest.approx(0.0, abs=0.3)


def test_energy_height_is_the_exchange_of_speed_and_height() -> None:
    # 0.04427 ft per kt squared (reference, worked examples no. 4): 100 to 60 kt is 283 ft.
    gained = value(fly([chandelle(gain=500.0, end_kt=-40.0)], kind="chandelle"), "energy_at_180")
    assert gained == pytest.approx(500.0 - 283.0, abs=3.0)


def test_beyond_60_of_bank_the_figure_is_named_and_no_rule_is_said_to_be_broken() -> None:
    steep = judged(fly([steep_turn(bank=65.0)], kind="steep_turn")).element("bank_extreme")
    plain = judged(fly([steep_turn(bank=50.0)], kind="steep_turn")).element("bank_extreme")
    assert steep.reason is not None
    assert "91.307(c)" in steep.reason
    assert "violat" not in steep.reason
    assert plain.reason is None


def test_the_ball_is_a_fact_where_it_was_recorded() -> None:
    assert judged(eight()).element("ball_mean", 1).value is None
    count = len(eight().motion.time)
    flight = eight(extra={"lateral_load": np.full(count, -0.05)})
    assert value(flight, "ball_mean") == pytest.approx(-0.05)
    assert value(flight, "ball_worst") == pytest.approx(0.05)


def test_drift_along_a_chain_is_told_against_its_first_entry() -> None:
    flight = eight(
        before=level(40.0).then(level(30.0, altitude=3450.0 * FOOT, speed=ENTRY_SPEED + 2.0 * KNOT))
    )
    occurrence = replace(flight.occurrence, chained=True)
    first = replace(flight.occurrence, start=10.0, end=35.0)
    found = judged(replace(flight, occurrence=occurrence), (first,))
    entry = flight.motion.at("altitude", occurrence.start) / FOOT
    assert found.element("altitude_drift").value == pytest.approx(entry - 3500.0, abs=0.1)
    assert judged(flight, (first,)).element("altitude_drift").reason == "the first of its chain"


def test_a_chain_is_followed_back_only_while_it_is_unbroken() -> None:
    base = eight().occurrence
    a = replace(base, start=0.0, end=50.0)
    b = replace(base, start=50.0, end=100.0, chained=True)
    c = replace(base, start=100.0, end=150.0, chained=True)
    assert chain_start(c, (b, a)) is a
    assert chain_start(c, (replace(b, chained=False), a)).start == 50.0
    assert chain_start(a, ()) is a


def test_facts_never_carry_a_verdict() -> None:
    for flight in (eight(), fly([chandelle()], kind="chandelle"), fly([steep_turn()], kind="steep_turn")):
        assert all(fact.verdict is None and fact.limit is None for fact in judged(flight).facts)
