"""The built scripts and styles: where they lie, and what each is called."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from chalkwing.paper.bundle import bundle_folder


class Assets:
    """A folder of built files; ``url`` gives the address of an entry such as ``lesson.js``."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._names: Mapping[str, str] = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))

    def url(self, entry: str) -> str | None:
        """The address of an entry; None where it has no such file."""
        name = self._names.get(entry)
        return None if name is None else f"/assets/{name}"


def built_assets() -> Assets:
    """Those of a checkout where they were built in place, else those installed with the package."""
    return Assets(bundle_folder())
