"""Circles and lines fitted to many paths at once, by least squares; arrays are (draws, samples).

Geometry in a plane of north and east [m]. Nothing here knows about flying.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from chalkwing.units import Floats

_ROUNDS = 8
"""Gauss-Newton steps: a circle seen over half a turn or more settles to micrometers in five."""
_RIDGE = 1e-9


def solved(matrix: Floats, right: Floats) -> Floats:
    """x of ``matrix`` (draws, k, k) · x = ``right`` (draws, k); a hair of ridge keeps flat ones solvable."""
    scale = np.trace(matrix, axis1=1, axis2=2)[:, None, None] / matrix.shape[1]
    eye = np.eye(matrix.shape[1])
    return np.asarray(np.linalg.solve(matrix + _RIDGE * (scale + 1e-12) * eye, right[:, :, None])[:, :, 0])


@dataclass(frozen=True)
class Circle:
    """Circles, (draws,): center in the middle of the time [m], radius [m], and how far the center moved from
    the first sample to the last [m]. ``spread`` is the rms distance of the samples from their circle."""

    north: Floats
    east: Floats
    radius: Floats
    moved_north: Floats
    moved_east: Floats
    spread: Floats

    def fewer(self, count: int) -> Circle:
        """Those of the first ``count`` draws."""
        return Circle(*(getattr(self, each.name)[:count] for each in fields(self)))


def circle_through(north: Floats, east: Floats, *, moving: bool = False) -> Circle:
    """The circle nearest to each row of samples evenly spaced in time.

    With ``moving`` its center may drift evenly: a circle held against the wind closes on itself, one flown at
    a constant bank moves with the air, and both are matched exactly. Distances are minimized across the path.

    >>> turn = np.linspace(0.0, 6.0, 40)[None, :]
    >>> found = circle_through(100.0 * np.cos(turn) + 7.0, 100.0 * np.sin(turn))
    >>> round(float(found.radius[0]), 6), round(float(found.north[0]), 6)
    (100.0, 7.0)
    """
    share = np.linspace(-0.5, 0.5, north.shape[1])[None, :]
    at = np.zeros((len(north), 5 if moving else 3))
    at[:, :3] = _algebraic(north, east)
    for _ in range(_ROUNDS):
        rest, slopes = _distances(north, east, share, at)
        step = solved(np.einsum("dsi,dsj->dij", slopes, slopes), np.einsum("dsi,ds->di", slopes, rest))
        at = at - step
    rest, _ = _distances(north, east, share, at)
    moved = at[:, 3:] if moving else np.zeros((len(at), 2))
    spread = np.sqrt(np.mean(rest**2, axis=1))
    return Circle(at[:, 0], at[:, 1], at[:, 2], moved[:, 0], moved[:, 1], spread)


def _algebraic(north: Floats, east: Floats) -> Floats:
    """Center and radius from the linear form |P|² = 2 P·c + k: where the iteration begins."""
    middle = north.mean(axis=1), east.mean(axis=1)
    n, e = north - middle[0][:, None], east - middle[1][:, None]
    rows = np.stack((2.0 * n, 2.0 * e, np.ones_like(n)), axis=2)
    found = solved(np.einsum("dsi,dsj->dij", rows, rows), np.einsum("dsi,ds->di", rows, n**2 + e**2))
    radius = np.sqrt(np.maximum(found[:, 2] + found[:, 0] ** 2 + found[:, 1] ** 2, 1.0))
    return np.stack((found[:, 0] + middle[0], found[:, 1] + middle[1], radius), axis=1)


def _distances(north: Floats, east: Floats, share: Floats, at: Floats) -> tuple[Floats, Floats]:
    """How far each sample lies outside its circle, and how that changes with each unknown."""
    n, e = north - at[:, :1], east - at[:, 1:2]
    if at.shape[1] == 5:
        n, e = n - at[:, 3:4] * share, e - at[:, 4:5] * share
    away = np.maximum(np.hypot(n, e), 1e-6)
    slopes = [-n / away, -e / away, -np.ones_like(away)]
    if at.shape[1] == 5:
        slopes += [slopes[0] * share, slopes[1] * share]
    return away - at[:, 2:3], np.stack(slopes, axis=2)


@dataclass(frozen=True)
class Concentric:
    """One center of several turns, (draws,) [m]; the radius of each, (draws, turns); rms distance from it."""

    north: Floats
    east: Floats
    radii: Floats
    spread: Floats


def concentric(turns: list[tuple[Floats, Floats]]) -> Concentric:
    """The one center about which several turns, each of its own radius, lie nearest to circles."""
    alone = [circle_through(north, east) for north, east in turns]
    unknown = np.stack(
        [
            np.mean([each.north for each in alone], axis=0),
            np.mean([each.east for each in alone], axis=0),
            *(each.radius for each in alone),
        ],
        axis=1,
    )
    for _ in range(_ROUNDS):
        matrix = np.zeros((len(unknown), unknown.shape[1], unknown.shape[1]))
        right = np.zeros_like(unknown)
        for k, (north, east) in enumerate(turns):
            rest, slopes = _distances(north, east, np.zeros((1, 1)), unknown[:, [0, 1, 2 + k]])
            places = np.array([0, 1, 2 + k])
            matrix[:, places[:, None], places] += np.einsum("dsi,dsj->dij", slopes, slopes)
            right[:, places] += np.einsum("dsi,ds->di", slopes, rest)
        unknown = unknown - solved(matrix, right)
    rests = [
        np.hypot(north - unknown[:, :1], east - unknown[:, 1:2]) - unknown[:, 2 + k : 3 + k]
        for k, (north, east) in enumerate(turns)
    ]
    spread = np.sqrt(np.mean(np.concatenate(rests, axis=1) ** 2, axis=1))
    return Concentric(unknown[:, 0], unknown[:, 1], unknown[:, 2:], spread)


@dataclass(frozen=True)
class StraightLine:
    """Lines, (draws,): a place on each [m], its direction [rad from north, clockwise]."""

    north: Floats
    east: Floats
    direction: Floats

    def fewer(self, count: int) -> StraightLine:
        """Those of the first ``count`` draws."""
        return StraightLine(*(getattr(self, each.name)[:count] for each in fields(self)))

    def right_of(self, north: Floats, east: Floats) -> Floats:
        """How far places (draws, ...) lie to the right of the line [m]."""
        shape = (-1,) + (1,) * (north.ndim - 1)
        n, e = north - self.north.reshape(shape), east - self.east.reshape(shape)
        return np.asarray(
            e * np.cos(self.direction).reshape(shape) - n * np.sin(self.direction).reshape(shape)
        )


def line_through(north: Floats, east: Floats) -> StraightLine:
    """The line nearest to each row of places, across it; its direction from the first place to the last."""
    n, e = north.mean(axis=1), east.mean(axis=1)
    dn, de = north - n[:, None], east - e[:, None]
    twice = np.arctan2(2.0 * np.sum(dn * de, axis=1), np.sum(dn**2 - de**2, axis=1))
    direction = 0.5 * twice
    went_north, went_east = north[:, -1] - north[:, 0], east[:, -1] - east[:, 0]
    forward = went_north * np.cos(direction) + went_east * np.sin(direction)
    return StraightLine(n, e, np.where(forward < 0.0, direction + np.pi, direction))
