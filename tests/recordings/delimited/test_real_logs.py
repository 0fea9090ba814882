"""Real recorded logs must come out right; each check is against another quantity of the same recording."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from chalkwing.errors import UndecidedRecording
from chalkwing.recordings import Recording
from chalkwing.recordings.delimited import READER
from chalkwing.units import Floats, wrap_angle

DATA = Path(__file__).resolve().parents[4] / "shared" / "data"
RADIUS = 6371008.8


@pytest.fixture(scope="module")
def data() -> Path:
    if not DATA.is_dir():
        pytest.skip("the folder of real recordings (../shared/data) is not there")
    return DATA


def read(path: Path) -> Recording:
    return READER.read(gzip.decompress(path.read_bytes()), source=path.name)


def said(recording: Recording) -> str:
    return "\n".join(str(note) for note in recording.notes)


def position_velocity(recording: Recording) -> tuple[Floats, Floats, Floats]:
    """Velocity north and east from the positions over two intervals, and its time span, at the inner rows."""
    time, latitude = recording.time, recording.table["latitude"].to_numpy()
    longitude = recording.table["longitude"].to_numpy()
    span = time[2:] - time[:-2]
    north = RADIUS * (latitude[2:] - latitude[:-2]) / span
    east = RADIUS * np.cos(latitude[1:-1]) * (longitude[2:] - longitude[:-2]) / span
    return north, east, span


def track_error(recording: Recording) -> Floats:
    """Difference of the track from the direction of the positions [deg], while moving and outside gaps."""
    north, east, span = position_velocity(recording)
    track = recording.table["track"].to_numpy()[1:-1]
    error = np.degrees(wrap_angle(track - np.arctan2(east, north)))
    error = error[(np.hypot(north, east) > 10.0) & (span < 30.0)]
    return error[np.isfinite(error)]


@pytest.mark.parametrize(("name", "rows", "gaps"), [("panel_a", 298, 0), ("panel_b", 1543, 2)])
def test_a_panel_log(data: Path, name: str, rows: int, gaps: int) -> None:
    recording = read(data / "panel" / f"{name}.csv.gz")
    assert recording.rows == rows
    assert len(recording.gaps) == gaps
    assert set(recording.channels) == {
        "latitude",
        "longitude",
        "geometric_altitude",
        "pressure_altitude",
        "ground_speed",
        "track",
        "velocity_north",
        "velocity_east",
        "vertical_speed",
        "indicated_airspeed",
        "true_airspeed",
        "bank",
        "pitch",
        "heading_magnetic",
        "magnetic_variation",
        "load_factor",
        "outside_air_temperature",
    }
    table = recording.table
    # First row and last of the file, converted by hand in the columns' own units.
    if name == "panel_a":
        assert table["bank"][0] == pytest.approx(np.radians(29.228))
        assert table["pressure_altitude"][0] == pytest.approx(3398 * 0.3048)
        assert table["indicated_airspeed"][0] == pytest.approx(117.279 * 1852 / 3600)
        assert table["vertical_speed"][0] == pytest.approx(-68 * 0.3048 / 60)
        assert table["magnetic_variation"][0] == pytest.approx(np.radians(-3.8))
    assert np.abs(np.median(track_error(recording))) < 0.5
    north, east, _ = position_velocity(recording)
    speed = table["ground_speed"].to_numpy()[1:-1]
    fast = speed > 20
    assert np.median(np.hypot(north, east)[fast] / speed[fast]) == pytest.approx(1.0, abs=0.01)


def test_a_test_flight_with_a_broken_clock(data: Path) -> None:
    recording = read(data / "stall" / "deceleration_to_stall.csv.gz")
    assert recording.duration == pytest.approx(29.98, abs=0.02)
    assert recording.channels["bank"].rate == pytest.approx(50.0)
    assert "milliseconds" in said(recording)
    table = recording.table
    # The wing drops by some 46 degrees, the airspeed and the ground velocity are those of one airplane.
    assert np.degrees(table["bank"].min()) == pytest.approx(-39.98, abs=0.01)
    ground = np.hypot(table["velocity_north"].to_numpy(), table["velocity_east"].to_numpy())
    assert np.median(table["true_airspeed"].to_numpy() / ground) == pytest.approx(1.0, abs=0.1)
    # The log's pressure altitude follows its static pressure, but for a constant 40 ft of its maker's own.
    assert table["static_pressure"][0] == pytest.approx(81196.0)
    height = 44330.77 * (1 - (table["static_pressure"].to_numpy() / 101325.0) ** 0.190263)
    assert np.std(table["pressure_altitude"].to_numpy() - height) < 0.1
    assert table["load_factor"].median() == pytest.approx(1.0, abs=0.05)
    assert table["roll_rate"].max() == pytest.approx(np.radians(42.071297))


def test_a_drone(data: Path) -> None:
    recording = read(data / "uav" / "drone_5hz.csv.gz")
    assert recording.rows == 4865
    table = recording.table
    assert table["velocity_east"][4] == pytest.approx(-0.061)
    assert np.degrees(table["bank"][0]) == pytest.approx(1.42)
    flying = np.hypot(table["velocity_north"].to_numpy(), table["velocity_east"].to_numpy()) > 10.0
    climb = np.gradient(table["geometric_altitude"].to_numpy(), recording.time)[flying]
    recorded = table["vertical_speed"].to_numpy()[flying]
    assert np.corrcoef(climb, recorded)[0, 1] > 0.7
    assert np.std(climb) / np.std(recorded) == pytest.approx(1.0, abs=0.3)
    assert "wind_from" in recording


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("survey_a", "2019-02-27T08:51:13+00:00"),
        ("survey_b", "2018-10-27T14:38:40+00:00"),
        ("sky_drawing", "2017-09-17T21:38:21+00:00"),
        ("gliders", "2019-05-23T10:02:52+00:00"),
        ("broken_times", "2022-07-13T11:40:22+00:00"),
        ("calibration", "2018-11-26T09:38:15+00:00"),
    ],
)
def test_a_receivers_table(data: Path, name: str, start: str) -> None:
    recording = read(data / "adsb" / f"{name}.csv.gz")
    assert recording.start_utc is not None
    assert recording.start_utc.isoformat() == start
    assert np.abs(np.median(track_error(recording))) < 2.0
    assert "pressure_altitude" in recording
    assert not recording.channels["pressure_altitude"].sure
    assert "transponder" in said(recording)


def test_a_track_squeezed_into_a_byte_is_unfolded(data: Path) -> None:
    # The file writes -121 where the positions move toward 135 degrees: 135 - 256 = -121.
    recording = read(data / "adsb" / "calibration.csv.gz")
    assert "signed byte" in said(recording)
    # What remains lies where the file itself was interpolated through turns; squeezed, more than half is off.
    assert np.mean(np.abs(track_error(recording)) > 30.0) < 0.02


def test_an_engine_monitor_is_refused_with_the_reason(data: Path) -> None:
    with pytest.raises(UndecidedRecording, match="no position and no attitude") as caught:
        read(data / "no_position" / "engine_monitor.csv.gz")
    assert "engine temperature" in str(caught.value)
    assert "column map" in str(caught.value)
