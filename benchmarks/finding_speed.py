"""Time to find everything in a lesson of two hours, and in one of one and four: linear in length.

    python -m benchmarks.finding_speed

The lesson is drawn by hand (tests/find/kinematics.py): every maneuver drawn there and ordinary turns between,
over and over. Kernels are compiled by a first run; the figure is the least of five, in processor time.
"""

from __future__ import annotations

import time

from tests.find.fake_estimator import AVIONICS, motion
from tests.find.kinematics import Sketch

from chalkwing.find import can_find, find
from chalkwing.maneuvers import definitions
from chalkwing.motion.motion import Motion

GOAL = 0.3
"""Seconds for two hours."""
RUNS = 5


def lesson(hours: float) -> Motion:
    """A busy lesson: about forty turns in a quarter of an hour."""
    sketch = Sketch().level(60)
    while sketch.now < 3600.0 * hours:
        sketch.turn(90, bank=25).level(10).turn(-90, bank=25).level(20)
        sketch.lazy_eight(1).lazy_eight(1).level(40).chandelle(-1).level(60)
        sketch.turn(360, bank=45).level(8).turn(-360, bank=45).level(60)
        for half in range(8):
            sketch.turn(180.0 * (-1) ** half, bank=30)
        sketch.level(40).turn(1080, bank=45, climb=-8, speed=42.0).level(30)
        for _ in range(9):
            sketch.turn(90, bank=25, speed=50.0).level(25)
        sketch.turn(180, bank=22, climb=4, speed=40.0).level(40).turn(-360, bank=28).level(60)
    return motion(sketch.table(), AVIONICS, seed=1)


def seconds(of: Motion) -> float:
    """The least processor time of several runs."""
    known = tuple(each for each in definitions().values() if can_find(each))
    find(of, known)
    taken = []
    for _ in range(RUNS):
        began = time.process_time()
        find(of, known)
        taken.append(time.process_time() - began)
    return min(taken)


def main() -> None:
    """Print the times."""
    for hours in (1.0, 2.0, 4.0):
        took = seconds(lesson(hours))
        goal = f" (goal {GOAL} s)" if hours == 2.0 else ""
        print(f"{hours:.0f} h: {took:.3f} s, {took / hours:.3f} s an hour{goal}")


if __name__ == "__main__":
    main()
