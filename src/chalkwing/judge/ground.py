"""What on the ground an occurrence was flown by, estimated from the draws or taken from the user.

    paths over the ground --fits--> places per draw --> distances, sight lines, angles per draw

A place that nobody gave is where the flight itself puts it: the center of the circles, the pylon that moves
least against the wing, the line through the wings-level crossings. What the pilot's own unsteadiness leaves
unknown of it is drawn as well, so that the true place is one more draw. The reasons are in
``docs/decisions/0017-ground-reference.md``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from chalkwing.judge.circles import Circle, StraightLine, circle_through
from chalkwing.judge.flown import Flown
from chalkwing.judge.ground_reference import GroundPlace, GroundReference
from chalkwing.judge.over_ground import OverGround, spaced
from chalkwing.judge.terrain import Terrain
from chalkwing.units import DEGREE, Floats

SAMPLES = 48
"""Samples of a part's path that a fit looks at."""
SHORTEST_ARC = 100.0 * DEGREE
"""Turned through less than this a part shows no circle."""
SHORTEST_LEG = 3.0
"""Seconds between two turns, or after the last, that show a line."""


@dataclass(frozen=True)
class Ground:
    """What was found for each part; arrays start with (draws,).

    ``centers[part]`` (draws, 2) is what the part goes round [m north, m east], ``heights`` its height above
    the datum of the geometric altitude; ``circles[part]`` the circle of the part alone; ``lines[part]`` what
    it crosses or flies along, and ``outward[part]`` +1 where that line's right side counts as positive. A
    part for which nothing could be found has no entry. ``missing`` says why.
    """

    over: OverGround
    given: bool
    places: tuple[GroundPlace, ...] = ()
    centers: Mapping[int, Floats] = field(default_factory=dict)
    heights: Mapping[int, Floats] = field(default_factory=dict)
    circles: Mapping[int, Circle] = field(default_factory=dict)
    lines: Mapping[int, StraightLine] = field(default_factory=dict)
    outward: Mapping[int, float] = field(default_factory=dict)
    touchdown_beyond: float | None = None
    missing: str | None = None

    def fewer(self, count: int) -> Ground:
        """The same with only the first ``count`` draws."""

        over = replace(
            self.over,
            north=self.over.north[:count],
            east=self.over.east[:count],
            turned=self.over.turned[:count],
        )
        return replace(
            self,
            over=over,
            centers={part: rows[:count] for part, rows in self.centers.items()},
            heights={part: rows[:count] for part, rows in self.heights.items()},
            circles={part: each.fewer(count) for part, each in self.circles.items()},
            lines={part: each.fewer(count) for part, each in self.lines.items()},
        )


@dataclass(frozen=True)
class Site:
    """What an estimate works with: the draws, their paths, what was given, the ground, random numbers."""

    flown: Flown
    over: OverGround
    given: GroundReference
    terrain: Terrain | None
    rng: np.random.Generator

    @property
    def parts(self) -> range:
        """The parts flown."""
        return range(len(self.flown.signs))

    def held(self, part: int) -> tuple[Floats, Floats]:
        """Where the turn of a part is held: from the end of its roll-in to the start of its rollout."""
        points = self.flown.points[part]
        return points["rolled_in"], points["rollout_starts"]

    def path(self, begin: Floats, end: Floats, count: int = SAMPLES) -> tuple[Floats, Floats]:
        """The paths between two places, evenly sampled in time, (draws, count)."""
        return spaced(self.over.north, begin, end, count), spaced(self.over.east, begin, end, count)

    def turned(self, part: int) -> float:
        """Heading turned through while the turn was held [rad], the median of the draws."""
        begin, end = self.held(part)
        heading = self.flown.values["heading_true"]
        ends = spaced(heading, begin, end, 2)
        return float(abs(np.nanmedian(ends[:, 1] - ends[:, 0])))

    def circle(self, part: int, *, moving: bool = False) -> Circle:
        """The circle of the held turn of a part alone."""
        return circle_through(*self.path(*self.held(part)), moving=moving)

    def elevation(self, north: float, east: float) -> tuple[float, float] | None:
        """The ground's height and its sd [m] at a place, where it was given or the terrain is known."""
        if self.given.elevation is not None:
            return self.given.elevation, 1.0
        if self.terrain is None:
            return None
        latitude, longitude = self.over.earth(north, east)
        height = self.terrain.height(latitude=np.array([latitude]), longitude=np.array([longitude]))
        return (float(height[0]), self.terrain.height_sd) if np.isfinite(height[0]) else None

    def crossings(self) -> list[tuple[Floats, Floats]]:
        """Where the wings passed level: before the first turn, between turns, after the last [m]."""
        points = self.flown.points
        between = [0.5 * (before["turn_stops"] + after["turn_starts"]) for before, after in pairwise(points)]
        places = (points[0]["turn_starts"], *between, points[-1]["turn_stops"])
        return [(north[:, 0], east[:, 0]) for north, east in (self.path(at, at, 1) for at in places)]

    def leg(self, part: int) -> tuple[Floats, Floats] | None:
        """The straight leg between a turn and the next; None where there is none to speak of."""
        begin, end = self.flown.points[part]["turn_stops"], self.flown.points[part]["next_turn_starts"]
        seconds = (end - begin) * self.flown.interval
        return (begin, end) if np.median(seconds) >= SHORTEST_LEG else None
