from __future__ import annotations

import numpy as np
import pytest
from tests.recordings.known import START, agrees, as_gpx, as_kml_segments, as_kml_track, known_flight

from chalkwing.errors import UndecidedRecording, UnreadableRecording
from chalkwing.recordings import gpx, kml

HALF_STEP = np.radians(0.5e-8) * 1.01


def read(data: bytes):  # type: ignore[no-untyped-def]
    reader = gpx.READER if gpx.READER.recognizes(data[:65536]) else kml.READER
    assert reader.recognizes(data[:65536]) == 1.0
    return reader.read(data, source="lesson")


@pytest.mark.parametrize("version", ["1.0", "1.1"])
@pytest.mark.parametrize("interval", [1.0, 0.2])
def test_a_known_flight_comes_back_from_gpx(version, interval):
    known = known_flight(interval=interval)
    recording = read(as_gpx(known, version=version))
    assert recording.start_utc == START
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    agrees(recording, "longitude", known, known.longitude, within=HALF_STEP)
    agrees(recording, "geometric_altitude", known, known.altitude, within=0.00501)
    agrees(recording, "ground_speed", known, known.speed, within=0.000501)
    agrees(recording, "track", known, known.track, within=np.radians(0.00501))
    assert recording.channels["geometric_altitude"].datum == "unknown"


def test_extensions_of_any_namespace_are_matched_by_local_name():
    known = known_flight()
    recording = read(as_gpx(known))
    expected = 101325.0 * (1 - known.altitude / 44330.77) ** 5.25588
    agrees(recording, "static_pressure", known, expected, within=0.0501)
    agrees(recording, "bank", known, known.bank, within=np.radians(0.00501))
    assert not recording.channels["bank"].sure


@pytest.mark.parametrize(("factor", "unit"), [(3.6, "km/h"), (3600 / 1852, "knots")])
def test_a_speed_in_another_unit_is_found_by_the_path(factor, unit):
    known = known_flight()
    recording = read(as_gpx(known, speed_factor=factor))
    agrees(recording, "ground_speed", known, known.speed, within=0.001)
    assert any(unit in note.message for note in recording.notes)


@pytest.mark.parametrize("zone", ["Z", "+00:00", ""])
def test_zones_of_time_stamps(zone):
    recording = read(as_gpx(known_flight(), stamp=zone))
    assert recording.start_utc == START
    assert any("name no zone" in note.message for note in recording.notes) == (zone == "")


def test_a_track_cut_off_yields_what_came_before_with_the_line():
    known = known_flight()
    whole = as_gpx(known)
    recording = read(whole[: len(whole) // 2])
    assert 0.45 * len(known) < recording.rows < 0.5 * len(known)
    damage = recording.notes[0]
    assert "damaged" in damage.message
    assert damage.line == whole[: len(whole) // 2].count(b"\n") + 1


def test_segments_out_of_order_are_put_in_order():
    known = known_flight()
    first, second = as_gpx(known.rows(slice(0, 300))).decode(), as_gpx(known.rows(slice(320, 700))).decode()
    body = second.split("<trkseg>")[1].split("</trkseg>")[0]
    data = first.replace("<trkseg>", f"<trkseg>{body}</trkseg><trkseg>")
    recording = read(data.encode())
    assert recording.rows == 680
    assert [round(gap.end - gap.start) for gap in recording.gaps] == [21]


def test_entities_are_refused_and_never_expanded():
    bomb = (
        b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
        b'<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]><gpx><trk><name>&b;</name></trk></gpx>'
    )
    outside = (
        b'<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]><gpx><trk><name>&x;</name></trk></gpx>'
    )
    for data in (bomb, outside):
        with pytest.raises(UnreadableRecording, match="entities"):
            read(data)


def test_a_track_without_times_is_refused_with_the_reason():
    points = b'<trkpt lat="47" lon="8"/><trkpt lat="47.1" lon="8"/>'
    data = b"<gpx><trk><trkseg>" + points + b"</trkseg></trk></gpx>"
    with pytest.raises(UndecidedRecording, match="no times"):
        read(data)
    route = b'<gpx version="1.1"><rte><rtept lat="47" lon="8"/></rte></gpx>'
    with pytest.raises(UnreadableRecording, match="no track points"):
        read(route)


def test_wide_encodings():
    known = known_flight()
    text = as_gpx(known).decode().replace("UTF-8", "UTF-16")
    recording = read(text.encode("utf-16"))
    assert recording.rows == len(known)


@pytest.mark.parametrize("roll_sign", [1.0, -1.0])
def test_a_known_flight_comes_back_from_a_kml_track(roll_sign):
    known = known_flight()
    recording = read(as_kml_track(known, roll_sign=roll_sign))
    assert recording.start_utc == START
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    agrees(recording, "geometric_altitude", known, known.altitude, within=0.00501)
    agrees(recording, "heading_true", known, known.track, within=np.radians(0.000501))
    agrees(recording, "bank", known, known.bank, within=np.radians(0.000501))
    agrees(recording, "ground_speed", known, known.speed, within=0.000501)
    assert recording.channels["geometric_altitude"].datum == "mean_sea_level"
    assert any("sign was changed" in note.message for note in recording.notes) == (roll_sign < 0)


def test_altitude_relative_to_the_ground_is_height():
    recording = read(as_kml_track(known_flight(), mode="relativeToGround"))
    assert "height_above_ground" in recording
    assert "geometric_altitude" not in recording


def test_placemarks_with_a_time_span_for_each_piece():
    known = known_flight()
    recording = read(as_kml_segments(known))
    agrees(recording, "latitude", known, known.latitude, within=HALF_STEP)
    assert recording.rows == len(known) // 2 * 2


def test_a_line_without_times_within_is_refused():
    points = " ".join(f"{8 + i / 1000},47,900" for i in range(100))
    data = (
        "<kml><Placemark><TimeSpan><begin>2024-05-17T09:30:00Z</begin><end>2024-05-17T10:30:00Z</end></TimeSpan>"
        f"<LineString><coordinates>{points}</coordinates></LineString></Placemark></kml>"
    )
    with pytest.raises(UndecidedRecording, match="no times for its points"):
        read(data.encode())
