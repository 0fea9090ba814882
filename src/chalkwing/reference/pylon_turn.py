"""One turn on a pylon: the line of sight along the wing held on it, in a steady wind, climbing and sinking.

The wing points at the pylon where the direction of flight through the air, v, is at a right angle to the line
to it, and where the bank meets its depression. Kept over time the first condition asks

    (rate of v) · line = v · (V v + wind).

Lift turns v in a direction square to the wing, and so square to the line: it drops out. What is left is
gravity, (g / V) times the height above the pylon, and hence

    height = V (V + wind · v) / g

exactly, in climbs and descents too: true airspeed times (true airspeed plus tailwind) over g. The airspeed is
not free: at a steady throttle height is paid for with speed. The turn is solved as that pair of conditions;
see ``tests/reference``, where an independent integration of the controls holds the sight line. Source:
derived here; the level case is known and stands in ``dynamics.turning.pivotal_altitude``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.ground_path import SteadyWind
from chalkwing.reference.heights import height_at
from chalkwing.reference.pylon_kernel import LowAir, held_on_pylon, rolled
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats

_ROUNDS, _SETTLED = 8, 1e-9
"""The path angle's change with the heading [rad/rad] is found again until it moves by less; each round takes
off two digits."""
STEP = 3.0 * DEGREE
"""Of air heading, from sample to sample."""


def low_air(situation: Situation) -> LowAir:
    """The air around the entry altitude of a situation, by height above its highest terrain."""
    conditions = situation.conditions
    height = height_at(conditions, situation.entry_altitude) - conditions.highest_terrain
    slope = (float(situation.density(20.0)) - float(situation.density(-20.0))) / 40.0
    return LowAir(float(situation.density()), slope, height)


@dataclass(frozen=True)
class PylonTurn:
    """A right turn on a pylon at the origin, by air heading: all arrays (n,), SI.

    ``north``, ``east`` from the pylon, ``height`` above it; ``load_factor`` and ``bank`` about the velocity.
    """

    time: Floats
    north: Floats
    east: Floats
    height: Floats
    true_airspeed: Floats
    path_angle: Floats
    air_heading: Floats
    bank: Floats
    load_factor: Floats
    throttle: float
    curving: Floats
    """Change of the path angle with the heading [rad/rad]: from it a turn like this one is found sooner."""


@dataclass(frozen=True)
class Roll:
    """A roll between level wings and the turn's end, (n,) arrays as in PylonTurn, forward in time."""

    time: Floats
    north: Floats
    east: Floats
    height: Floats
    true_airspeed: Floats
    path_angle: Floats
    air_heading: Floats
    bank: Floats
    load_factor: Floats


def pylon_turn(
    situation: Situation,
    wind: SteadyWind,
    *,
    throttle: float,
    distance: float,
    first: float,
    last: float,
    step: float = STEP,
    like: PylonTurn | None = None,
) -> PylonTurn:
    """Turn right on the pylon from air heading ``first`` to ``last`` [rad], at a steady throttle.

    ``wind`` holds the true airspeed [m/s] at the start. ``distance`` [m] is the horizontal distance of the
    pylon abeam there. The path angle's rate of change is found by repeating the integration, from that of
    a turn ``like`` this one where there is one.
    """
    heading = np.linspace(first, last, max(8, math.ceil((last - first) / step)) + 1)
    curving = np.zeros_like(heading) if like is None else np.interp(heading, like.air_heading, like.curving)
    rows = np.zeros((len(heading), 4))
    for _ in range(_ROUNDS):
        held, rows = held_on_pylon(
            heading,
            curving,
            (distance, wind.true_airspeed),
            (wind.north, wind.east),
            throttle,
            situation.airplane,
            low_air(situation),
        )
        if not held:
            raise OutsideModel(
                "the wind is too strong, or the pylon too near, to be held by the wing.",
                next_step="Choose a calmer day, less bank or a higher airspeed.",
            )
        before, curving = curving, np.gradient(rows[:, 3], heading, edge_order=2)
        if float(np.max(np.abs(curving - before))) < _SETTLED:
            break
    time, abeam, speed, climb = rows.T
    tail = wind.north * np.cos(heading) + wind.east * np.sin(heading)
    height = speed * (speed + tail * np.cos(climb)) / STANDARD_GRAVITY
    bank = np.arctan2(height, abeam * np.cos(climb))
    rate = _turn_rate(speed, climb, bank, curving)
    load = (np.cos(climb) + speed * curving * rate / STANDARD_GRAVITY) / np.cos(bank)
    ahead = height * np.tan(climb)
    return PylonTurn(
        time=time,
        north=abeam * np.sin(heading) - ahead * np.cos(heading),
        east=-abeam * np.cos(heading) - ahead * np.sin(heading),
        height=height,
        true_airspeed=speed,
        path_angle=climb,
        air_heading=heading,
        bank=bank,
        load_factor=load,
        throttle=throttle,
        curving=curving,
    )


def _turn_rate(speed: Floats, climb: Floats, bank: Floats, curving: Floats) -> Floats:
    """Rate of the air heading [rad/s] where the path angle changes by ``curving`` [rad/rad] with it."""
    still = STANDARD_GRAVITY * np.tan(bank) / speed
    rate: Floats = still / (1.0 - np.tan(bank) * curving / np.cos(climb))
    return rate


def roll_beside(
    situation: Situation, wind: SteadyWind, turn: PylonTurn, *, rate: float, before: bool
) -> Roll:
    """The roll into the turn (``before``) or out of it, at a steady roll rate [rad/s].

    Bank and path angle run evenly between level and the turn's end; airspeed, heading and position follow,
    from the turn outward.
    """
    index, sense = (0, -1.0) if before else (-1, 1.0)
    bank, climb = float(turn.bank[index]), float(turn.path_angle[index])
    duration = bank / rate
    count = max(5, math.ceil(duration / 0.2) + 1)
    away = np.linspace(0.0, duration, count)
    bending = -sense * climb / duration
    start = np.array(
        [
            column[index]
            for column in (turn.north, turn.east, turn.height, turn.true_airspeed, turn.air_heading)
        ]
    )
    states = rolled(
        start,
        away,
        (bank, climb, bending, sense),
        (wind.north, wind.east),
        turn.throttle,
        situation.airplane,
        low_air(situation),
    )
    left = 1.0 - away / duration
    load = (np.cos(climb * left) + states[:, 3] * bending / STANDARD_GRAVITY) / np.cos(bank * left)
    table = np.column_stack((away, states, climb * left, bank * left, load))
    if before:
        table = table[::-1].copy()
        table[:, 0] = duration - table[:, 0]
    time, north, east, height, speed, heading, path, roll, loads = table.T
    return Roll(time, north, east, height, speed, path, heading, roll, loads)
