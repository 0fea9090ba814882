"""Series of turns, drawn over the ground in a known wind: found where they are and nowhere else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from tests.find.fake_estimator import AVIONICS, PERFECT
from tests.find.fake_estimator import motion as estimated
from tests.find.ground_flights import circle, half_circles, motion, pilot, steady
from tests.find.kinematics import Sketch
from tests.judge.ground_flights import Pilot, circle_law

from chalkwing.find import Occurrence, can_find, find
from chalkwing.find.gains import told_direction
from chalkwing.find.plane import off_line
from chalkwing.find.whole import turns_to_entry
from chalkwing.maneuvers import definition, definitions

EVERYTHING = tuple(each for each in definitions().values() if can_find(each))
BREEZE = (0.0, 8.0)
"""Velocity of the air [m/s]: in this wind a circle held by bank alone drifts half a mile each time round."""


def told(found: tuple[Occurrence, ...]) -> list[tuple[str, str, int]]:
    return [(one.kind, one.direction, len(one.parts)) for one in found]


# Revolutions -----------------------------------------------------------------------------------------------


def test_a_circle_held_over_the_ground_is_turns_around_a_point() -> None:
    flight = motion(circle(pilot(wind=BREEZE), 3.0, radius=500.0), takeoff=True)
    (one,) = find(flight, EVERYTHING)
    assert (one.kind, one.status, len(one.parts)) == ("turns_around_a_point", "complete", 3)
    for before, after in pairwise(one.parts):
        assert before.end == after.start
    turned = np.diff([flight.at("heading_true", edge) for edge in (one.start, one.parts[0].end)])
    assert turned == pytest.approx(2.0 * np.pi, abs=0.02)


@pytest.mark.parametrize("height_ft", [800.0, 3000.0])
def test_an_orbit_that_goes_with_the_wind_is_none(height_ft: float) -> None:
    # 28 degrees of bank held through three level turns: a circle in the air, not over the ground.
    flying = steady(pilot(wind=BREEZE, height_ft=height_ft), 1080.0, bank=28.0)
    assert find(motion(flying, takeoff=True), EVERYTHING) == ()


def test_a_gliding_circle_over_the_ground_is_a_steep_spiral_and_no_steep_turn() -> None:
    flying = circle(pilot(wind=BREEZE, height_ft=5000.0, speed=42.0), 4.0, radius=230.0, sink=5.5)
    (one,) = find(motion(flying), EVERYTHING)
    assert (one.kind, one.status, len(one.parts)) == ("steep_spiral", "complete", 4)


def test_a_spiral_of_less_than_three_turns_is_broken_off() -> None:
    # FAA-S-ACS-7B, CA.V.B asks for at least three turns of 360 degrees.
    flying = circle(pilot(wind=BREEZE, height_ft=5000.0, speed=42.0), 2.0, radius=230.0, sink=5.5)
    (one,) = find(motion(flying), EVERYTHING)
    assert (one.kind, one.status, len(one.parts)) == ("steep_spiral", "broken_off", 2)


@pytest.mark.parametrize("climb", [4.0, 1.5])
def test_a_thermal_is_nothing(climb: float) -> None:
    sketch = Sketch().level(30).turn(3600, bank=42, climb=climb, speed=26.0).level(30)
    assert find(estimated(sketch.table(), AVIONICS, seed=1), EVERYTHING) == ()


def test_turns_begin_where_the_turn_to_the_wind_was_nearly_rolled_out_of() -> None:
    flying, held = pilot(wind=BREEZE), circle_law(450.0)

    def until(heading: float, bank: Callable[[Pilot], float]) -> None:
        while flying.heading < heading:
            flying.step(bank(flying))

    until(0.5 * np.pi, lambda _: np.radians(22.0))
    begun = flying.now + 1.5
    for k in range(60):  # for 3 s the bank comes off to a quarter, and on again
        flying.step(np.radians(22.0 * (1.0 - 0.75 * np.sin(np.pi * k / 60))))
    until(4.6 * np.pi, held)
    (one,) = find(motion(flying, takeoff=True), EVERYTHING)
    assert (one.kind, len(one.parts)) == ("turns_around_a_point", 2)
    assert one.start == pytest.approx(begun, abs=1.0)


# Turns that alternate --------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [2, 5, 9])
def test_s_turns_are_one_series_however_many_halves(count: int) -> None:
    flight = motion(half_circles(pilot(wind=BREEZE), count, radius=450.0), takeoff=True)
    assert told(find(flight, EVERYTHING)) == [("s_turns", "right", count)]


def test_two_turns_alone_do_not_show_a_line() -> None:
    # Turns of 150 degrees one way and the other: their ends lie in a line by symmetry, whatever they go by.
    seen = np.array([[0, 1, -1], [0, 1, 2]])
    first, last = np.array([0, 10, 20]), np.array([10, 20, 30])
    north, east = np.arange(31.0) * 50.0, np.sin(np.arange(31.0))
    spread = off_line(seen, first, last, north, east, np.full((3, 3), 400.0))
    assert np.isnan(spread[0])
    assert spread[1] < 0.01


def test_a_chain_of_eights_is_neither_chandelles_nor_s_turns() -> None:
    sketch = Sketch().level(40).lazy_eight(1).lazy_eight(1).lazy_eight(1).level(40)
    found = find(estimated(sketch.table(), AVIONICS, seed=1), EVERYTHING)
    assert [one.kind for one in found] == ["lazy_eight"] * 3


def pylons(height_ft: float) -> Pilot:
    flying = pilot(height_ft=height_ft)
    for turn in range(4):
        steady(flying, 250.0 * (-1) ** turn, bank=32.0)
        flying.straight(2.0 * 48.0**2 / (9.81 * np.tan(np.radians(32.0))) * np.tan(np.radians(35.0)) / 48.0)
    return flying


def test_eights_about_two_pylons_are_one_series() -> None:
    found = find(motion(pylons(850.0), takeoff=True), EVERYTHING)
    assert told(found) == [("eights_on_pylons", "right", 4)]


def test_eights_far_above_the_pivotal_altitude_are_less_probably_on_pylons() -> None:
    # At 48 m/s the pivotal altitude is 48**2 / g = 771 ft (FAA-H-8083-3C, ch. 7: TAS**2 / 11.3).
    (low,) = find(motion(pylons(850.0), takeoff=True), EVERYTHING)
    high = find(motion(pylons(2400.0), takeoff=True), EVERYTHING)
    far = max((one.probability for one in high if one.kind == "eights_on_pylons"), default=0.0)
    assert low.probability > 0.8
    assert far / (1.0 - far) < 0.2 * low.probability / (1.0 - low.probability)


def test_the_direction_of_entry_counts_as_much_as_it_is_rare() -> None:
    # A third of all directions, in which 85 of 100 students begin: log(0.85 * 3 + 0.15); else log(0.15).
    off, sd = np.radians([20.0, -170.0, 20.0]), np.array([0.01, 0.01, 50.0])
    worth = told_direction(off, sd, -np.pi / 3.0, np.pi / 3.0)
    assert worth == pytest.approx([np.log(2.7), np.log(0.15), 0.0], abs=0.02)


# Corners ---------------------------------------------------------------------------------------------------


def rectangle(corners: int, *, sinking: float = 0.0, **begun: float) -> object:
    flying = pilot(**begun)  # type: ignore[arg-type]
    for corner in range(corners):
        flying.turn(
            "left",
            lambda _: np.radians(25.0),
            angle=0.5 * np.pi,
            height=lambda now: now.altitude - sinking / 20,
        )
        seconds = 30.0 if corner % 2 else 18.0
        base = flying.altitude
        flying.straight(seconds, altitude=lambda t, base=base: base - sinking * t)  # type: ignore[misc]
    return flying


@pytest.mark.parametrize("corners", [4, 8, 13])
def test_a_rectangle_is_one_series(corners: int) -> None:
    found = find(motion(rectangle(corners), takeoff=True), EVERYTHING)  # type: ignore[arg-type]
    assert told(found) == [("rectangular_course", "left", corners)]


def test_a_pattern_that_comes_down_is_no_rectangle() -> None:
    found = find(motion(rectangle(4, sinking=2.5, height_ft=1500.0), takeoff=True), EVERYTHING)  # type: ignore[arg-type]
    assert "rectangular_course" not in [one.kind for one in found]


# What only looks like a maneuver ---------------------------------------------------------------------------


@pytest.mark.parametrize(("halves", "kinds"), [(2, []), (6, ["s_turns"])])
def test_a_pair_of_curves_in_an_hour_may_follow_a_river_and_six_do_not(halves: int, kinds: list[str]) -> None:
    flight = motion(half_circles(pilot(wind=BREEZE), halves, radius=450.0), after=3600.0, takeoff=True)
    assert [one.kind for one in find(flight, EVERYTHING)] == kinds


def test_pairs_of_curves_flown_again_and_again_are_practice() -> None:
    flying = pilot(wind=BREEZE)
    for _ in range(4):
        half_circles(flying, 2, radius=450.0)
        flying.straight(400.0)
    found = find(motion(flying, after=1200.0, takeoff=True), EVERYTHING)
    assert [one.kind for one in found] == ["s_turns"] * 4
    assert all(0.5 < one.probability < 0.95 for one in found)


# Turns that lead to something ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "turns"), [("power_off_180", 2), ("rectangular_course", 1), ("chandelle", 0)]
)
def test_turns_that_lead_to_an_entry_are_counted(kind: str, turns: int) -> None:
    assert turns_to_entry(definition(kind)) == turns


def test_clearing_turns_before_a_gap_may_have_led_to_what_lies_in_it() -> None:
    sketch = (
        Sketch().level(120).turn(90, bank=25).level(4).turn(-90, bank=25).level(20).chandelle(1).level(60)
    )
    sketch.turn(360, bank=45, kind="steep_turn").level(20).lazy_eight(1).level(60)
    flight = estimated(sketch.table(), AVIONICS, seed=2)
    (clearing, chandelle, *_) = find(flight, EVERYTHING)
    assert (clearing.kind, chandelle.kind) == ("clearing_turns", "chandelle")
    lost = (flight.time > clearing.end + 2.0) & (flight.time < chandelle.end + 40.0)
    hidden = find(replace(flight, in_gap=lost), EVERYTHING)
    assert [one.kind for one in hidden][:1] == ["clearing_turns"]
    assert hidden[0].probability < clearing.probability


def test_clearing_turns_are_told_by_what_follows() -> None:
    before = Sketch().level(60).turn(90, bank=25).level(4).turn(-90, bank=25).level(20)
    alone = find(estimated(before.level(80).table(), PERFECT), EVERYTHING)
    assert alone == ()
    before = Sketch().level(60).turn(90, bank=25).level(4).turn(-90, bank=25).level(20)
    found = find(estimated(before.chandelle(-1).level(60).table(), PERFECT), EVERYTHING)
    assert [one.kind for one in found] == ["clearing_turns", "chandelle"]
    assert len(found[0].parts) == 2


# How much there is to weigh ------------------------------------------------------------------------------


def test_the_longest_chain_costs_no_more_for_each_turn() -> None:
    # No chain looks further than its most parts: candidates grow with the flight, not with its square.
    from chalkwing.find.finder import explain, flight_seen

    known = definition("s_turns")

    def candidates(count: int) -> int:
        flight = motion(half_circles(pilot(), count, radius=450.0))
        explained = explain(known, flight_seen(flight, [known]))
        assert explained is not None
        return len(explained)

    assert candidates(90) - candidates(70) == candidates(70) - candidates(50)
