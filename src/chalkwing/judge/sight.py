"""The line of sight along the wing to a pylon, and the pylon that holds it stillest.

The airplane's axes follow from heading, pitch and bank; where there is no slip the wing line is square to the
flight through the air, whatever the angle of attack. North, east and *down*; arrays (draws, samples).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.judge.circles import solved
from chalkwing.units import DEGREE, Floats

EYE = 3.0 * DEGREE
"""How far a pilot's own line of sight may always lie from the wing line (common practice, no source)."""
STILLEST = 0.5 * DEGREE
"""Nobody holds a pylon stiller than this."""
FORGOTTEN = 15.0
"""Seconds after which a pilot's error of the line of sight is another one (our own)."""
UNSEEN = 3.0
"""How many times as large a pilot's errors are as what a fit leaves over of them (our own): one that comes
and goes once in a turn is taken for another place of the pylon."""
_ROUNDS = 12


@dataclass(frozen=True)
class Axes:
    """Unit vectors of the airplane, (draws, samples, 3) north, east, down: nose, inner wing, floor."""

    nose: Floats
    wing: Floats
    floor: Floats


def axes(*, heading: Floats, pitch: Floats, bank: Floats, side: int) -> Axes:
    """The airplane's axes from its attitude [rad]; ``side`` +1 takes the right wing, -1 the left."""
    sh, ch, sp, cp = np.sin(heading), np.cos(heading), np.sin(pitch), np.cos(pitch)
    sb, cb = np.sin(bank), np.cos(bank)
    nose = np.stack((cp * ch, cp * sh, -sp), axis=-1)
    wing = np.stack((sb * sp * ch - cb * sh, sb * sp * sh + cb * ch, sb * cp), axis=-1)
    floor = np.stack((cb * sp * ch + sb * sh, cb * sp * sh - sb * ch, cb * cp), axis=-1)
    return Axes(nose, side * wing, floor)


@dataclass(frozen=True)
class Sight:
    """Where the pylon is seen [rad]: ``off`` the whole angle from the wing line, ``ahead`` toward the nose,
    ``above`` toward the roof."""

    off: Floats
    ahead: Floats
    above: Floats


def sight(attitude: Axes, to_pylon: Floats) -> Sight:
    """The pylon as seen from the airplane; ``to_pylon`` (draws, samples, 3) [m] north, east, down."""
    toward = to_pylon / np.linalg.norm(to_pylon, axis=-1, keepdims=True)
    along, across, under = (
        np.sum(toward * axis, axis=-1) for axis in (attitude.nose, attitude.wing, attitude.floor)
    )
    off = np.arctan2(np.hypot(along, under), across)
    return Sight(off, np.arcsin(np.clip(along, -1.0, 1.0)), np.arcsin(np.clip(-under, -1.0, 1.0)))


@dataclass(frozen=True)
class Seen:
    """One turn round a pylon: the places of the airplane (draws, samples, 3) north, east, down [m], its axes,
    and how long it lasted (draws,) [s]."""

    places: Floats
    attitude: Axes
    seconds: Floats


@dataclass(frozen=True)
class Belief:
    """What is believed of the pylon before looking: north, east, down and their sds [m]."""

    place: tuple[float, float, float]
    sd: tuple[float, float, float]

    @classmethod
    def of_height(cls, down: float, sd: float) -> Belief:
        """Nothing but how far it lies below the datum of the heights."""
        return cls((0.0, 0.0, down), (np.inf, np.inf, sd))

    @property
    def down(self) -> float:
        """Below the datum [m]."""
        return self.place[2]

    @property
    def down_sd(self) -> float:
        """Its sd [m]."""
        return self.sd[2]


def stillest_place(turns: list[Seen], start: Floats, belief: Belief) -> tuple[Floats, Floats]:
    """The place from which the pylon moves least against the wing line, in every draw.

    Parameters
    ----------
    turns : list of Seen
        All turns round the same pylon.
    start : array, shape (draws, 3)
        Where to begin: north, east, down [m].
    belief : Belief
        Where it was said to be, and how high the ground is.

    Returns
    -------
    place, root : arrays, shapes (draws, 3) and (3, 3)
        The place, and the root of the covariance with which the pilot's own unsteadiness leaves it unknown.

    Notes
    -----
    Minimizes the angle between pylon and wing line, less a constant of the pilot's (sd `EYE`), both along and
    across. Errors closer in time than `FORGOTTEN` count as one. Their size is that of what is left over.
    """
    unknown = np.zeros((len(start), 5))
    unknown[:, :3] = start
    noise = 3.0 * DEGREE
    matrix = np.zeros((len(start), 5, 5))
    for _ in range(_ROUNDS):
        matrix, right, rest = _normal(turns, unknown, noise, belief)
        unknown = unknown - _bounded(solved(matrix, right))
        noise = float(np.clip(UNSEEN * rest, STILLEST, 20.0 * DEGREE))
    covariance = np.linalg.inv(matrix.mean(axis=0))[:3, :3]
    return unknown[:, :3], np.asarray(np.linalg.cholesky(0.5 * (covariance + covariance.T)))


def _bounded(step: Floats, most: float = 300.0) -> Floats:
    """The step, shortened where its first guess was far off."""
    length = np.linalg.norm(step[:, :3], axis=1, keepdims=True)
    return np.asarray(step * np.minimum(1.0, most / np.maximum(length, 1e-9)))


def _normal(turns: list[Seen], unknown: Floats, noise: float, belief: Belief) -> tuple[Floats, Floats, float]:
    """Normal equations of one step, and the rms of what is left over [rad]."""
    draws = len(unknown)
    matrix, right = np.zeros((draws, 5, 5)), np.zeros((draws, 5))
    left: list[Floats] = []
    for turn in turns:
        line = unknown[:, None, :3] - turn.places
        away = np.maximum(np.linalg.norm(line, axis=2, keepdims=True), 1.0)
        toward = line / away
        weight = turn.seconds / FORGOTTEN / turn.places.shape[1] / noise**2
        for column, axis, sign in ((3, turn.attitude.nose, 1.0), (4, turn.attitude.floor, -1.0)):
            seen = np.sum(toward * axis, axis=2)
            rest = sign * seen - unknown[:, column : column + 1]
            slopes = np.zeros((*seen.shape, 5))
            slopes[:, :, :3] = sign * (axis - seen[:, :, None] * toward) / away
            slopes[:, :, column] = -1.0
            matrix += weight[:, None, None] * np.einsum("dsi,dsj->dij", slopes, slopes)
            right += weight[:, None] * np.einsum("dsi,ds->di", slopes, rest)
            left.append(rest)
    believed = 1.0 / np.array([*belief.sd, EYE, EYE]) ** 2
    matrix += np.diag(believed)
    right += believed * (unknown - np.array([*belief.place, 0.0, 0.0]))
    return matrix, right, float(np.sqrt(np.mean(np.concatenate(left, axis=1) ** 2)))
