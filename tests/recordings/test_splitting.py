from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from tests.recordings.known import START, Known, as_igc, as_nmea, known_flight

from chalkwing.recordings import flights, igc, nmea
from chalkwing.recordings.build import Column, build


def made(known: Known, **more: np.ndarray):  # type: ignore[no-untyped-def, type-arg]
    names = {"latitude": known.latitude, "longitude": known.longitude, "pressure_altitude": known.altitude}
    columns = {name: Column(values, name) for name, values in (names | more).items()}
    return build(time=known.time, columns=columns, source="made", reader="test", data=b"", utc=True)


def end_to_end(*parts: Known) -> Known:
    """Flights one after the other, each beginning where the last one ended."""
    north, east, out = 0.0, 0.0, []
    for part in parts:
        moved = {**part.__dict__, "latitude": part.latitude + north, "longitude": part.longitude + east}
        out.append(Known(**moved))
        north, east = out[-1].latitude[-1] - part.latitude[0], out[-1].longitude[-1] - part.longitude[0]
    return Known(**{name: np.concatenate([getattr(k, name) for k in out]) for name in parts[0].__dict__})


def test_one_flight_from_takeoff_to_landing():
    (flight,) = flights(igc.READER.read(as_igc(known_flight()), source="x"))
    # The known flight rolls at 60 s, flies from about 85 s, and is down to taxi speed at about 715 s.
    assert flight.start == pytest.approx(80, abs=15)
    assert flight.end == pytest.approx(712, abs=15)
    assert (flight.begins, flight.ends) == ("takeoff", "landing")


def test_two_flights_with_a_full_stop_between():
    second = known_flight(start=START + timedelta(seconds=780))
    both = end_to_end(known_flight(), second)
    first, later = flights(nmea.READER.read(as_nmea(both), source="x"))
    assert first.end == pytest.approx(712, abs=15)
    assert later.start == pytest.approx(780 + 80, abs=15)


def test_two_flights_with_the_recorder_off_between():
    second = known_flight(start=START + timedelta(seconds=5000))
    found = flights(made(end_to_end(known_flight(), second)))
    assert [(flight.begins, flight.ends) for flight in found] == [("takeoff", "landing")] * 2


def test_a_touch_and_go_stays_one_flight():
    known = known_flight()
    down, up = known.rows(slice(0, 716)), known.rows(slice(64, 779))
    up = Known(**{**up.__dict__, "time": up.time + 652})
    (flight,) = flights(made(end_to_end(down, up)))
    assert flight.end - flight.start > 1200


def test_a_recording_that_begins_and_ends_in_the_air():
    (flight,) = flights(made(known_flight().rows(slice(150, 600))))
    assert (flight.begins, flight.ends) == ("recording", "recording")
    assert (flight.start, flight.end) == (0.0, 449.0)


def test_a_gap_in_a_circle_is_not_a_landing():
    # A minute of the circle is missing and its ends are close together.
    known = known_flight()
    time = known.time + np.where(np.arange(len(known)) >= 360, 120.0, 0.0)
    cut = np.r_[0:310, 360:779]
    recording = made(Known(**{**known.__dict__, "time": time}).rows(cut))
    assert len(flights(recording)) == 1


def test_a_long_gap_in_the_air_parts_two_flights():
    known = known_flight()
    time = known.time + np.where(np.arange(len(known)) >= 400, 900.0, 0.0)
    first, second = flights(made(Known(**{**known.__dict__, "time": time})))
    assert (first.ends, second.begins) == ("gap", "gap")
    assert second.start - first.end == pytest.approx(901)


def test_a_recording_at_rest_holds_no_flight():
    known = known_flight()
    still = Known(
        **{**known.__dict__, "latitude": np.full(len(known), 0.8), "longitude": np.full(len(known), 0.1)}
    )
    assert flights(made(still)) == ()


def test_slow_flight_into_a_gale_is_not_a_landing():
    # Ground speed falls to 2 m/s for two minutes, airspeed stays at 25 m/s.
    known = known_flight().rows(slice(150, 600))
    speed = known.speed.copy()
    speed[200:320] = 2.0
    airspeed = np.where(speed < 3, 25.0, speed)
    recording = build(
        time=known.time,
        columns={
            "ground_speed": Column(speed, "gs"),
            "indicated_airspeed": Column(airspeed, "ias"),
            "pressure_altitude": Column(np.full(len(known), 900.0), "alt"),
        },
        source="made", reader="test", data=b"", utc=True,
    )  # fmt: skip
    assert len(flights(recording)) == 1


@pytest.mark.parametrize("scale", [0.2, 0.4, 1.0])
def test_thresholds_follow_the_speed_of_what_flies(scale):
    known = known_flight()
    slowed = {
        name: getattr(known, name)[0] + (getattr(known, name) - getattr(known, name)[0]) * scale
        for name in ("latitude", "longitude")
    }
    (flight,) = flights(made(Known(**{**known.__dict__, **slowed})))
    assert flight.start == pytest.approx(75, abs=20)
    assert flight.end == pytest.approx(715, abs=20)


def test_without_any_speed_the_whole_recording_is_one_flight():
    time = np.arange(0.0, 100)
    recording = build(
        time=time, columns={"bank": Column(np.sin(time), "roll")}, source="x", reader="t", data=b"", utc=False
    )
    (flight,) = flights(recording)
    assert (flight.start, flight.end) == (0.0, 99.0)
