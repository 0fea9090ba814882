"""What several rooms' tests share."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of real recorded flights; it lies beside the repository and is never part of it."""
    folder = Path(__file__).parents[2] / "shared" / "data"
    if not folder.is_dir():
        pytest.skip("the real recorded flights are not beside this checkout (../shared/data)")
    return folder
