"""What else a flight holds says how probable each maneuver in it is."""

from __future__ import annotations

import numpy as np
import pytest

from chalkwing.find.outing import Outing, alike, outing
from chalkwing.find.tuning import DEFAULT


def of(weights: dict[int, list[float]], hours: float, *, landings: int = 0) -> Outing:
    """Of the log odds of every kind, and of so many ``landings`` without power on top."""
    several = [(kind, one) for kind, all_of_it in weights.items() for one in all_of_it]
    several += [(99, 9.0)] * landings
    kinds = np.array([kind for kind, _ in several], dtype=np.int64)
    odds = np.array([one for _, one in several])
    looking_alike = np.where(kinds == 99, odds + alike(0.15, DEFAULT), -np.inf)
    return outing([(kinds, odds, looking_alike)], hours, DEFAULT)


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
    sure = np.arange(5), np.full(5, 5.0), np.full(5, -np.inf)
    nothing = np.empty(0, dtype=np.int64), np.empty(0), np.empty(0)
    assert outing([sure, nothing], 0.8, DEFAULT) == outing([sure], 0.8, DEFAULT)


def test_more_maneuvers_are_expected_in_a_gap_of_a_lesson_than_in_one_of_ordinary_flying() -> None:
    minutes = np.array([0.0, 5.0]) / 60.0
    lesson, ordinary = (Outing(lesson=share, more=2.0, less=-1.0).expected(minutes) for share in (1.0, 0.0))
    assert lesson == pytest.approx([0.0, 1.0])  # twelve in an hour
    assert ordinary == pytest.approx([0.0, 0.5 / 12.0])


def told(flying: Outing) -> bool:
    """Whether a landing without power is told as a power-off 180."""
    return flying.shift > alike(0.15, DEFAULT)


def test_a_landing_that_only_looks_like_an_approach_makes_no_lesson() -> None:
    assert not told(of({}, 1.0, landings=1))
    assert not told(of({}, 1.0, landings=2))
    assert told(of({}, 1.0, landings=8))  # nobody lands so eight times by chance
    assert told(of({0: [8.0], 1: [5.0], 2: [12.0], 3: [4.0], 4: [2.5]}, 1.0, landings=1))
