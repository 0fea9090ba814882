"""What the estimator makes of flights whose truth is known in closed form, traps included."""

from __future__ import annotations

from functools import cache

import numpy as np
import polars as pl
import pytest
from tests.motion.known import LevelFlight
from tests.motion.recorder import PANEL, TRACK, record, with_columns

from chalkwing.errors import UndecidedRecording
from chalkwing.motion import Motion, reconstruct
from chalkwing.motion.bridging import bridge, gaps_in
from chalkwing.motion.layout import FIRST_LAG, LAGGING
from chalkwing.motion.posterior import FlightPosterior
from chalkwing.units import DEGREE, KNOT, Floats

FLIGHT = LevelFlight()
TRUTH = FLIGHT.truth()


@cache
def rebuilt(channels: tuple[str, ...], seed: int = 0) -> Motion:
    return reconstruct(record(TRUTH, channels, seed=seed))


def error(motion: Motion, name: str) -> Floats:
    return motion[name] - TRUTH.at(name, motion.time)


def rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))


@pytest.mark.parametrize(
    ("channels", "bank_deg", "airspeed_kt", "wind_kt"),
    [(PANEL, 1.0, 1.5, 2.0), (TRACK, 2.0, 3.5, 3.0)],
    ids=["panel", "track"],
)
def test_bank_airspeed_and_wind_of_a_known_flight(
    channels: tuple[str, ...], bank_deg: float, airspeed_kt: float, wind_kt: float
) -> None:
    # The bounds are those asked of the whole program on far rougher simulated flights (docs/accuracy.md).
    motion = rebuilt(channels)
    assert rms(error(motion, "bank")) < bank_deg * DEGREE
    assert rms(error(motion, "true_airspeed")) < airspeed_kt * KNOT
    turned = motion.time > 100.0  # after the first full circle
    wind = np.hypot(error(motion, "wind_north"), error(motion, "wind_east"))
    assert rms(wind[turned]) < wind_kt * KNOT


def test_bands_hold_the_truth_about_as_often_as_they_say() -> None:
    # Eight seeds; neighbouring grid points are not independent, so the share is held loosely, both ways.
    inside = {"bank": [], "true_airspeed": [], "wind_north": []}
    for seed in range(8):
        motion = rebuilt(TRACK, seed)
        for name, held in inside.items():
            held.append(np.mean(np.abs(error(motion, name)) < 1.96 * motion.sds[name]))
    for name, held in inside.items():
        assert np.mean(held) > 0.85, name
    assert rms(error(motion, "bank")) > 0.1 * np.mean(motion.sds["bank"])


def test_draws_agree_with_values_and_sds_and_repeat_by_seed() -> None:
    motion = rebuilt(PANEL)
    window = {"start": 70.0, "end": 90.0}
    draws = motion.draws(**window, count=400, seed=3)
    again = motion.draws(**window, count=400, seed=3)
    other = motion.draws(**window, count=400, seed=4)
    part = slice(motion.index(70.0), motion.index(90.0) + 1)
    for name in ("bank", "airspeed", "altitude"):
        np.testing.assert_array_equal(draws[name], again[name])
        assert not np.array_equal(draws[name], other[name])
        spread = draws[name].std(axis=0)
        # 400 draws give a mean to sd/20 and an sd to 3.5 %; the clock's doubt is in the sds alone.
        assert np.max(np.abs(draws[name].mean(axis=0) - motion[name][part]) / spread) < 0.3
        assert np.all(spread < 1.25 * motion.sds[name][part])


def test_errors_common_to_entry_and_exit_cancel_in_their_difference() -> None:
    draws = rebuilt(TRACK).draws(start=128.0, end=190.0, count=400, names=["true_airspeed"])["true_airspeed"]
    apart = np.hypot(draws[:, 0].std(), draws[:, -1].std())
    # The mean wind's error is common and cancels; the gusts at both ends are not, and do not.
    assert (draws[:, -1] - draws[:, 0]).std() < 0.95 * apart


def test_left_and_right_are_treated_alike() -> None:
    one = reconstruct(record(TRUTH, TRACK, noise=0.02))
    other = reconstruct(record(FLIGHT.mirrored().truth(), TRACK, noise=0.02))
    assert rms(one["bank"] + other["bank"]) < 0.3 * DEGREE
    assert rms(one["true_airspeed"] - other["true_airspeed"]) < 0.5 * KNOT


def test_withheld_channels_are_derived_and_say_so() -> None:
    motion = reconstruct(record(TRUTH, PANEL).without(["bank", "indicated_airspeed", "pressure_altitude"]))
    assert motion.origins["bank"] == "derived"
    assert motion.origins["pitch"] == "measured"
    assert (motion.airspeed_kind, motion.altitude_kind) == ("calibrated", "geometric")


# --- traps ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("channels", [PANEL, TRACK], ids=["panel", "track"])
def test_a_gap_inside_a_steep_turn_does_not_spoil_the_rest(channels: tuple[str, ...]) -> None:
    # A left turn of 45 degrees of bank, 11 deg/s, unseen for 25 s: three quarters of a circle.
    truth = LevelFlight(turns=((60, 110, -45), (150, 200, 30)), length=240.0).truth()
    motion = reconstruct(record(truth, channels, without=(72.0, 97.0)))
    away = (motion.time < 70.0) | (motion.time > 100.0)
    bank = motion["bank"] - truth.at("bank", motion.time)
    assert rms(bank[away]) < 2.0 * DEGREE
    assert motion.in_gap[motion.index(85.0)]
    assert not motion.in_gap[motion.index(60.0)]
    steady = motion.index(67.0)  # rolled in, just before the gap
    assert motion.sds["bank"][motion.index(85.0)] > 2.0 * motion.sds["bank"][steady]
    inside = ~away
    assert np.mean(np.abs(bank[inside]) < 3.0 * motion.sds["bank"][inside]) > 0.9


def test_a_late_attitude_is_found_late() -> None:
    motion = reconstruct(record(TRUTH, PANEL, late={"bank": 0.8}))
    assert isinstance(motion.posterior, FlightPosterior)
    lag = motion.posterior.best.statics[FIRST_LAG + LAGGING.index("bank")]
    assert lag == pytest.approx(0.8, abs=0.2)
    assert rms(error(motion, "bank")) < 1.0 * DEGREE


def test_late_positions_do_not_delay_the_flight() -> None:
    late = dict.fromkeys(TRACK, 0.8)
    motion = reconstruct(record(TRUTH, PANEL, late=late))
    assert rms(error(motion, "bank")) < 1.0 * DEGREE
    assert any("later than attitude" in note for note in motion.notes)


def test_altitude_above_the_ellipsoid_moves_neither_pressure_nor_wind() -> None:
    usual, lifted = rebuilt(PANEL), reconstruct(record(TRUTH, PANEL, add={"geometric_altitude": 48.0}))
    assert rms(lifted["pressure_altitude"] - usual["pressure_altitude"]) < 0.5
    assert rms(lifted["true_airspeed"] - usual["true_airspeed"]) < 0.3 * KNOT
    assert rms(lifted["wind_north"] - usual["wind_north"]) < 0.3 * KNOT


def test_a_tilt_that_reads_level_in_turns_is_left_out() -> None:
    recording = record(TRUTH, (*TRACK, "bank", "pitch"))
    leaning = recording.table["bank"].to_numpy() * 0.15
    motion = reconstruct(with_columns(recording, pl.Series("bank", leaning)))
    assert rms(error(motion, "bank")) < 2.0 * DEGREE
    assert any("left out" in note for note in motion.notes)


def test_wild_rows_do_not_move_the_result() -> None:
    recording = record(TRUTH, TRACK)
    rng = np.random.default_rng(2)
    wild = rng.random(recording.rows) < 0.04
    speeds = recording.table["velocity_north"].to_numpy() + np.where(
        wild, rng.normal(0, 40, recording.rows), 0
    )
    motion = reconstruct(with_columns(recording, pl.Series("velocity_north", speeds)))
    assert rms(error(motion, "bank")) < 2.5 * DEGREE


def test_a_loosened_prior_doubts_the_wind_more() -> None:
    usual, loose = rebuilt(TRACK), reconstruct(record(TRUTH, TRACK), loosen=10.0)
    assert np.mean(loose.sds["true_airspeed"]) > 1.2 * np.mean(usual.sds["true_airspeed"])


def test_what_cannot_be_reconstructed_is_refused_with_a_way_out() -> None:
    with pytest.raises(UndecidedRecording, match="no position"):
        reconstruct(record(TRUTH, ("bank", "pitch", "indicated_airspeed", "pressure_altitude")))
    with pytest.raises(UndecidedRecording, match="no altitude"):
        reconstruct(record(TRUTH, ("latitude", "longitude")))
    with pytest.raises(UndecidedRecording, match="lasts"):
        reconstruct(record(TRUTH, TRACK).between(10.0, 20.0))


def test_a_gap_is_bridged_by_the_turn_that_was_flown() -> None:
    # 0.2 rad/s for 30 s: six radians, nearly a circle; the straight way across would be a third of a radian.
    time = np.arange(0.0, 80.0)
    angle = 0.2 * time
    speed = 50.0
    velocity = speed * np.cos(angle), speed * np.sin(angle)
    place = speed / 0.2 * np.sin(angle), -speed / 0.2 * np.cos(angle)
    lost = (time > 25) & (time < 55)
    recorded = time[~lost]
    broken = [np.interp(time, recorded, axis[~lost]) for axis in (*place, *velocity)]
    (gap,) = gaps_in(recorded, start=0.0, end=79.0)
    _, filled = bridge(time, (broken[0], broken[1]), (broken[2], broken[3]), gap, (0.0, 0.0))
    assert rms(np.hypot(filled[0] - velocity[0], filled[1] - velocity[1])[lost]) < 5.0
