"""What several rooms' tests share."""

from __future__ import annotations

from pathlib import Path

import pytest

from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson
from chalkwing.trunk import Debriefed, debriefed


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int | None:
    """A process for each core for the whole run; a part that is asked for by name runs sooner in this one."""
    return 0 if config.args_source is pytest.Config.ArgsSource.ARGS else None


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of real recorded flights; it lies beside the repository and is never part of it."""
    folder = Path(__file__).parents[2] / "shared" / "data"
    if not folder.is_dir():
        pytest.skip("the real recorded flights are not beside this checkout (../shared/data)")
    return folder


@pytest.fixture(scope="session")
def flown_lesson(tmp_path_factory: pytest.TempPathFactory) -> Debriefed:
    """The built-in lesson of two steep turns, two lazy eights and a chandelle, as a panel records it."""
    name, text = record(fly_lesson(0), "avionics", seed=0)
    path = tmp_path_factory.mktemp("lesson") / name
    path.write_text(text, encoding="utf-8")
    return debriefed(path, airplane="four-seat-200")
