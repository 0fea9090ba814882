"""Turns around a point and S-turns across a line, and what all ground reference maneuvers share."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from chalkwing.dynamics import turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath
from chalkwing.reference.assembling import Mark, reference_of, side_of
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.ground_path import ROLL_RATE, GroundPath, SteadyWind, steady_wind
from chalkwing.reference.heights import indicated_at
from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.reference.steep_turn import held_airspeed, way_out_of_power
from chalkwing.units import DEGREE, ft_to_m, m_to_ft, mps_to_kt, rad_to_deg, require_within

HEIGHT = ft_to_m(800.0)
"""Above the ground [m]: the middle of the 600 to 1,000 ft of [ACS-6C] PA.V.B."""
STEEPEST = 45.0 * DEGREE
"""Largest bank planned [rad]. [AFH] ch. 7 speaks of 45° at most in turns around a point; from memory."""
_CALM = 0.5
"""Wind [m/s] below which the entry heading, not the wind, says where downwind is."""
_ENTRY = 4.0
"""Seconds of straight flight before the first roll, to show the entry."""


@solves("turns_around_a_point")
def turns_around_a_point(
    situation: Situation,
    *,
    direction: Direction = "left",
    turns: int = 2,
    radius: float | None = None,
    maximum_bank: float = 40.0 * DEGREE,
    airspeed: float | None = None,
    height: float = HEIGHT,
) -> Reference:
    """Circles of constant ground radius around a point, entered downwind, level at a steady airspeed.

    Parameters
    ----------
    turns : int
        Full circles.
    radius : float, optional
        [m]; that on which the bank is nowhere above ``maximum_bank`` unless given.
    maximum_bank : float
        [rad], flown straight down the wind; 45° at most.
    airspeed : float, optional
        Calibrated [m/s]; unless given that of ``entry.entry_airspeed``, or what full throttle holds
        at 45° of bank.
    height : float
        Above the highest terrain [m], where no entry altitude is given.

    Raises
    ------
    OutsideModel
        The radius needs more than 45° of bank, the engine or the wing does not give it, or the wind is too
        strong.
    """
    situation, wind, airspeed = set_out(situation, airspeed, height)
    radius = planned_radius(wind, radius, maximum_bank)
    side = side_of(direction)
    path = GroundPath(wind, downwind_course(situation, wind))
    asked = {"radius": radius, "maximum_bank": maximum_bank, "airspeed": airspeed, "height": height}
    path.straight(_ENTRY * (wind.true_airspeed + wind.speed), "entry")
    path.turn(2.0 * math.pi * turns, radius, side, ("roll-in", "circles", "roll-out"))
    flown = path.flown(situation)
    refuse_weak_engine(situation, flown)
    marks = [Mark(1, "entry", 0.0), Mark(1, "established", path.ends[1])]
    marks += _wind_marks(flown, wind, (path.ends[1], path.ends[2]), side)
    marks += [Mark(1, "rollout", path.ends[2]), Mark(1, "end", path.ends[3])]
    facts = circle_facts(situation, flown, wind, radius)
    mean_time = (path.ends[2] - path.ends[1]) / _turned(flown, wind, path) * 2.0 * math.pi
    facts.append(Fact("time_of_turn", mean_time, "s", "mean time of one circle"))
    facts += [
        Fact("point_north", path.center[0], "m", "the point, north of where the entry began"),
        Fact("point_east", path.center[1], "m", "the point, east of where the entry began"),
    ]
    return ground_reference(
        "turns_around_a_point",
        direction,
        situation,
        path,
        flown,
        marks=marks,
        facts=facts,
        settings={"turns": turns, **asked},
        notes=["Steepest straight down the wind, at once after the roll-in; shallowest straight into it."],
    )


@solves("s_turns")
def s_turns(
    situation: Situation,
    *,
    direction: Direction = "left",
    halves: int = 2,
    radius: float | None = None,
    maximum_bank: float = 40.0 * DEGREE,
    airspeed: float | None = None,
    height: float = HEIGHT,
) -> Reference:
    """Half circles of equal ground radius on either side of a line across the wind, entered downwind.

    Settings and refusals as in :func:`turns_around_a_point`; ``halves`` is how many half circles. The wings
    are level where the line is crossed at a right angle. Because a roll takes time and more way downwind, a
    short straight stretch lies on either side of the line where it is crossed into the wind.
    """
    situation, wind, airspeed = set_out(situation, airspeed, height)
    radius = planned_radius(wind, radius, maximum_bank)
    if halves < 1:
        raise OutsideModel("S-turns need one half circle or more.", next_step="Two make an S.")
    first, across = side_of(direction), downwind_course(situation, wind)
    path = GroundPath(wind, across)
    asked = {"radius": radius, "maximum_bank": maximum_bank, "airspeed": airspeed, "height": height}
    marks: list[Mark] = []
    sides: dict[int, float] = {}
    for half in range(1, halves + 1):
        side = first if half % 2 else -first
        sides[half] = side
        marks.append(Mark(half, "entry", path.time))
        overshoot = _overshoot(wind, path.course, radius, side)
        path.straight(max(-overshoot, 0.0), "into the wind", part=half)
        path.turn(math.pi, radius, side, ("roll-in", "half circle", "roll-out"), part=half)
        marks += [Mark(half, "established", path.ends[-3]), Mark(half, "rollout", path.ends[-2])]
        path.straight(max(overshoot, 0.0), "into the wind", part=half)
        marks.append(Mark(half, "crossing", path.time))
    flown = path.flown(situation)
    refuse_weak_engine(situation, flown)
    facts = circle_facts(situation, flown, wind, radius)
    facts += _half_facts(flown, path, marks, halves)
    return ground_reference(
        "s_turns",
        direction,
        situation,
        path,
        flown,
        marks=marks,
        facts=facts,
        settings={"halves": halves, **asked},
        notes=["The bank is reversed through wings level over the line, which is crossed at a right angle."],
        sides=sides,
    )


def set_out(
    situation: Situation, airspeed: float | None, height: float
) -> tuple[Situation, SteadyWind, float]:
    """The situation at its height, the wind there, and the calibrated airspeed."""
    require_within("height above ground", height, 0.0, 6_000.0, "m", hint="Was it in feet?")
    if not situation.altitude_given:
        altitude = indicated_at(situation.conditions, situation.conditions.highest_terrain + height)
        situation = replace(situation, entry_altitude=altitude)
    if airspeed is None:
        airspeed = held_airspeed(situation, STEEPEST, entry_airspeed(situation))
    return situation, steady_wind(situation, float(situation.true_from_calibrated(airspeed))), airspeed


def downwind_course(situation: Situation, wind: SteadyWind) -> float:
    """Where downwind is [rad, true]; in a calm, where the entry heading points."""
    return wind.toward if wind.speed > _CALM else situation.entry_heading


def planned_radius(wind: SteadyWind, radius: float | None, maximum_bank: float) -> float:
    """The radius [m] given, or that of the steepest bank; refuses one that needs more than 45°."""
    require_within("maximum bank", maximum_bank, 5.0 * DEGREE, 80.0 * DEGREE, "rad", hint="In degrees?")
    steepest = maximum_bank if radius is None else float(wind.circle_bank(wind.toward, radius))
    least = wind.radius_for(STEEPEST)
    if steepest > STEEPEST + 1e-9:
        raise OutsideModel(
            f"{rad_to_deg(steepest):.0f}° of bank would be needed straight down the wind; these maneuvers "
            "are planned with 45° at most.",
            next_step=f"Keep the radius above {10 * math.ceil(m_to_ft(least) / 10)} ft, or fly slower.",
        )
    return wind.radius_for(maximum_bank) if radius is None else radius


def refuse_weak_engine(situation: Situation, flown: AirPath) -> None:
    """Refuse a path on which full throttle does not hold the speed."""
    throttle = flown.column("throttle")
    worst = int(np.argmax(throttle))
    if throttle[worst] <= 1.0:
        return
    bank = rad_to_deg(abs(float(flown.column("bank")[worst])))
    shown = float(situation.calibrated_from_true(float(flown.column("true_airspeed")[worst])))
    raise OutsideModel(
        f"full throttle does not hold the speed at {bank:.0f}° of bank: {100 * throttle[worst]:.0f} % would "
        "be needed.",
        next_step=f"{way_out_of_power(situation, shown)}, on a larger radius, or choose a lower area or less "
        "mass.",
    )


def _overshoot(wind: SteadyWind, course: float, radius: float, side: float) -> float:
    """How far short of the line [m] a half circle begun on it ends, wings level; negative if past it."""
    trial = GroundPath(wind, course)
    trial.turn(math.pi, radius, side, ("", "", ""))
    return trial.north * math.cos(course) + trial.east * math.sin(course)


def _tracks(flown: AirPath, wind: SteadyWind) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([wind.track(float(heading)) for heading in flown.column("air_heading")])


def _turned(flown: AirPath, wind: SteadyWind, path: GroundPath) -> float:
    tracks = np.interp(np.array(path.ends[1:3]), flown.time, _tracks(flown, wind))
    return abs(float(tracks[1] - tracks[0]))


def _wind_marks(flown: AirPath, wind: SteadyWind, between: tuple[float, float], side: float) -> list[Mark]:
    """The first passages across, against, across and down the wind on the circle."""
    downwind = float(_tracks(flown, wind)[0])
    tracks, marks = side * (_tracks(flown, wind) - downwind), []
    for k, name in enumerate(("crosswind_1", "upwind", "crosswind_2", "downwind")):
        when = float(np.interp((k + 1) * math.pi / 2.0, tracks, flown.time))
        if between[0] <= when <= between[1]:
            marks.append(Mark(1, name, when))
    return marks


def circle_facts(situation: Situation, flown: AirPath, wind: SteadyWind, radius: float) -> list[Fact]:
    """What every maneuver on circles over the ground has to say of them."""
    steepest = float(wind.circle_bank(wind.toward, radius))
    shallowest = float(wind.circle_bank(wind.toward + math.pi, radius))
    flown_most = float(np.max(np.abs(flown.column("bank"))))
    load = 1.0 / math.cos(flown_most)
    stall = turning.stall_speed(level_stall_speed=situation.level_stall_speed, load_factor=load)
    return [
        Fact("radius", radius, "m", "radius over the ground"),
        Fact("bank_downwind", steepest, "rad", "bank of the circle straight down the wind"),
        Fact("bank_upwind", shallowest, "rad", "bank of the circle straight into the wind"),
        Fact("steepest_bank", flown_most, "rad", "steepest bank flown"),
        Fact("load_factor", load, "1", "load factor at the steepest bank"),
        Fact("stall_speed", float(stall), "m/s", "calibrated stall speed at that load factor"),
        Fact(
            "largest_drift",
            float(wind.drift(wind.toward + math.pi / 2.0)[0].__abs__()),
            "rad",
            "wind correction angle straight across the wind",
        ),
        Fact("groundspeed_downwind", wind.true_airspeed + wind.speed, "m/s", "groundspeed down the wind"),
        Fact("groundspeed_upwind", wind.true_airspeed - wind.speed, "m/s", "groundspeed into the wind"),
        Fact("level_throttle", float(np.min(flown.column("throttle"))), "1", "throttle with the wings level"),
        Fact(
            "most_throttle",
            float(np.max(flown.column("throttle"))),
            "1",
            "throttle that holds the speed at the steepest bank",
        ),
        Fact("roll_rate", ROLL_RATE, "rad/s", "roll rate of the roll-ins and roll-outs"),
    ]


def _half_facts(flown: AirPath, path: GroundPath, marks: list[Mark], halves: int) -> list[Fact]:
    facts = []
    for half in range(1, halves + 1):
        times = {mark.name: mark.time for mark in marks if mark.part == half}
        inside = path.part_numbers() == half
        steepest = float(np.max(np.abs(flown.column("bank")[inside])))
        facts += [
            Fact(f"steepest_bank_{half}", steepest, "rad", f"steepest bank of half circle {half}"),
            Fact(
                f"time_{half}",
                times["crossing"] - times["entry"],
                "s",
                f"time of half circle {half}",
            ),
        ]
    return facts


def ground_reference(
    kind: str,
    direction: Direction,
    situation: Situation,
    path: GroundPath,
    flown: AirPath,
    *,
    marks: list[Mark],
    facts: list[Fact],
    settings: dict[str, object],
    notes: list[str],
    sides: dict[int, float] | None = None,
) -> Reference:
    """The Reference of a ground path, a leg for each of its pieces."""
    starts = [0.0, *path.ends[:-1]]
    first = np.searchsorted(np.asarray(flown.phase), np.arange(len(path.ends)))
    parts = path.part_numbers()
    legs = [
        ReferenceLeg(int(parts[index]), name, start, end)
        for index, name, start, end in zip(first, path.names, starts, path.ends, strict=True)
    ]
    wind = f"Steady wind of {mps_to_kt(path.wind.speed):.0f} kt; level, airspeed held by power."
    return reference_of(
        kind,
        direction,
        situation,
        flown,
        settings=settings,
        marks=marks,
        legs=legs,
        facts=facts,
        notes=[*notes, wind],
        parts=parts,
        sides={1: side_of(direction)} if sides is None else sides,
    )
