"""Where the estimator starts: gaps bridged, a first wind, a first lag, knots where they are needed."""

from __future__ import annotations

import numpy as np
import pytest
from tests.motion.known import TURNS, LevelFlight
from tests.motion.recorder import PANEL, record

from chalkwing.motion import initial
from chalkwing.motion.bridging import LONGEST_STEP, bridge, gaps_in
from chalkwing.motion.initial import FirstPath
from chalkwing.motion.observations import observe
from chalkwing.units import STANDARD_GRAVITY, Floats

SPEED = 50.0
GAP = (25.0, 55.0)


def turning(rate: float, wind: tuple[float, float], length: float = 80.0) -> tuple[Floats, Floats, Floats]:
    """Time, places (2, n) and ground velocities (2, n) of a steady turn at 50 m/s in a wind."""
    time = np.arange(0.0, length)
    angle = rate * time
    drift = np.array(wind)[:, None]
    velocity = SPEED * np.stack((np.cos(angle), np.sin(angle))) + drift
    place = SPEED / rate * np.stack((np.sin(angle), -np.cos(angle))) + drift * time
    return time, place, velocity


@pytest.mark.parametrize("wind", [(0.0, 0.0), (8.0, -6.0)], ids=["calm", "wind"])
@pytest.mark.parametrize("rate", [0.03, -0.1, 0.2, -0.25, 0.3])
def test_a_gap_of_half_a_minute_is_bridged_by_the_circles_that_were_flown(
    rate: float, wind: tuple[float, float]
) -> None:
    # 0.3 rad/s for 30 s is 9 rad: a circle and a half, as in a steep turn at 80 kt.
    time, place, velocity = turning(rate, wind)
    lost = (time > GAP[0]) & (time < GAP[1])
    broken = [np.interp(time, time[~lost], axis[~lost]) for axis in (*place, *velocity)]
    _, filled = bridge(time, (broken[0], broken[1]), (broken[2], broken[3]), GAP, wind)
    part = (time >= GAP[0]) & (time <= GAP[1])
    direction = np.unwrap(np.arctan2(filled[1] - wind[1], filled[0] - wind[0])[part])
    # Rates at the edges are exact here, so nothing but the count of circles could be wrong.
    assert direction[-1] - direction[0] == pytest.approx(rate * 30.0, abs=0.05)
    assert np.hypot(filled[0] - velocity[0], filled[1] - velocity[1]).max() < 2.0


def test_what_lies_outside_a_gap_stays_as_it_was() -> None:
    time, place, velocity = turning(0.2, (0.0, 0.0))
    places, velocities = bridge(time, (place[0], place[1]), (velocity[0], velocity[1]), GAP, (0.0, 0.0))
    outside = (time < GAP[0]) | (time > GAP[1])
    for before, after in zip((*place, *velocity), (*places, *velocities), strict=True):
        np.testing.assert_array_equal(after[outside], before[outside])


def test_gaps_are_stretches_without_positions() -> None:
    times = np.array([0.0, 1.0, 2.0, 2.0 + LONGEST_STEP, 7.0, 20.0, 21.0, 40.0])
    assert gaps_in(times, start=0.0, end=21.0) == [(7.0, 20.0)]


def path_of(time: Floats, place: Floats, velocity: Floats, height: Floats) -> FirstPath:
    zero = np.zeros_like(time)
    return FirstPath(time, place[0], place[1], height, velocity[0], velocity[1], zero, zero + 280.0, height)


@pytest.mark.parametrize("wind", [(8.0, 0.0), (-3.0, 6.0), (0.0, 0.0)])
def test_one_full_circle_shows_the_wind(wind: tuple[float, float]) -> None:
    # A circle of 40 s, as in a turn at 30 degrees of bank. Its two windows have 120 rows, each of which
    # weighs half toward either component; the ridge of 5 toward no wind so takes 5 / 65 = 8 % off. A circle
    # of a minute would fill one window, and half of its wind would go into the window's own trend: this is a
    # start, no estimate.
    time, place, velocity = turning(2 * np.pi / 40.0, wind, length=92.0)
    found = initial.first_wind(path_of(time, place, velocity, np.full_like(time, 1000.0)))
    assert found == pytest.approx(wind, abs=0.15 * np.hypot(*wind) + 0.05)


def test_speed_won_in_a_descent_is_not_taken_for_wind() -> None:
    # In calm air the airplane dives and climbs 30 m each way round the circle, at constant energy.
    time = np.arange(0.0, 92.0)
    angle = 2 * np.pi / 60.0 * time
    height = 1000.0 + 30.0 * np.sin(angle)
    speed = np.sqrt(SPEED**2 - 2 * STANDARD_GRAVITY * (height - 1000.0))
    velocity = speed * np.stack((np.cos(angle), np.sin(angle)))
    found = initial.first_wind(path_of(time, velocity, velocity, height))
    # Ground speed alone would show 6 m/s. The height is smoothed over 2 s, which takes 2 % of its swing.
    assert np.hypot(*found) < 0.5


def test_a_straight_flight_shows_no_wind() -> None:
    time = np.arange(0.0, 200.0)
    velocity = np.stack((np.full_like(time, 60.0), np.zeros_like(time)))
    found = initial.first_wind(path_of(time, velocity, velocity, np.full_like(time, 1000.0)))
    assert found == (0.0, 0.0)


@pytest.mark.parametrize("late", [-0.5, 0.0, 0.8])
def test_the_lag_of_attitude_is_seen_in_the_turns(late: float) -> None:
    recording = record(
        LevelFlight().truth(), PANEL, late=dict.fromkeys(("bank", "pitch", "heading_true"), late)
    )
    seen = observe(recording, variation=0.0)
    path = initial.first_path(seen, start=0.0, end=float(recording.time[-1]), temperature=None)
    # Steps of 0.1 s, and at 1 Hz a correlation peak is no sharper than a fraction of a row.
    assert initial.first_lag(path, seen, LevelFlight().wind) == pytest.approx(late, abs=0.3)


def test_knots_are_fine_where_the_airplane_turns_and_coarse_where_it_does_not() -> None:
    seen = observe(record(LevelFlight().truth(), PANEL), variation=0.0)
    path = initial.first_path(seen, start=0.0, end=360.0, temperature=None)
    knots = initial.knot_times(path)
    spacing = np.diff(knots)
    assert set(np.unique(spacing)) == {1.0, 2.0}
    for start, end, _ in TURNS:
        turn = (knots[:-1] >= start) & (knots[:-1] < end)
        assert np.all(spacing[turn] == 1.0)
    assert np.all(spacing[knots[:-1] < 40.0] == 2.0)
