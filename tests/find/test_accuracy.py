"""How well the finder finds on simulated lessons: long, run with ``-m accuracy``.

The lessons are flown by an engine that shares no code with the finder (see ``tests/flights``). They are made
by ``python -m tests.flights.make`` and found through ``CHALKWING_FLIGHTS``; without them the tests say what
to do and are skipped. The Motion is the truth with correlated noise, so that finding is measured apart from
estimating. No lesson of ``test`` or ``ordinary`` was looked at while the definitions' ranges were set.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from tests.find.fake_estimator import AVIONICS, TRACK_ONLY, Quality, motion
from tests.find.lessons import Lesson, Score, lessons

from chalkwing.find import can_find, find
from chalkwing.maneuvers import definitions

pytestmark = pytest.mark.accuracy
HOME = Path(os.environ.get("CHALKWING_FLIGHTS", "flights"))


def flights(folder: str) -> list[Lesson]:
    found = list(lessons(HOME / folder))
    if not found:
        pytest.skip(
            f"no lessons in {HOME / folder}: make them with tests.flights.make, set CHALKWING_FLIGHTS"
        )
    return found


def scored(of: list[Lesson], quality: Quality) -> Score:
    score = Score()
    known = tuple(each for each in definitions().values() if can_find(each))
    for number, lesson in enumerate(of):
        score.add(lesson.name, lesson.flown, find(motion(lesson.table, quality, seed=number), known))
    print(score, *score.faults, sep="\n  ")
    return score


@pytest.mark.parametrize(
    ("quality", "least", "median", "p90"),
    [(AVIONICS, 0.98, 2.0, 6.0), (TRACK_ONLY, 0.95, 3.0, 10.0)],
    ids=["avionics", "track"],
)
def test_lessons_never_seen_in_tuning(quality: Quality, least: float, median: float, p90: float) -> None:
    score = scored(flights("test"), quality)
    assert score.f1 >= least
    for errors in (score.start_errors, score.end_errors):
        assert np.median(np.abs(errors)) <= median
        assert np.quantile(np.abs(errors), 0.9) <= p90


@pytest.mark.parametrize("quality", [AVIONICS, TRACK_ONLY], ids=["avionics", "track"])
def test_ordinary_flying_holds_nothing(quality: Quality) -> None:
    assert scored(flights("ordinary"), quality).faults == []
