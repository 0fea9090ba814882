"""Write lessons with their recordings: ``python -m tests.flights.make --seeds 0:16 --out DIR``.

Seeds go round the airplanes and the pilots. A lesson already there is left alone. These files are a cache
and are never committed.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

from tests.flights.airplanes import AIRPLANES
from tests.flights.course.lessons import HANDS as COURSE_HANDS
from tests.flights.course.lessons import whole_lesson
from tests.flights.lessons import HANDS, lesson
from tests.flights.recorders import RECORDERS, record


def make(
    seed: int,
    out: Path,
    *,
    airplanes: list[str],
    controllers: list[str],
    ordinary_only: bool,
    recorders: list[str],
    whole: bool = False,
    baits: bool = False,
) -> str:
    """Fly one lesson and write its truth and a file per recorder; returns a line to print."""
    airplane = airplanes[seed % len(airplanes)]
    controller = controllers[seed % len(controllers)]
    directory = out / f"{seed:05d}_{airplane}_{controller}"
    if (directory / "done").exists():
        return f"{directory.name}: there already"
    begun = time.perf_counter()
    if whole or baits:
        truth = whole_lesson(seed, airplane, controller, baits=baits)
    else:
        truth = lesson(seed, airplane, controller, ordinary_only=ordinary_only)
    flown = time.perf_counter()
    # Nothing is measured in ordinary flights: two rows a second are enough to look at them.
    truth.save(directory, every=10 if ordinary_only or baits else 1)
    for name in recorders:
        (directory / f"{name}{RECORDERS[name][0]}").write_bytes(record(truth, name, seed))
    (directory / "done").touch()
    minutes = float(truth.table["time"][-1]) / 60
    return (
        f"{directory.name}: {minutes:.0f} min, {len(truth.maneuvers)} maneuvers, "
        f"{60 * minutes / (flown - begun):.0f} x real time, departed {len(truth.reseeded)} times"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="0:16", help="first:last (last excluded)")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--airplanes", default=",".join(AIRPLANES))
    parser.add_argument("--controllers", default="", help=f"of {', '.join(HANDS)}; all unless given")
    parser.add_argument("--recorders", default=",".join(RECORDERS))
    parser.add_argument(
        "--ordinary", action="store_true", help="only ordinary flying, for the false-alarm check"
    )
    parser.add_argument("--whole", action="store_true", help="whole lessons: every maneuver of the course")
    parser.add_argument("--baits", action="store_true", help="ordinary flying that looks like maneuvers")
    options = parser.parse_args()
    hands = COURSE_HANDS if options.whole or options.baits else HANDS
    first, last = (int(part) for part in options.seeds.split(":"))
    for seed in range(first, last):
        line = make(
            seed,
            options.out,
            airplanes=options.airplanes.split(","),
            controllers=options.controllers.split(",") if options.controllers else list(hands),
            ordinary_only=options.ordinary,
            recorders=options.recorders.split(","),
            whole=options.whole,
            baits=options.baits,
        )
        sys.stdout.write(line + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
