"""The further doubt of extremes and times, against parabolas and noise whose answer is known."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from chalkwing.judge import verdict
from chalkwing.judge.measures import Measuring, Window
from chalkwing.judge.unseen import rows_apart, unseen
from chalkwing.maneuvers.schema import Measure
from chalkwing.units import DEGREE, Floats

INTERVAL = 0.25
ROW = 4  # grid steps between two rows, one second


def measuring(signal: Floats, *, progress: str = "heading_change", bank: str = "measured") -> Measuring:
    """Draws (draws, times) of one quantity over a window that is all of them."""
    count = len(signal)
    window = Window(0, np.zeros(count), np.full(count, signal.shape[1] - 1.0))
    recording = SimpleNamespace(time=np.arange(0.0, 60.0))
    motion = SimpleNamespace(recording=recording, origins={"bank": bank})
    flown = SimpleNamespace(motion=motion, interval=INTERVAL, signal=lambda name, part: signal)
    fake = SimpleNamespace(
        flown=flown,
        definition=SimpleNamespace(progress=progress),
        window=lambda measure, part: window,
        reference=lambda measure, part: np.zeros(count),
    )
    return cast("Measuring", fake)


def measure(functional: str, *, unit: str = "deg", name: str = "path_angle", **more: Any) -> Measure:
    said = {"each": "whole", "magnitude": False, "side": "highest"} | more
    return cast(
        "Measure",
        SimpleNamespace(functional=functional, unit=unit, quantity=SimpleNamespace(name=name), **said),
    )


def certain(course: Floats) -> Floats:
    """The same course in every draw."""
    return np.tile(course, (50, 1))


def test_a_parabola_between_rows_rises_an_eighth_of_its_second_difference() -> None:
    # q = -a t^2 has over one second the second difference 2 a: half a second off the top it is a / 4 lower.
    seconds = (np.arange(41) - 20) * INTERVAL
    bent = 3.0 * DEGREE
    course = certain(-bent * seconds**2)
    found = unseen(measuring(course), measure("extremum"), None, np.zeros(50))
    assert found == pytest.approx(bent / DEGREE / 4.0)
    swing = unseen(measuring(course), measure("swing"), None, np.full(50, bent / DEGREE * 25.0))
    assert swing > found  # its lower end adds its own


def test_a_straight_climb_hides_nothing() -> None:
    course = certain(np.linspace(0.0, 10.0 * DEGREE, 41))
    assert unseen(measuring(course), measure("mean"), None, np.full(50, 5.0)) == 0.0
    away_from_edges = unseen(measuring(course), measure("extremum"), None, np.full(50, 10.0))
    assert away_from_edges == pytest.approx(10.0 / 40 * ROW / 8.0, rel=1e-6)  # one row is missing at the edge


def test_what_noise_raises_is_doubt() -> None:
    noise = np.random.default_rng(3).normal(0.0, DEGREE, (400, 81))
    swings = (noise.max(axis=1) - noise.min(axis=1)) / DEGREE
    found = unseen(measuring(noise), measure("swing"), None, swings)
    assert found == pytest.approx(float(swings.mean()), rel=0.1)  # all of it: the mean course is level
    assert found > swings.std()


def test_a_brief_extreme_of_a_stall_may_go_beyond_what_rows_show() -> None:
    course = certain(np.zeros(41))
    peak = measure("extremum", name="pitch")
    assert unseen(measuring(course, progress="time"), peak, None, np.zeros(50)) == pytest.approx(1.8)
    assert unseen(measuring(course), peak, None, np.zeros(50)) == 0.0


def test_times_between_edges_are_less_sure_without_a_measured_bank() -> None:
    lasted, values = measure("duration", unit="s"), np.full(50, 30.0)
    course = certain(np.zeros(41))
    assert unseen(measuring(course), lasted, None, values) == 0.0
    assert unseen(measuring(course, bank="derived"), lasted, None, values) == pytest.approx(0.85)


def test_rows_apart_counts_grid_steps() -> None:
    assert rows_apart(measuring(certain(np.zeros(5))).flown) == ROW


@pytest.mark.parametrize("band", [(None, 60.0), (55.0, None), (55.0, 60.0)])
def test_the_chance_to_be_inside_is_that_of_draws_made_wider(band: verdict.Band) -> None:
    rng = np.random.default_rng(5)
    values = rng.normal(58.0, 1.0, 4000)
    wider = values + rng.normal(0.0, 1.5, len(values))
    plain = float(np.mean(verdict.inside(values, band)))
    assert verdict.chance_inside(values, band, 0.0) == plain
    said = verdict.chance_inside(values, band, 1.5)
    assert said == pytest.approx(float(np.mean(verdict.inside(wider, band))), abs=0.02)
    assert said < plain
