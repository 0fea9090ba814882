"""From a file to its verdicts, as a multiple of the time polars takes merely to parse the file.

Run: python -m benchmarks.trunk_speed. Target: at most 40, aim 15, for a 1.5 h log in a warm process.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import polars as pl

from benchmarks.long_log import write_log
from chalkwing.trunk import debrief, reconstructions

HOURS = 1.5
PARSES, RUNS = 15, 3


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        rows = write_log(path, hours=HOURS)

        def parse() -> pl.DataFrame:
            return pl.read_csv(path, comment_prefix="#", skip_rows_after_header=1, infer_schema_length=200)

        debrief(path)
        parsing = statistics.median(seconds(parse) for _ in range(PARSES))
        whole = statistics.median(seconds(lambda: debrief(path)) for _ in range(RUNS))
        rebuilt = statistics.median(seconds(lambda: reconstructions(path)) for _ in range(RUNS))
    print(f"{rows} rows, {HOURS} h: polars parses in {1000 * parsing:.1f} ms")
    print(f"file to motion {rebuilt:.2f} s = {rebuilt / parsing:.0f} x, file to verdict {whole:.2f} s")
    print(f"ratio {whole / parsing:.1f} (at most 40, aim 15)")


if __name__ == "__main__":
    main()
