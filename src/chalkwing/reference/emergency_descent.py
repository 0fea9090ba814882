"""The emergency descent: idle, 30 to 45 degrees of bank, fast within the limits, then leveled off."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from chalkwing.dynamics import specific_excess_thrust
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Phase, fly_phases
from chalkwing.reference.assembling import Mark, legs_between, reference_of, side_of
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.floor import ALTIMETER_ERROR, STANDARD
from chalkwing.reference.heights import indicated_at
from chalkwing.reference.law_numbers import AirState, Linear
from chalkwing.reference.laws import SpeedLaw, after, held, level_law, ramp, rolling_out, until
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, ft_to_m, mps_to_kt, require_within

FLATTEST, STEEPEST = 30.0 * DEGREE, 45.0 * DEGREE
"""Bank of the task: [ACS-7B] CA.IX.A."""
BELOW_VNE = 10.0 * KNOT
"""Kept from VNE in smooth air [m/s]. Own choice; the task's band is +0/-10 kt."""
AIM = 2.0 * KNOT
"""Kept below the airspeed not to be exceeded [m/s], so that a ripple does not pass it. Own choice."""
ROLL_RATE = 15.0 * DEGREE
"""[rad/s]. Own choice."""
_PUSH = 1.2
"""Largest acceleration on the way to the speed [m/s²]: it bounds how far the nose goes down. Own choice."""
_PATH_LAG = 4.0
"""Time [s] in which the path follows: a gentle push, so that the load stays positive. Own choice."""
_GAINED_IN, _LEVELED_IN = 4.0, 1.5
"""Times [s] in which the speed is gone to, and the path leveled. Own choice."""
_PULL = 1.35
"""Largest lift against gravity in the level-off, which may begin above VA. Own choice."""
_LEVEL = 0.3 * DEGREE


@solves("emergency_descent")
def emergency_descent(
    situation: Situation,
    *,
    direction: Direction = "left",
    bank: float = 45.0 * DEGREE,
    height: float = ft_to_m(2000.0),
    airspeed: float | None = None,
    rough_air: bool = False,
    entry_speed: float | None = None,
    floor: float = STANDARD,
) -> Reference:
    """From cruise into an idle descending turn, at a speed within the limits, to a level-off.

    Parameters
    ----------
    bank : float
        [rad], 30° to 45° ([ACS-7B] CA.IX.A): it keeps the load factor positive.
    height : float
        To lose [m].
    airspeed : float, optional
        Calibrated, not to be exceeded [m/s]; unless given 10 kt below VNE in smooth air, VA at this mass in
        rough air or where the sheet has no VNE.
    rough_air : bool
    entry_speed : float, optional
        Calibrated [m/s]; see ``entry.entry_airspeed``.
    floor : float
        Above the highest terrain [m], at which it levels off where no entry altitude is given.

    Raises
    ------
    OutsideModel
        Bank outside 30° to 45°, a speed above VNE, or too little height to get there.
    """
    require_within("bank", bank, 0.0, 1.5, "rad", hint="Was it in degrees?")
    require_within("height to lose", height, 50.0, 1_400.0, "m", hint="Was it in feet?")
    if not FLATTEST - 1e-9 <= bank <= STEEPEST + 1e-9:
        raise OutsideModel(
            f"an emergency descent is flown with 30° to 45° of bank (FAA-S-ACS-7B, CA.IX.A), not "
            f"{bank / DEGREE:.0f}°.",
            next_step="Ask for a bank between them.",
        )
    if not situation.altitude_given:
        top = situation.conditions.highest_terrain + floor + ALTIMETER_ERROR + height
        situation = replace(situation, entry_altitude=indicated_at(situation.conditions, top))
    target, why = _speed(situation, airspeed, rough_air)
    entry = min(entry_airspeed(situation) if entry_speed is None else entry_speed, target)
    aim = target - AIM
    path = _fly(situation, side_of(direction) * bank, height, aim, min(entry, aim))
    settings = {
        "bank": bank,
        "height": height,
        "airspeed": target,
        "rough_air": rough_air,
        "entry_speed": entry,
        "floor": floor,
    }
    fast = _reached(situation, path, aim)
    marks = [Mark(1, "entry", 0.0), Mark(1, "established", path.ends[0])]
    marks += [] if fast is None else [Mark(1, "at_speed", fast)]
    marks += [Mark(1, "level_off", path.ends[1]), Mark(1, "level", path.ends[2])]
    return reference_of(
        "emergency_descent",
        direction,
        situation,
        path,
        settings=settings,
        marks=sorted(marks, key=lambda mark: mark.time),
        legs=legs_between(("roll-in", "descent", "level-off"), path.ends),
        facts=_facts(situation, path, limit=target, target=aim, height=height, bank=bank),
        notes=[
            why,
            "Idle, clean; gear, flaps and propeller as the flight manual says steepen it.",
            "In rough air, or with the structure in doubt: VA or less.",
        ],
    )


def _speed(situation: Situation, asked: float | None, rough_air: bool) -> tuple[float, str]:
    """The calibrated airspeed [m/s] and the reason for it."""
    never = situation.sheet.never_exceed_speed
    maneuvering = situation.sheet.maneuvering_speed_at(situation.mass)
    if asked is not None:
        if never is not None and asked > never:
            raise OutsideModel(
                f"{mps_to_kt(asked):.0f} KCAS is above VNE, {mps_to_kt(never):.0f} KCAS.",
                next_step=f"Ask for {math.floor(mps_to_kt(never - BELOW_VNE)):.0f} KCAS or less.",
            )
        return asked, "Airspeed as asked."
    if rough_air or never is None:
        return maneuvering, "Airspeed: VA at this mass" + (
            ", for rough air." if rough_air else "; no VNE given."
        )
    return never - BELOW_VNE, "Airspeed: 10 kt below VNE, for smooth air."


def _fly(situation: Situation, bank: float, height: float, target: float, entry: float) -> AirPath:
    speed = float(situation.true_from_calibrated(entry))
    # The speed is gone to without haste.
    descent = SpeedLaw(situation, target, speed_lag=_GAINED_IN, path_lag=_PATH_LAG, least=-_PUSH, most=_PUSH)
    start = AirState(0.0, 0.0, 0.0, speed, 0.0, situation.entry_heading)
    rolling = abs(bank) / ROLL_RATE
    leveling = level_law(
        situation.airplane, rolling_out(bank, ROLL_RATE), 0.0, path_lag=_LEVELED_IN, pull=_PULL
    )
    level = until(Linear(constant=_LEVEL, path_angle=1.0), Linear(constant=-rolling, time=1.0))

    def phases(lead: float) -> list[Phase]:
        down = until(Linear(constant=lead - height, height=-1.0))
        return [
            Phase("the roll-in", descent.along(ramp(bank, ROLL_RATE)), after(rolling)),
            Phase("the descent", descent.along(held(bank)), down),
            Phase("the level-off", leveling, level),
        ]

    lead = 0.2 * height
    for _ in range(4):
        path = fly_phases(situation, start, phases(lead), step=0.25)
        missed = -height - path.last.height
        if abs(missed) < 0.05:
            return path
        lead += missed
        if not 0.0 < lead < height:
            raise OutsideModel(
                "there is too little height to get to the speed and level off again.",
                next_step="Lose more height, or descend slower.",
            )
    return path


def _reached(situation: Situation, path: AirPath, target: float) -> float | None:
    """When the airspeed first comes within a knot of the target [s]; None where the level-off comes first."""
    shown = np.asarray(situation.calibrated_from_true(path.column("true_airspeed"), path.column("height")))
    near = np.flatnonzero((shown >= target - KNOT) & (path.phase < 2.0))
    return float(path.time[near[0]]) if len(near) else None


def steady_descent(situation: Situation, *, airspeed: float, bank: float) -> tuple[float, float]:
    """(path angle [rad], load factor) of a steady idle descent at a calibrated airspeed [m/s] and bank [rad].

    Weight along the path balances drag: sin(path) = (thrust - drag) / weight at lift cos(path) / cos(bank).
    """
    speed, density = float(situation.true_from_calibrated(airspeed)), float(situation.density())
    angle = 0.0
    for _ in range(50):
        load = math.cos(angle) / math.cos(bank)
        excess = float(specific_excess_thrust(situation.airplane, 0.0, load, density, speed))
        angle = math.asin(max(excess / STANDARD_GRAVITY, -0.95))
    return angle, math.cos(angle) / math.cos(bank)


def _facts(
    situation: Situation, path: AirPath, *, limit: float, target: float, height: float, bank: float
) -> list[Fact]:
    angle, load = steady_descent(situation, airspeed=target, bank=bank)
    speed = float(situation.true_from_calibrated(target))
    rate = -speed * math.sin(angle)
    turn_rate = STANDARD_GRAVITY * load * math.sin(bank) / (speed * math.cos(angle))
    last = int(np.flatnonzero(path.phase == 1.0)[-1])
    lead = float(path.column("height")[last]) + height
    loads, headings = path.column("load_factor"), path.column("air_heading")
    shown = np.asarray(situation.calibrated_from_true(path.column("true_airspeed"), path.column("height")))
    return [
        Fact("airspeed", limit, "m/s", "calibrated airspeed not to be exceeded"),
        Fact("aim", target, "m/s", "calibrated airspeed to aim at"),
        Fact("fastest", float(np.max(shown)), "m/s", "calibrated airspeed reached"),
        Fact("descent_rate", rate, "m/s", "rate of descent once steady at that speed and bank"),
        Fact("height_per_turn", rate * 2.0 * math.pi / turn_rate, "m", "height lost in a full steady turn"),
        Fact("path_angle", angle, "rad", "path angle once steady"),
        Fact("height_lost", height, "m", "height lost to the level-off altitude"),
        Fact("time", path.ends[-1], "s", "time from cruise to level"),
        Fact("mean_rate", height / path.ends[-1], "m/s", "mean rate, entry and level-off included"),
        Fact("level_off_lead", lead, "m", "height above the level-off altitude at which to begin"),
        Fact("least_load_factor", float(np.min(loads)), "1", "least load factor, in the push"),
        Fact("load_factor", float(np.max(loads)), "1", "greatest load factor"),
        Fact("turned", abs(float(headings[-1] - headings[0])), "rad", "heading turned in all"),
    ]
