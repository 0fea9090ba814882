from __future__ import annotations

import numpy as np
import pytest
from tests.recordings.frames import transmitted
from tests.recordings.known import START, agrees, known_flight

from chalkwing.errors import UndecidedRecording
from chalkwing.recordings import adsb_frames

STEP = 25 * 0.3048
KNOT = 1852 / 3600
# One step of airborne CPR is 360 / 60 / 2**17 degrees of latitude, 5.1 m; half of it is the rounding.
HALF_LATITUDE = np.radians(360 / 59 / 2**17 / 2) * 1.01


def read(lines: list[str], column_map: dict[str, object] | None = None):  # type: ignore[no-untyped-def]
    data = "\n".join(lines).encode()
    assert adsb_frames.READER.recognizes(data[:65536]) > 0.9
    return adsb_frames.READER.read(data, source="frames.txt", column_map=column_map)


@pytest.fixture(scope="module")
def flown():  # type: ignore[no-untyped-def]
    known = known_flight()
    return known, transmitted(known)


@pytest.mark.parametrize(
    "line",
    ["{t:.3f},{f}", "{f},{t:.3f}", "{t:.3f} *{f};", "{f};{t:.3f}", "{t:.3f}\t{l}", "rx7,{f},-23.5dB,{t:.3f}"],
)
def test_a_known_flight_comes_back_whatever_the_order_of_columns(flown, line):
    known, sent = flown
    recording = read([line.format(t=time, f=text, l=text.lower()) for time, text in sent])
    assert recording.start_utc == START
    agrees(recording, "latitude", known, known.latitude, within=HALF_LATITUDE)
    agrees(recording, "longitude", known, known.longitude, within=HALF_LATITUDE * 2)
    agrees(recording, "pressure_altitude", known, known.altitude, within=STEP / 2 * 1.01)
    north, east = known.speed * np.cos(known.track), known.speed * np.sin(known.track)
    agrees(recording, "velocity_north", known, north, within=KNOT / 2 * 1.01)
    agrees(recording, "velocity_east", known, east, within=KNOT / 2 * 1.01)
    agrees(recording, "vertical_speed", known, known.climb, within=64 / 2 * 0.3048 / 60 * 1.01)
    agrees(recording, "geometric_altitude", known, known.altitude + 150 * 0.3048, within=STEP / 2 * 1.01)
    assert recording.channels["geometric_altitude"].datum == "ellipsoid"


def test_dates_as_words_and_counters(flown):
    known, sent = flown
    dated = [
        f"{stamp.isoformat()},{text}"
        for stamp, (_, text) in zip(np.repeat(known.stamps(), 2), sent, strict=True)
    ]
    assert read(dated).start_utc == START
    counted = [f"@{round((time - known.time[0]) * 12e6) + 5000:012X}{text};" for time, text in sent]
    recording = read(counted)
    assert recording.start_utc is None
    assert recording.duration == pytest.approx(778.0)


def test_published_frames():
    # J. Sun, The 1090 Megahertz Riddle, 2nd ed., ch. 5 and 6 (from memory): an even and an odd position of
    # 40621D give 52.2572 N, 3.91937 E at 38,000 ft.
    lines = ["1457996402.0,8D40621D58C386435CC412692AD6", "1457996404.0,8D40621D58C382D690C8AC2863A7"]
    lines.append("1457996405.0,8D40621D58C382D690C8AC2863A7")
    recording = read(lines)
    assert np.degrees(recording.samples("latitude")[1][0]) == pytest.approx(52.2572, abs=1e-4)
    assert np.degrees(recording.samples("longitude")[1][0]) == pytest.approx(3.91937, abs=1e-4)
    assert recording.samples("pressure_altitude")[1] == pytest.approx(np.full(3, 38000 * 0.3048))


def test_velocity_survives_a_steep_turn():
    # 24 deg/s: a stream decoder made for airliners drops these as impossible.
    known = known_flight()
    spun = type(known)(
        **{**known.__dict__, "track": np.mod(np.radians(24.0) * np.arange(len(known)), 2 * np.pi)}
    )
    recording = read([f"{time},{text}" for time, text in transmitted(spun)])
    agrees(recording, "velocity_north", spun, spun.speed * np.cos(spun.track), within=KNOT / 2 * 1.01)


def test_the_aircraft_most_heard_is_taken_or_the_one_named(flown):
    known, sent = flown
    other = known_flight(latitude=48.0).rows(slice(0, 300))
    mixed = sorted(sent + transmitted(other, address=0xABCDEF))
    lines = [f"{time},{text}" for time, text in mixed]
    recording = read(lines)
    agrees(recording, "latitude", known, known.latitude, within=HALF_LATITUDE)
    assert any("ABCDEF (300)" in note.message for note in recording.notes)
    named = read(lines, {"aircraft": "abcdef"})
    agrees(named, "latitude", other, other.latitude, within=HALF_LATITUDE)
    with pytest.raises(UndecidedRecording, match="4A1B2C"):
        read(lines, {"aircraft": "123456"})


def test_frames_with_wrong_parity_are_left_out_and_noted(flown):
    _, sent = flown
    lines = [f"{time},{text}" for time, text in sent]
    lines[200] = lines[200][:-1] + ("0" if lines[200][-1] != "0" else "1")
    lines[201] = "1715938300.0,not a frame"
    recording = read(lines)
    assert {note.line for note in recording.notes if note.line} >= {201, 202}


def test_frames_without_times_are_refused(flown):
    _, sent = flown
    with pytest.raises(UndecidedRecording, match="no receive times"):
        read([f"*{text};" for _, text in sent])
