from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from tests.recordings.known import START, Known, agrees, as_igc, as_nmea, known_flight

from chalkwing.recordings import Recording, igc, nmea
from chalkwing.recordings.alignment import aligned
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.joining import joined


def panel(known: Known, *, seed: int, shift: float = 0.0, utc: bool = True, gps: bool = False) -> Recording:
    """A panel's log with attitude, heading and airspeed, its clock ahead by ``shift``."""
    rng = np.random.default_rng(seed)

    def noisy(values, sd):  # type: ignore[no-untyped-def]
        return values + rng.normal(0, sd, len(known))

    columns = {
        "bank": noisy(known.bank, 0.01),
        "pitch": noisy(known.climb / 50, 0.01),
        "heading_magnetic": np.mod(noisy(known.track + 0.05, 0.02), 2 * np.pi),
        "indicated_airspeed": np.abs(noisy(known.speed * 0.95, 0.7)),
        "pressure_altitude": noisy(known.altitude + 35, 1.5),
    }
    if gps:
        columns |= {"latitude": noisy(known.latitude, 3e-7), "longitude": noisy(known.longitude, 4e-7)}
    return build(
        time=known.time + shift,
        columns={name: Column(values, f"panel {name}") for name, values in columns.items()},
        source="panel.csv",
        reader="delimited",
        data=f"{seed}{shift}".encode(),
        utc=utc,
    )


def phone(known: Known) -> Recording:
    return nmea.READER.read(as_nmea(known), source="phone.nmea")


def said(recordings: tuple[Recording, ...], phrase: str) -> bool:
    return any(phrase in note.message for recording in recordings for note in recording.notes)


def test_one_recording_is_left_as_it_is():
    recording = phone(known_flight())
    assert joined([recording]) == (recording,)


def test_consecutive_files_of_one_recorder_are_put_end_to_end():
    known = known_flight()
    pieces = [known.rows(slice(0, 300)), known.rows(slice(310, 500)), known.rows(slice(500, 779))]
    recordings = [igc.READER.read(as_igc(piece), source=f"{i}.igc") for i, piece in enumerate(pieces)]
    (whole,) = joined([recordings[2], recordings[0], recordings[1]])
    assert whole.rows == 769
    assert [(gap.start, gap.end) for gap in whole.gaps] == [(299.0, 310.0)]
    assert len(whole.parts) == 3
    assert whole.source == "0.igc + 1.igc + 2.igc"
    agrees(whole, "latitude", known, known.latitude, within=np.radians(0.0006 / 60))
    assert said((whole,), "after 11.0 s")


def test_rows_that_two_files_both_hold_are_taken_once():
    known = known_flight()
    first = igc.READER.read(as_igc(known.rows(slice(0, 500))), source="a.igc")
    second = igc.READER.read(as_igc(known.rows(slice(400, 779))), source="b.igc")
    (whole,) = joined([first, second])
    assert whole.rows == 779
    assert said((whole,), "100 rows that both hold were taken once")
    same = igc.READER.read(as_igc(known.rows(slice(0, 500))), source="copy.igc")
    (alone,) = joined([first, same])
    assert alone.rows == 500
    assert said((alone,), "copy.igc is the same file again")


def test_other_days_and_places_stay_apart_on_one_time_base():
    first = phone(known_flight())
    next_day = phone(known_flight(start=START + timedelta(days=1)))
    elsewhere = phone(known_flight(latitude=52.0))
    found = joined([next_day, first, elsewhere])
    assert len(found) == 3
    assert sorted(float(recording.time[0]) for recording in found) == [0.0, 0.0, 86400.0]
    assert {recording.start_utc for recording in found} == {START}


@pytest.mark.parametrize("shift", [0.0, 3.37, -47.6, 7200.25])
@pytest.mark.parametrize("gps", [True, False])
def test_panel_and_phone_are_aligned_by_the_motion(shift, gps):
    known = known_flight()
    own, other = panel(known, seed=4, shift=shift, gps=gps), phone(known)
    found = aligned(other, own, guess=shift)
    assert found is not None
    # Shift of the panel's time base relative to the phone's, both counting from their first rows.
    assert found.offset == pytest.approx(0.0, abs=max(0.15, 4 * found.sd))
    (whole,) = joined([own, other])
    assert {"bank", "indicated_airspeed", "ground_speed", "latitude", "geometric_altitude"} <= set(
        whole.channels
    )
    assert said((whole,), "recorded the same flight")
    # The panel measures more: its clock and its channels win.
    assert whole.channels["pressure_altitude"].source == "panel pressure_altitude"
    when, speed = whole.samples("ground_speed")
    bank_when, bank = whole.samples("bank")
    at_turn = np.interp(330.0 + (whole_shift := bank_when[0]), bank_when, bank)
    assert at_turn > 0.3
    assert np.interp(330.0 + whole_shift, when, speed) == pytest.approx(50.0, abs=0.5)


def test_the_stated_sd_of_the_offset_is_about_right():
    known = known_flight()
    errors, stated = [], []
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        shift = rng.uniform(-3, 3)
        fine = known_flight(interval=0.05)
        rows = np.arange(0, len(fine), 20) + int(rng.integers(0, 20))
        own = panel(fine.rows(rows[rows < len(fine)]), seed=seed, shift=shift)
        other = phone(known)
        found = aligned(other, own, guess=0.0)
        assert found is not None
        true = (own.start_utc - other.start_utc).total_seconds() - shift  # type: ignore[operator]
        errors.append(found.offset - true)
        stated.append(found.sd)
    rms = float(np.sqrt(np.mean(np.square(errors))))
    # Twelve draws fix an sd to a fifth or so; rates over two seconds leave some error correlated.
    assert rms < 0.1
    assert 0.3 < rms / np.mean(stated) < 3.0


def test_a_panel_without_a_date_is_placed_by_the_motion():
    known = known_flight()
    own = panel(known.rows(slice(200, 700)), seed=7, utc=False)
    (whole,) = joined([phone(known), own])
    assert whole.parts
    assert "bank" in whole


def test_two_different_flights_are_not_merged():
    rng = np.random.default_rng(9)
    known = known_flight()
    turn = np.convolve(rng.normal(0, 0.08, len(known)), np.ones(20) / 20, mode="same")
    track = np.cumsum(turn)
    other = Known(**{**known.__dict__, "track": np.mod(track, 2 * np.pi), "bank": np.arctan(5 * turn),
                     "speed": known.speed * 0 + 40 + np.cumsum(rng.normal(0, 0.3, len(known))),
                     "altitude": 900 + np.cumsum(rng.normal(0, 1, len(known)))})  # fmt: skip
    assert len(joined([phone(known), panel(other, seed=8)])) == 2


def test_the_same_maneuvers_in_another_order_are_another_flight():
    known = known_flight()
    order = np.r_[0:285, 410:495, 370:410, 285:370, 495:779]
    other = Known(**{**known.rows(order).__dict__, "time": known.time})
    assert len(joined([phone(known), panel(other, seed=8)])) == 2
    assert len(joined([phone(known), panel(other, seed=8, utc=False)])) == 2


def test_the_second_recorder_fills_the_silences_of_the_first():
    known = known_flight()
    cut = np.r_[0:300, 420:779]
    own = panel(known.rows(cut), seed=4, gps=True)
    (whole,) = joined([own, phone(known)])
    when, _ = whole.samples("latitude")
    assert np.diff(when).max() < 2.1
    # Altitudes of two sensors differ by a constant: a gap is left a gap.
    when, _ = whole.samples("pressure_altitude")
    assert np.diff(when).max() > 100
    assert said((whole,), "fills gaps of: latitude, longitude")


def test_withheld_channels_do_not_come_back():
    known = known_flight()
    own, other = panel(known, seed=4).without(["bank"]), phone(known).without(["ground_speed"])
    (whole,) = joined([own, other])
    assert "bank" not in whole
    assert "ground_speed" not in whole


def test_times_count_from_the_earliest_row_of_all():
    known = known_flight()
    own = panel(known.rows(slice(100, 779)), seed=4)
    (whole,) = joined([own, phone(known)])
    assert whole.time[0] == 0.0
    assert whole.start_utc is not None
    assert abs((whole.start_utc - START).total_seconds()) < 0.2


def test_scraps_and_broken_clocks_are_left_apart():
    known = known_flight(interval=0.05)
    scrap = panel(known.rows(slice(2000, 2011)), seed=4)
    late = known_flight()
    time = late.time.copy()
    time[-1] += 3e8
    broken = phone(Known(**{**late.__dict__, "time": time}))
    assert len(joined([scrap, phone(late)])) == 2
    assert len(joined([broken, panel(late, seed=4, utc=False)])) == 2
