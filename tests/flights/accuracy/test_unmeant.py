"""What was flown without being meant: told by power and angle of attack alone."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import polars as pl
import pytest
from tests.flights.accuracy.lesson import Lesson
from tests.flights.accuracy.unmeant import IDLES_AT, unmeant
from tests.flights.airplanes import CRITICAL_ANGLE
from tests.flights.truth import TruthFlight

from chalkwing.find import Occurrence


def flown(*, power: float, angle: float = 0.1) -> Lesson:
    """Two minutes at one power; the angle of attack is greatest after a minute."""
    time = np.arange(0.0, 120.0, 0.5)
    bump = angle * np.exp(-(((time - 60.0) / 4.0) ** 2))
    table = pl.DataFrame({"time": time, "power": np.full(len(time), power), "angle_of_attack": bump})
    truth = SimpleNamespace(table=table, facts={"airplane": "c172p"}, legs=[], maneuvers=[])
    return Lesson(Path("somewhere"), cast("TruthFlight", truth))


def found(kind: str) -> Occurrence:
    return Occurrence(
        kind=kind, direction="none", start=20.0, end=100.0, start_sd=1.0, end_sd=1.0,
        probability=0.9, status="complete", parts=(),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("power", "right"), [(0.0, True), (0.99 * IDLES_AT, True), (0.08, False), (0.5, False)]
)
def test_an_approach_is_without_power_where_the_engine_gives_no_more_than_idling(
    power: float, right: bool
) -> None:
    assert unmeant(found("power_off_180"), flown(power=power), 0.0) is right


def test_a_stall_happened_where_the_wing_came_near_its_critical_angle() -> None:
    stalled, gentle = CRITICAL_ANGLE["c172p"], CRITICAL_ANGLE["c172p"] - 0.1
    assert unmeant(found("power_off_stall"), flown(power=0.0, angle=stalled), 0.0)
    assert not unmeant(found("power_off_stall"), flown(power=0.0, angle=gentle), 0.0)
    assert not unmeant(found("power_on_stall"), flown(power=0.0, angle=stalled), 0.0)
    assert unmeant(found("power_on_stall"), flown(power=0.9, angle=stalled), 0.0)


def test_no_other_kind_is_excused() -> None:
    assert not unmeant(found("steep_turn"), flown(power=0.0, angle=1.0), 0.0)
