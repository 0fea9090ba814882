"""Practice lessons of an invented student: what is flown, and how large its faults are, are given."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from chalkwing.refly.atmosphere import Day, WindLayer
from chalkwing.refly.figures import (
    FLOWN_WELL,
    PRACTICE_HEIGHT,
    FlownManeuver,
    chandelle,
    lazy_eight,
    steep_turn,
    straight,
)
from chalkwing.refly.flying import State
from chalkwing.refly.hand import Hand, Side
from chalkwing.refly.scenario import DAY, TERN, Lesson
from chalkwing.units import deg_to_rad, kt_to_mps

_SINKING, _PAST, _LOWERED, _ROLLED = 3.2, 15.0, 0.9, 12.0
"""Faults of a hand at its first try, as sd: path of a steep turn [degrees], lateness of its rollout
[degrees], share of the nose-down of half an eight, lateness of a chandelle's rollout [degrees]. Own."""
_BETWEEN, _BACK_DOWN = 30.0, 100.0
"""Straight flight [s] between two maneuvers; after a chandelle, gently back down."""


def fly_practice(wanted: Sequence[str], *, flaws: Sequence[float], seed: int) -> Lesson:
    """A lesson of the maneuvers ``wanted``, in that order, each with faults of about its flaw.

    ``flaws`` are in a beginner's faults: 1 is a first try, 0.1 a pilot ready for the test. ``seed`` sets
    faults, hand and day.
    """
    random = np.random.default_rng([seed, 7])
    day = _day(random)
    start = State(0.0, 0.0, PRACTICE_HEIGHT, kt_to_mps(105.0), 0.0, random.uniform(0.0, 2.0 * np.pi))
    roughness = deg_to_rad(0.5 + 0.7 * max(flaws))
    hand = Hand(start, airplane=TERN, column=day.column(), seed=seed, roughness=roughness)
    straight(hand, 45.0)
    flown = []
    for k, (kind, flaw) in enumerate(zip(wanted, flaws, strict=True)):
        flown.append(_one(hand, kind, "right" if k % 2 == 0 else "left", flaw, random))
        straight(hand, _BACK_DOWN if kind == "chandelle" else _BETWEEN, to_height=PRACTICE_HEIGHT)
    time, values = hand.flown()
    return Lesson(time, values, tuple(flown), TERN, day)


def _one(hand: Hand, kind: str, side: Side, flaw: float, random: np.random.Generator) -> FlownManeuver:
    faults = flaw * random.normal(size=3)
    remark = FLOWN_WELL if flaw < 0.3 else "a student's"
    if kind == "steep_turn":
        return steep_turn(
            hand, side, sinking=_SINKING * faults[0], past=6.0 + _PAST * faults[1], remark=remark
        )
    if kind == "chandelle":
        return chandelle(hand, side, past=_ROLLED * faults[0], remark=remark)
    lowered = tuple(float(np.clip(1.0 + _LOWERED * each, 0.0, 2.2)) for each in faults[:2])
    return lazy_eight(hand, lowered=(lowered[0], lowered[1]), remark=remark)


def _day(random: np.random.Generator) -> Day:
    """A day of its own: a wind of 5 to 22 kt that veers and grows with height, cool to warm."""
    comes_from = random.uniform(0.0, 2.0 * np.pi)
    speed = kt_to_mps(random.uniform(5.0, 16.0))
    layers = tuple(
        WindLayer(height, comes_from + veer, speed * grown)
        for height, veer, grown in ((0.0, 0.0, 0.8), (900.0, 0.1, 1.1), (1600.0, 0.3, 1.4))
    )
    return replace(DAY, isa_deviation=float(random.uniform(-8.0, 15.0)), wind=layers)
