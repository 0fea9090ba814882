"""A long, wide log for the benchmarks: lessons one after the other, 60 columns, once a second."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson

WIDTH = 60


def write_log(path: Path, *, hours: float) -> int:
    """Write a log of ``hours`` and return its rows; columns beyond the panel's hold engine-like noise."""
    lesson = fly_lesson(0, rounds=int(np.ceil(hours * 3600.0 / 870.0)))
    _, text = record(lesson, "avionics")
    lines = text.splitlines()
    preamble = [line for line in lines if line.startswith("#")]
    header, units, *rows = (line for line in lines if not line.startswith("#"))
    rows = rows[: int(hours * 3600.0) + 1]
    extra = WIDTH - header.count(",") - 1
    noise = np.random.default_rng(0).normal(1300.0, 20.0, (len(rows), extra))
    names = ",".join(f"EGT {k + 1}" for k in range(extra))
    wide = [
        f"{row},{','.join(f'{value:.1f}' for value in more)}" for row, more in zip(rows, noise, strict=True)
    ]
    head = [*preamble, f"{header},{names}", units + ",deg F" * extra]
    path.write_text("\n".join([*head, *wide]) + "\n", encoding="utf-8")
    return len(rows)
