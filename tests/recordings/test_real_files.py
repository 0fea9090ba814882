"""Real recorded flights, where they lie beside the checkout; see their README for what they are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from chalkwing.errors import UndecidedRecording
from chalkwing.recordings import flights, read
from chalkwing.recordings.alignment import aligned

IGC = {
    # name: fixes in the file (lines that begin with B), satellite datum by its header
    "logger_2": (533, "mean_sea_level"),
    "logger_3": (2008, "unknown"),
    "logger_4": (583, "mean_sea_level"),
    "logger_5": (294, "mean_sea_level"),
    "logger_6": (979, "mean_sea_level"),
    "logger_bad_line": (9, "ellipsoid"),
}


@pytest.mark.parametrize("name", IGC)
def test_flight_recorder_files(shared_data, name):
    (recording,) = read(shared_data / "igc" / f"{name}.igc.gz")
    fixes, datum = IGC[name]
    assert recording.reader == "IGC"
    assert recording.rows == fixes
    assert recording.channels["geometric_altitude"].datum == datum
    assert recording.start_utc is not None


def test_the_damaged_line_is_named_and_the_rest_kept(shared_data):
    (recording,) = read(shared_data / "igc" / "logger_bad_line.igc.gz")
    (note,) = [note for note in recording.notes if note.line]
    assert "ACZ" in note.message
    # The five digits of TAS in the last fixes, read by hand: hundredths of km/h.
    _, airspeed = recording.samples("true_airspeed")
    assert airspeed[-5:] * 3.6 == pytest.approx([167.45, 165.38, 162.93, 160.48, 159.03])


def test_paraglider_flights_have_a_takeoff_and_a_landing(shared_data):
    for name in ("logger_2", "logger_3", "logger_4", "logger_5"):
        (recording,) = read(shared_data / "igc" / f"{name}.igc.gz")
        (flight,) = flights(recording)
        assert (flight.begins, flight.ends) == ("takeoff", "landing")
        assert flight.end - flight.start > 0.8 * recording.duration


@pytest.mark.parametrize(
    "name", ["adsb/sky_drawing", "adsb/survey_a", "adsb/survey_b", "adsb/calibration", "panel/panel_a",
             "panel/panel_b", "uav/drone_5hz", "stall/deceleration_to_stall"]
)  # fmt: skip
def test_delimited_recordings_hold_flights(shared_data, name):
    (recording,) = read(shared_data / f"{name}.csv.gz")
    assert np.all(np.diff(recording.time) > 0)
    assert flights(recording)


def test_flights_of_real_delimited_recordings(shared_data):
    # Panel b is lost for 2459 s in the air; the drone stands before and after its flight, with wind on its
    # pitot.
    (recording,) = read(shared_data / "panel" / "panel_b.csv.gz")
    first, second = flights(recording)
    assert (first.begins, first.ends, second.begins) == ("takeoff", "gap", "gap")
    assert second.start - first.end == pytest.approx(2459, abs=1)
    (recording,) = read(shared_data / "uav" / "drone_5hz.csv.gz")
    (flight,) = flights(recording)
    assert (flight.begins, flight.ends) == ("takeoff", "landing")


def test_two_halves_of_a_real_flight_are_put_together_again(shared_data, tmp_path):
    import gzip

    lines = gzip.decompress((shared_data / "igc" / "logger_3.igc.gz").read_bytes()).split(b"\n")
    header = [line for line in lines if not line.startswith(b"B")]
    fixes = [line for line in lines if line.startswith(b"B")]
    for name, part in (("a.igc", fixes[:900]), ("b.igc", fixes[1000:])):
        (tmp_path / name).write_bytes(b"\n".join(header + part))
    (recording,) = read(tmp_path / "b.igc", tmp_path / "a.igc")
    assert recording.rows == len(fixes) - 100
    assert len(flights(recording)) == 1


@pytest.mark.parametrize("name", ["panel_a", "panel_b"])
@pytest.mark.parametrize("shift", [0.0, 12.34, -3600.5])
def test_a_real_panel_and_its_own_gps_are_aligned_again(shared_data, name, shift):
    """Attitude, heading and airspeed against the GPS of the same box, moved by a known time.

    The two share a clock, so the true offset is the shift; half a second is what the lag between a GPS and a
    heading sensor may be.
    """
    (whole,) = read(shared_data / "panel" / f"{name}.csv.gz")
    of_gps = {"latitude", "longitude", "geometric_altitude", "ground_speed", "track"}
    panel = whole.without([*of_gps, "vertical_speed"])
    gps = whole.without([channel for channel in whole.channels if channel not in of_gps])
    gps = replace(gps, table=gps.table.with_columns(pl.col("time") + shift))
    found = aligned(panel, gps, guess=None)
    assert found is not None
    assert found.offset == pytest.approx(-shift, abs=0.5)


def test_an_engine_monitor_is_refused_with_what_it_holds(shared_data):
    with pytest.raises(UndecidedRecording, match=r"no position|neither position"):
        read(shared_data / "no_position" / "engine_monitor.csv.gz")
