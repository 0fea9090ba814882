"""Circles, lines and sight lines fitted to paths whose truth is known: geometry alone, exact unless said."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from chalkwing.judge.circles import circle_through, concentric, line_through
from chalkwing.judge.over_ground import nearest_passage, spaced
from chalkwing.judge.sight import Belief, Seen, axes, sight, stillest_place
from chalkwing.units import DEGREE, FOOT, KNOT, STANDARD_GRAVITY, Floats


def arc(radius: float, north: float, east: float, *, turn: float = 2.0 * np.pi, count: int = 60) -> Floats:
    along = np.linspace(0.3, 0.3 + turn, count)
    return np.array([north + radius * np.cos(along), east + radius * np.sin(along)])


@pytest.mark.parametrize("turn", [110.0, 180.0, 360.0])
def test_a_circle_is_found_from_an_arc(turn: float) -> None:
    north, east = arc(350.0, -1200.0, 700.0, turn=turn * DEGREE)
    found = circle_through(north[None], east[None])
    assert_allclose([found.radius[0], found.north[0], found.east[0]], [350.0, -1200.0, 700.0], rtol=1e-7)
    assert found.spread[0] < 1e-4


def test_a_circle_carried_by_the_air_is_told_from_one_that_is_held() -> None:
    # Flown at a constant bank the path is a circle in the air, and its center goes with the wind.
    held, carried = arc(300.0, 0.0, 0.0), arc(300.0, 0.0, 0.0)
    carried = carried + np.linspace(0.0, 1.0, 60) * np.array([[400.0], [-90.0]])
    rows = np.stack((held, carried))
    found = circle_through(rows[:, 0], rows[:, 1], moving=True)
    assert_allclose(found.moved_north, [0.0, 400.0], atol=1e-4)
    assert_allclose(found.moved_east, [0.0, -90.0], atol=1e-4)
    assert_allclose(found.radius, 300.0, atol=1e-5)


def test_turns_of_different_radius_share_their_center() -> None:
    turns = [arc(radius, 50.0, -80.0, turn=4.0) for radius in (300.0, 340.0, 380.0)]
    found = concentric([(north[None], east[None]) for north, east in turns])
    assert_allclose([found.north[0], found.east[0]], [50.0, -80.0], atol=1e-6)
    assert_allclose(found.radii[0], [300.0, 340.0, 380.0], atol=1e-6)


@pytest.mark.parametrize("direction", [0.0, 40.0, 90.0, 170.0, 260.0])
def test_a_line_points_from_its_first_place_to_its_last(direction: float) -> None:
    along = np.array([0.0, 500.0, 1100.0])
    angle = direction * DEGREE
    found = line_through((along * np.cos(angle))[None], (along * np.sin(angle) + 20.0)[None])
    assert np.cos(found.direction[0] - angle) == pytest.approx(1.0, abs=1e-12)
    # Twenty meters to the right of a line flown north lie east of it.
    right = found.right_of(np.array([[-20.0 * np.sin(angle)]]), np.array([[20.0 + 20.0 * np.cos(angle)]]))
    assert right[0, 0] == pytest.approx(20.0, abs=1e-9)


def test_where_a_signal_passes_zero_nearest_to_a_place() -> None:
    signal = np.array([[1.0, -1.0, -3.0, 1.0, 2.0, -2.0], [1.0, 1.0, 1.0, 1.0, 1.0, 1.0]])
    near, begin, end = np.array([3.0, 3.0]), np.zeros(2), np.full(2, 5.0)
    assert_allclose(nearest_passage(signal, near, begin, end, np.inf), [2.75, np.nan])
    assert_allclose(nearest_passage(signal, near, begin, end, 3.0), [0.5, np.nan])  # steps of 4 are jumps


def test_samples_lie_evenly_between_two_places() -> None:
    ramp = np.arange(10.0)[None] * 2.0
    assert_allclose(spaced(ramp, np.array([1.5]), np.array([4.5]), 4), [[3.0, 5.0, 7.0, 9.0]])


def test_the_wing_line_by_hand() -> None:
    # Flying north, 30° of right bank: the right wing points east and 30° down.
    flown = axes(heading=np.zeros((1, 1)), pitch=np.zeros((1, 1)), bank=np.full((1, 1), 30 * DEGREE), side=1)
    assert_allclose(flown.wing[0, 0], [0.0, np.cos(30 * DEGREE), 0.5], atol=1e-12)
    on_wing = sight(flown, np.array([[[0.0, np.cos(30 * DEGREE), 0.5]]]))
    assert on_wing.off[0, 0] == pytest.approx(0.0, abs=1e-7)
    # A pylon farther north lies ahead of the wing, one higher up lies above it.
    ahead = sight(flown, np.array([[[np.tan(5 * DEGREE), np.cos(30 * DEGREE), 0.5]]]))
    assert ahead.ahead[0, 0] == pytest.approx(5 * DEGREE, abs=1e-9)
    above = sight(flown, np.array([[[0.0, np.cos(26 * DEGREE), np.sin(26 * DEGREE)]]]))
    assert above.above[0, 0] == pytest.approx(4 * DEGREE, abs=1e-9)
    assert above.off[0, 0] == pytest.approx(4 * DEGREE, abs=1e-9)
    left = axes(heading=np.zeros((1, 1)), pitch=np.zeros((1, 1)), bank=np.full((1, 1), -30 * DEGREE), side=-1)
    assert_allclose(left.wing[0, 0], [0.0, -np.cos(30 * DEGREE), 0.5], atol=1e-12)


def still_air_turn(speed: float, bank: float, *, turned: float = 220.0) -> tuple[Floats, Floats, float]:
    """Places and headings of a level circle about the origin in still air, and its height above the pylon."""
    radius = speed**2 / (STANDARD_GRAVITY * np.tan(bank))
    heading = np.linspace(0.0, turned * DEGREE, 40)
    height = speed**2 / STANDARD_GRAVITY
    places = np.stack(
        (radius * np.sin(heading), -radius * np.cos(heading), np.full_like(heading, -height)), axis=-1
    )
    return places, heading, height


def test_at_the_pivotal_height_a_circle_in_still_air_holds_the_pylon_exactly() -> None:
    # technique.md: h = TAS squared over g without wind, the sight line held to 0.002°.
    places, heading, _ = still_air_turn(100.0 * KNOT, 30 * DEGREE)
    flat = np.zeros_like(heading)
    flown = axes(heading=heading[None], pitch=flat[None], bank=(flat + 30 * DEGREE)[None], side=1)
    assert np.max(sight(flown, -places[None]).off) < 0.002 * DEGREE


def slide(height: Callable[[float], float], *, wind: float, speed: float, bank: float) -> float:
    """How far [rad] the pylon moves along the wing in a half turn begun on it, across the wind and into it.

    Level geometry in steps of 5 ms: the wing laid on the pylon by bank, the heading by g tan(bank) / V.
    """
    step, heading = 0.005, 0.5 * np.pi
    place, away = np.zeros(2), height(heading) / np.tan(bank)
    pylon, largest = np.array([-away, 0.0]), 0.0
    while heading < 1.5 * np.pi:
        line, flown = pylon - place, np.array([np.cos(heading), np.sin(heading)])
        ahead, abeam = float(line @ flown), float(line @ np.array([-flown[1], flown[0]]))
        largest = max(largest, abs(float(np.arctan2(ahead, np.hypot(abeam, height(heading))))))
        turned = height(heading) / abeam * STANDARD_GRAVITY / speed * step
        middle = heading + 0.5 * turned
        place = place + step * np.array([speed * np.cos(middle) + wind, speed * np.sin(middle)])
        heading += turned
    return largest


def test_the_exact_height_holds_a_pylon_in_wind_and_the_rule_lets_it_slide() -> None:
    # technique.md, section 3: h = TAS (TAS + tailwind along the heading) / g holds the line; groundspeed
    # squared over 11.3 (FAA-H-8083-3C, p. 7-15), in a wind of 20 kt at 100 kt, lets it slide by up to 17°.
    wind, speed = 20.0 * KNOT, 100.0 * KNOT

    def exact(heading: float) -> float:
        return float(speed * (speed + wind * np.cos(heading)) / STANDARD_GRAVITY)

    def rule(heading: float) -> float:
        ground = np.hypot(speed * np.cos(heading) + wind, speed * np.sin(heading))
        return float((ground / KNOT) ** 2 / 11.3 * FOOT)

    assert slide(exact, wind=wind, speed=speed, bank=30 * DEGREE) < 0.02 * DEGREE
    largest = slide(rule, wind=wind, speed=speed, bank=35 * DEGREE)
    assert largest == pytest.approx(17.0 * DEGREE, abs=1.0 * DEGREE)


def test_the_pylon_is_where_the_sight_line_moves_least() -> None:
    places, heading, _ = still_air_turn(100.0 * KNOT, 30 * DEGREE)
    flat = np.zeros_like(heading)
    moved = places + np.array([400.0, -250.0, -90.0])  # a pylon at 400 m north, 250 m west, 90 m up
    flown = axes(heading=heading[None], pitch=flat[None], bank=(flat + 30 * DEGREE)[None], side=1)
    seen = Seen(moved[None], flown, np.array([40.0]))
    start = np.array([[300.0, -200.0, 0.0]])
    found, root = stillest_place([seen], start, Belief.of_height(-90.0, 10.0))
    assert_allclose(found[0], [400.0, -250.0, -90.0], atol=0.05)
    assert np.all(np.sqrt(np.diag(root @ root.T))[:2] < 10.0)
    # In still air any height below the circle holds the line as still: what was believed of it remains.
    assert np.sqrt((root @ root.T)[2, 2]) > 5.0
