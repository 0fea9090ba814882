"""What cannot be read is refused with what, where and what next; what can be read is, with a note."""

from __future__ import annotations

import gzip
import re

import numpy as np
import pytest
from tests.recordings.delimited.flight import START, degrees, knots, known_flight, stamps, table, text
from tests.recordings.delimited.layouts import english, plain

from chalkwing.errors import FaultyColumnMap, UndecidedRecording, UnreadableRecording
from chalkwing.recordings import Recording
from chalkwing.recordings.delimited import READER

FLIGHT = known_flight().every(1.0)


def read(content: str | bytes) -> Recording:
    return READER.read(content if isinstance(content, bytes) else content.encode(), source="log.csv")


def notes(recording: Recording) -> str:
    return "\n".join(str(note) for note in recording.notes)


def rows(pattern: str, count: int = 50) -> str:
    """Lines in which ``{k}`` is the number of the row, ``{d}`` with two digits and ``{r}`` counting down."""
    return "\n".join(pattern.format(k=k, d=f"{k:02d}", r=count - k) for k in range(count))


NOISE = bytes(np.random.default_rng(3).integers(0, 256, 4000, dtype=np.uint8))
LETTER = "Dear student,\nplease bring your headset.\nBest regards\n" * 20
REFUSED = [
    (b"", UnreadableRecording, "empty"),
    (b"\r\n \r\n", UnreadableRecording, "empty"),
    (b"\x89PNG\r\n\x1a\n" + bytes(200), UnreadableRecording, "PNG"),
    (NOISE, UnreadableRecording, "binary"),
    (gzip.compress(b"a,b\n1,2\n" * 50, mtime=0), UnreadableRecording, "not a delimited log"),
    (LETTER, UnreadableRecording, "no table"),
    (rows("{k},{k}2,{k}3"), UnreadableRecording, "no header"),
    ("time,lat,lon\n" + rows("{k},47.{k},8.{k}", 5), UndecidedRecording, "only 5"),
    ("lat,lon,alt\n" + rows("47.{k},8.{k},900"), UndecidedRecording, "no column tells the time"),
    (
        "time,CHT1,EGT1,RPM,volts\n" + rows("{k},300,1300,2400,13.9"),
        UndecidedRecording,
        "no position and no attitude",
    ),
    ("time,lat,lon,roll\n" + rows("{k},NaN,NaN,NaN"), UndecidedRecording, "no position and no attitude"),
    ("time,lat,lon,roll\n" + rows("{r},47.{d},8.{d},{k}"), UndecidedRecording, "time runs backward"),
    ("time,lat,lon\n" + rows("{k},1e9,1e9"), UndecidedRecording, "no position"),
]


@pytest.mark.parametrize(("content", "error", "phrase"), REFUSED)
def test_what_cannot_be_read_is_refused(content: str | bytes, error: type[Exception], phrase: str) -> None:
    with pytest.raises(error, match=phrase) as caught:
        read(content)
    assert caught.value.where == "log.csv"  # type: ignore[attr-defined]
    assert caught.value.next_step  # type: ignore[attr-defined]


def test_a_refused_engine_log_says_what_it_holds() -> None:
    with pytest.raises(UndecidedRecording, match=r"engine temperature \(2\)"):
        read("time,CHT1,EGT1,RPM\n" + "\n".join(f"{k},300,1300,2400" for k in range(50)))


def test_a_truncated_file_gives_what_is_readable() -> None:
    content = plain(FLIGHT)[:-60]
    recording = read(content)
    assert recording.rows == len(FLIGHT) - 1
    assert "cut short" in notes(recording)


def test_duplicate_rows_are_left_out_with_their_line() -> None:
    lines = plain(FLIGHT).split("\n")
    lines[101:101] = lines[99:101]
    recording = read("\n".join(lines))
    assert recording.rows == len(FLIGHT)
    assert re.search(r"line 10[0-4]: 2 rows are copies", notes(recording))


def test_rows_out_of_order_are_sorted() -> None:
    lines = plain(FLIGHT).split("\n")
    lines[50], lines[51] = lines[51], lines[50]
    lines[200], lines[202] = lines[202], lines[200]
    recording = read("\n".join(lines))
    assert np.allclose(np.diff(recording.time), 1.0)
    assert "out of order" in notes(recording)


def test_a_clock_set_back_keeps_every_row() -> None:
    columns = english(FLIGHT)
    clock = np.where(FLIGHT.time < 100, FLIGHT.time + 500.0, FLIGHT.time)
    columns["UTC"] = stamps(clock, "%Y-%m-%dT%H:%M:%SZ")
    recording = read(table(columns))
    assert recording.rows == len(FLIGHT)
    assert np.allclose(np.diff(recording.time), 1.0)
    assert recording.start_utc == START
    assert re.search(r"line 102: time runs backward by 50\d s: the clock was set back", notes(recording))


def test_a_clock_that_errs_for_a_while_is_repaired() -> None:
    time = FLIGHT.time.copy()
    time[200:230] -= 3600.0
    columns = english(FLIGHT)
    columns["UTC"] = stamps(time, "%Y-%m-%dT%H:%M:%SZ")
    recording = read(table(columns))
    assert np.allclose(np.diff(recording.time), 1.0)
    assert "for 30 rows and returns" in notes(recording)


def test_a_clock_before_its_first_fix_is_moved() -> None:
    columns = english(FLIGHT)
    columns["UTC"][:40] = [f"1980-01-06T00:00:{k:02d}Z" for k in range(40)]
    recording = read(table(columns))
    assert np.allclose(np.diff(recording.time), 1.0)
    assert recording.start_utc == START
    assert "set forward" in notes(recording)


def test_a_single_wild_stamp_is_placed_between_its_neighbors() -> None:
    columns = english(FLIGHT)
    columns["UTC"][77] = "2036-02-07T06:28:16Z"
    recording = read(table(columns))
    assert np.allclose(np.diff(recording.time), 1.0)
    assert "leap far away" in notes(recording)


def test_missing_rows_are_a_gap() -> None:
    lines = plain(FLIGHT).split("\n")
    del lines[150:190]
    recording = read("\n".join(lines))
    assert len(recording.gaps) == 1
    assert recording.gaps[0].end - recording.gaps[0].start == pytest.approx(41.0)


def test_wild_values_are_left_out_with_the_first_line() -> None:
    columns = english(FLIGHT)
    columns["IAS (kt)"][10] = "1e9"
    columns["IAS (kt)"][11] = "4000"
    recording = read(table(columns))
    time, _ = recording.samples("indicated_airspeed")
    assert len(time) == len(FLIGHT) - 2
    assert "line 13" in notes(recording)


def test_a_sparse_track_is_read() -> None:
    sparse = FLIGHT.at(slice(None, None, 5))
    recording = read(
        table(
            {
                "time": text(sparse.time, 0),
                "lat": text(degrees(sparse.latitude), 6),
                "lon": text(degrees(sparse.longitude), 6),
            }
        )
    )
    assert recording.channels["latitude"].rate == pytest.approx(0.2)


def test_steps_of_altitude_in_level_flight_are_not_held_values() -> None:
    fast = known_flight().every(0.125)
    columns = english(fast)
    columns["Pressure Altitude (ft)"] = [f"{round(v / 0.3048)}" for v in fast.pressure_altitude]
    recording = read(table(columns))
    time, _ = recording.samples("pressure_altitude")
    assert len(time) == recording.rows


def test_held_channels_have_their_own_rate() -> None:
    fast = known_flight().every(0.125)
    columns = english(fast)
    for name in ("Latitude", "Longitude", "Ground Speed (kt)", "Track (deg true)"):
        columns[name] = [columns[name][8 * (k // 8)] for k in range(len(fast))]
    recording = read(table(columns))
    assert recording.channels["latitude"].rate == pytest.approx(1.0, abs=0.02)
    assert recording.channels["track"].rate == pytest.approx(1.0, abs=0.02)
    assert recording.channels["bank"].rate == pytest.approx(8.0, abs=0.1)


def test_resolution_is_the_smallest_step() -> None:
    recording = read(plain(FLIGHT))
    assert recording.channels["indicated_airspeed"].resolution == pytest.approx(0.1 * 0.514444, rel=1e-4)


def test_a_column_map_overrules() -> None:
    content = table(
        {
            "count": text(FLIGHT.time * 1000, 0),
            "a": text(degrees(FLIGHT.latitude), 7),
            "b": text(degrees(FLIGHT.longitude), 7),
            "q": text(-FLIGHT.bank, 5),
            "speed": text(knots(FLIGHT.indicated_airspeed), 1),
        }
    )
    recording = READER.read(
        content.encode(),
        source="log.csv",
        column_map={
            "columns": {
                "latitude": "a",
                "longitude": "B",
                "bank": {"column": "q", "unit": "rad", "sign": -1},
                "indicated_airspeed": {"column": "speed", "unit": "kt"},
            },
            "time": {"column": "count", "unit": "ms"},
        },
    )
    assert np.allclose(recording.table["bank"].to_numpy(), FLIGHT.bank, atol=1e-5)
    assert np.allclose(recording.time, FLIGHT.time)
    assert np.allclose(recording.table["indicated_airspeed"].to_numpy(), FLIGHT.indicated_airspeed, atol=0.03)
    assert "ground_speed" not in recording


def test_a_zone_is_applied_to_local_times() -> None:
    columns = english(FLIGHT)
    del columns["UTC"]
    local = {"Local Time": stamps(FLIGHT.time, "%Y-%m-%d %H:%M:%S", shift=7200), **columns}
    content = table(local).encode()
    assert READER.read(content, source="log.csv").start_utc is None
    for zone in ("+02:00", "Europe/Berlin"):
        assert READER.read(content, source="log.csv", column_map={"zone": zone}).start_utc == START
        assert READER.read(content, source="log.csv", column_map={"time": {"zone": zone}}).start_utc == START


def test_ignored_columns_and_channels_are_left_out() -> None:
    given = {"ignore": ["Roll (deg)", "pitch"]}
    recording = READER.read(plain(FLIGHT).encode(), source="log.csv", column_map=given)
    assert "bank" not in recording
    assert "pitch" not in recording
    assert "ground_speed" in recording


def test_a_faulty_column_map_lists_every_fault() -> None:
    with pytest.raises(FaultyColumnMap) as caught:
        READER.read(
            plain(FLIGHT).encode(),
            source="log.csv",
            column_map={
                "colums": {},
                "columns": {"bank": {"column": "Rol", "unit": "kt", "sign": 2}, "rolling": "Roll (deg)"},
                "time": {"zone": "Mars/Base", "unit": "ft"},
                "ignore": "bank",
            },
        )
    paths = {fault.path for fault in caught.value.faults}
    assert paths == {
        "colums",
        "columns.bank.column",
        "columns.bank.unit",
        "columns.bank.sign",
        "columns.rolling",
        "time.zone",
        "time.unit",
        "ignore",
    }
    assert "Roll (deg)" in str(caught.value)
