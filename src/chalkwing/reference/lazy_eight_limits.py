"""Why a lazy eight cannot be flown as asked, and what would make it possible."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from chalkwing.errors import CannotBeFlown
from chalkwing.reference.half_turn import Half, Task, solve_half
from chalkwing.reference.situation import Situation
from chalkwing.reference.top_margin import pinned, solve_task
from chalkwing.units import POUND, deg_to_rad, kt_to_mps, m_to_ft, mps_to_kt, rad_to_deg

_Change = Callable[[float], Task]
"""The task with one of its settings at a value."""


def refusal(task: Task, failed: Half) -> CannotBeFlown:
    """The error that says what stops ``task``: the constraint, and one change at a time that lifts it."""
    freed = solve_half((task if task.slowest_margin is None else pinned(task)).relaxed())
    constraint, reason = _constraint(task, freed if freed.solved else failed)
    remedies = dict(_remedies(task, constraint))
    return CannotBeFlown(
        f"no lazy eight closes at {rad_to_deg(task.maximum_bank):.0f}° of bank{_shape(task)}: {reason}.",
        constraint=constraint,
        remedies=remedies,
        next_step=_next_step(remedies),
    )


def _shape(task: Task) -> str:
    if task.nose_up is not None:
        return f" and {rad_to_deg(task.nose_up):.1f}° of nose-up"
    assert task.slowest_margin is not None
    return f" with {mps_to_kt(task.slowest_margin):.0f} kt over the stall at the slowest"


def _constraint(task: Task, freed: Half) -> tuple[str, str]:
    """What the freed solution does that the task forbids."""
    if freed.throttle > task.full_throttle:
        most = task.situation.level_throttle(task.entry_speed)
        return (
            "power",
            f"it needs {freed.throttle:.0%} of full throttle (level flight at entry needs {most:.0%})",
        )
    if freed.throttle < task.idle:
        return "idle", "it gains energy even with the throttle closed"
    times, margins = freed.margins()
    slowest = int(np.argmin(margins))
    if margins[slowest] < _least_asked(task):
        return "stall", _stall_words(task, freed, float(times[slowest]), float(margins[slowest]))
    if np.any(freed.durations > task.longest):
        return "time", f"a leg would take {np.max(freed.durations):.0f} s"
    return "shape", "no turn joins its points with nose and bank always on the move"


def _least_asked(task: Task) -> float:
    return task.margin if task.slowest_margin is None else task.slowest_margin


def _stall_words(task: Task, freed: Half, time: float, margin: float) -> str:
    mass = task.situation.mass / POUND
    heading = rad_to_deg(float(freed.states_at(np.array([time]))[0, 2]))
    if margin < 0.0:
        return f"at {mass:,.0f} lb the airplane stalls near {heading:.0f}° of turn"
    left, asked = mps_to_kt(margin), mps_to_kt(_least_asked(task))
    return (
        f"at {mass:,.0f} lb only {left:.1f} kt are left over the stall near {heading:.0f}° of turn, "
        f"and {asked:.1f} kt are asked for"
    )


def _remedies(task: Task, constraint: str) -> Iterator[tuple[str, float]]:
    """Settings that, changed alone, make the eight possible; each rounded to the safe side."""
    degree = float(deg_to_rad(1.0))
    if task.nose_up is not None:
        up = task.nose_up
        yield from _found("nose_up", lambda x: replace(task, nose_up=x), up, degree, 0.5 * degree)
    for far in (deg_to_rad(15.0), deg_to_rad(60.0)):
        change: _Change = lambda x: replace(task, maximum_bank=x)  # noqa: E731
        yield from _found("maximum_bank", change, task.maximum_bank, float(far), degree)
    if task.slowest_margin is not None:
        margin, knot = task.slowest_margin, kt_to_mps(1.0)
        for end in (kt_to_mps(5.0), kt_to_mps(30.0)):
            change = lambda x: replace(task, slowest_margin=x)  # noqa: E731
            yield from _found("top_margin", change, margin, end, knot)
    if constraint == "power":
        mass = task.situation.mass
        yield from _found("mass", _mass_change(task), mass, 0.75 * mass, 5.0)
        low = task.situation.conditions.elevation
        altitude = task.situation.entry_altitude
        if altitude > low:
            yield from _found("entry_altitude", _altitude_change(task), altitude, low, 30.48)


def _mass_change(task: Task) -> _Change:
    return lambda mass: replace(task, situation=replace(task.situation, mass=mass))


def _altitude_change(task: Task) -> _Change:
    calibrated = float(task.situation.calibrated_from_true(task.entry_speed))

    def change(altitude: float) -> Task:
        situation: Situation = replace(task.situation, entry_altitude=altitude)
        return replace(
            task, situation=situation, entry_speed=float(situation.true_from_calibrated(calibrated))
        )

    return change


def _found(name: str, change: _Change, asked: float, far: float, step: float) -> Iterator[tuple[str, float]]:
    """The value nearest to ``asked``, in whole steps toward ``far``, at which the task can be solved."""
    if abs(far - asked) < 0.01 * step:
        return
    way = np.sign(far - asked)
    # Whole multiples of the step, from the first beyond what was asked to the farthest.
    first = np.floor(asked / step + 1e-9) if way < 0 else np.ceil(asked / step - 1e-9)
    values = step * np.arange(first, round(far / step) + way * 0.5, way)
    values = values[np.abs(values - asked) > 0.01 * step]
    if len(values) == 0 or not _possible(change, float(values[-1])):
        return
    impossible, possible = -1, len(values) - 1
    while possible - impossible > 1:
        middle = (possible + impossible) // 2
        if _possible(change, float(values[middle])):
            possible = middle
        else:
            impossible = middle
    yield name, float(values[possible])


def _possible(change: _Change, value: float) -> bool:
    return solve_task(change(value)).solved


def _next_step(remedies: dict[str, float]) -> str:
    told = [_told(name, value) for name, value in remedies.items()]
    if not told:
        return (
            "No one change of nose-up, bank or margin alone makes it possible; change two, or the airplane."
        )
    return f"Possible with {' or '.join(told)}."


def _told(name: str, value: float) -> str:
    if name == "nose_up":
        return f"nose-up {rad_to_deg(value):.1f}°"
    if name == "maximum_bank":
        return f"bank {rad_to_deg(value):.0f}°"
    if name == "top_margin":
        return f"{mps_to_kt(value):.0f} kt over the stall at the slowest"
    if name == "mass":
        return f"a mass of {value / POUND:,.0f} lb"
    return f"an entry at {m_to_ft(value):,.0f} ft"
