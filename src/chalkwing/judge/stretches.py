"""The stretches of a spell: where it was flown level, straight or turning, as far as the flying tells.

What was asked for (a turn, a climb, straight and level) is not in the data; it is taken from what was flown
on the whole, so that an altitude is held where it was meant to be and a heading between two turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from chalkwing.judge.flown import Flown
from chalkwing.judge.over_draws import mean_over
from chalkwing.judge.spells import Bools
from chalkwing.maneuvers.vocabulary import During
from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, Floats

TURNING_BANK = 5.0 * DEGREE
"""Bank from which slow flight counts as turning; a heading drifts at less."""
SHORTEST_TURN, SHORTEST_STRAIGHT = 4.0, 5.0
"""Shorter turning [s] is a wandering wing, shorter straight flight a pause in rolling."""
ROLLED = 0.9
"""A turn has been rolled into at this share of its middle bank."""
ROLLING_OUT = 2.0
"""Seconds next to a turn in which the heading still settles."""
CLIMBING = 200.0 * FOOT_PER_MINUTE
CLIMBED = 200.0 * FOOT
"""A change of height at this rate and of this size is meant; less is an altitude not held. Our own."""


@dataclass(frozen=True)
class Stretch:
    """From one place to another, the same in every draw, in steps from the start of the draws."""

    begin: float
    end: float


def stretches(flown: Flown, during: During, begin: Floats, end: Floats) -> tuple[Stretch, ...]:
    """The stretches of this kind between the middle of ``begin`` and of ``end`` [places]."""
    first, last = float(np.nanmedian(begin)), float(np.nanmedian(end))
    if not first < last:
        return ()
    if during == "any":
        return (Stretch(first, last),)
    if during == "level":
        found = _runs(~_climbing(flown), round(SHORTEST_STRAIGHT / flown.interval))
    else:
        turning = _turning(flown)
        found = _turns(flown, turning) if during == "turning" else _straights(flown, turning)
    cut = (Stretch(max(one.begin, first), min(one.end, last)) for one in found)
    shortest = SHORTEST_TURN if during == "turning" else SHORTEST_STRAIGHT
    return tuple(one for one in cut if (one.end - one.begin) * flown.interval >= shortest)


def _middle(flown: Flown, name: str, seconds: float) -> Floats:
    """The mean over all draws, smoothed."""
    mean = flown.values[name].mean(axis=0)[None, :]
    return np.asarray(mean_over(mean, 0.5 * seconds, 0.5 * seconds, flown.interval)[0])


def _turning(flown: Flown) -> Bools:
    bank = _middle(flown, "bank", 2.0)
    side = np.where(np.abs(bank) > TURNING_BANK, np.sign(bank), 0.0)
    turning = np.zeros(len(side), dtype=bool)
    for way in (-1.0, 1.0):
        for run in _runs(side == way, round(SHORTEST_TURN / flown.interval)):
            turning[int(run.begin) : int(run.end) + 1] = True
    return turning


def _turns(flown: Flown, turning: Bools) -> list[Stretch]:
    """Each turn from where it was rolled into to where the rollout begins; the side changes between two."""
    bank = _middle(flown, "bank", 1.0)
    found = []
    for way in (-1.0, 1.0):
        for run in _runs(turning & (np.sign(bank) == way), round(SHORTEST_TURN / flown.interval)):
            first, last = int(run.begin), int(run.end)
            held = np.abs(bank[first : last + 1])
            rolled = np.flatnonzero(held >= ROLLED * np.median(held))
            found.append(Stretch(float(first + rolled[0]), float(first + rolled[-1])))
    return sorted(found, key=lambda one: one.begin)


def _straights(flown: Flown, turning: Bools) -> list[Stretch]:
    margin = ROLLING_OUT / flown.interval
    last = len(turning) - 1
    found = _runs(~turning, round(SHORTEST_STRAIGHT / flown.interval))
    return [
        Stretch(one.begin + (margin if one.begin > 0 else 0.0), one.end - (margin if one.end < last else 0.0))
        for one in found
    ]


def _climbing(flown: Flown) -> Bools:
    """Where the height was changed on purpose, as far as its rate and size tell."""
    climb, altitude = _middle(flown, "vertical_speed", 8.0), _middle(flown, "altitude", 2.0)
    meant = np.zeros(len(climb), dtype=bool)
    for way in (-1.0, 1.0):
        for run in _runs(way * climb > CLIMBING, 1):
            first, last = int(run.begin), int(run.end)
            if abs(altitude[last] - altitude[first]) >= CLIMBED:
                meant[first : last + 1] = True
    return meant


def _runs(holds: Bools, shortest: int) -> list[Stretch]:
    """The unbroken runs of places at which something holds, of ``shortest`` steps at least."""
    borders = np.flatnonzero(np.diff(holds.astype(np.int8), prepend=0, append=0))
    return [
        Stretch(float(a), float(b - 1))
        for a, b in pairwise(borders)
        if holds[a] and b - a >= max(shortest, 1)
    ]
