"""Slow flight: level just above the stall warning, straight and in gentle turns, and the way down to it."""

from __future__ import annotations

import math

import numpy as np

from chalkwing.dynamics import turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Phase, fly_phases
from chalkwing.reference.assembling import Mark, legs_between, reference_of, side_of
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.law_numbers import AirState, Linear
from chalkwing.reference.laws import after, held, level_law, ramp, roll_heading, rolling_out, until
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, KNOT, mps_to_kt, rad_to_deg, require_within

CLEARANCE = 2.0 * KNOT
"""Kept above the stall warning at the bank flown [m/s], so that a ripple does not sound it. Own choice."""
TARGET = 5.0 * KNOT
"""Least margin over the 1 g stall [m/s]: the low end of the 5 to 10 kt of [AFH], as quoted."""
ROLL_RATE = 5.0 * DEGREE
"""[rad/s]. Own choice: gentle."""
_SLOWING = 0.15
"""Throttle on the way down to slow flight. Own choice."""
_STRAIGHT = 15.0
"""Seconds of straight flight before the turns."""


@solves("slow_flight")
def slow_flight(
    situation: Situation,
    *,
    direction: Direction = "left",
    airspeed: float | None = None,
    entry_speed: float | None = None,
    bank: float = 10.0 * DEGREE,
    turn: float = math.pi / 2.0,
) -> Reference:
    """Slow down level, hold the airspeed, turn one way and back the other, all level.

    Parameters
    ----------
    airspeed : float, optional
        Calibrated, held [m/s]; unless given the slowest that is 5 kt above the 1 g stall at this mass and
        2 kt above the stall warning at ``bank``.
    entry_speed : float, optional
        Calibrated, from which to slow down [m/s]; see ``entry.entry_airspeed``.
    bank : float
        Of the turns [rad].
    turn : float
        Of each turn [rad].

    Raises
    ------
    OutsideModel
        The airspeed asked is below the stall at that bank, or full throttle does not hold it.
    """
    require_within("bank", bank, 0.5 * DEGREE, 45.0 * DEGREE, "rad", hint="Was it in degrees?")
    require_within("turn", turn, 5.0 * DEGREE, 20.0, "rad", hint="Was it in degrees?")
    sheet, mass, load = situation.sheet, situation.mass, 1.0 / math.cos(bank)
    stall = situation.level_stall_speed
    banked = float(turning.stall_speed_in_turn(level_stall_speed=stall, bank=bank))
    warning = float(sheet.stall_warning_speed_at(mass=mass))
    warning_banked = float(sheet.stall_warning_speed_at(mass=mass, load_factor=load))
    target = max(stall + TARGET, warning_banked + CLEARANCE) if airspeed is None else airspeed
    if target <= banked:
        raise OutsideModel(
            f"{mps_to_kt(target):.1f} KCAS is no more than the stall at {rad_to_deg(bank):.0f}° of bank, "
            f"{mps_to_kt(banked):.1f} KCAS.",
            next_step=f"Ask for {math.ceil(mps_to_kt(warning_banked) + 1)} KCAS or more, or less bank.",
        )
    entry = max(entry_airspeed(situation) if entry_speed is None else entry_speed, target + 0.5)
    path = _fly(situation, entry, target, bank, turn, side_of(direction))
    _refuse_weak_engine(path, target)
    settings = {"airspeed": target, "entry_speed": entry, "bank": bank, "turn": turn}
    names = ("slow down", "straight", "roll-in", "turn", "roll-out", "roll-in", "turn back", "roll-out")
    at = path.ends
    marks = [
        Mark(1, "entry", 0.0),
        Mark(1, "slow", at[0]),
        Mark(1, "turn", 0.5 * (at[2] + at[3])),
        Mark(1, "turn_back", 0.5 * (at[5] + at[6])),
        Mark(1, "end", at[7]),
    ]
    throttle, straight = path.column("throttle"), int(np.argmax(path.phase == 1.0)) + 1
    true = float(situation.true_from_calibrated(target))
    radius = float(turning.turn_radius(true_airspeed=true, bank=bank))
    facts = [
        Fact("airspeed", target, "m/s", "calibrated airspeed to hold"),
        Fact("stall_speed", stall, "m/s", "calibrated 1 g stall speed at this mass, clean"),
        Fact("stall_speed_banked", banked, "m/s", "calibrated stall speed in the turn"),
        Fact("stall_warning", warning, "m/s", "calibrated speed at which the warning sounds, wings level"),
        Fact(
            "stall_warning_banked", warning_banked, "m/s", "calibrated speed at which it sounds in the turn"
        ),
        Fact("margin", target - stall, "m/s", "above the 1 g stall"),
        Fact("margin_banked", target - banked, "m/s", "above the stall in the turn"),
        Fact("throttle", float(throttle[straight]), "1", "throttle that holds the speed, wings level"),
        Fact("throttle_banked", float(np.max(throttle)), "1", "throttle that holds it in the turn"),
        Fact("slowing_time", at[0], "s", "time to slow down level"),
        Fact("turn_radius", radius, "m", "radius of the turn in the air"),
    ]
    if sheet.stall_speed_landing is not None:
        landing = float(sheet.stall_speed_at(mass=mass, configuration="landing"))
        facts.append(
            Fact("stall_speed_landing", landing, "m/s", "1 g stall speed at this mass, landing flaps")
        )
    return reference_of(
        "slow_flight",
        direction,
        situation,
        path,
        settings=settings,
        marks=marks,
        legs=legs_between(names, at),
        facts=facts,
        notes=_notes(situation, airspeed is None),
    )


def _fly(situation: Situation, entry: float, target: float, bank: float, turn: float, side: float) -> AirPath:
    plane = situation.airplane
    fast, slow = (float(situation.true_from_calibrated(speed)) for speed in (entry, target))

    rolling = bank / ROLL_RATE
    rolled = roll_heading(bank=bank, rate=ROLL_RATE, true_airspeed=slow)
    rate = float(turning.turn_rate(true_airspeed=slow, bank=bank))
    steady = max(turn - 2.0 * rolled, 0.0) / rate
    slowed = until(Linear(constant=slow, true_airspeed=-1.0))
    phases = [
        Phase("slowing down", level_law(plane, held(0.0), _SLOWING), slowed),
        Phase("the straight leg", level_law(plane, held(0.0)), after(_STRAIGHT)),
    ]
    for way in (side * bank, -side * bank):
        phases += [
            Phase("the roll-in", level_law(plane, ramp(way, ROLL_RATE)), after(rolling)),
            Phase("the turn", level_law(plane, held(way)), after(steady)),
            Phase("the roll-out", level_law(plane, rolling_out(way, ROLL_RATE)), after(rolling)),
        ]
    start = AirState(0.0, 0.0, 0.0, fast, 0.0, situation.entry_heading)
    return fly_phases(situation, start, phases)


def _refuse_weak_engine(path: AirPath, target: float) -> None:
    worst = float(np.max(path.column("throttle")))
    if worst > 1.0:
        raise OutsideModel(
            f"full throttle does not hold {mps_to_kt(target):.0f} KCAS level here: {100 * worst:.0f} % would "
            "be needed.",
            next_step="Choose less bank, a lower altitude or less mass.",
        )


def _notes(situation: Situation, found: bool) -> list[str]:
    notes = [
        "Clean; with flaps or gear the speeds are those of the flight manual for that configuration.",
        "This slow, a sink is stopped by power; more pitch only slows.",
    ]
    if found:
        notes.append("Airspeed: at least 5 kt above the stall, and 2 kt above the warning at the bank.")
    if situation.sheet.stall_warning_speed is None:
        notes.append("The sheet gives no stall warning; it is taken 5 kt above the stall (common practice).")
    return notes
