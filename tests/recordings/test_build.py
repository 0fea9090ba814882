from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.recordings.known import known_flight

from chalkwing.errors import UnreadableRecording
from chalkwing.recordings import clock
from chalkwing.recordings.build import Column, build
from chalkwing.recordings.cleaning import held_repeats, step_of


def made(time, **columns):  # type: ignore[no-untyped-def]
    return build(
        time=np.asarray(time, dtype=float),
        columns={name: Column(np.asarray(values, dtype=float), name) for name, values in columns.items()},
        source="made.csv",
        reader="test",
        data=b"made",
        utc=False,
        lines=np.arange(len(time)) + 2,
    )


def said(recording, phrase):  # type: ignore[no-untyped-def]
    return any(phrase in note.message for note in recording.notes)


def test_a_clock_set_back_keeps_the_longer_stretch_that_agrees():
    time = np.concatenate([np.arange(0.0, 20), np.arange(5.0, 300)])
    recording = made(time, bank=np.zeros(len(time)))
    assert recording.rows == 300
    assert np.all(np.diff(recording.time) > 0)
    assert said(recording, "runs backward once")
    assert recording.notes[0].line == 22


def test_rows_out_of_order_are_sorted():
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 500) + rng.uniform(-1.2, 1.2, 500)
    recording = made(time, bank=time / 1000)
    assert recording.rows == 500
    assert said(recording, "out of order")
    assert recording.samples("bank")[1] == pytest.approx(np.sort(time) / 1000)


def test_one_time_far_off_is_left_out():
    time = np.arange(0.0, 300)
    time[150] = 1e9
    recording = made(time, bank=np.zeros(300))
    assert recording.rows == 299
    assert recording.duration == 299.0


def test_doubled_rows_are_dropped_and_pieces_of_one_instant_merged():
    time = np.repeat(np.arange(0.0, 100), 2)
    values = np.repeat(np.linspace(0, 1, 100), 2)
    doubled = made(time, bank=values)
    assert doubled.rows == 100
    assert said(doubled, "repeat another row exactly")
    first = np.where(np.arange(200) % 2 == 0, values, np.nan)
    second = np.where(np.arange(200) % 2 == 1, values, np.nan)
    pieces = made(time, bank=first, pitch=second)
    assert pieces.rows == 100
    assert pieces.table.null_count().row(0) == (0, 0, 0)


def test_four_rows_a_second_under_whole_second_stamps():
    true = np.arange(0.0, 100, 0.25) + 0.5
    recording = made(np.floor(true), bank=np.sin(true))
    assert recording.time == pytest.approx(true - true[0])
    assert recording.channels["bank"].rate == pytest.approx(4.0)


def test_a_slow_sensor_held_in_a_fast_log_counts_once():
    time = np.arange(0.0, 60, 0.125)
    slow = np.sin(np.floor(time))
    recording = made(time, ground_speed=slow + 10, bank=np.sin(time))
    assert recording.channels["ground_speed"].rate == pytest.approx(1.0)
    assert recording.channels["bank"].rate == pytest.approx(8.0)
    when, _ = recording.samples("ground_speed")
    assert when == pytest.approx(np.arange(60.0))


def test_a_coarse_slow_quantity_is_not_taken_for_held():
    rng = np.random.default_rng(5)
    altitude = np.round(np.cumsum(rng.normal(0, 0.3, 2000)))
    assert not held_repeats(altitude).any()
    assert not held_repeats(np.zeros(1000)).any()


def test_repeated_positions_in_flight_are_stale_and_at_rest_are_not():
    known = known_flight()
    latitude, longitude = known.latitude.copy(), known.longitude.copy()
    for row in range(201, 600, 7):
        latitude[row], longitude[row] = latitude[row - 1], longitude[row - 1]
    recording = made(known.time, latitude=latitude, longitude=longitude, ground_speed=known.speed)
    when, _ = recording.samples("latitude")
    assert len(when) == len(known) - 58 + 1
    assert 30.0 in when
    assert 201.0 not in when
    assert said(recording, "repeat the one before")


def test_stray_fixes_and_zeros_are_left_out():
    known = known_flight()
    latitude, longitude = known.latitude.copy(), known.longitude.copy()
    latitude[[0, 300, 301, 500, 778]] += np.radians(0.5)
    latitude[400] = longitude[400] = 0.0
    recording = made(known.time, latitude=latitude, longitude=longitude)
    when, values = recording.samples("latitude")
    assert len(when) >= len(known) - 8
    assert np.abs(values - known.latitude[when.astype(int)]).max() < 1e-9
    assert said(recording, "no airplane could have reached")


def test_impossible_values_are_left_out_with_a_note():
    bank = np.linspace(0, 1, 100)
    bank[5] = 1e9
    recording = made(np.arange(100.0), bank=bank, latitude=np.full(100, 1e9))
    assert "latitude" not in recording
    assert len(recording.samples("bank")[1]) == 99
    assert said(recording, "1 values of bank")


def test_angles_are_wrapped():
    recording = made(np.arange(4.0), track=[-0.1, 6.4, 1.0, 7.0], longitude=[4.0, 4.1, -4.0, 3.0])
    assert recording.samples("track")[1] == pytest.approx(np.mod([-0.1, 6.4, 1.0, 7.0], 2 * np.pi))
    assert np.abs(recording.samples("longitude")[1]).max() <= np.pi


def test_gaps():
    time = np.concatenate([np.arange(0.0, 100), np.arange(140.0, 200)])
    (gap,) = made(time, bank=np.zeros(160)).gaps
    assert (gap.start, gap.end) == (99.0, 140.0)


@pytest.mark.parametrize(
    ("time", "bank"),
    [([], []), ([1.0], [0.1]), ([np.nan] * 3, [0.1] * 3), ([1, 2, 3], [np.nan] * 3), ([5, 5], [0, 1])],
)
def test_too_little_is_refused(time, bank):
    with pytest.raises(UnreadableRecording, match=r"nothing to use|one and the same time"):
        made(time, bank=bank)


@pytest.mark.parametrize("step", [0.25, 1.0, 7.62, 2.9e-7])
def test_the_step_of_rounded_values(step):
    rng = np.random.default_rng(1)
    assert step_of(np.round(rng.normal(0, 40, 500)) * step) == pytest.approx(step)


def test_unrounded_values_have_no_step():
    assert step_of(np.random.default_rng(1).normal(size=500)) == 0.0


@given(st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=80))
def test_kept_rows_never_decrease_in_time(times):
    time = np.array(times)
    kept, notes = clock.in_order(time)
    assert np.all(np.diff(time[kept]) >= 0)
    assert len(kept) > 0
    assert bool(notes) == bool(np.any(np.diff(time) < 0))


def test_days_are_counted_from_the_last_stated_date():
    second = np.array([86300.0, 86390, 5, 100, 86399, 2, 50])
    stated = np.array([np.nan, 10, np.nan, np.nan, np.nan, np.nan, 12])
    days = clock.days_since_statement(second, stated)
    assert days.tolist() == [10, 10, 11, 11, 11, 12, 12]
    assert clock.days_since_statement(second, np.full(7, np.nan)).tolist() == [0, 0, 1, 1, 1, 2, 2]
