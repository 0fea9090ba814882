"""Half an eight shaped by how slow it gets: the margin asked for, at the slowest point, wherever that lies.

The least of many margins has no slope where it moves from one node to the next. So the margin is pinned at
the node where the slowest point usually is, and once that node is known better, there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chalkwing.reference.half_turn import Half, Task, solve_half
from chalkwing.units import deg_to_rad, kt_to_mps

_BANKS = deg_to_rad(np.array([15.0, 20.0, 30.0, 45.0, 60.0]))
_USUAL_NODES = [10, 11, 12, 14, 16]
"""Where the slowest point over the stall usually is: the later, the more the bank loads the wing."""
_MISS, _TRIES = kt_to_mps(0.15), 3
"""How far [m/s] the margin may miss the one asked for before it is sought anew, and how often."""
_WRONG = kt_to_mps(0.6)
"""A miss [m/s] that makes it another eight than the one asked for."""
_ROOM = kt_to_mps(2.0)
"""How much less [m/s] other nodes may have than the pinned one on the way."""


def solve_task(task: Task, *, start: Half | None = None) -> Half:
    """The solution of ``task``, shaped by its nose-up or by its slowest margin."""
    if task.slowest_margin is None:
        return solve_half(task, start=start)
    half = solve_half(pinned(task), start=start)
    for _ in range(_TRIES):
        miss, node, above_slowest = _slowest(half)
        if not half.solved or abs(miss) < _MISS:
            break
        again = solve_half(_pinned_at(task, node, task.slowest_margin + above_slowest), start=half)
        if not again.solved:
            break
        half = again
    return replace(half, solved=half.solved and abs(_slowest(half)[0]) < _WRONG)


def pinned(task: Task) -> Task:
    """The task with its slowest margin pinned where the slowest point usually is."""
    assert task.slowest_margin is not None
    node = round(float(np.interp(task.maximum_bank, _BANKS, _USUAL_NODES)))
    return _pinned_at(task, node, task.slowest_margin)


def _pinned_at(task: Task, node: int, margin: float) -> Task:
    assert task.slowest_margin is not None
    return replace(task, pinned=(node, margin), margin=task.slowest_margin - _ROOM)


def _slowest(half: Half) -> tuple[float, int, float]:
    """The slowest margin less the one asked for, the node nearest to it, and what that has above it [m/s]."""
    assert half.task.slowest_margin is not None
    times, margins = half.margins()
    least = int(np.argmin(margins))
    node = int(np.argmin(np.abs(half.node_times - times[least])))
    above = float(np.interp(half.node_times[node], times, margins) - margins[least])
    return float(margins[least]) - half.task.slowest_margin, node, above
