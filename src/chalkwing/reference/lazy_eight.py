"""The lazy eight: the throttle, nose and bank that bring altitude and airspeed back at each 180° point.

Of all the turns through the points of [AFH] fig. 10-4 (bank half its maximum at 45° and 135°, steepest at
90°; nose highest at 45°, at its entry attitude at 90°, lowest at 135°) the smoothest is sought: least of the
integral of 1 + (bank'' / 1°/s²)² + (pitch'' / 0.5°/s²)², ours. ``half_turn`` states the problem.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.assembling import Mark, point_at
from chalkwing.reference.closed import Closed, fly_closed
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.flown import FlownPart, histories
from chalkwing.reference.half_turn import Half, Task
from chalkwing.reference.lazy_eight_limits import refusal
from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.reference.top_margin import solve_task
from chalkwing.refly.legs import LegSchedule
from chalkwing.units import Floats, deg_to_rad, kt_to_mps, require_within

LEGS = ("rise", "top", "fall", "return")
POINTS = ("45", "90", "135", "180")
DEFAULT_BANK = deg_to_rad(30.0)
DEFAULT_TOP_MARGIN = kt_to_mps(10.0)
"""The slowest speed over the stall unless told otherwise: the upper end of [AFH]'s 5 to 10 kt."""
DEFAULT_LEAST_MARGIN = kt_to_mps(5.0)
"""The least margin when nose-up is given: where the stall warning sounds at the latest [14 CFR 23.207]."""
_KNOTS = 160


@solves("lazy_eight")
def lazy_eight(
    situation: Situation,
    *,
    direction: Direction,
    maximum_bank: float = DEFAULT_BANK,
    nose_up: float | None = None,
    top_margin: float | None = None,
    least_margin: float = DEFAULT_LEAST_MARGIN,
    entry_speed: float | None = None,
    throttle: float | None = None,
    start_from: Reference | None = None,
) -> Reference:
    """Solve one lazy eight: two halves, the second the mirror image of the first.

    Parameters
    ----------
    situation, direction
        Airplane, mass and day; the side of the first half.
    maximum_bank : float
        Bank at 90° [rad], 15 to 60 degrees.
    nose_up : float, optional
        Pitch at 45° above the entry attitude [rad]; shapes the eight instead of ``top_margin``.
    top_margin : float, optional
        Slowest airspeed over the stall at the load carried [m/s]; 10 kt unless ``nose_up`` is given.
    least_margin : float
        With ``nose_up``, the least allowed margin over the stall at the load carried [m/s].
    entry_speed : float, optional
        Calibrated [m/s]; the lesser of maneuvering and cruise speed unless given.
    throttle : float, optional
        "Power as set": the closed solution's schedule is flown at this throttle (0 to 1), never solved anew,
        and what is left over at 180° is told. Unless given, "power free": the throttle that closes the eight.
    start_from : Reference, optional
        A lazy eight like this one, to start the optimizer from: quicker, and the same answer.

    Raises
    ------
    OutsideModel
        No such eight can be flown: says which constraint stops it and what would make it possible.
    """
    _require_sense(maximum_bank, nose_up, top_margin, throttle)
    entry = entry_airspeed(situation) if entry_speed is None else entry_speed
    task = _task(situation, entry, maximum_bank, nose_up, top_margin, least_margin)
    half = _solved(task, start_from)
    closed = _closed(half, entry)
    if throttle is not None:
        closed = replace(closed, schedule=closed.schedule.with_throttle(throttle))
    parts = fly_closed(situation, closed, direction)
    settings = {
        "maximum_bank": maximum_bank,
        "nose_up": nose_up,
        "top_margin": task.slowest_margin,
        "least_margin": least_margin,
        "entry_speed": entry,
        "throttle": throttle,
    }
    return _reference(situation, direction, half, closed, parts, settings)


def _require_sense(
    maximum_bank: float, nose_up: float | None, top_margin: float | None, throttle: float | None
) -> None:
    hint = "A lazy eight has 15 to 60 degrees of bank at its steepest, in radians here."
    require_within(
        "maximum bank", maximum_bank, deg_to_rad(15.0) - 1e-9, deg_to_rad(60.0) + 1e-9, "rad", hint=hint
    )
    if nose_up is not None:
        require_within(
            "nose-up", nose_up, deg_to_rad(0.5), deg_to_rad(45.0), "rad", hint="Was it in degrees?"
        )
    if top_margin is not None:
        require_within("margin at the top", top_margin, 0.0, 60.0, "m/s", hint="Give it above zero.")
    if throttle is not None:
        require_within("throttle", throttle, 0.0, 1.0, "", hint="It is a share: 0.7, not 70.")
    if nose_up is not None and top_margin is not None:
        raise OutsideModel(
            "nose-up and the margin at the top are both given, and each decides the other.",
            next_step="Give one of them.",
        )


def _task(
    situation: Situation,
    entry: float,
    maximum_bank: float,
    nose_up: float | None,
    top_margin: float | None,
    least_margin: float,
) -> Task:
    true: float = situation.true_from_calibrated(entry)
    if nose_up is not None:
        return Task(situation, float(true), maximum_bank, nose_up, least_margin)
    margin = DEFAULT_TOP_MARGIN if top_margin is None else top_margin
    return Task(situation, float(true), maximum_bank, None, 0.0, slowest_margin=margin)


def _solved(task: Task, start_from: Reference | None) -> Half:
    start = None
    if start_from is not None and isinstance(start_from.schedule, Closed):
        start = start_from.schedule.seed
    half = solve_task(task, start=start)
    if not half.solved and start is not None:
        half = solve_task(task)
    if not half.solved:
        raise refusal(task, half)
    return half


def _closed(half: Half, entry_speed: float) -> Closed:
    level = half.task.situation.level_attack(half.task.entry_speed)
    ends = np.cumsum(half.durations)
    times = (ends - half.durations)[:, None] + half.durations[:, None] * np.linspace(0.0, 1.0, _KNOTS + 1)
    bank, pitch = half.attitude(times.ravel())
    schedule = LegSchedule(
        half.durations,
        bank.reshape(times.shape),
        pitch.reshape(times.shape) - level,
        np.full(times.shape, half.throttle),
    )
    return Closed(schedule, entry_speed, turns=2, seed=half)


def _reference(
    situation: Situation,
    direction: Direction,
    half: Half,
    closed: Closed,
    parts: list[FlownPart],
    settings: Mapping[str, object],
) -> Reference:
    time, values = histories(situation, parts)
    ends = closed.schedule.ends
    marks = [
        Mark(number, name, part.start + float(end))
        for number, part in enumerate(parts, start=1)
        for name, end in zip(("entry", *POINTS), (0.0, *ends), strict=True)
    ]
    legs = [
        ReferenceLeg(number, name, part.start + float(end - length), part.start + float(end))
        for number, part in enumerate(parts, start=1)
        for name, end, length in zip(LEGS, ends, closed.schedule.durations, strict=True)
    ]
    return Reference(
        kind="lazy_eight",
        direction=direction,
        sheet=situation.sheet,
        mass=situation.mass,
        conditions=situation.conditions,
        entry_altitude=situation.entry_altitude,
        settings=settings,
        time=time,
        values=values,
        points=tuple(point_at(situation, time, values, mark) for mark in marks),
        legs=tuple(legs),
        facts=tuple(_facts(situation, half, values)),
        notes=_notes(settings),
        schedule=closed,
    )


def _facts(situation: Situation, half: Half, values: Mapping[str, Floats]) -> list[Fact]:
    first = values["part"] == 1.0
    speed, height = values["calibrated_airspeed"][first], values["altitude_change"][first]
    slowest, highest = int(np.argmin(speed)), int(np.argmax(height))
    heading, pitch = values["heading_change"][first], values["pitch"][first] - values["pitch"][0]
    _, margins = half.margins()
    level = float(situation.level_throttle(half.task.entry_speed))
    flown = float(values["throttle"][0])
    ends = [int(np.flatnonzero(values["part"] == part)[-1]) for part in (1.0, 2.0)]
    facts = [
        Fact("closing_throttle", half.throttle, "1", "Throttle that closes the eight"),
        Fact("throttle", flown, "1", "Throttle flown"),
        Fact("level_throttle", level, "1", "Throttle for level flight at the entry speed"),
        Fact("throttle_below_level", level - flown, "1", "How far the throttle is below that"),
        Fact("entry_speed", float(speed[0]), "m/s", "Entry airspeed, calibrated"),
        Fact("entry_pitch", float(values["pitch"][0]), "rad", "Pitch attitude of level flight at entry"),
        Fact("nose_up", float(np.max(pitch)), "rad", "Highest nose, above the entry attitude"),
        Fact("nose_down", float(-np.min(pitch)), "rad", "Lowest nose, below the entry attitude"),
        Fact("slowest_speed", float(speed[slowest]), "m/s", "Slowest airspeed, calibrated"),
        Fact("heading_at_slowest", float(heading[slowest]), "rad", "Heading change at the slowest"),
        Fact("fastest_speed", float(np.max(speed)), "m/s", "Fastest airspeed, calibrated"),
        Fact("top_height", float(height[highest]), "m", "Height of the top above entry, by altimeter"),
        Fact("heading_at_highest", float(heading[highest]), "rad", "Heading change at the top"),
        Fact(
            "least_margin", float(np.min(margins)), "m/s", "Least margin over the stall at the load carried"
        ),
        Fact("most_load", float(np.max(values["load_factor"])), "1", "Highest load factor"),
        Fact(
            "roll_rate_at_180", float(-values["roll_rate"][ends[0]]), "rad/s", "Roll rate through wings level"
        ),
        Fact("time_of_half", float(np.sum(half.durations)), "s", "Time for one half"),
        Fact("lowest_height", float(np.min(values["altitude_change"])), "m", "Lowest point against entry"),
    ]
    for number, end in enumerate(ends, start=1):
        facts += _left_over(number, end, values)
    return facts


def _left_over(half: int, end: int, values: Mapping[str, Floats]) -> list[Fact]:
    """What is left over at a half's 180° point, against entry."""
    speed = values["calibrated_airspeed"]
    turned = float(values["heading_change"][end])
    if half == 2:  # a miss of the first half's heading counts in the second's
        turned -= float(values["heading_change"][values["part"] == 1.0][-1] - np.pi)
    where = f"at the end of half {half}, against entry"
    return [
        Fact(f"altitude_left_{half}", float(values["altitude_change"][end]), "m", f"Altitude {where}"),
        Fact(f"airspeed_left_{half}", float(speed[end] - speed[0]), "m/s", f"Airspeed {where}"),
        Fact(f"heading_left_{half}", turned - np.pi, "rad", f"Heading past the reference {where}"),
    ]


def _notes(settings: Mapping[str, object]) -> tuple[str, ...]:
    notes = (
        "The slowest point and the top come before 90°: a level nose there is already a descending path.",
        (
            "Each half starts where the last one ended, its path a few tenths of a degree down: the second "
            "half ends less than a foot lower than the first."
        ),
    )
    if settings["throttle"] is None:
        return notes
    return (
        *notes,
        "Power as set: the closed eight's bank and nose are flown at this throttle, not solved anew.",
    )
