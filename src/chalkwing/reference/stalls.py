"""Practice stalls: the speeds at this mass and bank, how the stall is come to, and the height to allow.

Up to the stall the point mass holds: the airspeed falls at a steady rate, and path and load factor follow.
What the airplane does past the stall is beyond it. The recovery flown here is a schedule (a reaction, an
unloading, a pull) that gives a height lost in good hands; the height to allow is a practice figure beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from chalkwing.dynamics import power_dropoff, specific_excess_thrust, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Law, Phase, fly_phases
from chalkwing.reference.assembling import Mark, legs_between, reference_of, side_of
from chalkwing.reference.law_numbers import AirState, Controls, LocalAir
from chalkwing.reference.laws import SpeedLaw, held
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, ft_to_m, mps_to_kt, require_within

_RECOVERIES = ("impending", "full")
DECELERATION = 1.0 * KNOT
"""Fall of airspeed toward the stall [m/s a second]: 1 kt/s, as stall speeds are measured; from memory."""
ALLOWANCE = {1: ft_to_m(500.0), 2: ft_to_m(1000.0)}
"""Height to allow for a stall and recovery [m], single and twin. Common practice, no source."""
LEAST_POWER = 0.65
"""Of rated power, in a power-on stall: [ACS-7B] CA.VII.C."""
REACTION, BREAK_LOAD = 1.0, 0.8
"""Seconds before the unloading begins, and the load factor meanwhile. Own assumption."""
UNLOAD, PULL, ROLL_LEVEL = 0.5, 1.25, 30.0 * DEGREE
"""Load factors of unloading and pull; roll rate [rad/s]. Own assumption."""
_REGAINED = 1.05
"""Share of the stall-warning speed at which the pull begins. Own assumption."""


@dataclass(frozen=True)
class _Stall:
    """What is to be flown: throttle on the way in, bank signed [rad], entry speed calibrated [m/s]."""

    kind: str
    throttle: float
    bank: float
    entry_speed: float
    recovery: str
    level: bool


@solves("power_off_stall")
def power_off_stall(
    situation: Situation,
    *,
    direction: Direction = "left",
    bank: float = 0.0,
    recovery: str = "full",
    entry_speed: float | None = None,
) -> Reference:
    """From an idle glide the airspeed is let fall to the stall, straight or in a turn, and recovered.

    Parameters
    ----------
    bank : float
        [rad]; straight unless given, 20° at most ([ACS-7B] CA.VII.B).
    recovery : "full" or "impending"
        At the stall, or at its warning.
    entry_speed : float, optional
        Calibrated [m/s]; 1.3 times the stall unless given.

    Raises
    ------
    OutsideModel
        An entry speed below the stall at that bank, or more than 20° of bank.
    """
    _require_gentle(bank, "CA.VII.B")
    speed = 1.3 * situation.level_stall_speed if entry_speed is None else entry_speed
    stall = _Stall("power_off_stall", 0.0, side_of(direction) * bank, speed, recovery, False)
    return _solve(situation, direction, stall)


@solves("power_on_stall")
def power_on_stall(
    situation: Situation,
    *,
    direction: Direction = "left",
    bank: float = 0.0,
    recovery: str = "full",
    entry_speed: float | None = None,
    power: float = LEAST_POWER,
) -> Reference:
    """As :func:`power_off_stall`, climbing at a share ``power`` of rated power; entry at 1.2 times the stall.

    65 % is the least ([ACS-7B] CA.VII.C). Where the air is too thin for it, full throttle is flown and a note
    says so.
    """
    _require_gentle(bank, "CA.VII.C")
    require_within("power", power, 0.0, 1.0, "", hint="A share of rated power: 0.65 is 65 %.")
    available = float(power_dropoff(float(situation.density()) / 1.225, situation.airplane.dropoff))
    throttle = min(power / available, 1.0)
    speed = 1.2 * situation.level_stall_speed if entry_speed is None else entry_speed
    stall = _Stall("power_on_stall", throttle, side_of(direction) * bank, speed, recovery, False)
    notes = (
        [] if power <= available else [f"Full throttle gives {100 * available:.0f} % of rated power here."]
    )
    return _solve(situation, direction, stall, power=power, notes=notes)


@solves("accelerated_stall")
def accelerated_stall(
    situation: Situation,
    *,
    direction: Direction = "left",
    bank: float = 45.0 * DEGREE,
    recovery: str = "impending",
    entry_speed: float | None = None,
) -> Reference:
    """A level coordinated turn at idle, tightened as it slows, to the stall's warning at that load factor.

    Parameters
    ----------
    bank : float
        [rad]; 45° is the task ([ACS-7B] CA.VII.D).
    recovery : "impending" or "full"
        The task ends at the impending stall.
    entry_speed : float, optional
        Calibrated [m/s], VA at most; 1.3 times the stall in the turn unless given.

    Raises
    ------
    OutsideModel
        An entry above VA, where the limit load can come before the stall, or below the stall in the turn.
    """
    require_within("bank", bank, 10.0 * DEGREE, 60.0 * DEGREE, "rad", hint="Was it in degrees?")
    maneuvering = situation.sheet.maneuvering_speed_at(situation.mass)
    in_turn = float(turning.stall_speed_in_turn(level_stall_speed=situation.level_stall_speed, bank=bank))
    speed = min(1.3 * in_turn, maneuvering) if entry_speed is None else entry_speed
    if speed > maneuvering + 1e-6:
        raise OutsideModel(
            f"an accelerated stall entered at {mps_to_kt(speed):.0f} KCAS is above VA at this mass, "
            f"{mps_to_kt(maneuvering):.0f} KCAS: the limit load can come before the stall.",
            next_step=f"Enter at {math.floor(mps_to_kt(maneuvering))} KCAS or less (FAA-S-ACS-7B, CA.VII.D).",
        )
    stall = _Stall("accelerated_stall", 0.0, side_of(direction) * bank, speed, recovery, True)
    return _solve(situation, direction, stall)


def _require_gentle(bank: float, task: str) -> None:
    require_within("bank", bank, 0.0, 1.5, "rad", hint="Was it in degrees?")
    if bank > 20.0 * DEGREE + 1e-9:
        raise OutsideModel(
            f"a turning stall is assigned with 20° of bank at most (FAA-S-ACS-7B, {task}).",
            next_step="Ask for 20° or less; steeper is the accelerated stall.",
        )


def _solve(
    situation: Situation,
    direction: Direction,
    stall: _Stall,
    *,
    power: float | None = None,
    notes: list[str] | None = None,
) -> Reference:
    if stall.recovery not in _RECOVERIES:
        raise OutsideModel(
            f"recovery {stall.recovery!r} is not known.", next_step=f"Known: {', '.join(_RECOVERIES)}."
        )
    path = _fly(situation, stall)
    settings = {
        "bank": abs(stall.bank),
        "recovery": stall.recovery,
        "entry_speed": stall.entry_speed,
        **({} if power is None else {"power": power}),
    }
    # The controls jump where the recovery begins: these two points are read just before.
    reached, cue = path.ends[0] - 1e-6, _first_cue(situation, path)
    marks = [Mark(1, "entry", 0.0)]
    if stall.recovery == "full":
        marks += [Mark(1, "warning", min(cue, reached)), Mark(1, "stall", reached)]
    else:
        marks.append(Mark(1, "warning", reached))
    for name, time in zip(("recovering", "pull", "level"), path.ends[1:], strict=True):
        marks.append(Mark(1, name, time))
    return reference_of(
        stall.kind,
        direction,
        situation,
        path,
        settings=settings,
        marks=marks,
        legs=legs_between(("slow down", "reaction", "unload", "pull"), path.ends),
        facts=_facts(situation, stall, path),
        notes=[*_NOTES, *(notes or [])],
        may_stall=True,
    )


_NOTES = (
    "Up to the stall this is the airplane's motion; past it only a schedule of recovery in good hands.",
    "Push, roll, power. A real break, a wing drop or a late push costs more height than the schedule.",
    "Clean; in landing configuration the stall comes slower and the drag is greater than reckoned here.",
)


def _fly(situation: Situation, stall: _Stall) -> AirPath:
    sheet, mass = situation.sheet, situation.mass
    onset = float(sheet.stall_warning_speed_at(mass=mass))
    onset = onset if stall.recovery == "impending" else situation.level_stall_speed
    slow = float(situation.true_from_calibrated(1.0)) * onset
    regained = float(situation.true_from_calibrated(sheet.stall_warning_speed_at(mass=mass) * _REGAINED))
    speed = float(situation.true_from_calibrated(stall.entry_speed))
    bank = stall.bank
    # Bounded so on both sides, the airspeed falls at a steady rate.
    slowing = SpeedLaw(
        situation, stall.entry_speed, throttle=stall.throttle, least=-DECELERATION, most=-DECELERATION
    )
    approach = level_turn(bank) if stall.level else slowing.along(held(bank))

    def reached(time: float, state: AirState, air: LocalAir) -> float:
        load = approach(time, state, air).load_factor
        return slow * math.sqrt(max(load, 0.0)) - state.true_airspeed

    start_load = 1.0 / math.cos(bank)
    if speed <= slow * math.sqrt(start_load):
        raise OutsideModel(
            f"an entry at {mps_to_kt(stall.entry_speed):.0f} KCAS is no faster than the "
            f"{'stall warning' if stall.recovery == 'impending' else 'stall'} at that bank, "
            f"{mps_to_kt(onset * math.sqrt(start_load)):.0f} KCAS.",
            next_step="Enter faster, or with less bank.",
        )
    start = AirState(0.0, 0.0, 0.0, speed, _first_path(situation, stall, speed), situation.entry_heading)
    phases = [
        Phase("the approach to the stall", approach, reached),
        Phase("the reaction", _reacting(stall), lambda time, *_: time - REACTION),
        Phase(
            "the unloading",
            _unloading(stall),
            lambda time, s, _: min(s.true_airspeed - regained, time - abs(bank) / ROLL_LEVEL),
        ),
        Phase("the pull", _pulling(situation), lambda _, s, __: s.path_angle),
    ]
    return fly_phases(situation, start, phases, step=0.2)


def level_turn(bank: float) -> Law:
    """Altitude held in a bank at idle [rad]."""

    def law(_: float, state: AirState, __: LocalAir) -> Controls:
        return Controls(bank, math.cos(state.path_angle) / math.cos(bank), 0.0)

    return law


def _first_path(situation: Situation, stall: _Stall, speed: float) -> float:
    """Path angle [rad] at which the airspeed falls as asked from the start; level where altitude is held."""
    if stall.level:
        return 0.0
    excess = float(
        specific_excess_thrust(
            situation.airplane, stall.throttle, 1.0 / math.cos(stall.bank), float(situation.density()), speed
        )
    )
    return math.asin(max(min((excess + DECELERATION) / STANDARD_GRAVITY, 0.7), -0.7))


def _reacting(stall: _Stall) -> Law:
    load = BREAK_LOAD if stall.recovery == "full" else 1.0
    return lambda *_: Controls(stall.bank, load, stall.throttle)


def _unloading(stall: _Stall) -> Law:
    side = math.copysign(1.0, stall.bank)

    def law(time: float, _: AirState, __: LocalAir) -> Controls:
        bank = side * max(abs(stall.bank) - ROLL_LEVEL * time, 0.0)
        return Controls(bank, UNLOAD, stall.throttle + (1.0 - stall.throttle) * min(time, 1.0))

    return law


def _pulling(situation: Situation) -> Law:
    stall = float(situation.true_from_calibrated(1.0)) * situation.level_stall_speed

    def law(_: float, state: AirState, __: LocalAir) -> Controls:
        return Controls(0.0, min(PULL, 0.85 * (state.true_airspeed / stall) ** 2), 1.0)

    return law


def _first_cue(situation: Situation, path: AirPath) -> float:
    """When the warning first sounds [s]."""
    onset = situation.sheet.stall_warning_speed_at(
        mass=situation.mass, load_factor=np.maximum(path.column("load_factor"), 0.0)
    )
    shown = np.asarray(situation.calibrated_from_true(path.column("true_airspeed"), path.column("height")))
    sounding = np.flatnonzero((shown <= onset) & (path.time <= path.ends[0]))
    return float(path.time[sounding[0]]) if len(sounding) else path.ends[0]


def _facts(situation: Situation, stall: _Stall, path: AirPath) -> list[Fact]:
    sheet, mass, bank = situation.sheet, situation.mass, abs(stall.bank)
    load = 1.0 / math.cos(bank)
    level = situation.level_stall_speed
    height = path.column("height")
    at_stall = float(height[np.searchsorted(path.time, path.ends[0], side="right") - 1])
    lost = at_stall - float(np.min(height[path.time >= path.ends[0]]))
    allowance = max(ALLOWANCE[min(sheet.engines, 2)], 2.0 * lost)
    facts = [
        Fact("stall_speed", level, "m/s", "calibrated 1 g stall speed at this mass, clean"),
        Fact(
            "stall_speed_banked", level * math.sqrt(load), "m/s", "calibrated stall speed, level in the bank"
        ),
        Fact(
            "stall_warning",
            float(sheet.stall_warning_speed_at(mass=mass)),
            "m/s",
            "calibrated speed at which the warning sounds, 1 g",
        ),
        Fact(
            "stall_warning_banked",
            float(sheet.stall_warning_speed_at(mass=mass, load_factor=load)),
            "m/s",
            "calibrated speed at which it sounds, level in the bank",
        ),
        Fact(
            "maneuvering_speed", sheet.maneuvering_speed_at(mass), "m/s", "VA or VO at this mass, calibrated"
        ),
        Fact("throttle", stall.throttle, "1", "throttle on the way in"),
        Fact("height_lost", lost, "m", "height lost by the schedule of recovery, from the stall or warning"),
        Fact(
            "height_to_allow",
            allowance,
            "m",
            "height to allow: common practice, no source, and twice the schedule's loss at least",
        ),
        Fact("recovery_time", path.ends[3] - path.ends[0], "s", "from the stall or warning to level flight"),
    ]
    if sheet.stall_speed_landing is not None:
        landing = float(sheet.stall_speed_at(mass=mass, configuration="landing"))
        facts.append(
            Fact("stall_speed_landing", landing, "m/s", "1 g stall speed at this mass, landing flaps")
        )
    return facts
