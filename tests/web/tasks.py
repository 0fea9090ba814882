"""What a worker is given to do: in a module that loads nothing, as each new process loads it."""

from __future__ import annotations

import os
import time

from chalkwing.errors import UnknownName


def doubled(value, *, tell):
    tell("doubling", 0.5)
    return 2 * value


def refused(*, tell):
    raise UnknownName(kind="maneuver", name="loop", known=["chandelle"])


def failing(*, tell):
    raise ZeroDivisionError("by nothing")


def dying(*, tell):
    os._exit(9)


def sleeping(*, tell):
    time.sleep(60.0)


def greedy(size, *, tell):
    return len(bytearray(size))
