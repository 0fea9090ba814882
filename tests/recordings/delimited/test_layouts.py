"""Every invented layout must give back the flight that it was written from."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from tests.recordings.delimited.flight import START, Flight, known_flight
from tests.recordings.delimited.layouts import LAYOUTS, Layout

from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited import READER
from chalkwing.units import Floats, wrap_angle

CHANNEL_OF_TRUTH = {"altimeter_altitude": "pressure_altitude"}


def truth_at(flight: Flight, channel: str, time: Floats) -> Floats:
    values = getattr(flight, CHANNEL_OF_TRUTH.get(channel, channel))
    if KINDS[channel].circular:
        values = np.unwrap(values)
    return np.interp(time, flight.time, values)


def written(layout: Layout) -> tuple[bytes, Flight]:
    flight = known_flight(latitude=layout.where[0], longitude=layout.where[1])
    content = layout.build(flight.every(layout.interval))
    return (content if isinstance(content, bytes) else content.encode()), flight


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_a_layout_gives_back_the_flight(layout: Layout) -> None:
    data, flight = written(layout)
    assert READER.recognizes(data[:65536]) > 0.4
    recording = READER.read(data, source="flight.csv")
    said = "\n".join(str(note) for note in recording.notes)
    if layout.utc:
        assert recording.start_utc is not None
        assert abs(recording.start_utc - START) <= timedelta(seconds=layout.late)
    else:
        assert recording.start_utc is None or layout.name.startswith("seconds")
    for channel, tolerance in layout.expect.items():
        assert channel in recording, f"{channel} is missing\n{said}"
        time, values = recording.samples(channel)
        truth = truth_at(flight, channel, time)
        error = wrap_angle(values - truth) if KINDS[channel].unit == "rad" else values - truth
        allowed = tolerance + layout.late * greatest_rate(flight, channel)
        assert np.abs(error).max() <= allowed, f"{channel}: {np.abs(error).max():.4g} > {allowed:.4g}\n{said}"
        assert len(values) >= 0.9 * len(flight.every(max(layout.interval, 1.0)))
        assert recording.channels[channel].sure is (channel not in layout.unsure) or channel in {
            "heading_magnetic",
            "geometric_altitude",
        }
    for phrase in layout.notes:
        assert phrase in said, said


def greatest_rate(flight: Flight, channel: str) -> float:
    """How fast the channel changes at most [SI per second]: a late row is off by that much."""
    values = getattr(flight, CHANNEL_OF_TRUTH.get(channel, channel))
    values = np.unwrap(values) if KINDS[channel].unit == "rad" else values
    return float(np.abs(np.diff(values)).max() / (flight.time[1] - flight.time[0]))


def test_the_layouts_are_many() -> None:
    assert len(LAYOUTS) >= 25
