"""The demo's lesson and its two recordings, flown, read and judged once for all tests."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from chalkwing.debriefs import Debrief
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import Lesson, fly_lesson
from chalkwing.trunk import debrief


@dataclass(frozen=True)
class Recorded:
    """One recording of the lesson, and its debrief."""

    lesson: Lesson
    path: Path
    debrief: Debrief


def _recorded(folder: Path, recorder: str) -> Recorded:
    lesson = fly_lesson(seed=11)
    name, text = record(lesson, recorder, seed=11)
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return Recorded(lesson, path, debrief(path))


@pytest.fixture(scope="session")
def panel(tmp_path_factory: pytest.TempPathFactory) -> Recorded:
    return _recorded(tmp_path_factory.mktemp("panel"), "avionics")


@pytest.fixture(scope="session")
def track(tmp_path_factory: pytest.TempPathFactory) -> Recorded:
    return _recorded(tmp_path_factory.mktemp("track"), "track")
