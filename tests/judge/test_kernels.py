"""The compiled loops, on signals whose answers are known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.judge import kernels
from chalkwing.units import Floats


def rows(*values: Floats) -> Floats:
    return np.ascontiguousarray(np.array(values, dtype=float))


def test_sample_interpolates_and_passes_nan() -> None:
    signal = rows(np.arange(5.0), 10.0 * np.arange(5.0), np.arange(5.0))
    found = kernels.sample(signal, np.array([1.25, 2.5, np.nan]))
    assert found[:2].tolist() == [1.25, 25.0]
    assert np.isnan(found[2])


def test_a_turn_stops_where_the_wings_pass_level_between_two_samples() -> None:
    t = np.arange(40.0)
    bank = 20.3 - t  # level at 20.3, never on a sample
    found = kernels.turn_stops(rows(bank, bank), 18.0, 15.0, 0, 8.0)
    assert found == pytest.approx([20.3, 20.3])


@pytest.mark.parametrize("near", [14.0, 20.0, 27.0])
def test_the_stop_does_not_depend_on_where_the_finder_thought_it_was(near: float) -> None:
    t = np.arange(60.0)
    bank = np.where(t < 30, 24.0 - t, -6.0)
    assert kernels.turn_stops(rows(bank), near, 15.0, 0, 8.0)[0] == pytest.approx(24.0)


def test_a_rollout_that_eases_to_level_stops_where_its_parabola_does() -> None:
    t = np.arange(0.0, 60.0, 0.5)
    bank = np.where(t < 25.0, 0.08 * (25.0 - t) ** 2, 0.4)  # stays half a degree off level
    found = kernels.turn_stops(rows(bank), 50.0, 8.0, 0, 8.0)[0] / 2.0
    assert found == pytest.approx(25.0, abs=0.3)


def test_a_turn_that_goes_on_stops_nowhere_and_the_finder_stands_in() -> None:
    bank = np.full((1, 60), 45.0)
    assert kernels.turn_stops(bank, 31.5, 8.0, 0, 8.0)[0] == 31.5


def test_first_reach_interpolates_and_knows_when_it_never_came() -> None:
    signal = rows(2.0 * np.arange(10.0), 0.1 * np.arange(10.0))
    begin, end = np.zeros(2), np.full(2, 9.0)
    found = kernels.first_reach(signal, np.array([5.0, 5.0]), begin, end)
    assert found[0] == pytest.approx(2.5)
    assert np.isnan(found[1])


def test_window_statistics_of_a_parabola() -> None:
    # s = (t - 4)^2 on [1, 9]: highest 25 at 9, lowest 0 at 4; mean by integral (125 + 27) / 24 = 6.333.
    t = np.arange(0.0, 12.0)
    found = kernels.window_statistics(rows((t - 4.0) ** 2), np.array([1.0]), np.array([9.0]), 0.0)[0]
    assert found[kernels.HIGHEST] == 25.0
    assert found[kernels.WHEN_HIGHEST] == 9.0
    assert found[kernels.LOWEST] == 0.0
    assert found[kernels.WHEN_LOWEST] == 4.0
    # Trapezoids over unit steps exceed the integral of a parabola by 1/6 a step.
    assert found[kernels.MEAN] == pytest.approx(152.0 / 24.0 + 1.0 / 6.0)
    assert found[kernels.RISE] == 25.0
    assert found[kernels.FALL] == 9.0


def test_window_ends_between_samples_count() -> None:
    found = kernels.window_statistics(rows(np.arange(10.0)), np.array([2.5]), np.array([6.25]), 0.0)[0]
    assert (found[kernels.LOWEST], found[kernels.HIGHEST]) == (2.5, 6.25)
    assert found[kernels.MEAN] == pytest.approx(4.375)
    assert found[kernels.SPREAD] == pytest.approx(3.75 / np.sqrt(12.0))


def test_dwell_is_the_longest_time_of_hardly_changing() -> None:
    signal = np.concatenate([np.arange(20.0), np.full(12, 20.0), np.arange(20.0, 40.0)])
    found = kernels.window_statistics(rows(signal), np.array([0.0]), np.array([51.0]), 0.3)[0]
    # Flat from 20 to 32. Over four steps the rise is 1 (under 4 * 0.3) from 21 to 31, and 2 one step beyond.
    assert found[kernels.DWELL] == 11.0


def test_an_empty_window_has_no_statistics() -> None:
    found = kernels.window_statistics(rows(np.arange(10.0)), np.array([5.0]), np.array([np.nan]), 0.0)
    assert np.isnan(found).all()


def trapezoid(t: Floats, start: float, end: float, top: float) -> Floats:
    """Rises and falls within 1 s around ``start`` and ``end``, so it passes half its height there."""
    return np.asarray(top * np.clip(np.minimum(t - start + 0.5, end - t + 0.5), 0.0, 1.0))


def excursions(deviation: Floats, *, interval: float = 0.25, limit: float = 10.0) -> list[float]:
    end = np.array([len(deviation) - 1.0])
    found = kernels.held_excursions(
        rows(deviation), np.array([0.0]), end, -limit, limit, 2.0 / interval, 0.5 / interval
    )[0]
    found[[kernels.OUTSIDE, kernels.LONGEST]] *= interval
    return [float(value) for value in found]


def test_one_excursion_is_timed_between_its_crossings() -> None:
    t = np.arange(0.0, 40.0, 0.25)
    above, below, count, outside, longest, still = excursions(trapezoid(t, 10.0, 14.0, 20.0))
    assert (above, below, count, still) == (20.0, 0.0, 1.0, 0.0)
    assert outside == pytest.approx(4.0)  # crosses 10 exactly at 10 s and 14 s
    assert longest == pytest.approx(4.0)


def test_two_excursions_apart_are_two_and_close_together_are_one() -> None:
    t = np.arange(0.0, 40.0, 0.25)
    apart = trapezoid(t, 5.0, 7.0, 20.0) - trapezoid(t, 15.0, 18.0, 20.0)
    above, below, count, outside, longest, _ = excursions(apart)
    assert (above, below, count) == (20.0, -20.0, 2.0)
    assert (outside, longest) == pytest.approx((5.0, 3.0))
    close = trapezoid(t, 5.0, 7.0, 20.0) + trapezoid(t, 8.2, 10.0, 20.0)
    assert excursions(close)[2:5] == pytest.approx([1.0, 5.0, 5.0])


def test_a_blip_that_nobody_sees_is_not_counted_but_its_height_is() -> None:
    t = np.arange(0.0, 40.0, 0.05)
    above, _, count, outside, *_ = excursions(12.0 * np.exp(-(((t - 9.0) / 0.3) ** 2)), interval=0.05)
    assert above == pytest.approx(12.0, abs=0.01)
    assert (count, outside) == (0.0, 0.0)


def test_still_outside_at_the_end_is_told() -> None:
    t = np.arange(0.0, 40.0, 0.25)
    *_, longest, still = excursions(trapezoid(t, 36.0, 80.0, 20.0))
    assert still == 1.0
    assert longest == pytest.approx(3.75)
