"""Which estimate belongs to which kind of ground reference, and where it enters the judging."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from chalkwing.judge.flown import Flown
from chalkwing.judge.ground import Ground, Site
from chalkwing.judge.ground_circles import point_ground, pylons_ground
from chalkwing.judge.ground_lines import field_ground, line_ground, runway_ground
from chalkwing.judge.ground_reference import GroundReference
from chalkwing.judge.ground_signals import Grounded, crossing, wind_events
from chalkwing.judge.over_ground import over_ground
from chalkwing.judge.terrain import Terrain
from chalkwing.maneuvers.schema import Definition
from chalkwing.maneuvers.vocabulary import GroundKind

ESTIMATES: Mapping[GroundKind, Callable[[Site], Ground]] = {
    "point": point_ground,
    "pylons": pylons_ground,
    "line": line_ground,
    "field": field_ground,
    "runway": runway_ground,
}


def with_ground(
    flown: Flown,
    definition: Definition,
    *,
    given: GroundReference | None,
    terrain: Terrain | None,
    seed: int,
) -> Flown:
    """``flown`` with what its maneuver goes by on the ground, and the events that follow from it.

    The turns of its parts must have been located. Unchanged where the maneuver goes by nothing.
    """
    if definition.ground == "none":
        return flown
    rng = np.random.default_rng([seed, 2])
    over = over_ground(flown, rng)
    if over is not None:
        site = Site(flown, over, given or GroundReference(), terrain, rng)
        flown = replace(flown, ground=Grounded(ESTIMATES[definition.ground](site)), made={})
    for part, points in enumerate(flown.points):
        points.update(wind_events(flown, part))
        points["crosses_line"] = crossing(flown, part)
    return flown
