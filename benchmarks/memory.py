"""Peak memory of a debrief of a 5 h flight. Run: python -m benchmarks.memory. Target: under 400 MB."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.long_log import write_log

HOURS = 5.0
RUN = (
    "import resource, sys\n"
    "from chalkwing.trunk import debrief\n"
    "debrief(sys.argv[1])\n"
    "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        rows = write_log(path, hours=HOURS)
        done = subprocess.run(
            [sys.executable, "-c", RUN, str(path)], check=True, capture_output=True, text=True
        )
    # Linux counts in KiB, macOS in bytes.
    unit = 1024 if sys.platform != "darwin" else 1
    print(f"{rows} rows, {HOURS} h: peak {int(done.stdout) * unit / 1e6:.0f} MB (target 400)")


if __name__ == "__main__":
    main()
