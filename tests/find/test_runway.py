"""A flight's own ground, on flights drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest
from tests.find.fake_estimator import motion
from tests.find.kinematics import truth_table

from chalkwing.find.runway import climbed_from
from chalkwing.find.scales import own_scale
from chalkwing.motion.motion import Motion
from chalkwing.units import KNOT

INTERVAL = 0.25
FIELD = 300.0


def flight(knots: list[tuple[float, float, float]]) -> Motion:
    """A straight flight through knots of (time s, airspeed kt, height m above the field)."""
    time, speed, height = np.array(knots, dtype=float).T
    grid = np.arange(0.0, time[-1], INTERVAL)
    still = np.zeros(len(grid))
    return motion(
        truth_table(
            time=grid, bank=still, pitch=still, heading=still,
            altitude=FIELD + np.interp(grid, time, height), speed=np.interp(grid, time, speed) * KNOT,
        )
    )  # fmt: skip


CRUISE: list[tuple[float, float, float]] = [(300, 60, 400), (320, 65, 400), (900, 65, 400)]


def test_a_slow_takeoff_at_the_recordings_edge_shows_the_ground() -> None:
    # 0.55 m/s² from 25 kt: a small engine's takeoff, whose recording begins while it already rolls.
    scale = own_scale(flight([(0, 25, 0), (20, 46, 0), (30, 50, 10), *CRUISE]))
    assert scale.ground == pytest.approx(FIELD, abs=1.0)
    assert not scale.flying[: int(20 / INTERVAL)].any()
    assert scale.flying[int(40 / INTERVAL) :].all()


def test_a_recording_that_stays_in_the_air_shows_none() -> None:
    slowing = [(920, 45, 400), (1000, 45, 400), (1020, 65, 400), (1200, 65, 400)]
    scale = own_scale(flight([(0, 65, 380), *CRUISE, *slowing]))  # type: ignore[list-item]
    assert np.isnan(scale.ground)
    assert scale.flying.all()


def test_what_was_rolled_is_not_the_slowest_that_was_flown() -> None:
    scale = own_scale(flight([(0, 20, 0), (15, 55, 0), (25, 60, 12), *CRUISE]))
    assert scale.speeds.slow > 30.0 * KNOT


def test_a_recording_that_begins_in_the_climb_out_shows_its_ground_roughly() -> None:
    begun_in_the_air = flight([(0, 70, 20), (240, 75, 500), (900, 100, 500)])
    assert np.isnan(own_scale(begun_in_the_air).ground)
    assert climbed_from(begun_in_the_air) == pytest.approx(FIELD + 20, abs=1.0)


@pytest.mark.parametrize(
    "knots",
    [
        [(0, 100, 800), (600, 100, 800), (900, 100, 820)],  # level all the way: it may be anywhere
        [(0, 100, 800), (600, 100, 400), (1200, 100, 800)],  # its lowest point is in the middle
    ],
)
def test_other_recordings_show_none(knots: list[tuple[float, float, float]]) -> None:
    assert np.isnan(climbed_from(flight(knots)))
