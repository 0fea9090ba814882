"""Where the draws of an occurrence lie over the ground: a plane of meters about it, and samples along it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.compiled import compiled
from chalkwing.earth import LocalFrame
from chalkwing.judge.flown import Flown
from chalkwing.judge.ground_reference import PlaceOnGround
from chalkwing.motion.wander import CLOCK_WITH_ATTITUDE, PLACE, Wander, walk
from chalkwing.units import Floats

NEEDED = (
    "latitude", "longitude", "position_north", "position_east", "geometric_altitude", "track",
    "ground_speed", "wind_north", "wind_east",
)  # fmt: skip
"""Quantities of a Motion from which ground reference is judged; the wind may be absent."""


@dataclass(frozen=True)
class OverGround:
    """The paths (draws, times) in meters north and east of the origin of ``frame``.

    They hold the receiver's slow error, which turns their track to the right by ``turned`` [rad].
    """

    frame: LocalFrame
    north: Floats
    east: Floats
    turned: Floats

    def plane(self, place: PlaceOnGround) -> tuple[float, float]:
        """North and east [m] of a latitude and longitude [rad]."""
        north, east = self.frame.to_plane(*place)
        return float(north), float(east)

    def earth(self, north: float, east: float) -> PlaceOnGround:
        """Latitude and longitude [rad] of north and east [m]."""
        latitude, longitude = self.frame.to_earth(north, east)
        return float(latitude), float(longitude)


RECEIVER = Wander(("position_north", "position_east"), PLACE, 60.0)
"""Slow error of a satellite receiver along each axis: meters, another after a minute (common practice, no
source). The motion does not betray it, so that the draws do not hold it."""


def over_ground(flown: Flown, rng: np.random.Generator) -> OverGround | None:
    """The draws' paths about the occurrence, or None where the Motion has no place.

    The frame lies at the occurrence, so that its north is true north there. Latitude and longitude are of
    the best estimate; the draws depart from it by meters, and by the receiver's slow error.
    """
    values, motion = flown.values, flown.motion
    if "latitude" not in values or "longitude" not in values:
        return None
    latitude, longitude = values["latitude"][0], values["longitude"][0]
    frame = LocalFrame(latitude=float(np.median(latitude)), longitude=float(np.median(longitude)))
    north, east = frame.to_plane(latitude, longitude)
    shape = (flown.count, len(north))
    times = flown.interval * np.arange(len(north), dtype=np.float64)
    slow = [walk(flown.count, times, RECEIVER, rng) for _ in range(2)]
    paths = []
    first = motion.index(flown.start)
    for best, name, error in zip((north, east), RECEIVER.quantities, slow, strict=True):
        departs = np.zeros(shape)
        if name in values:
            departs = values[name] - motion[name][first : first + len(north)]
        paths.append(np.ascontiguousarray(best + departs + error))
    ahead = _ahead(flown, rng)
    return OverGround(frame, paths[0] + ahead[0], paths[1] + ahead[1], _turned(flown, slow))


def _ahead(flown: Flown, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """How far north and east [m] the places lie ahead of the attitude, by the doubt of one clock against the
    other; an attitude that is derived from the places has none."""
    values = flown.values
    late = CLOCK_WITH_ATTITUDE * rng.normal(size=(flown.count, 1))
    if flown.motion.origins.get("bank") != "measured" or not {"track", "ground_speed"} <= set(values):
        late = 0.0 * late
        return late, late
    gone = late * values["ground_speed"]
    return gone * np.cos(values["track"]), gone * np.sin(values["track"])


def _turned(flown: Flown, slow: list[Floats]) -> Floats:
    """How far [rad] a slow error of the place turns the track to the right."""
    if "track" not in flown.values or "ground_speed" not in flown.values:
        return np.zeros_like(slow[0])
    north, east = (np.gradient(error, flown.interval, axis=1) for error in slow)
    track, speed = flown.values["track"], np.maximum(flown.values["ground_speed"], 10.0)
    return np.asarray((east * np.cos(track) - north * np.sin(track)) / speed)


def spaced(signal: Floats, begin: Floats, end: Floats, count: int) -> Floats:
    """``count`` samples of each row, evenly from ``begin`` to ``end`` [steps]: shape (draws, count)."""
    places = begin[:, None] + (end - begin)[:, None] * np.linspace(0.0, 1.0, count)
    last = signal.shape[1] - 1
    # A place that is not known is read at the start; whoever asks looks at begin and end first.
    held = np.clip(np.where(np.isfinite(places), places, 0.0), 0.0, last)
    left = np.minimum(held.astype(np.int64), max(last - 1, 0))
    share = held - left
    low = np.take_along_axis(signal, left, axis=1)
    return np.asarray(low + share * (np.take_along_axis(signal, left + 1, axis=1) - low))


@compiled
def nearest_passage(signal: Floats, near: Floats, begin: Floats, end: Floats, jump: float) -> Floats:
    """Where each row passes zero nearest to ``near`` between ``begin`` and ``end`` [steps]; ``nan`` if it
    does not. A step larger than ``jump`` is where an angle comes round, no passage."""
    out = np.full(signal.shape[0], np.nan)
    for draw in range(signal.shape[0]):
        if not (begin[draw] <= end[draw]):
            continue
        row = signal[draw]
        first, last = max(int(begin[draw]), 0), min(int(end[draw]) + 1, row.shape[0] - 1)
        best = np.inf
        for i in range(first, last):
            a, b = row[i], row[i + 1]
            if (a <= 0.0) == (b <= 0.0) or abs(b - a) > jump:
                continue
            place = i + a / (a - b)
            if begin[draw] <= place <= end[draw] and abs(place - near[draw]) < best:
                best, out[draw] = abs(place - near[draw]), place
    return out
