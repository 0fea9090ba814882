"""One way to compile a hot loop, so that every room does it alike.

Kernels are cached on disk: a second run does not compile again. The cache lies in the user's cache folder, or
where ``NUMBA_CACHE_DIR`` points, under a digest of all files with kernels: one would otherwise not
notice that a formula it calls in another file has changed.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar, cast

import numba
from numba.extending import register_jitable

KEPT = 4
"""Caches of this many earlier states of the package stay on disk."""
fresh = False
"""Whether nothing compiled was there when this process began: what it calls first takes long, once."""


def _cache_folder() -> Path:
    """The user's cache folder as each system has it."""
    if sys.platform == "win32":
        base = Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local"))
    elif sys.platform == "darwin":
        base = Path.home() / "Library" / "Caches"
    else:
        base = Path(os.environ.get("XDG_CACHE_HOME", Path.home() / ".cache"))
    return base / "chalkwing" / "kernels"


def _keyed_cache() -> str:
    """The folder for kernels of the package as it is now; older ones are dropped."""
    package = Path(__file__).parent
    state = hashlib.sha256(str(package).encode())
    for file in sorted(package.rglob("*.py")):
        text = file.read_bytes()
        if b"@compil" in text:
            state.update(text)
    folder = _cache_folder()
    here = folder / state.hexdigest()[:16]
    if not here.is_dir():
        here.mkdir(parents=True, exist_ok=True)
        others = sorted((p for p in folder.iterdir() if p != here), key=lambda p: p.stat().st_mtime)
        for old in others[: -KEPT or None]:
            shutil.rmtree(old, ignore_errors=True)
    return str(here)


if not os.environ.get("NUMBA_CACHE_DIR"):
    with contextlib.suppress(OSError):  # no writable cache folder: numba falls back to its own places
        _folder = _keyed_cache()
        fresh = not any(Path(_folder).iterdir())
        numba.config.CACHE_DIR = _folder  # type: ignore[attr-defined]


def cache_place() -> Path:
    """The folder in which compiled kernels lie."""
    return Path(numba.config.CACHE_DIR or _cache_folder())  # type: ignore[attr-defined]


F = TypeVar("F", bound=Callable[..., object])


def compiled(function: F) -> F:
    """Compile ``function`` to machine code at its first call, and keep the result on disk."""
    return cast("F", numba.njit(cache=True, fastmath=False, nogil=True, error_model="numpy")(function))


def compilable(function: F) -> F:
    """Leave ``function`` plain Python, for numbers and arrays alike, and let compiled kernels call it too.

    A formula is so written once and used in both worlds.
    """
    return register_jitable(function)
