"""A process that adds a lesson and is killed at a random moment of it. Run by ``test_survival``.

    python -m tests.book.stopped BOOK FILE SEED SECONDS
    python -m tests.book.stopped

The second reads such arguments from lines, parted by tabs. Each line has a process of its own, forked from
this one: what loading the libraries takes is spent once. It answers with how that process ended and what it
printed.

SECONDS is how long such a process takes for the longer of its two stages when it is left alone: kills fall
in half as much again, so that some come too late. With 0 nothing is killed, and that time is printed. The
judging is replaced by a ready document, so that the kills fall where something is written.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import threading
import time
import traceback
from pathlib import Path

from tests.book.school import STUDENT, WHO, ready

from chalkwing.book import open_book
from chalkwing.book.adding import Entry, add

STAGES = ("taking in the files", "entering", "done")


def main(place: str, file: str, seed: int, seconds: float) -> None:
    chance = random.Random(seed)
    stage = chance.choice(STAGES[:2])
    wait = chance.uniform(0.0, 1.5 * seconds)
    begun: dict[str, float] = {}

    def progress(what: str, _done: float) -> None:
        begun.setdefault(what, time.perf_counter())
        if what == stage and seconds > 0.0:
            threading.Timer(wait, os.kill, (os.getpid(), signal.SIGKILL)).start()

    entry = Entry(student=STUDENT)
    added = add(open_book(place), [Path(file)], entry, who=WHO, judge=ready, progress=progress)
    if seconds == 0.0:
        print(max(begun["done"] - begun["entering"], begun["entering"] - begun["taking in the files"]))
    else:
        print(added.number)
    if seconds > 0.0 and stage == "entering":
        time.sleep(1.5 * seconds)  # a kill that comes after all is done still comes
    sys.stdout.flush()
    os._exit(0)


def each_line() -> None:
    """A process for each line, one after the other."""
    import chalkwing.trunk  # noqa: F401  (else each would load it when it takes down what it was judged with)

    for line in sys.stdin:
        place, file, seed, seconds = line.rstrip("\n").split("\t")
        read, write = os.pipe()
        child = os.fork()
        if child == 0:
            os.dup2(write, sys.stdout.fileno())
            try:
                main(place, file, int(seed), float(seconds))
            finally:  # it ends by itself where all went well
                traceback.print_exc()
                os._exit(1)
        os.close(write)
        with os.fdopen(read) as said:
            answer = said.read().strip()
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), answer, sep="\t", flush=True)


if __name__ == "__main__":
    if sys.argv[1:]:
        main(sys.argv[1], sys.argv[2], int(sys.argv[3]), float(sys.argv[4]))
    else:
        each_line()
