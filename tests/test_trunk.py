"""The trunk with the rooms below it replaced: several flights, clocks, refusals, what is said of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest

import chalkwing
from chalkwing.errors import UndecidedRecording, UnknownName
from chalkwing.motion.motion import Motion
from chalkwing.recordings import Channel, Flight, Recording
from chalkwing.trunk import debriefing, reconstructing
from chalkwing.trunk.deciding import decides
from chalkwing.trunk.telling import wind_reports


class NoDraws:
    def draw(self, first, last, *, count, seed):
        return {}


def recording(name="a.csv", start=None, channels=("latitude",)) -> Recording:
    time = np.arange(0.0, 1000.0)
    return Recording(
        table=pl.DataFrame({"time": time, **{channel: np.zeros(1000) for channel in channels}}),
        channels={channel: Channel(channel, channel, 1.0) for channel in channels},
        source=name,
        reader="fake",
        sha256="0" * 64,
        rows=1000,
        start_utc=start,
    )


def motion(of: Recording, start=0.0, end=1000.0, climb=0.0) -> Motion:
    time = np.arange(start, end + 0.25, 0.25)
    names = ("geometric_altitude", "altitude", "airspeed", "heading_true", "bank", "wind_north", "wind_east")
    values = {name: np.zeros(len(time)) for name in names}
    values["wind_north"] = np.full(len(time), -5.0)
    values["geometric_altitude"] = values["altitude"] = 1000.0 + climb * (time - start)
    return Motion(
        time=time,
        values=values,
        sds={name: np.full(len(time), 0.5) for name in names},
        origins=dict.fromkeys(names, "derived"),
        airspeed_kind="calibrated",
        altitude_kind="geometric",
        in_gap=np.zeros(len(time), dtype=bool),
        recording=of,
        posterior=NoDraws(),
    )


@pytest.fixture
def rooms(monkeypatch):
    """Fakes for reading, splitting and reconstructing; a test fills in what they give."""
    given = {"recordings": (recording(),), "flights": (Flight(0.0, 1000.0),), "refuse": set()}

    def reconstruct(of, *, flight, sheet, progress):
        if flight.start in given["refuse"]:
            raise UndecidedRecording(f"the stretch from {flight.start:.0f} s is too short.")
        return motion(of, flight.start, flight.end)

    monkeypatch.setattr(reconstructing, "read", lambda *paths, **options: given["recordings"])
    monkeypatch.setattr(reconstructing, "flights", lambda of: given["flights"])
    monkeypatch.setattr(reconstructing, "reconstruct", reconstruct)
    monkeypatch.setattr(debriefing, "find_together", lambda motions, known: tuple(() for _ in motions))
    monkeypatch.setattr(debriefing, "phases", lambda motion: ())
    return given


def test_every_flight_of_a_recording_is_reconstructed(rooms):
    rooms["flights"] = (Flight(0.0, 300.0), Flight(500.0, 900.0))
    found = chalkwing.debrief("a.csv")
    assert [(each.start_s, each.end_s) for each in found.flights] == [(0.0, 300.0), (500.0, 900.0)]


def test_one_flight_that_cannot_be_reconstructed_is_noted_and_the_others_stand(rooms):
    rooms["flights"] = (Flight(0.0, 10.0), Flight(500.0, 900.0))
    rooms["refuse"] = {0.0}
    found = chalkwing.debrief("a.csv")
    assert len(found.flights) == 1
    assert found.notes == ("the stretch from 0 s is too short.",)


def test_no_flight_that_can_be_reconstructed_is_refused(rooms):
    rooms["refuse"] = {0.0}
    with pytest.raises(UndecidedRecording, match="too short"):
        chalkwing.debrief("a.csv")


def test_a_recording_without_a_flight_is_refused(rooms):
    rooms["flights"] = ()
    with pytest.raises(UndecidedRecording, match="no flight in it") as refusal:
        chalkwing.debrief("a.csv")
    assert refusal.value.where == "a.csv"
    assert refusal.value.next_step


def test_two_recordings_share_the_clock_of_the_earlier(rooms):
    late = recording("late.csv", datetime(2026, 5, 14, 12, 30, tzinfo=UTC))
    early = recording("early.csv", datetime(2026, 5, 14, 12, 0, tzinfo=UTC))
    rooms["recordings"] = (late, early)
    found = chalkwing.debrief("late.csv", "early.csv")
    assert [each.start_s for each in found.recordings] == [1800.0, 0.0]
    assert [each.start_s for each in found.flights] == [0.0, 1800.0]
    assert found.wind[-1].end_s == 2800.0


def test_progress_goes_from_nothing_to_all_and_never_back(rooms):
    rooms["flights"] = (Flight(0.0, 300.0), Flight(500.0, 900.0))
    told = []
    chalkwing.debrief("a.csv", progress=lambda what, fraction: told.append(fraction))
    assert told == sorted(told)
    assert told[0] == 0.0
    assert told[-1] == 1.0


def test_an_unknown_standard_is_refused_before_anything_is_read(rooms, monkeypatch):
    monkeypatch.setattr(reconstructing, "read", lambda *paths, **options: pytest.fail("it was read"))
    with pytest.raises(UnknownName, match="commercial"):
        chalkwing.debrief("a.csv", standard="galactic")


def test_wind_is_told_in_stretches_of_five_minutes_and_a_thousand_feet():
    level = wind_reports(motion(recording()), shift=0.0)
    assert [round(each.end_s - each.start_s) for each in level] == [300, 300, 300, 100]
    assert level[0].from_deg_true == pytest.approx(0.0)
    assert level[0].speed_kt == pytest.approx(5.0 * 3600 / 1852)
    climbing = wind_reports(motion(recording(), climb=5.0), shift=0.0)
    assert all(each.end_s - each.start_s <= 80 for each in climbing[:-1])
    assert climbing[1].altitude_ft - climbing[0].altitude_ft == pytest.approx(350 / 0.3048, rel=0.01)


def test_a_short_rest_of_the_flight_joins_the_stretch_before():
    rows = wind_reports(motion(recording(), end=330.0), shift=0.0)
    assert [round(each.end_s) for each in rows] == [330]


def test_what_was_not_recorded_is_named():
    bare = decides([motion(recording())], [])
    assert "Recorded on board" not in bare
    assert "derived from the path through the air: bank, pitch, heading, airspeed" in bare
    full = decides([motion(recording(channels=("bank", "pitch", "indicated_airspeed")))], [])
    assert "Recorded on board: bank, pitch and airspeed." in full


def test_public_names_load_lazily_and_unknown_ones_are_refused():
    assert chalkwing.debrief is debriefing.debrief
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = chalkwing.nothing


def test_without_a_date_every_recording_counts_from_its_own_start(rooms):
    rooms["recordings"] = (recording("a.csv"), replace(recording("b.csv"), start_utc=None))
    assert [each.start_s for each in chalkwing.debrief("a.csv", "b.csv").recordings] == [0.0, 0.0]


def test_what_is_too_coarse_for_any_usual_limit_is_said():
    rough = motion(recording())
    degree = np.full(len(rough.time), np.radians(1.0))
    rough = replace(rough, sds={**rough.sds, "bank": 4.0 * degree, "heading_true": degree})
    # 1.645 x 4 degrees = 6.6 degrees, more than the +-5 that a steep turn's bank may leave its target.
    said = decides([rough], [])
    assert "For the usual limits of bank (±5°) it is too coarse altogether." in said
    assert "of bank it cannot tell" not in said
    # 1.645 x 0.5 m = 2.7 ft.
    assert "2.7 ft of altitude" in said
