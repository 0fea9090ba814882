"""What else a flight holds says how probable each maneuver in it is."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.find.outing import Outing, outing
from chalkwing.find.tuning import DEFAULT


def of(weights: dict[int, list[float]], hours: float) -> Outing:
    kinds = np.array([kind for kind, several in weights.items() for _ in several], dtype=np.int64)
    return outing(
        [(kinds, np.array([one for several in weights.values() for one in several]))], hours, DEFAULT
    )


def test_several_sure_kinds_make_a_lesson() -> None:
    lesson = of({0: [8.0], 1: [3.0], 2: [12.0, 9.0], 3: [4.0], 4: [2.5]}, 1.0)
    assert lesson.lesson > 0.99
    assert lesson.shift == pytest.approx(lesson.more, abs=0.05)


def test_an_hour_without_any_is_ordinary_flying() -> None:
    assert of({0: [-3.0], 1: [-1.0]}, 1.0).lesson < 0.001
    assert of({}, 1.0).shift == pytest.approx(of({}, 1.0).less, abs=0.01)
    assert of({}, 1.0).less < -1.0


def test_many_of_one_kind_say_no_more_than_one() -> None:
    assert of({0: [1.0] * 40}, 1.0).lesson == pytest.approx(of({0: [1.0]}, 1.0).lesson)


def test_a_short_recording_is_not_asked_for_more_than_it_can_hold() -> None:
    assert of({0: [6.0]}, 0.02).lesson > 10.0 * of({0: [6.0]}, 0.5).lesson


def test_the_mean_odds_are_those_of_the_two_together() -> None:
    between = Outing(lesson=0.5, more=2.0, less=-2.5)
    assert np.exp(between.shift) == pytest.approx(0.5 * np.exp(2.0) + 0.5 * np.exp(-2.5))


def test_flights_of_one_recording_count_together() -> None:
    sure = np.arange(5), np.full(5, 5.0)
    nothing = np.empty(0, dtype=np.int64), np.empty(0)
    assert outing([sure, nothing], 0.8, DEFAULT) == outing([sure], 0.8, DEFAULT)


def test_more_maneuvers_are_expected_in_a_gap_of_a_lesson_than_in_one_of_ordinary_flying() -> None:
    minutes = np.array([0.0, 5.0]) / 60.0
    lesson, ordinary = (Outing(lesson=share, more=2.0, less=-1.0).expected(minutes) for share in (1.0, 0.0))
    assert lesson == pytest.approx([0.0, 1.0])  # twelve in an hour
    assert ordinary == pytest.approx([0.0, 0.5 / 12.0])
