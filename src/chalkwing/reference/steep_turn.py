"""The steep turn: a level, coordinated 360 at a chosen bank, rolled out with a lead of half the bank."""

from __future__ import annotations

import math

import numpy as np

from chalkwing.dynamics import rules_of_thumb, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Phase, fly_phases, joined
from chalkwing.reference.assembling import Mark, legs_between, reference_of, side_of
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.law_numbers import AirState, Linear
from chalkwing.reference.laws import (
    after,
    easing,
    held,
    level_law,
    ramp,
    roll_rate_for_lead,
    until,
    until_nose_is,
)
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, mps_to_kt, rad_to_deg, require_within

_POWERS = ("hold_speed", "as_set")
STEEPEST = 75.0 * DEGREE
"""Beyond this bank the point mass says little of a training airplane (3.9 g). Own bound."""


@solves("steep_turn")
def steep_turn(
    situation: Situation,
    *,
    direction: Direction = "right",
    bank: float = 45.0 * DEGREE,
    airspeed: float | None = None,
    turn: float = 2.0 * math.pi,
    power: str = "hold_speed",
    throttle: float | None = None,
    lead: float | None = None,
) -> Reference:
    """One level turn at a steady bank, altitude held.

    Parameters
    ----------
    bank : float
        [rad], held between roll-in and roll-out.
    airspeed : float, optional
        Calibrated, at entry [m/s]; unless given that of ``entry.entry_airspeed``, or the fastest
        that full throttle holds at this bank where that is slower.
    turn : float
        [rad], 360° unless given.
    power : "hold_speed" or "as_set"
        Either power is added to hold the speed, or ``throttle`` (0 to 1; that of level flight unless given)
        stays and the speed falls.
    lead : float, optional
        Heading before the end of the turn at which the roll-out begins [rad]; half the bank unless given
        ([AFH] ch. 10, p. 10-3). The roll rate follows from it, and the roll-in is flown at the same rate.

    Raises
    ------
    OutsideModel
        The wing would stall at that bank, the engine cannot hold the speed, or the turn is too short for its
        roll-in and roll-out.
    """
    require_within("bank", bank, 5.0 * DEGREE, STEEPEST, "rad", hint="Was it in degrees?")
    if power not in _POWERS:
        raise OutsideModel(f"power {power!r} is not known.", next_step=f"Known: {', '.join(_POWERS)}.")
    if throttle is not None and power != "as_set":
        raise OutsideModel("a throttle is given, but power is to hold the speed.", next_step="Say as_set.")
    usual = entry_airspeed(situation)
    held = held_airspeed(situation, bank, usual) if power == "hold_speed" else usual
    calibrated = held if airspeed is None else airspeed
    speed = float(situation.true_from_calibrated(calibrated))
    _refuse_stall(situation, bank, calibrated)
    lead = float(rules_of_thumb.roll_out_lead_rule(bank)) if lead is None else lead
    require_within("lead", lead, 2.0 * DEGREE, 90.0 * DEGREE, "rad", hint="Was it in degrees?")
    if power == "hold_speed":
        _refuse_weak_engine(situation, bank, speed)
    level = situation.level_throttle(speed)
    set_throttle = None if power == "hold_speed" else (level if throttle is None else throttle)
    path = _fly(situation, side_of(direction), bank, speed, turn, lead, set_throttle)
    settings = {
        "bank": bank,
        "airspeed": calibrated,
        "turn": turn,
        "power": power,
        "throttle": set_throttle,
        "lead": lead,
    }
    rolled_in, rolling_out, end = path.ends
    marks = [Mark(1, "entry", 0.0), Mark(1, "established", rolled_in)]
    marks += _quarters(situation, path, side_of(direction), turn)
    marks += [Mark(1, "rollout", rolling_out), Mark(1, "end", end)]
    lost = calibrated - float(situation.calibrated_from_true(path.last.true_airspeed))
    lost_level = _lost_at_level_power(situation, side_of(direction), bank, speed, turn, lead)
    return reference_of(
        "steep_turn",
        direction,
        situation,
        path,
        settings=settings,
        marks=sorted(marks, key=lambda mark: mark.time),
        legs=legs_between(("roll-in", "turn", "roll-out"), path.ends),
        facts=_facts(situation, bank, speed, lead, lost, lost_level),
        notes=_notes(power, lowered=calibrated < usual - 1e-6 and airspeed is None),
    )


def held_airspeed(situation: Situation, bank: float, usual: float) -> float:
    """The fastest calibrated airspeed [m/s], ``usual`` at most, that full throttle holds at a bank [rad].

    ``usual`` itself where none is held above the stall in that turn: the refusal is then about that speed.
    """
    load = 1.0 / math.cos(bank)
    slowest = 1.1 * situation.level_stall_speed * math.sqrt(load)
    for speed in np.arange(usual, slowest, -0.1):
        true = float(situation.true_from_calibrated(float(speed)))
        if situation.level_throttle(true, load=load) <= 1.0:
            return float(speed)
    return usual


def _refuse_stall(situation: Situation, bank: float, calibrated: float) -> None:
    stall = situation.level_stall_speed
    needed = float(turning.stall_speed_in_turn(level_stall_speed=stall, bank=bank))
    if calibrated > needed:
        return
    have = (calibrated / stall) ** 2
    flatter = rad_to_deg(math.acos(min(1.0, 1.0 / have))) if have > 1.0 else 0.0
    raise OutsideModel(
        f"{rad_to_deg(bank):.0f}° of bank needs {1.0 / math.cos(bank):.2f} g, and at "
        f"{mps_to_kt(calibrated):.1f} KCAS the wing gives {have:.2f} g (stall {mps_to_kt(stall):.1f} KCAS).",
        next_step=f"Keep the bank under {math.floor(flatter):.0f}° or the speed above "
        f"{math.ceil(mps_to_kt(needed) + 1.0):.0f} KCAS.",
    )


def steepest_held(situation: Situation, fastest: float) -> tuple[float, float]:
    """(bank [rad], calibrated airspeed [m/s]) of the steepest level turn that full throttle holds here.

    Among speeds up to ``fastest``, at least 1.1 times the stall in that turn; a bank of 0 where none is held.
    """
    best = (0.0, fastest)
    for speed in np.linspace(1.1 * situation.level_stall_speed, fastest, 40):
        true = float(situation.true_from_calibrated(float(speed)))
        most = (float(speed) / (1.1 * situation.level_stall_speed)) ** 2
        for load in np.linspace(1.0, most, 60):
            if situation.level_throttle(true, load=float(load)) > 1.0:
                break
            if math.acos(1.0 / load) > best[0]:
                best = (math.acos(1.0 / float(load)), float(speed))
    return best


def way_out_of_power(situation: Situation, fastest: float) -> str:
    """What full throttle does hold here, rounded to the safe side."""
    bank, speed = steepest_held(situation, fastest)
    held = f"Keep the bank under {math.floor(rad_to_deg(bank)):.0f}° at {mps_to_kt(speed):.0f} KCAS"
    return held if bank > 5.0 * DEGREE else "Hardly a level turn is held here"


def _refuse_weak_engine(situation: Situation, bank: float, speed: float) -> None:
    needed = situation.level_throttle(speed, load=1.0 / math.cos(bank))
    if needed <= 1.0:
        return
    shown = float(situation.calibrated_from_true(speed))
    raise OutsideModel(
        f"full throttle does not hold {mps_to_kt(shown):.0f} KCAS level at {rad_to_deg(bank):.0f}° of bank "
        f"here: {100 * needed:.0f} % would be needed.",
        next_step=f"{way_out_of_power(situation, shown)}, choose a lower altitude or less mass, or plan with "
        "the power as set and the speed falling.",
    )


def _fly(
    situation: Situation,
    side: float,
    bank: float,
    speed: float,
    turn: float,
    lead: float,
    throttle: float | None,
) -> AirPath:
    rate = roll_rate_for_lead(bank=bank, lead=lead, true_airspeed=speed)
    plane, end = situation.airplane, situation.entry_heading + side * turn
    start = AirState(0.0, 0.0, 0.0, speed, 0.0, situation.entry_heading)
    # The pilot reads the nose, which in a banked turn stands ahead of the air heading.
    coming_out = until_nose_is(Linear(constant=lead - side * end, air_heading=side), bank)
    phases = [
        Phase("the roll-in", level_law(plane, ramp(side * bank, rate), throttle), after(bank / rate)),
        Phase("the turn", level_law(plane, held(side * bank), throttle), coming_out),
    ]
    before = fly_phases(situation, start, phases)
    left = side * (end - before.last.air_heading)
    if left < 0.5 * lead:
        raise OutsideModel("the turn is too short for its roll-in and roll-out.", next_step="Turn farther.")
    out = level_law(plane, easing(side * bank, heading=end, angle=left), throttle)
    level = until(Linear(constant=1e-6 - side * end, air_heading=side))
    return joined(before, fly_phases(situation, before.last, [Phase("the roll-out", out, level)]))


def _lost_at_level_power(
    situation: Situation, side: float, bank: float, speed: float, turn: float, lead: float
) -> float:
    """Calibrated airspeed lost [m/s] with the throttle of level flight; ``nan`` where the turn breaks off."""
    try:
        slowed = _fly(situation, side, bank, speed, turn, lead, situation.level_throttle(speed))
    except OutsideModel:
        return math.nan
    before, after = (float(situation.calibrated_from_true(v)) for v in (speed, slowed.last.true_airspeed))
    return before - after


def _quarters(situation: Situation, path: AirPath, side: float, turn: float) -> list[Mark]:
    """The passages of 90, 180 and 270 degrees of the air heading, in a turn of 360."""
    turned = side * (path.column("air_heading") - situation.entry_heading)
    names = [quarter for quarter in (90, 180, 270) if quarter * DEGREE < turn - 0.1]
    return [Mark(1, str(name), float(np.interp(name * DEGREE, turned, path.time))) for name in names]


def _facts(
    situation: Situation, bank: float, speed: float, lead: float, lost: float, lost_level: float
) -> list[Fact]:
    load = 1.0 / math.cos(bank)
    stall = float(turning.stall_speed_in_turn(level_stall_speed=situation.level_stall_speed, bank=bank))
    rate = float(turning.turn_rate(true_airspeed=speed, bank=bank))
    radius = float(turning.turn_radius(true_airspeed=speed, bank=bank))
    facts = [
        Fact("load_factor", load, "1", "load factor in the turn"),
        Fact("stall_speed", stall, "m/s", "calibrated stall speed at that load factor"),
        Fact("turn_rate", rate, "rad/s", "rate of turn"),
        Fact("turn_radius", radius, "m", "radius, in the air"),
        Fact("turn_time", 2.0 * math.pi / rate, "s", "time for a full circle at the steady bank"),
        Fact(
            "roll_rate",
            roll_rate_for_lead(bank=bank, lead=lead, true_airspeed=speed),
            "rad/s",
            "roll rate that makes the lead fit",
        ),
        Fact("lead", lead, "rad", "heading before the end at which to begin rolling out"),
        Fact("level_throttle", situation.level_throttle(speed), "1", "throttle of level flight at the speed"),
        Fact(
            "turn_throttle",
            situation.level_throttle(speed, load=load),
            "1",
            "throttle that holds the speed in the turn; above 1 nothing does",
        ),
        Fact("airspeed_lost", lost, "m/s", "calibrated airspeed lost by the end of the turn"),
        Fact(
            "airspeed_lost_at_level_power",
            lost_level,
            "m/s",
            "calibrated airspeed lost by the end if level power is left as it is",
        ),
    ]
    return [fact for fact in facts if not math.isnan(fact.value)]


def _notes(power: str, *, lowered: bool) -> list[str]:
    notes = [
        "The lead of half the bank is the handbook's; the roll rate that makes it fit is computed.",
        "From a side-by-side seat the nose looks higher turning left: expect to sink left, to climb right.",
    ]
    if lowered:
        notes.append("Entry below the usual speed: the fastest that full throttle holds at this bank here.")
    if power == "hold_speed":
        notes.append("Power is added with the bank, as much as holds the speed.")
    return notes
