"""What was worked out already, by what it was worked out from: content, choices and the code itself."""

from __future__ import annotations

import hashlib
import json
import shutil
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).resolve().parents[1]
_NOT_WORK = {"cli", "web", "archive"}
"""Rooms that compute nothing: a change in them leaves every result as it was."""


@cache
def code_digest() -> str:
    """Digest of all code and data that a debrief is made by."""
    digest = hashlib.sha256()
    for path in sorted(_PACKAGE.rglob("*")):
        room = path.relative_to(_PACKAGE).parts[0]
        if path.suffix in (".py", ".toml") and room not in _NOT_WORK:
            digest.update(path.relative_to(_PACKAGE).as_posix().encode() + b"\0" + path.read_bytes())
    # What the worker writes is laid out in one module of this room.
    digest.update((_PACKAGE / "web" / "work.py").read_bytes())
    return digest.hexdigest()


def key_of(*parts: Any) -> str:
    """A key for a result of this code from ``parts``, which must be plain data."""
    text = json.dumps([code_digest(), *parts], sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


class Cache:
    """A folder of results, each in a folder under its key; the oldest go when it grows too large."""

    def __init__(self, folder: Path, *, most_bytes: int) -> None:
        self._folder = folder
        self._most = most_bytes
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)

    def place(self, key: str) -> Path:
        """Where a result is, or will be."""
        return self._folder / key

    def prune(self) -> None:
        """Remove the results used longest ago until the rest fits."""
        results = sorted(self._folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
        total = 0
        for path in results:
            total += sum(each.stat().st_size for each in path.rglob("*") if each.is_file())
            if total > self._most or path.name.endswith(".part"):
                shutil.rmtree(path, ignore_errors=True)
