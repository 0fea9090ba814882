"""A process that adds a lesson and is killed at a random moment of it. Run by ``test_survival``.

    python -m tests.book.stopped BOOK FILE SEED

The judging is replaced by a ready document, so that the kills fall where something is written.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import threading
from pathlib import Path

from tests.book.school import STUDENT, WHO, ready

from chalkwing.book import open_book
from chalkwing.book.adding import Entry, add

LONGEST = 0.06
"""Seconds: longer than either stage takes, so that some kills come too late."""


def main(place: str, file: str, seed: int) -> None:
    chance = random.Random(seed)
    stage = chance.choice(["taking in the files", "entering"])
    wait = chance.uniform(0.0, LONGEST)

    def progress(what: str, _done: float) -> None:
        if what == stage:
            threading.Timer(wait, os.kill, (os.getpid(), signal.SIGKILL)).start()

    entry = Entry(student=STUDENT)
    added = add(open_book(place), [Path(file)], entry, who=WHO, judge=ready, progress=progress)
    print(added.number, flush=True)
    os._exit(0)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
