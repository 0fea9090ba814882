from __future__ import annotations

import time as clock
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from tests.recordings.known import START, agrees, as_igc, known_flight

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import igc

# A thousandth of a minute of latitude is 1.85 m: half of it is the rounding, in radians.
HALF_STEP = np.radians(0.0005 / 60) * 1.001


def read(data: bytes):  # type: ignore[no-untyped-def]
    assert igc.READER.recognizes(data[:65536]) == 1.0
    return igc.READER.read(data, source="lesson.igc")


def test_a_known_flight_comes_back():
    known = known_flight()
    recording = read(as_igc(known, headers=("HFALG:ELL",), undulation=48.0))
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    agrees(recording, "longitude", known, known.longitude, within=HALF_STEP)
    agrees(recording, "pressure_altitude", known, known.altitude, within=0.5001)
    agrees(recording, "geometric_altitude", known, known.altitude + 48, within=0.5001)
    assert recording.start_utc == START
    assert recording.channels["geometric_altitude"].datum == "ellipsoid"
    assert recording.channels["latitude"].rate == pytest.approx(1.0)
    assert recording.channels["latitude"].resolution == pytest.approx(np.radians(0.001 / 60), rel=1e-6)
    assert recording.channels["pressure_altitude"].resolution == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("header", "datum"),
    [
        ("HFALG:ELL", "ellipsoid"),
        ("HFALGALTGPS:WGS84 ELLIPSOID", "ellipsoid"),
        ("HFALG:GEO", "mean_sea_level"),
        ("HFALGALTGPS:GEO", "mean_sea_level"),
        ("HFALG:NKN", "unknown"),
        ("HFGPSRECEIVER:X", "unknown"),
    ],
)
def test_the_header_says_what_satellite_altitude_is_above(header, datum):
    recording = read(as_igc(known_flight(), headers=(header,)))
    assert recording.channels["geometric_altitude"].datum == datum


def test_pressure_altitude_above_mean_sea_level_is_no_standard_altitude():
    recording = read(as_igc(known_flight(), headers=("HFALPALTPRESSURE:MSL",)))
    assert "altimeter_altitude" in recording
    assert "pressure_altitude" not in recording


@pytest.mark.parametrize("spelling", ["HFDTE{:%d%m%y}", "HFDTEDATE:{:%d%m%y},01", "HODTE {:%d-%m-%y}"])
def test_every_spelling_of_the_date(spelling):
    assert read(as_igc(known_flight(), date_line=spelling)).start_utc == START


def test_without_a_date_times_are_relative_and_a_note_says_so():
    data = as_igc(known_flight(), date_line=None)
    recording = igc.READER.read(data, source="lesson.igc")
    assert recording.start_utc is None
    assert recording.duration == pytest.approx(778.0)
    assert any("no date" in note.message for note in recording.notes)


def test_midnight_is_passed():
    start = datetime(2024, 5, 17, 23, 55, tzinfo=UTC)
    known = known_flight(start=start)
    recording = read(as_igc(known))
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    assert recording.start_utc == start
    assert not recording.gaps


def test_a_second_date_line_after_midnight_does_not_count_the_day_twice():
    known = known_flight(start=datetime(2024, 5, 17, 23, 55, tzinfo=UTC))
    lines = as_igc(known).decode().split("\r\n")
    first_next_day = next(i for i, line in enumerate(lines) if line.startswith("B0000"))
    lines.insert(first_next_day, "HFDTE180524")
    assert read("\r\n".join(lines).encode()).duration == pytest.approx(778.0)


def test_extensions_in_their_usual_decimals():
    known = known_flight()
    kph, degrees = known.speed * 360, np.degrees(known.track)
    extension = [
        f"{round(v):05d}{round(v * 1.02):05d}{round(d) % 360:03d}-071{100:04d}"
        for v, d in zip(kph, degrees, strict=True)
    ]
    recording = read(as_igc(known, extensions="I053640GSP4145TAS4648TRT4952OAT5356ACZ", extension=extension))
    agrees(recording, "ground_speed", known, known.speed, within=0.005 / 3.6 * 1.01)
    agrees(recording, "true_airspeed", known, known.speed * 1.02, within=0.005 / 3.6 * 1.01)
    agrees(recording, "track", known, known.track, within=np.radians(0.501))
    agrees(recording, "outside_air_temperature", known, np.full(len(known), 273.15 - 7.1), within=1e-9)
    agrees(recording, "load_factor", known, np.ones(len(known)), within=1e-9)


@pytest.mark.parametrize(("width", "unit"), [(3, 1 / 3.6), (3, 1852 / 3600), (4, 0.1 / 3.6)])
def test_a_speed_in_other_units_is_found_by_the_path(width, unit):
    known = known_flight()
    extension = [f"{round(v / unit):0{width}d}" for v in known.speed]
    recording = read(as_igc(known, extensions=f"I0136{35 + width}GSP", extension=extension))
    agrees(recording, "ground_speed", known, known.speed, within=0.5 * unit * 1.01)


def test_further_digits_of_the_minute_sharpen_the_position():
    known = known_flight()
    # The B record truncates to thousandths when the further digits follow.
    fine = as_igc(known).decode().split("\r\n")
    body = [line for line in fine if line.startswith("B")]
    exact = []
    for i, line in enumerate(body):
        lat = abs(np.degrees(known.latitude[i])) % 1 * 60
        lon = abs(np.degrees(known.longitude[i])) % 1 * 60
        lat5, lon5 = int(lat * 1e5), int(lon * 1e5)
        place = f"{line[:9]}{lat5 // 100:05d}{line[14:18]}{lon5 // 100:05d}{line[23:]}"
        exact.append(f"{place}{lat5 % 100:02d}{lon5 % 100:02d}")
    data = "\n".join(["AXYZ001", "HFDTE170524", "I023637LAD3839LOD", *exact]).encode()
    recording = read(data)
    step = np.radians(1e-5 / 60)
    agrees(recording, "latitude", known, known.latitude, within=step * 1.001)
    agrees(recording, "longitude", known, known.longitude, within=step * 1.001)


def test_decimal_seconds():
    known = known_flight(interval=0.5)
    extension = [f"{stamp.microsecond // 100000}" for stamp in known.stamps()]
    recording = read(as_igc(known, extensions="I013636TDS", extension=extension))
    assert recording.rows == len(known)
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)


def test_half_second_rows_without_decimals_are_spread():
    known = known_flight(interval=0.5)
    recording = read(as_igc(known))
    assert recording.rows == len(known)
    assert np.allclose(np.diff(recording.time), 0.5)
    assert any("share each time stamp" in note.message for note in recording.notes)


def test_two_dimensional_fixes_have_no_satellite_altitude():
    recording = read(as_igc(known_flight(), validity="V"))
    assert "geometric_altitude" not in recording
    assert "pressure_altitude" in recording
    assert any("(V)" in note.message for note in recording.notes)


def test_bad_lines_are_noted_by_number_and_cost_only_themselves():
    known = known_flight()
    lines = as_igc(known).decode().split("\r\n")
    lines[10] = lines[10][:20]
    lines[30] = "B256161" + lines[30][7:]
    lines[50] = "?!"
    recording = read("\r\n".join(lines).encode())
    assert recording.rows == len(known) - 3
    assert {note.line for note in recording.notes if note.line} >= {11, 31, 51}


def test_many_bad_lines_make_few_notes():
    lines = as_igc(known_flight()).decode().split("\r\n")
    for i in range(100, 400):
        lines[i] = "B" + lines[i][2:]
    recording = read("\r\n".join(lines).encode())
    assert len(recording.notes) < 12
    assert any("295 more lines" in note.message for note in recording.notes)


def test_data_records_fill_rows_of_their_own():
    known = known_flight()
    lines = as_igc(known).decode().split("\r\n")
    lines.insert(2, "J020810HDT1113WDI")
    stamps = known.stamps()
    for row in range(60, 600, 20):
        at = next(i for i, line in enumerate(lines) if line.startswith(f"B{stamps[row]:%H%M%S}"))
        lines.insert(at + 1, f"K{stamps[row]:%H%M%S}{round(np.degrees(known.track[row])) % 360:03d}270")
    recording = read("\r\n".join(lines).encode())
    agrees(recording, "heading_true", known, known.track, within=np.radians(0.501), least=0.03)
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    assert recording.channels["heading_true"].rate == pytest.approx(1 / 20)
    assert recording.samples("wind_from")[1] == pytest.approx(np.full(27, np.radians(270)))


def test_south_and_west_are_negative():
    known = known_flight(latitude=-33.0)
    recording = read(as_igc(known))
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)


def test_headers_without_fixes_are_refused():
    with pytest.raises(UnreadableRecording, match="no readable fix"):
        igc.READER.read(b"AXYZ001\r\nHFDTE170524\r\n", source="lesson.igc")


def test_five_hours_at_one_hertz_are_read_within_a_second():
    rows = 5 * 3600
    begin = datetime(2024, 5, 17, 8, tzinfo=UTC)
    stamps = [begin + timedelta(seconds=i) for i in range(rows)]
    lines = [f"B{s:%H%M%S}47{12000 + i % 9000:05d}N00818000EA0120001250071" for i, s in enumerate(stamps)]
    data = "\r\n".join(["AXYZ001", "HFDTE170524", "I013638TRT", *lines]).encode()
    read(data[:200000])
    began = clock.process_time()
    recording = read(data)
    # The budget is a second; processor time, so that a busy machine does not fail it.
    assert clock.process_time() - began < 1.0
    assert recording.rows == rows
