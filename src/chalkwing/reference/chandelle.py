"""The chandelle, by the handbook's technique: bank first, then nose and power; at 90° the nose is held.

Bank is set and kept to 90° while the nose rises steadily; from there the nose is held and the bank comes off
at a steady rate in time, so that the wings come level at 180° a margin above the stall. Source: [AFH] ch. 10,
fig. 10-3; FAA-S-ACS-7B, CA.V.C. How high the nose must be for that is found by shooting.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from chalkwing.errors import CannotBeFlown, OutsideModel
from chalkwing.reference.assembling import Mark, legs_between, point_at
from chalkwing.reference.closed import Closed, fly_closed
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.flown import FlownPart, histories
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.refly.legs import LegSchedule
from chalkwing.units import (
    STANDARD_GRAVITY,
    Floats,
    deg_to_rad,
    kt_to_mps,
    mps_to_kt,
    rad_to_deg,
    require_within,
)

LEGS = ("roll-in", "climb", "roll-out")
DEFAULT_BANK = deg_to_rad(30.0)
DEFAULT_MARGIN = kt_to_mps(5.0)
"""Above the stall at the finish: "just above the stall" has no number in [ACS-7B]. Common practice."""
LEAST_MARGIN = kt_to_mps(2.0)
"""Below this a plan would stand on the boundary, and no forecast of a stall is that good."""
ROLL_RATE = deg_to_rad(10.0)
POWER_TIME = 3.0
"""Seconds from entry to full power, begun once the bank is set. Common practice."""
STEEPEST_NOSE = deg_to_rad(30.0)
"""The highest nose sought: beyond it 14 CFR 91.307(c) asks for parachutes."""
_KNOTS = 80
_STEPS = 400
"""Of integration while shooting, however long the legs are tried."""


@dataclass(frozen=True)
class _Ask:
    """What is asked of one chandelle."""

    situation: Situation
    bank: float
    margin: float
    entry_speed: float
    entry_throttle: float
    power: float


@solves("chandelle")
def chandelle(
    situation: Situation,
    *,
    direction: Direction,
    bank: float = DEFAULT_BANK,
    finish_margin: float = DEFAULT_MARGIN,
    entry_speed: float | None = None,
    power: float = 1.0,
) -> Reference:
    """Solve one chandelle.

    Parameters
    ----------
    situation, direction
        Airplane, mass and day; the side of the turn.
    bank : float
        [rad], 15 to 45 degrees.
    finish_margin : float
        Calibrated airspeed at 180° over the 1 g stall [m/s]; at least 2 kt.
    entry_speed : float, optional
        Calibrated [m/s]; the lesser of maneuvering and cruise speed unless given.
    power : float
        Full allowed power as a throttle, 0 to 1.

    Raises
    ------
    OutsideModel
        No nose-up to 30 degrees finishes so; says what would.
    """
    hint = "Was it in degrees?"
    require_within("bank", bank, deg_to_rad(15.0) - 1e-9, deg_to_rad(45.0) + 1e-9, "rad", hint=hint)
    require_within("margin at the finish", finish_margin, LEAST_MARGIN, 30.0, "m/s", hint="At least 2 kt.")
    require_within("power", power, 0.0, 1.0, "", hint="It is a share: 0.7, not 70.")
    entry = entry_airspeed(situation) if entry_speed is None else entry_speed
    true: float = situation.true_from_calibrated(entry)
    throttle = min(power, float(situation.level_throttle(float(true))))
    ask = _Ask(situation, bank, finish_margin, entry, throttle, power)
    closed = _solved(ask)
    settings = {
        "bank": bank,
        "finish_margin": finish_margin,
        "entry_speed": entry,
        "power": power,
    }
    return _reference(ask, direction, closed, settings)


# --- Shooting -----------------------------------------------------------------------------------------------


def _closed(ask: _Ask, unknowns: Sequence[float]) -> Closed:
    """The chandelle with its nose so high at 90° [rad, above level] and legs so long [s]."""
    nose, climbing, rolling_out = unknowns
    share = np.linspace(0.0, 1.0, _KNOTS + 1)
    still, full = np.zeros_like(share), np.ones_like(share)
    opening = np.minimum(share * climbing / POWER_TIME, 1.0)
    throttle = ask.entry_throttle + (ask.power - ask.entry_throttle) * opening
    schedule = LegSchedule(
        durations=np.array([ask.bank / ROLL_RATE, climbing, rolling_out]),
        bank_into_turn=ask.bank * np.array([share, full, 1.0 - share]),
        pitch_above_level=nose * np.array([still, share, full]),
        throttle=np.array([ask.entry_throttle * full, throttle, ask.power * full]),
    )
    return Closed(schedule, ask.entry_speed, turns=1)


def _misses(ask: _Ask, unknowns: Floats) -> Floats:
    """What misses: heading at the end of the climb and of the roll-out [rad], finish speed [10 m/s]."""
    closed = _closed(ask, unknowns.tolist())
    # On the way to the answer a trial may ask more lift than there is; only the answer must not.
    boundless = ask.situation.airplane._replace(max_lift=99.0)
    part = fly_closed(ask.situation, closed, "right", airplane=boundless, steps=_STEPS)[0]
    nose = np.unwrap(part.flown["heading_true"])
    turned = nose - nose[0]
    at_90 = float(np.interp(closed.schedule.ends[1], part.flown.time, turned))
    height, speed = part.flown.end.height, part.flown.end.true_airspeed
    finish: float = ask.situation.calibrated_from_true(speed, height)
    wanted = ask.situation.level_stall_speed + ask.margin
    return np.array([at_90 - 0.5 * np.pi, turned[-1] - np.pi, 0.1 * (float(finish) - wanted)])


def _solved(ask: _Ask) -> Closed:
    """The chandelle that meets what is asked; raises CannotBeFlown."""
    found = _shot(ask)
    if found is None:
        raise _refusal(ask)
    return _closed(ask, found.tolist())


def _shot(ask: _Ask) -> Floats | None:
    """Nose and durations that meet what is asked; None where no nose-up within bounds does."""
    from scipy.optimize import root

    for nose in deg_to_rad(np.array([12.0, 7.0, 18.0])):
        start = np.array([nose, *_usual_durations(ask)])
        found = root(partial(_misses, ask), start, method="hybr", options={"xtol": 1e-9})
        if np.max(np.abs(found.fun)) < 1e-6:
            answer: Floats = found.x
            return answer if 0.0 < answer[0] <= STEEPEST_NOSE and _flies(ask, answer) else None
    return None


def _flies(ask: _Ask, unknowns: Floats) -> bool:
    try:
        fly_closed(ask.situation, _closed(ask, unknowns.tolist()), "right")
    except OutsideModel:
        return False
    return True


def _usual_durations(ask: _Ask) -> tuple[float, float]:
    """About how long climb and roll-out last [s]: the turn rate of their mean speed and bank."""
    entry: float = ask.situation.true_from_calibrated(ask.entry_speed)
    finish: float = ask.situation.true_from_calibrated(ask.situation.level_stall_speed + ask.margin)
    turn = np.pi / 2.0 / (STANDARD_GRAVITY * np.tan(ask.bank))
    return float(turn * (0.6 * entry + 0.4 * finish)), float(2.0 * turn * (0.2 * entry + 0.8 * finish))


def _refusal(ask: _Ask) -> CannotBeFlown:
    remedies = {}
    for other in deg_to_rad(np.array([25.0, 20.0, 15.0, 35.0, 40.0, 45.0])):
        if _shot(replace(ask, bank=float(other))) is not None:
            remedies["bank"] = float(other)
            break
    for margin in kt_to_mps(np.array([8.0, 10.0, 15.0, 20.0, 30.0])):
        if margin > ask.margin and _shot(replace(ask, margin=float(margin))) is not None:
            remedies["finish_margin"] = float(margin)
            break
    told = [
        f"{rad_to_deg(value):.0f}° of bank" if name == "bank" else f"{mps_to_kt(value):.0f} kt over the stall"
        for name, value in remedies.items()
    ]
    nose, bank, left = rad_to_deg(STEEPEST_NOSE), rad_to_deg(ask.bank), mps_to_kt(ask.margin)
    return CannotBeFlown(
        f"no nose-up to {nose:.0f}° brings a chandelle of {bank:.0f}° of bank to 180° "
        f"with {left:.0f} kt over the stall.",
        constraint="finish",
        remedies=remedies,
        next_step=f"Possible with {' or '.join(told)}." if told else "Enter at another speed, or lower.",
    )


# --- The Reference ------------------------------------------------------------------------------------------


def _reference(ask: _Ask, direction: Direction, closed: Closed, settings: Mapping[str, object]) -> Reference:
    situation = ask.situation
    parts = fly_closed(situation, closed, direction)
    time, values = histories(situation, parts)
    marks = _marks(time, values, closed)
    warning = _warning(situation, values)
    return Reference(
        kind="chandelle",
        direction=direction,
        sheet=situation.sheet,
        mass=situation.mass,
        conditions=situation.conditions,
        entry_altitude=situation.entry_altitude,
        settings=settings,
        time=time,
        values=values,
        points=tuple(point_at(situation, time, values, mark) for mark in marks),
        legs=legs_between(LEGS, closed.schedule.ends.tolist()),
        facts=tuple(_facts(ask, values, parts[0], warning)),
        notes=_notes(situation, warning),
        schedule=closed,
    )


def _marks(time: Floats, values: Mapping[str, Floats], closed: Closed) -> list[Mark]:
    turned, ends = values["heading_change"], closed.schedule.ends
    passed = {name: float(np.interp(deg_to_rad(float(name)), turned, time)) for name in ("45", "135")}
    return [
        Mark(1, "entry", 0.0),
        Mark(1, "45", passed["45"]),
        Mark(1, "90", float(ends[1])),
        Mark(1, "135", passed["135"]),
        Mark(1, "180", float(ends[2])),
    ]


def _margin(situation: Situation, values: Mapping[str, Floats]) -> Floats:
    """Calibrated airspeed over the stall at the load carried [m/s]."""
    stalling = situation.level_stall_speed * np.sqrt(np.maximum(values["load_factor"], 0.0))
    margin: Floats = values["calibrated_airspeed"] - stalling
    return margin


def _warning(situation: Situation, values: Mapping[str, Floats]) -> float | None:
    """Heading change [rad] at which the stall warning begins; None where it stays silent."""
    loads = np.maximum(values["load_factor"], 0.0)
    onset = situation.sheet.stall_warning_speed_at(mass=situation.mass, load_factor=loads)
    sounding = np.flatnonzero(values["calibrated_airspeed"] <= onset)
    return float(values["heading_change"][sounding[0]]) if len(sounding) else None


def _facts(ask: _Ask, values: Mapping[str, Floats], part: FlownPart, warning: float | None) -> list[Fact]:
    speed, pitch = values["calibrated_airspeed"], values["pitch"]
    energy, at_90 = values["specific_energy"], int(np.argmax(values["heading_change"] >= 0.5 * np.pi))
    margin = _margin(ask.situation, values)
    facts = [
        Fact("entry_throttle", ask.entry_throttle, "1", "Throttle at entry"),
        Fact("throttle", ask.power, "1", "Throttle from the climb on"),
        Fact("entry_speed", float(speed[0]), "m/s", "Entry airspeed, calibrated"),
        Fact("entry_pitch", float(pitch[0]), "rad", "Pitch attitude of level flight at entry"),
        Fact(
            "nose_up",
            float(np.max(pitch) - pitch[0]),
            "rad",
            "Nose at and after 90°, above the entry attitude",
        ),
        Fact("finish_speed", float(speed[-1]), "m/s", "Airspeed at 180°, calibrated"),
        Fact("height_gained", float(values["altitude_change"][-1]), "m", "Height gained, by altimeter"),
        Fact(
            "top_height",
            float(np.max(values["altitude_change"])),
            "m",
            "Highest point above entry, by altimeter",
        ),
        Fact("slowest_speed", float(np.min(speed)), "m/s", "Slowest airspeed, calibrated"),
        Fact("fastest_speed", float(np.max(speed)), "m/s", "Fastest airspeed, calibrated"),
        Fact("least_margin", float(np.min(margin)), "m/s", "Least margin over the stall at the load carried"),
        Fact("most_load", float(np.max(values["load_factor"])), "1", "Highest load factor"),
        Fact("roll_out_rate", float(-values["roll_rate"][-2]), "rad/s", "Rate at which the bank comes off"),
        Fact("energy_at_90", float(energy[at_90]), "m", "Energy height at 90°, against entry"),
        Fact("energy_at_180", float(energy[-1]), "m", "Energy height at 180°, against entry"),
        Fact("duration", part.end, "s", "Time from entry to 180°"),
        Fact("lowest_height", float(np.min(values["altitude_change"])), "m", "Lowest point against entry"),
    ]
    if warning is not None:
        facts.append(
            Fact("heading_at_warning", warning, "rad", "Heading change where the warning would begin")
        )
    return facts


def _notes(situation: Situation, warning: float | None) -> tuple[str, ...]:
    where = "stays silent" if warning is None else f"would begin near {rad_to_deg(warning):.0f}° of turn"
    level = situation.sheet.stall_warning_speed_at(mass=situation.mass)
    onset = mps_to_kt(level - situation.level_stall_speed)
    source = "the sheet" if situation.sheet.stall_warning_speed is not None else "14 CFR 23.207"
    return (
        f"The stall warning {where}, if it begins {onset:.0f} kt above the level stall ({source}).",
        "The bank comes off at a steady rate in time; in heading it comes off slowly first and quickly last.",
        "Solved to wings level at 180°; lowering the nose without losing height is not part of it.",
    )
