"""The steep spiral: an idle glide at one airspeed, around a point on the ground at a constant radius."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.dynamics import specific_excess_thrust, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Phase, fly_phases, joined
from chalkwing.reference.assembling import Mark, legs_between, reference_of, shown_bank, side_of
from chalkwing.reference.floor import ALTIMETER_ERROR, STANDARD
from chalkwing.reference.heights import height_at, indicated_at
from chalkwing.reference.law_numbers import AirState, Linear
from chalkwing.reference.laws import SpeedLaw, easing, ramp, until, until_bank_is
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats, m_to_ft, mps_to_kt, rad_to_deg, require_within

STEEPEST = 60.0 * DEGREE
"""Largest bank of the task: [ACS-7B] CA.V.B."""
FLOOR = STANDARD
"""Height above the ground at which to be finished: [AFH] ch. 10; [ACS-7B] CA.V.B as transcribed."""
ROLL_RATE = 15.0 * DEGREE
"""Of the roll-in and roll-out [rad/s]. Own choice; common practice for a smooth roll."""
_STEP = 0.2
"""[s], of the search and of the result alike."""
_HEIGHT = 300.0
"""A height [m] that weighs in the search as much as a radius e times as large."""
STALL_FACTOR = 1.2
"""Least airspeed over the stall at the steepest bank. Common practice, no source."""


@dataclass(frozen=True)
class _Plan:
    """What is to be flown, all found: airspeed calibrated [m/s], radius [m], angle to turn [rad]."""

    side: float
    airspeed: float
    radius: float
    angle: float
    lead: float


@solves("steep_spiral")
def steep_spiral(
    situation: Situation,
    *,
    direction: Direction = "right",
    turns: int = 3,
    radius: float | None = None,
    maximum_bank: float = 50.0 * DEGREE,
    airspeed: float | None = None,
    floor: float = FLOOR,
    lead: float | None = None,
) -> Reference:
    """An idle spiral of whole turns around a point, bank varied so that the ground radius stays.

    Parameters
    ----------
    turns : int
        Full circles of heading; three or more are asked by the standard.
    radius : float, optional
        Over the ground [m]; that at which the bank is nowhere above ``maximum_bank`` unless given.
    maximum_bank : float
        [rad], the steepest anywhere, flown downwind; 60° at most, with no room for an overshoot left there.
    airspeed : float, optional
        Calibrated, held [m/s]; best glide at this mass unless given, or 1.2 times the stall at
        ``maximum_bank`` where that is faster.
    floor : float
        Height above the highest terrain at which the spiral ends [m]; where no entry altitude is given it is
        found from this and the altimeter's error.
    lead : float, optional
        Heading before the last at which the roll-out begins [rad]; half the bank then flown unless given.

    Raises
    ------
    OutsideModel
        The radius needs more than 60° of bank, the wing would stall, or the wind exceeds the airspeed.
    """
    _refuse_settings(turns, radius, maximum_bank)
    airspeed = _default_airspeed(situation, maximum_bank) if airspeed is None else airspeed
    start = _Plan(
        side=side_of(direction),
        airspeed=airspeed,
        radius=_first_radius(situation, airspeed, maximum_bank) if radius is None else radius,
        angle=2.0 * math.pi * turns,
        lead=0.5 * maximum_bank if lead is None else lead,
    )
    situation, plan = _found(situation, start, None if radius is not None else maximum_bank, floor)
    path = _fly(situation, plan)
    _refuse_steep(situation, path, plan)
    settings = {
        "turns": turns,
        "radius": plan.radius,
        "maximum_bank": maximum_bank,
        "airspeed": airspeed,
        "floor": floor,
        "lead": plan.lead,
    }
    marks = _marks(situation, path, plan, turns)
    return reference_of(
        "steep_spiral",
        direction,
        situation,
        path,
        settings=settings,
        marks=marks,
        legs=legs_between(("roll-in", "spiral", "roll-out"), path.ends),
        facts=_facts(situation, path, plan, marks, turns),
        notes=_notes(situation, airspeed),
    )


def _refuse_settings(turns: int, radius: float | None, maximum_bank: float) -> None:
    if turns < 1:
        raise OutsideModel("a spiral needs one turn or more.", next_step="The standard asks three.")
    if radius is not None:
        require_within("radius", radius, 30.0, 5_000.0, "m", hint="Was it in feet?")
    require_within("maximum bank", maximum_bank, 5.0 * DEGREE, 89.0 * DEGREE, "rad", hint="In degrees?")
    if maximum_bank > STEEPEST + 1e-9:
        raise OutsideModel(
            f"a steep spiral at {rad_to_deg(maximum_bank):.0f}° of bank is not the task: its bank is never "
            "above 60° (FAA-S-ACS-7B, CA.V.B).",
            next_step="Ask for 55° or less, so that room for an overshoot is left.",
        )


def _default_airspeed(situation: Situation, maximum_bank: float) -> float:
    sheet, mass = situation.sheet, situation.mass
    glide = sheet.speed_at_mass(sheet.best_glide_speed, mass)
    stall = turning.stall_speed_in_turn(level_stall_speed=situation.level_stall_speed, bank=maximum_bank)
    return max(glide, STALL_FACTOR * float(stall))


def _first_radius(situation: Situation, airspeed: float, bank: float) -> float:
    """Radius [m] at which this bank holds the circle straight down the wind, level."""
    speed = float(situation.true_from_calibrated(airspeed))
    wind = math.hypot(*(float(part) for part in situation.wind()))
    return float((speed + wind) ** 2 / (STANDARD_GRAVITY * math.tan(bank)))


def _found(
    situation: Situation, plan: _Plan, steepest: float | None, floor: float
) -> tuple[Situation, _Plan]:
    """The radius whose steepest bank is as asked, and the entry altitude from which the floor is kept.

    Both are refined together, one flight a round, by Broyden's method: the wind and the density change
    with the altitude, and each round tells more of how.
    """
    inverse, last = -np.eye(2), None
    for _ in range(12):
        _refuse_wind(situation, plan.airspeed)
        path = _fly(situation, plan)
        missed = np.zeros(2)
        if not situation.altitude_given:
            room = situation.conditions.highest_terrain + floor + ALTIMETER_ERROR - path.last.height
            missed[0] = (float(indicated_at(situation.conditions, room)) - situation.entry_altitude) / _HEIGHT
        if steepest is not None:
            flown = _top(np.abs(shown_bank(situation, path))[path.phase == 1])
            missed[1] = math.log(math.tan(flown) / math.tan(steepest))
        if last is not None:
            moved, changed = last[0], missed - last[1]
            by = moved @ inverse
            inverse += np.outer(moved - inverse @ changed, by) / (by @ changed)
        move = -inverse @ missed
        altitude = situation.entry_altitude + _HEIGHT * float(move[0])
        situation = replace(situation, entry_altitude=altitude)
        plan = replace(plan, radius=plan.radius * math.exp(float(move[1])))
        if abs(missed[0]) < 0.1 / _HEIGHT and abs(missed[1]) < 1e-4:
            break
        last = move, missed
    return situation, plan


def _top(values: Floats) -> float:
    """The highest of even samples, a parabola laid through it and its neighbors, so that it moves evenly."""
    k = int(np.argmax(values))
    if k in (0, len(values) - 1):
        return float(values[k])
    before, top, after = (float(value) for value in values[k - 1 : k + 2])
    bend = before - 2.0 * top + after
    return top if bend >= 0.0 else top - (after - before) ** 2 / (8.0 * bend)


def _refuse_wind(situation: Situation, airspeed: float) -> None:
    speed = float(situation.true_from_calibrated(airspeed))
    wind = max(math.hypot(*(float(part) for part in situation.wind(drop))) for drop in (0.0, -300.0, -600.0))
    if wind > 0.8 * speed:
        raise OutsideModel(
            f"a wind of {mps_to_kt(wind):.0f} kt is too near the airspeed of {mps_to_kt(speed):.0f} KTAS to "
            "hold a circle over the ground.",
            next_step="Choose a calmer day or level, or a higher airspeed.",
        )


def _steepest(situation: Situation, path: AirPath) -> float:
    return float(np.max(np.abs(shown_bank(situation, path))))


def _refuse_steep(situation: Situation, path: AirPath, plan: _Plan) -> None:
    steepest = _steepest(situation, path)
    if steepest <= STEEPEST + 0.05 * DEGREE:
        return
    least = plan.radius * math.tan(steepest) / math.tan(STEEPEST)
    raise OutsideModel(
        f"a radius of {m_to_ft(plan.radius):.0f} ft needs {rad_to_deg(steepest):.0f}° of bank downwind; the "
        "task's bank is never above 60° (FAA-S-ACS-7B, CA.V.B).",
        next_step=f"Keep the radius above {10 * math.ceil(m_to_ft(least) / 10 + 1):.0f} ft, or fly slower.",
    )


def _fly(situation: Situation, plan: _Plan) -> AirPath:
    glide = SpeedLaw(situation, plan.airspeed)
    circle = glide.around(plan.radius, plan.side)
    end = situation.entry_heading + plan.side * plan.angle
    start = AirState(
        0.0, 0.0, 0.0, glide.true_airspeed, glide_angle(situation, plan.airspeed), situation.entry_heading
    )
    on_the_circle = until_bank_is(Linear(time=ROLL_RATE), circle.banking)
    coming_out = until(Linear(constant=plan.lead - plan.side * end, air_heading=plan.side))
    first = fly_phases(
        situation,
        start,
        [
            Phase("the roll-in", glide.along(ramp(plan.side * 1.3, ROLL_RATE)), on_the_circle),
            Phase("the spiral", circle, coming_out),
        ],
        step=_STEP,
    )
    out = easing(float(first.controls[-1, 0]), heading=end, angle=plan.lead)
    # Sinking through a wind that changes turns the air heading a little; the last hair of bank would wait
    # for it. At half a degree the heading is within a hundredth of a degree of its end.
    level = until_bank_is(Linear(constant=0.5 * DEGREE), out)
    return joined(
        first, fly_phases(situation, first.last, [Phase("the roll-out", glide.along(out), level)], step=_STEP)
    )


def glide_angle(situation: Situation, airspeed: float) -> float:
    """Path angle [rad] of a straight idle glide at a calibrated airspeed [m/s], at the entry altitude."""
    speed, density = float(situation.true_from_calibrated(airspeed)), float(situation.density())
    angle = -0.1
    for _ in range(20):
        excess = specific_excess_thrust(situation.airplane, 0.0, math.cos(angle), density, speed)
        angle = math.asin(excess / STANDARD_GRAVITY)
    return angle


def _marks(situation: Situation, path: AirPath, plan: _Plan, turns: int) -> list[Mark]:
    turned = plan.side * (path.column("air_heading") - situation.entry_heading)
    bank = np.abs(shown_bank(situation, path))
    established = (path.time >= path.ends[0]) & (path.time <= path.ends[1])
    marks = [Mark(1, "entry", 0.0), Mark(1, "established", path.ends[0])]
    for k in range(turns):
        here = np.flatnonzero(established & (turned >= 2 * math.pi * k) & (turned <= 2 * math.pi * (k + 1)))
        marks.append(Mark(1, f"steepest_{k + 1}", float(path.time[here[np.argmax(bank[here])]])))
        marks.append(Mark(1, f"shallowest_{k + 1}", float(path.time[here[np.argmin(bank[here])]])))
        if k + 1 < turns:
            marks.append(
                Mark(1, f"{360 * (k + 1)}", float(np.interp(2 * math.pi * (k + 1), turned, path.time)))
            )
    marks += [Mark(1, "rollout", path.ends[1]), Mark(1, f"{360 * turns}", path.ends[2])]
    return sorted(marks, key=lambda mark: mark.time)


def _facts(situation: Situation, path: AirPath, plan: _Plan, marks: list[Mark], turns: int) -> list[Fact]:
    bank = np.abs(shown_bank(situation, path))
    established = (path.time >= path.ends[0]) & (path.time <= path.ends[1])
    steepest, shallowest = float(np.max(bank)), float(np.min(bank[established]))
    lost = -path.last.height
    end = height_at(situation.conditions, situation.entry_altitude) - lost
    least = plan.radius * math.tan(steepest) / math.tan(STEEPEST)
    facts = [
        Fact("radius", plan.radius, "m", "radius over the ground"),
        Fact("least_radius", least, "m", "radius at which the steepest bank would be 60°, about"),
        Fact("steepest_bank", steepest, "rad", "steepest bank, downwind"),
        Fact("shallowest_bank", shallowest, "rad", "shallowest bank, into the wind"),
        Fact("height_lost", lost, "m", "height lost in all, roll-in to wings level"),
        Fact("time", path.ends[-1], "s", "time in all"),
        Fact("entry_altitude", situation.entry_altitude, "m", "altitude at entry, on the altimeter"),
        Fact(
            "end_above_terrain",
            end - situation.conditions.highest_terrain,
            "m",
            "height above the highest terrain at the end",
        ),
    ]
    turned = plan.side * (path.column("air_heading") - situation.entry_heading)
    at = np.interp(2.0 * math.pi * np.arange(turns + 1), turned, path.column("height"))
    at[0] = 0.0
    at[-1] = path.last.height
    for k in range(turns):
        facts.append(
            Fact(f"height_lost_{k + 1}", float(at[k] - at[k + 1]), "m", f"height lost in turn {k + 1}")
        )
        for name in ("steepest", "shallowest"):
            when = next(mark.time for mark in marks if mark.name == f"{name}_{k + 1}")
            value = float(np.interp(when, path.time, bank))
            facts.append(Fact(f"{name}_bank_{k + 1}", value, "rad", f"{name} bank of turn {k + 1}"))
    return facts


def _notes(situation: Situation, airspeed: float) -> list[str]:
    glide = situation.sheet.speed_at_mass(situation.sheet.best_glide_speed, situation.mass)
    notes = [
        "Idle throughout; height gained by bursts of power that clear the engine is not counted.",
        "Clear the engine heading into the wind.",
        "Steepest with the wind behind, shallowest against it; it changes from turn to turn with the wind.",
    ]
    if airspeed > glide + 0.1:
        notes.append(
            f"The airspeed is above best glide ({mps_to_kt(glide):.0f} KCAS), for room above the stall."
        )
    return notes
