"""Kernels compiled ahead, side by side, where none is on disk yet.

A kernel is compiled when it is first called, one after another, and two processes that begin together compile
the same ones. So `kernels.json` lists those that a debrief calls, with the types they are called with and how
long each takes; on a fresh machine processes share them out. The list saves time and nothing else: what it
lacks is compiled at its first call as ever, what is wrong in it is passed over.

The list is written by ``python -m benchmarks.kernels_ahead --write``.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from chalkwing import compiled

LIST = Path(__file__).with_name("kernels.json")
_DONE = "compiled-ahead"


@dataclass(frozen=True)
class Kernel:
    """A kernel: its module, its name, the types of its arguments as numba writes them, seconds to compile."""

    module: str
    name: str
    signature: str
    seconds: float

    def compile(self) -> bool:
        """Compile it, or load it from disk; whether there is such a kernel."""
        from numba.core.errors import NumbaError
        from numba.core.sigutils import normalize_signature

        try:
            kernel: Any = getattr(import_module(self.module), self.name)
            kernel.compile(normalize_signature(self.signature)[0])  # type: ignore[no-untyped-call]
        except (ImportError, AttributeError, NumbaError, NameError, TypeError, SyntaxError):
            return False
        return True


@cache
def kernels() -> tuple[Kernel, ...]:
    """The kernels of a debrief, those that take longest first; none where their list was not put along."""
    if not LIST.is_file():
        return ()
    listed: list[Mapping[str, Any]] = json.loads(LIST.read_text(encoding="utf-8"))
    return tuple(sorted((Kernel(**each) for each in listed), key=lambda each: -each.seconds))


def compile_ahead(pool: ProcessPoolExecutor) -> list[Future[bool]]:
    """Have the processes of ``pool`` compile the kernels; none where that was done once on this machine."""
    mark = compiled.cache_place() / _DONE
    if mark.exists():
        return []
    with contextlib.suppress(OSError):
        mark.parent.mkdir(parents=True, exist_ok=True)
        mark.touch()
    return [pool.submit(Kernel.compile, each) for each in kernels()]
