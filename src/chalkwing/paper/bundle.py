"""Where the built scripts and styles lie."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from chalkwing.errors import UnfinishedWork

_CHECKOUT = Path(__file__).resolve().parents[3] / "web" / "dist"


def bundle_folder() -> Path:
    """That of a checkout where they were built in place, else the one installed with the package.

    Raises
    ------
    UnfinishedWork
        They were not built.
    """
    found = find_spec("chalkwing_web")
    places = [Path(place) for place in (found.submodule_search_locations if found else None) or ()]
    for place in (_CHECKOUT, *places):
        if (place / "manifest.json").is_file():
            return place
    raise UnfinishedWork(
        "the pages' scripts and styles were not built.",
        next_step="Install the package again: python -m pip install . builds them.",
    )
