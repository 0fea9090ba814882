"""A recording that contradicts itself is reconstructed as well as it goes, and the Motion says so."""

from __future__ import annotations

import polars as pl
import pytest
from tests.motion.known import LevelFlight
from tests.motion.recorder import PANEL, TRACK, record, with_columns

from chalkwing.motion.estimate import reconstruct

ROUGH = "does not hang together"


@pytest.mark.parametrize("channels", [TRACK, PANEL], ids=["track", "panel"])
def test_a_sound_recording_is_not_called_rough(channels: tuple[str, ...]) -> None:
    motion = reconstruct(record(LevelFlight().truth(), channels, seed=1))
    assert not any(ROUGH in note for note in motion.notes)


def test_places_that_jump_are_named() -> None:
    # A minute of every other row lies 5 km north of where the row before it was: no airplane does that.
    recording = record(LevelFlight().truth(), TRACK, seed=1)
    time = recording.table["time"].to_numpy()
    jumps = (time > 100.0) & (time < 160.0) & (time % 2.0 < 1.0)
    places = recording.table["latitude"].to_numpy() + jumps * 5000.0 / 6_371_000.0
    motion = reconstruct(with_columns(recording, pl.Series("latitude", places)))
    assert any(ROUGH in note for note in motion.notes)
