"""The phases of flights drawn by hand: what was flown is known."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from tests.find.fake_estimator import motion
from tests.find.kinematics import truth_table

from chalkwing.find import phases
from chalkwing.units import FOOT_PER_MINUTE, KNOT, Floats

INTERVAL = 0.25
Knots = list[tuple[float, float, float]]
STAND: Knots = [(0, 2, 0), (60, 2, 0)]
TAKEOFF: Knots = [(85, 60, 0), (90, 75, 700), (390, 75, 700)]
CRUISE: Knots = [(400, 100, 0), (900, 100, 0)]
HOME: Knots = [(910, 100, -600), (1140, 100, -600), (1150, 90, 0), (1260, 85, 0)]
DOWN: Knots = [(1265, 70, -500), (1400, 65, -500), (1405, 55, -60)]


def drawn(knots: Knots) -> dict[str, Floats]:
    """A straight flight through knots (time s, airspeed kt, vertical speed ft/min), from a field at 300 m."""
    time, speed, climb = np.array(knots, dtype=float).T
    grid = np.arange(0.0, time[-1], INTERVAL)
    airspeed, vertical = (np.interp(grid, time, each) for each in (speed, climb))
    still = np.zeros(len(grid))
    height = np.zeros(len(grid))
    for place in range(1, len(grid)):  # no lower than the field: what sinks there rolls
        height[place] = max(height[place - 1] + vertical[place] * FOOT_PER_MINUTE * INTERVAL, 0.0)
    return truth_table(
        time=grid, bank=still, pitch=still, heading=still, altitude=300.0 + height, speed=airspeed * KNOT
    )


def told(knots: Knots) -> list[str]:
    return [phase.kind for phase in phases(motion(drawn(knots)))]


LAND: Knots = [(1412, 50, 0), (1440, 3, 0), (1530, 3, 0)]
TOUCH: Knots = [
    (1412, 50, 0),
    (1420, 58, 0),
    (1428, 75, 700),
    (1600, 75, 700),
    (1610, 100, 0),
    (1900, 100, 0),
]


def test_a_flight_from_stand_to_stand() -> None:
    whole = STAND + TAKEOFF + CRUISE + HOME + DOWN + LAND
    assert told(whole) == ["ground", "takeoff", "climb", "cruise", "descent", "pattern", "landing", "ground"]


def test_a_touch_and_go_is_no_landing() -> None:
    whole = STAND + TAKEOFF + CRUISE + HOME + DOWN + TOUCH
    assert told(whole) == [
        "ground", "takeoff", "climb", "cruise", "descent", "pattern", "touch_and_go", "climb", "cruise",
    ]  # fmt: skip


def test_phases_cover_the_flight_without_overlap() -> None:
    flight = motion(drawn(STAND + TAKEOFF + CRUISE + HOME + DOWN + LAND))
    found = phases(flight)
    assert found[0].start == flight.start
    assert found[-1].end == flight.end
    assert all(one.end == other.start for one, other in pairwise(found))
    assert all(one.kind != other.kind for one, other in pairwise(found))


def test_borders_lie_where_they_were_drawn() -> None:
    found = {each.kind: each for each in phases(motion(drawn(STAND + TAKEOFF + CRUISE + HOME + DOWN + LAND)))}
    assert found["cruise"].start == pytest.approx(395, abs=20)
    assert found["descent"].start == pytest.approx(905, abs=20)
    # 500 ft at 700 ft/min after lift-off at about 88 s.
    assert found["takeoff"].end == pytest.approx(88 + 60 * 500 / 700, abs=6)


def test_climbs_and_dives_of_a_maneuver_are_no_phases() -> None:
    time = np.arange(0.0, 1200.0, 15.0)
    swing = np.where((time > 400) & (time < 640), np.tile([900.0, -900.0], len(time))[: len(time)], 0.0)
    assert told([(t, 100.0, v) for t, v in zip(time, swing, strict=True)]) == ["cruise"]


def test_without_its_own_ground_nothing_is_said_of_it() -> None:
    climb: Knots = [
        (0, 80, 600),
        (300, 80, 600),
        (310, 100, 0),
        (700, 100, 0),
        (710, 100, -500),
        (900, 100, -500),
    ]
    assert told(climb) == ["climb", "cruise", "descent"]
