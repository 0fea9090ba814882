"""Eights on pylons: two turns, each with the sight line held on its pylon, joined by short straight legs."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.dynamics import rules_of_thumb, specific_excess_thrust, turning
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath
from chalkwing.reference.assembling import Mark, reference_of, side_of
from chalkwing.reference.entry import entry_airspeed
from chalkwing.reference.ground_path import ROLL_RATE, SteadyWind, steady_wind
from chalkwing.reference.heights import indicated_at
from chalkwing.reference.pylon_turn import STEP, PylonTurn, Roll, low_air, pylon_turn, roll_beside
from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats, mps_to_kt, rad_to_deg, require_within

STEEPEST = 40.0 * DEGREE
"""Largest bank of the task: [ACS-7B] CA.V.E."""
_CALM = 0.5
"""Wind [m/s] below which the entry heading, not the wind, says how the pylons lie."""


@dataclass(frozen=True)
class _Half:
    """One pylon's turn to the right with its rolls and the straight leg after it; wind from the north."""

    roll_in: Roll
    turn: PylonTurn
    roll_out: Roll
    leg: Roll
    spacing_north: float
    spacing_east: float


@solves("eights_on_pylons")
def eights_on_pylons(
    situation: Situation,
    *,
    direction: Direction = "right",
    maximum_bank: float = 35.0 * DEGREE,
    straight: float = 4.0,
    airspeed: float | None = None,
) -> Reference:
    """One eight: two pylons across the wind, the wing held on each in turn, at one throttle setting.

    The throttle is the one after which airspeed and altitude come back after every turn. The entry altitude
    follows from the maneuver (the pivotal altitude above the highest terrain), and so does the spacing of the
    pylons.

    Parameters
    ----------
    direction : "left" or "right"
        Of the turn on the first pylon.
    maximum_bank : float
        [rad], the steepest anywhere; 40° at most ([ACS-7B] CA.V.E). It sets how far the pylons are kept off.
    straight : float
        Seconds of straight and level flight between the pylons; 3 to 5 are usual.
    airspeed : float, optional
        Calibrated, where the first turn begins and the wind is behind [m/s]; unless given the one from which
        the speed gained on the way down into the wind ends at ``entry.entry_airspeed``.

    Raises
    ------
    OutsideModel
        More than 40° of bank asked, no throttle that closes the eight, or a wind too strong.
    """
    require_within("maximum bank", maximum_bank, 10.0 * DEGREE, 80.0 * DEGREE, "rad", hint="In degrees?")
    require_within("straight leg", straight, 0.5, 60.0, "s")
    if maximum_bank > STEEPEST + 1e-9:
        raise OutsideModel(
            f"eights on pylons at {rad_to_deg(maximum_bank):.0f}° of bank are not the task: 40° at most "
            "(FAA-S-ACS-7B, CA.V.E).",
            next_step="Ask for less bank: the pylons are then kept farther off.",
        )
    airspeed = _default_airspeed(situation) if airspeed is None else airspeed
    situation, wind = _at_pivotal_altitude(situation, airspeed)
    upwind = wind.toward + math.pi if wind.speed > _CALM else situation.entry_heading
    aligned = SteadyWind(wind.true_airspeed, -wind.speed, 0.0)
    half = _closed(situation, aligned, maximum_bank, straight)
    _refuse_throttle(half.turn.throttle)
    situation = replace(situation, entry_altitude=_entry_altitude(situation, half))
    path, parts, marks, legs = _assembled(half, side_of(direction), upwind)
    settings = {"maximum_bank": maximum_bank, "straight": straight, "airspeed": airspeed}
    return reference_of(
        "eights_on_pylons",
        direction,
        situation,
        path,
        settings=settings,
        marks=marks,
        legs=legs,
        facts=_facts(situation, aligned, half, path),
        notes=[
            "Pylons on a line across the wind, the first turn entered from its downwind side.",
            "The sight line holds at TAS times (TAS + tailwind along the heading) over g, exactly.",
            "Groundspeed squared over 11.3 is the entry estimate; it is right in still air only.",
            "At one throttle height is paid for with speed: the altitude changes less than at one speed.",
        ],
        parts=parts,
        sides={1: side_of(direction), 2: -side_of(direction)},
    )


def _default_airspeed(situation: Situation) -> float:
    """The airspeed downwind that has become the usual entry speed where the path is lowest, upwind.

    At one throttle energy stays about the same: h + V²/2g with h = V (V + w) / g, downwind and upwind alike.
    """
    entry = entry_airspeed(situation)
    upwind = float(situation.true_from_calibrated(entry))
    wind = math.hypot(*(float(part) for part in situation.wind()))
    energy = 3.0 * upwind**2 - 2.0 * wind * upwind
    return entry * (math.sqrt(max(wind**2 + 3.0 * energy, 0.0)) - wind) / 3.0 / upwind


def _at_pivotal_altitude(situation: Situation, airspeed: float) -> tuple[Situation, SteadyWind]:
    """The situation moved to about the pivotal altitude above the ground, and the wind there."""
    ground = situation.conditions.highest_terrain
    wind = steady_wind(situation, float(situation.true_from_calibrated(airspeed)))
    for _ in range(4):
        height = float(turning.pivotal_altitude(true_airspeed=wind.true_airspeed))
        situation = replace(situation, entry_altitude=indicated_at(situation.conditions, ground + height))
        wind = steady_wind(situation, float(situation.true_from_calibrated(airspeed)))
    return situation, wind


def _entry_altitude(situation: Situation, half: _Half) -> float:
    ground = situation.conditions.highest_terrain
    return indicated_at(situation.conditions, ground + float(half.roll_in.height[0]))


def _closed(situation: Situation, wind: SteadyWind, maximum_bank: float, straight: float) -> _Half:
    """The half that ends as it began: four unknowns for speed, heading, the pylons' line and the bank."""
    from scipy.optimize import root

    height = float(turning.pivotal_altitude(true_airspeed=wind.true_airspeed))
    abeam = height / math.tan(maximum_bank)
    run = wind.true_airspeed * (straight + maximum_bank / ROLL_RATE)
    diagonal = math.atan2(2.0 * abeam, run)
    throttle = situation.level_throttle(wind.true_airspeed, load=1.0 / math.cos(0.8 * maximum_bank))
    guess = np.array([throttle, -math.pi / 2.0 - diagonal, math.pi / 2.0 + diagonal, abeam / height])
    lately: list[PylonTurn] = []

    def misses(unknown: Floats) -> Floats:
        like = lately[-1] if lately else None
        half = _half(situation, wind, unknown, height, straight, step=2.0 * STEP, like=like)
        lately[:] = [half.turn]
        leg, start = half.leg, half.roll_in
        return np.array(
            [
                (leg.true_airspeed[-1] - start.true_airspeed[0]) / wind.true_airspeed,
                leg.air_heading[-1] + start.air_heading[0],
                half.spacing_north / height,
                np.max(half.turn.bank) - maximum_bank,
            ]
        )

    found = root(misses, guess, method="hybr", tol=1e-10, options={"eps": 1e-5})
    if not np.all(np.abs(misses(found.x)) < 1e-5):
        raise OutsideModel(
            f"no eight closes on itself here: wind {mps_to_kt(wind.speed):.0f} kt, "
            f"{mps_to_kt(wind.true_airspeed):.0f} KTAS, {rad_to_deg(maximum_bank):.0f}° of bank.",
            next_step="Choose another bank or airspeed, or a calmer day.",
        )
    return _half(situation, wind, found.x, height, straight, like=lately[-1])


def _half(
    situation: Situation,
    wind: SteadyWind,
    unknown: Floats,
    height: float,
    straight: float,
    step: float = STEP,
    like: PylonTurn | None = None,
) -> _Half:
    throttle, first, last, abeam = (float(value) for value in unknown)
    turn = pylon_turn(
        situation,
        wind,
        throttle=throttle,
        distance=abeam * height,
        first=first,
        last=last,
        step=step,
        like=like,
    )
    before = roll_beside(situation, wind, turn, rate=ROLL_RATE, before=True)
    after = roll_beside(situation, wind, turn, rate=ROLL_RATE, before=False)
    leg = _leg(situation, wind, after, throttle, straight, float(before.height[0]))
    # The second pylon's turn is this one's mirror image: its start, seen from the leg's end, tells where
    # that pylon stands.
    north = float(leg.north[-1] - before.north[0])
    east = float(leg.east[-1] + before.east[0])
    return _Half(before, turn, after, leg, north, east)


def _leg(
    situation: Situation, wind: SteadyWind, after: Roll, throttle: float, straight: float, end: float
) -> Roll:
    """The straight leg at the same throttle; the few meters between its ends are taken in a smooth bow.

    The path angle runs as A sin²(pi t / T), level at either end, and A is what ends at the height ``end``.
    """
    time = np.linspace(0.0, straight, 8 * max(2, math.ceil(straight)) + 1)
    height, heading = float(after.height[-1]), float(after.air_heading[-1])
    bow = np.sin(np.pi * time / straight) ** 2
    turning = np.pi / straight * np.sin(2.0 * np.pi * time / straight)
    air, same = low_air(situation), np.full_like(time, throttle)
    speed = np.full_like(time, float(after.true_airspeed[-1]))
    climb = load = np.zeros_like(time)
    for _ in range(4):
        climb = bow * (end - height) / float(np.trapezoid(speed * bow, time))
        rate = turning * (end - height) / float(np.trapezoid(speed * bow, time))
        load = np.cos(climb) + speed * rate / STANDARD_GRAVITY
        density = air.at(height + _summed(speed * np.sin(climb), time))
        excess = specific_excess_thrust(situation.airplane, same, load, density, speed)
        speed = float(after.true_airspeed[-1]) + _summed(excess - STANDARD_GRAVITY * np.sin(climb), time)
    flown, risen = _summed(speed * np.cos(climb), time), _summed(speed * np.sin(climb), time)
    return Roll(
        time=time,
        north=float(after.north[-1]) + flown * math.cos(heading) + wind.north * time,
        east=float(after.east[-1]) + flown * math.sin(heading) + wind.east * time,
        height=height + risen,
        true_airspeed=speed,
        path_angle=climb,
        air_heading=np.full_like(time, heading),
        bank=np.zeros_like(time),
        load_factor=load,
    )


def _summed(rate: Floats, time: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(time))))


def _refuse_throttle(throttle: float) -> None:
    if 0.0 <= throttle <= 1.0:
        return
    raise OutsideModel(
        f"the eight needs {100 * throttle:.0f} % of throttle to come back to its speed.",
        next_step="Choose less bank, a slower airspeed, less mass or a lower area.",
    )


def _assembled(
    half: _Half, side: float, upwind: float
) -> tuple[AirPath, Floats, list[Mark], list[ReferenceLeg]]:
    """Both turns in a row: the second mirrored, and all of it turned to the wind of the day."""
    pieces: list[Floats] = []
    phases: list[Floats] = []
    parts: list[Floats] = []
    marks: list[Mark] = []
    legs: list[ReferenceLeg] = []
    began, origin = 0.0, np.zeros(2)
    for part, mirror in ((1, side), (2, -side)):
        turn = half.turn
        for name, piece in (
            ("roll-in", half.roll_in),
            ("pylon", turn),
            ("roll-out", half.roll_out),
            ("straight", half.leg),
        ):
            table = np.column_stack(
                (
                    began + piece.time,
                    origin[0] + piece.north - half.roll_in.north[0],
                    origin[1] + mirror * (piece.east - half.roll_in.east[0]),
                    piece.height - half.roll_in.height[0],
                    piece.true_airspeed,
                    piece.path_angle,
                    mirror * piece.air_heading,
                    mirror * piece.bank,
                    piece.load_factor,
                    np.full_like(piece.time, turn.throttle),
                )
            )
            legs.append(ReferenceLeg(part, name, began, float(table[-1, 0])))
            if name == "pylon":
                marks += _turn_marks(part, turn, began)
            pieces.append(table)
            phases.append(np.full(len(table), float(len(phases))))
            parts.append(np.full(len(table), float(part)))
            began = float(table[-1, 0])
        marks.append(Mark(part, "leg_end", began))
        origin = pieces[-1][-1, 1:3]
    return (
        _turned(np.concatenate(pieces), upwind, np.concatenate(phases), legs),
        np.concatenate(parts),
        marks,
        legs,
    )


def _turn_marks(part: int, turn: PylonTurn, began: float) -> list[Mark]:
    """Where the pylon is taken up and left, the path highest and lowest, and straight into the wind."""

    def at(index: int | np.intp) -> float:
        return began + float(turn.time[index])

    upwind = float(np.interp(0.0, turn.air_heading, turn.time))
    marks = [
        Mark(part, "on_pylon", at(0)),
        Mark(part, "steepest", at(np.argmax(turn.bank))),
        Mark(part, "shallowest", at(np.argmin(turn.bank))),
        Mark(part, "highest", at(np.argmax(turn.height))),
        Mark(part, "lowest", at(np.argmin(turn.height))),
        Mark(part, "upwind", began + upwind),
        Mark(part, "off_pylon", at(-1)),
    ]
    return sorted(marks, key=lambda mark: mark.time)


def _turned(table: Floats, upwind: float, phases: Floats, legs: list[ReferenceLeg]) -> AirPath:
    table = table.copy()
    north, east = table[:, 1].copy(), table[:, 2].copy()
    table[:, 1] = north * math.cos(upwind) - east * math.sin(upwind)
    table[:, 2] = north * math.sin(upwind) + east * math.cos(upwind)
    # Where one turn joins the next, the mirrored heading differs from the one flown by whole turns.
    heading = table[:, 6] + upwind
    table[:, 6] = np.unwrap(heading)
    return AirPath(table[:, 0], table[:, 1:7], table[:, 7:10], phases, tuple(leg.end for leg in legs))


def _facts(situation: Situation, wind: SteadyWind, half: _Half, path: AirPath) -> list[Fact]:
    turn, start = half.turn, half.roll_in
    slant = np.hypot(turn.north, turn.east)
    ground_speed = float(
        np.hypot(
            start.true_airspeed[0] * math.cos(start.air_heading[0]) + wind.north,
            start.true_airspeed[0] * math.sin(start.air_heading[0]) + wind.east,
        )
    )
    downwind, against = (
        float(turning.pivotal_altitude(true_airspeed=wind.true_airspeed, tailwind=tail))
        for tail in (wind.speed, -wind.speed)
    )
    return [
        Fact("entry_height", float(start.height[0]), "m", "height above the pylons on the straight leg"),
        Fact("highest", float(np.max(turn.height)), "m", "greatest height above the pylon in the turn"),
        Fact("lowest", float(np.min(turn.height)), "m", "least height above the pylon in the turn"),
        Fact(
            "entry_estimate",
            float(rules_of_thumb.pivotal_altitude_rule(ground_speed)),
            "m",
            "the handbook's estimate from the groundspeed at entry, for comparison",
        ),
        Fact(
            "highest_at_one_speed",
            downwind,
            "m",
            "exact height downwind if the airspeed were held",
        ),
        Fact("lowest_at_one_speed", against, "m", "exact height upwind if the airspeed were held"),
        Fact("steepest_bank", float(np.max(turn.bank)), "rad", "steepest bank"),
        Fact("shallowest_bank", float(np.min(turn.bank)), "rad", "shallowest bank"),
        Fact("nearest", float(np.min(slant)), "m", "least distance from the pylon over the ground"),
        Fact("farthest", float(np.max(slant)), "m", "greatest distance from the pylon over the ground"),
        Fact("pylon_spacing", half.spacing_east, "m", "distance between the pylons, across the wind"),
        Fact("straight_time", float(half.leg.time[-1]), "s", "straight and level between the pylons"),
        Fact("turn_time", float(turn.time[-1]), "s", "time on each pylon"),
        Fact(
            "turn", float(turn.air_heading[-1] - turn.air_heading[0]), "rad", "heading turned on each pylon"
        ),
        Fact("throttle", turn.throttle, "1", "throttle after which the eight closes on itself"),
        Fact("level_throttle", situation.level_throttle(wind.true_airspeed), "1", "throttle of level flight"),
        Fact("fastest", float(np.max(path.column("true_airspeed"))), "m/s", "greatest true airspeed"),
        Fact("slowest", float(np.min(path.column("true_airspeed"))), "m/s", "least true airspeed"),
        Fact("time", path.ends[-1], "s", "time of the whole eight"),
    ]
