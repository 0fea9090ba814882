"""Joint draws over one occurrence, its lead and its tail."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.find.occurrence import Occurrence
from chalkwing.judge.flown import Flown
from chalkwing.judge.made import sources
from chalkwing.judge.terrain import Terrain
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

LEAD = 16.0
"""Seconds drawn before the occurrence: the entry is looked at 10 s back from an edge that may shift."""
TAIL = 9.0
"""Seconds drawn after it: a rollout may end later than the finder thought."""

_ALWAYS = (
    "heading_true", "heading_magnetic", "bank", "turn_rate", "true_airspeed",
    "airspeed", "altitude", "pitch",
)  # fmt: skip


def draw(
    motion: Motion,
    occurrence: Occurrence,
    names: Sequence[str],
    *,
    count: int,
    seed: int,
    sheet: AirplaneSheet | None,
    terrain: Terrain | None,
    mass: float | None = None,
    tail: float = TAIL,
) -> Flown:
    """Joint draws over the occurrence, its lead and its tail, of what ``names`` need and the Motion holds."""
    wanted = {*_ALWAYS, *(source for name in names for source in sources(name))}
    drawn = motion.draws(
        start=occurrence.start - LEAD,
        end=occurrence.end + tail,
        count=count,
        seed=seed,
        names=sorted(name for name in wanted if name in motion),
    )
    values = {name: np.ascontiguousarray(rows) for name, rows in drawn.values.items()}
    return Flown(
        motion=motion,
        occurrence=occurrence,
        start=float(drawn.time[0]),
        interval=motion.interval,
        values=values,
        signs=tuple(-1 if part.direction == "left" else 1 for part in occurrence.parts),
        sheet=sheet,
        terrain=_terrain(values, terrain, seed),
        mass=mass,
    )


def _terrain(values: dict[str, Floats], terrain: Terrain | None, seed: int) -> Floats | None:
    """Ground height under the mean path, with one unknown offset per draw; meters sideways matter less."""
    if terrain is None or "latitude" not in values or "geometric_altitude" not in values:
        return None
    ground = terrain.height(
        latitude=values["latitude"].mean(axis=0), longitude=values["longitude"].mean(axis=0)
    )
    offset = np.random.default_rng([seed, 1]).normal(0.0, terrain.height_sd, len(values["latitude"]))
    return np.asarray(ground[None, :] + offset[:, None])
