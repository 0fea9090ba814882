"""How long the printed debrief takes. Run: python -m benchmarks.debrief_print.

Target: the PDF of a lesson with eight maneuvers at most 2 s. Reconstruction, judging and the plans are done
before and timed apart.
"""

from __future__ import annotations

import tempfile
import time
from dataclasses import replace
from pathlib import Path

from chalkwing.paper import debrief_pdf
from chalkwing.refly.recorder import record
from chalkwing.refly.scenario import fly_lesson
from chalkwing.trunk import Debriefed, debriefed
from chalkwing.views import views_of

AIRPLANE = "four-seat-200"
MANEUVERS = 8


def lesson() -> Debriefed:
    """The built-in lesson flown twice over, cut to eight maneuvers."""
    name, text = record(fly_lesson(0, rounds=2), "avionics", seed=0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_text(text, encoding="utf-8")
        found = debriefed(path, airplane=AIRPLANE)
    kept = found.attempts[:MANEUVERS]
    return replace(
        found,
        attempts=kept,
        debrief=replace(found.debrief, maneuvers=tuple(each.report for each in kept)),
    )


def main() -> None:
    started = time.perf_counter()
    found = lesson()
    print(f"flown, recorded, reconstructed, judged and planned: {time.perf_counter() - started:.1f} s")
    print(f"{len(found.attempts)} maneuvers")
    started = time.perf_counter()
    views_of(found)
    print(f"views {1000 * (time.perf_counter() - started):.0f} ms")
    for paper in ("a4", "letter"):
        started = time.perf_counter()
        content = debrief_pdf(found, paper=paper)
        took = time.perf_counter() - started
        print(f"{paper}: {1000 * took:.0f} ms (target 2,000), {len(content) / 1000:.0f} kB")


if __name__ == "__main__":
    main()
