from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from tests.recordings.known import START, agrees, as_nmea, known_flight, sentence

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import nmea

HALF_STEP = np.radians(0.5e-5 / 60) * 1.01


def read(data: bytes):  # type: ignore[no-untyped-def]
    assert nmea.READER.recognizes(data[:65536]) > 0.5
    return nmea.READER.read(data, source="lesson.nmea")


@pytest.mark.parametrize("talker", ["GP", "GN", "GL", "GA", "BD"])
def test_a_known_flight_comes_back_from_any_talker(talker):
    known = known_flight()
    recording = read(as_nmea(known, talker=talker))
    assert recording.start_utc == START
    assert recording.rows == len(known)
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    agrees(recording, "longitude", known, known.longitude, within=HALF_STEP)
    agrees(recording, "geometric_altitude", known, known.altitude, within=0.00501)
    agrees(recording, "ground_speed", known, known.speed, within=0.0005 * 1852 / 3600 * 1.01)
    agrees(recording, "track", known, known.track, within=np.radians(0.000501))
    agrees(recording, "magnetic_variation", known, np.full(len(known), np.radians(-3.1)), within=1e-9)
    assert recording.channels["geometric_altitude"].datum == "mean_sea_level"
    assert any("47.6 m above the ellipsoid" in note.message for note in recording.notes)


def test_a_published_sentence_with_its_checksum():
    # RMC example as printed in many receiver manuals (from memory): 48 deg 07.038' N, 11 deg 31.000' E,
    # 22.4 kt, track 084.4, 23 March 1994, 12:35:19 UTC, variation 3.1 W, checksum 6A.
    line = b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"
    other = sentence("GPRMC,123520,A,4807.038,N,01131.010,E,022.4,084.4,230394,003.1,W").encode()
    recording = read(line + other)
    assert recording.start_utc == datetime(1994, 3, 23, 12, 35, 19, tzinfo=UTC)
    assert np.degrees(recording.samples("latitude")[1][0]) == pytest.approx(48 + 7.038 / 60)
    assert np.degrees(recording.samples("longitude")[1][0]) == pytest.approx(11 + 31 / 60)
    assert recording.samples("ground_speed")[1][0] == pytest.approx(22.4 * 1852 / 3600)
    assert np.degrees(recording.samples("magnetic_variation")[1][0]) == pytest.approx(-3.1)


def test_a_wrong_checksum_costs_only_its_sentence():
    known = known_flight()
    lines = as_nmea(known).decode().split("\r\n")
    assert "GGA" in lines[301]
    lines[301] = lines[301].replace(",1,09,", ",1,08,")
    recording = read("\r\n".join(lines).encode())
    assert recording.rows == len(known)
    assert any("checksum" in note.message and note.line == 302 for note in recording.notes)
    assert len(recording.samples("geometric_altitude")[0]) == len(known) - 1


def test_midnight_is_passed_with_and_without_a_date():
    known = known_flight(start=datetime(2024, 2, 28, 23, 55, tzinfo=UTC))
    dated, undated = read(as_nmea(known)), read(as_nmea(known, date=False))
    agrees(dated, "latitude", known, known.latitude, within=HALF_STEP)
    assert undated.start_utc is None
    assert undated.duration == pytest.approx(dated.duration)
    assert any("no sentence states a date" in note.message for note in undated.notes)


def test_altitude_and_position_alone_suffice():
    known = known_flight()
    recording = read(as_nmea(known, rmc=False))
    assert recording.start_utc is None
    assert len(recording.samples("latitude")[0]) > 0.9 * len(known)


def test_what_receivers_put_before_the_sentence_is_ignored():
    data = "\n".join(f"09:30:00.1 rx1 > {line}" for line in as_nmea(known_flight()).decode().splitlines())
    assert read(data.encode()).rows == len(known_flight())


def test_fixes_declared_void_are_not_used():
    void = "\n".join(
        sentence(f"GPRMC,0930{second:02d},V,4712.000,N,00818.000,E,,,170524,,") for second in range(60)
    )
    with pytest.raises(UnreadableRecording, match="valid position fix"):
        read(void.encode())


def test_headings_belong_to_the_open_epoch():
    known = known_flight()
    lines = []
    for i, line in enumerate(as_nmea(known).decode().splitlines()):
        lines.append(line)
        if "RMC" in line:
            lines.append(sentence(f"HCHDG,{np.degrees(known.track[i // 3]) % 360:.2f},1.5,E,3.1,W"))
    recording = read("\n".join(lines).encode())
    expected = np.mod(known.track + np.radians(1.5), 2 * np.pi)
    agrees(recording, "heading_magnetic", known, expected, within=np.radians(0.0051))
