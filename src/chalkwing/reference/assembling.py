"""From a flown path to a Reference: its time histories, points and legs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from chalkwing.dynamics import (
    angle_of_attack,
    bank_attitude,
    lift_coefficient,
    nose_offset,
    pitch_attitude,
)
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath
from chalkwing.reference.reference import Direction, Fact, Reference, ReferenceLeg, ReferencePoint
from chalkwing.reference.situation import Situation
from chalkwing.units import STANDARD_GRAVITY, Floats, mps_to_kt, rad_to_deg


class Mark(NamedTuple):
    """A point to be read from the histories: its part, its name and when [s]."""

    part: int
    name: str
    time: float


def side_of(direction: Direction) -> float:
    """+1 to the right, -1 to the left."""
    return 1.0 if direction == "right" else -1.0


def histories(
    situation: Situation, path: AirPath, *, parts: Floats, sides: Mapping[int, float]
) -> dict[str, Floats]:
    """All of ``VALUES`` along a path; ``parts`` (n,) counts parts, ``sides`` says how each one turns."""
    speed, climb, heading = (path.column(name) for name in ("true_airspeed", "path_angle", "air_heading"))
    rolled, load, height = (path.column(name) for name in ("bank", "load_factor", "height"))
    density = np.asarray(situation.density(height))
    lift = lift_coefficient(situation.airplane, load, density, speed)
    attack = angle_of_attack(situation.airplane, lift)
    side = np.array([sides[int(part)] for part in parts])
    nose = heading + nose_offset(climb, attack, rolled)
    bank = side * bank_attitude(climb, attack, rolled)
    pitch = pitch_attitude(climb, attack, rolled)
    wind_north, wind_east = situation.wind(height)
    return {
        "part": parts,
        "heading_change": side * (nose - _at_part_start(nose, parts)),
        "heading_true": nose,
        "bank_into_turn": bank,
        "pitch": pitch,
        "path_angle": climb,
        "true_airspeed": speed,
        "calibrated_airspeed": np.asarray(situation.calibrated_from_true(speed, height)),
        "altitude_change": (height - height[0]) / situation.stretch,
        "height_change": height - height[0],
        "load_factor": load,
        "throttle": path.column("throttle"),
        "angle_of_attack": attack,
        "roll_rate": _rate(bank, path.time, path.phase + 1000.0 * parts),
        "pitch_rate": _rate(pitch, path.time, path.phase + 1000.0 * parts),
        "air_north": path.column("north") - path.column("north")[0] - _drifted(wind_north, path.time),
        "air_east": path.column("east") - path.column("east")[0] - _drifted(wind_east, path.time),
        "ground_north": path.column("north") - path.column("north")[0],
        "ground_east": path.column("east") - path.column("east")[0],
        "specific_energy": _energy(height, speed),
    }


def shown_bank(situation: Situation, path: AirPath) -> Floats:
    """The attitude's bank [rad, right positive] along a path, as the pilot and the gyro see it."""
    density = np.asarray(situation.density(path.column("height")))
    lift = lift_coefficient(
        situation.airplane, path.column("load_factor"), density, path.column("true_airspeed")
    )
    attack = angle_of_attack(situation.airplane, lift)
    shown: Floats = bank_attitude(path.column("path_angle"), attack, path.column("bank"))
    return shown


def _at_part_start(values: Floats, parts: Floats) -> Floats:
    first = {part: values[np.argmax(parts == part)] for part in np.unique(parts)}
    return np.array([first[part] for part in parts])


def _drifted(wind: Floats, time: Floats) -> Floats:
    moved = 0.5 * (wind[1:] + wind[:-1]) * np.diff(time)
    return np.concatenate(([0.0], np.cumsum(moved)))


def _energy(height: Floats, speed: Floats) -> Floats:
    energy: Floats = height + speed**2 / (2.0 * STANDARD_GRAVITY)
    gained: Floats = energy - energy[0]
    return gained


def _rate(values: Floats, time: Floats, stretch: Floats) -> Floats:
    """Rate of change within each stretch: at a join the instant stands twice, with a rate on either side."""
    rate = np.zeros_like(values)
    for label in np.unique(stretch):
        inside = np.flatnonzero(stretch == label)
        # A stretch may end a hair after its last step; such pairs carry no rate of their own.
        kept = inside[np.concatenate(([True], np.diff(time[inside]) > 1e-4))]
        if len(kept) > 1:
            rate[inside] = np.interp(time[inside], time[kept], np.gradient(values[kept], time[kept]))
    return rate


def reference_of(
    kind: str,
    direction: Direction,
    situation: Situation,
    path: AirPath,
    *,
    settings: Mapping[str, object],
    marks: Sequence[Mark],
    legs: Iterable[ReferenceLeg],
    facts: Iterable[Fact],
    notes: Iterable[str],
    parts: Floats | None = None,
    sides: Mapping[int, float] | None = None,
    may_stall: bool = False,
) -> Reference:
    """The Reference of a flown path. Refuses one on which the wing stalls, unless it is meant to."""
    parts = np.ones_like(path.time) if parts is None else parts
    sides = {1: side_of(direction)} if sides is None else sides
    values = histories(situation, path, parts=parts, sides=sides)
    if not may_stall:
        refuse_stalled(kind, situation, path)
    return Reference(
        kind=kind,
        direction=direction,
        sheet=situation.sheet,
        mass=situation.mass,
        conditions=situation.conditions,
        entry_altitude=situation.entry_altitude,
        settings=dict(settings),
        time=path.time,
        values=values,
        points=tuple(point_at(situation, path.time, values, mark) for mark in marks),
        legs=tuple(legs),
        facts=tuple(facts),
        notes=tuple(notes),
    )


def refuse_stalled(kind: str, situation: Situation, path: AirPath) -> None:
    """Refuse a path that asks more lift than the wing gives, saying where and what would make it possible."""
    density = np.asarray(situation.density(path.column("height")))
    speed, load = path.column("true_airspeed"), path.column("load_factor")
    use = lift_coefficient(situation.airplane, load, density, speed) / situation.airplane.max_lift
    worst = int(np.argmax(use))
    if use[worst] <= 1.0:
        return
    bank, have = abs(float(path.column("bank")[worst])), float(load[worst] / use[worst])
    shown = float(np.asarray(situation.calibrated_from_true(speed, path.column("height")))[worst])
    raise OutsideModel(
        f"the {kind.replace('_', ' ')} would stall: {rad_to_deg(bank):.0f}° of bank needs "
        f"{load[worst]:.2f} g, and at {mps_to_kt(shown):.0f} KCAS the wing gives {have:.2f} g.",
        next_step=_way_out(load=float(load[worst]), bank=bank, have=have, shown=shown),
    )


def _way_out(*, load: float, bank: float, have: float, shown: float) -> str:
    """What would make it possible, rounded to the safe side."""
    faster = np.ceil(mps_to_kt(shown * np.sqrt(load / have)) + 0.5)
    upward = load * np.cos(bank)
    if have <= upward * 1.001:
        return f"Keep the speed above {faster:.0f} KCAS."
    flatter = np.floor(rad_to_deg(float(np.arccos(upward / have))))
    return f"Keep the bank under {flatter:.0f}° or the speed above {faster:.0f} KCAS."


def point_at(situation: Situation, time: Floats, values: Mapping[str, Floats], mark: Mark) -> ReferencePoint:
    """The point of a mark, read from its own part of the histories."""
    inside = values["part"] == mark.part

    def read(name: str) -> float:
        return float(np.interp(mark.time, time[inside], values[name][inside]))

    calibrated, load = read("calibrated_airspeed"), read("load_factor")
    stall = situation.level_stall_speed
    return ReferencePoint(
        part=mark.part,
        name=mark.name,
        time=mark.time,
        heading_change=read("heading_change"),
        bank_into_turn=read("bank_into_turn"),
        pitch=read("pitch"),
        true_airspeed=read("true_airspeed"),
        calibrated_airspeed=calibrated,
        altitude_change=read("altitude_change"),
        load_factor=load,
        stall_margin=calibrated - stall,
        accelerated_stall_margin=calibrated - stall * float(np.sqrt(max(load, 0.0))),
    )


def legs_between(names: Sequence[str], ends: Sequence[float], *, part: int = 1) -> tuple[ReferenceLeg, ...]:
    """Consecutive legs, the first from 0, each to its end [s]."""
    starts = (0.0, *ends[:-1])
    return tuple(
        ReferenceLeg(part, name, start, end) for name, start, end in zip(names, starts, ends, strict=True)
    )
