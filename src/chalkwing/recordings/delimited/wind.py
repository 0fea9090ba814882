"""Wind recorded as components, turned into direction and speed."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.delimited.drafts import Draft
from chalkwing.recordings.delimited.rules import WIND_EAST, WIND_NORTH
from chalkwing.recordings.delimited.scene import Scene
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import Floats


def wind_from_components(scene: Scene, notes: Notebook) -> None:
    """Direction and speed from wind components, whose sense (toward or from) the airspeed tells."""
    north, east = scene.drafts.pop(WIND_NORTH, None), scene.drafts.pop(WIND_EAST, None)
    if north is None or east is None or "wind_from" in scene or "wind_speed" in scene:
        return
    sense, told = _sense(scene, north, east)
    toward_north, toward_east = sense * north.si, sense * east.si
    pair = f"{north.written}, {east.written}"
    from_direction = np.arctan2(-toward_east, -toward_north)
    scene.drafts["wind_from"] = _made("wind_from", pair, from_direction, sure=told, index=north.index)
    scene.drafts["wind_speed"] = _made(
        "wind_speed", pair, np.hypot(toward_north, toward_east), sure=told, index=north.index
    )
    word = "toward which the wind blows" if sense > 0 else "from which the wind blows"
    why = "which the airspeed confirms" if told else "assumed"
    notes.say(
        f"{pair!r} are components of the direction {word}, {why}; turned into direction and speed.",
        channel="wind_from",
    )


def _made(channel: str, written: str, values: Floats, *, sure: bool, index: int) -> Draft:
    return Draft(channel, written, index, values, 1.0, stated=True, sure=sure)


def _sense(scene: Scene, north: Draft, east: Draft) -> tuple[float, bool]:
    """1 if the components point with the moving air, -1 if upwind; and whether the airspeed tells."""
    if "true_airspeed" not in scene:
        return 1.0, False
    ground = scene.ground_velocity()
    airspeed = scene.si("true_airspeed")
    wind = scene.sampled(north.si), scene.sampled(east.si)
    misses = []
    for sign in (1.0, -1.0):
        through_air = np.hypot(ground[0] - sign * wind[0], ground[1] - sign * wind[1])
        off = np.abs(through_air - airspeed)[np.hypot(*ground) > 8.0]
        off = off[np.isfinite(off)]
        misses.append(float(np.median(off)) if len(off) > 20 else np.nan)
    if not np.isfinite(misses).all():
        return 1.0, False
    return (
        (1.0, misses[0] < 0.8 * misses[1]) if misses[0] <= misses[1] else (-1.0, misses[1] < 0.8 * misses[0])
    )
