"""How long ``chalkwing --help`` takes from the shell. Run: python -m benchmarks.help_time. Target: 0.3 s."""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path

RUNS = 11


def main() -> None:
    beside = Path(sys.executable).parent / "chalkwing"
    command = str(beside) if beside.exists() else shutil.which("chalkwing")
    if command is None:
        raise SystemExit("chalkwing is not installed here")
    taken = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run([command, "--help"], check=True, stdout=subprocess.DEVNULL)
        taken.append(time.perf_counter() - start)
    print(f"median {statistics.median(taken):.3f} s, longest {max(taken):.3f} s of {RUNS} (target 0.3)")


if __name__ == "__main__":
    main()
