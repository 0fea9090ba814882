"""Which kernels a debrief compiles on a fresh machine, and how long each takes.

Run: python -m benchmarks.kernels_ahead [--write]. Lessons of the invented school are judged in a process with
an empty cache of kernels; with --write what it compiled becomes src/chalkwing/kernels.json, by which
processes share it out (chalkwing.ahead).
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from numba.core import event, types

LESSONS = 3
"""Every third lesson of the school: each maneuver and each instructor's and solo flight is among them."""


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--write", action="store_true")
    asked.add_argument("--here", action="store_true", help=argparse.SUPPRESS)
    told = asked.parse_args()
    if told.here:
        print(json.dumps(compiled_here()))
        return
    with tempfile.TemporaryDirectory() as fresh:
        command = [sys.executable, "-m", "benchmarks.kernels_ahead", "--here"]
        environment = {**os.environ, "NUMBA_CACHE_DIR": fresh}
        run = subprocess.run(command, env=environment, check=True, stdout=subprocess.PIPE)
    found: list[dict[str, Any]] = json.loads(run.stdout)
    print(f"{len(found)} kernels, {sum(each['seconds'] for each in found):.0f} s of processor time")
    for each in sorted(found, key=lambda each: -each["seconds"])[:10]:
        print(f"  {each['seconds']:.1f} s  {each['module']}.{each['name']}")
    if told.write:
        from chalkwing.ahead import LIST

        rows = ",\n".join(json.dumps(each) for each in sorted(found, key=lambda each: each["module"]))
        LIST.write_text(f"[\n{rows}\n]\n", encoding="utf-8")


def compiled_here() -> list[dict[str, Any]]:
    """Judge lessons and note each kernel that Python called and that had to be compiled."""
    listener = _Listener()
    event.register("numba:compile", listener)  # type: ignore[no-untyped-call]
    from chalkwing.book.invented import _judged_one, _plan, _recorded

    planned = sorted(_plan(8), key=lambda each: each.start)
    with tempfile.TemporaryDirectory() as folder:
        for each in planned[::LESSONS]:
            _judged_one((str(_recorded(each, Path(folder))), each.unit))
    return listener.found


class _Listener(event.Listener):
    """Notes the outermost of what is compiled: a kernel takes along those that it calls."""

    def __init__(self) -> None:
        self.found: list[dict[str, Any]] = []
        self._within: list[float] = []

    def on_start(self, told: Any) -> None:
        self._within.append(time.process_time())

    def on_end(self, told: Any) -> None:
        begun = self._within.pop()
        kernel = told.data["dispatcher"]
        if self._within or not kernel.__module__.startswith("chalkwing."):
            return
        written = [_written(each) for each in told.data["args"]]
        if None in written:
            return
        self.found.append(
            {
                "module": kernel.__module__,
                "name": kernel.__name__,
                "signature": f"({', '.join(filter(None, written))},)",
                "seconds": round(time.process_time() - begun, 1),
            }
        )


def _written(kind: Any) -> str | None:
    """A type as a signature writes it; None where it cannot be written, as a tuple with names cannot."""
    if isinstance(kind, types.Array):
        inner = [":"] * kind.ndim
        if kind.layout == "C":
            inner[-1] = "::1"
        elif kind.layout == "F":
            inner[0] = "::1"
        return f"{_written(kind.dtype)}[{', '.join(inner)}]" if kind.mutable else None
    if isinstance(kind, types.Boolean):
        return "boolean"
    return str(kind) if isinstance(kind, types.Integer | types.Float) else None


if __name__ == "__main__":
    main()
