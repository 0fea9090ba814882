"""What turns go round: one point, or a pylon on either side."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.judge.circles import Circle, concentric
from chalkwing.judge.ground import SHORTEST_ARC, Ground, Site
from chalkwing.judge.ground_reference import GroundPlace, GroundWhat
from chalkwing.judge.over_ground import spaced
from chalkwing.judge.sight import Belief, Seen, axes, stillest_place
from chalkwing.units import STANDARD_GRAVITY, Floats

ON_THE_CHART = 1.0
"""How well a given place is known [m] (our own)."""
SAME_PYLON = 250.0
"""Places of two turns to one side nearer to each other than this [m] are one pylon (our own)."""
HEIGHT_UNKNOWN = 60.0
"""How far the ground may lie from the pivotal height below the path [m], where nobody gave it (our own)."""
SIGHT_STEP = 1.0
"""Seconds from one look at the pylon to the next."""


def point_ground(site: Site) -> Ground:
    """One point that every turn goes round: given, or the common center of the circles."""
    circles = _circles(site)
    if not circles:
        return Ground(site.over, given=False, missing="less than a third of a circle was flown")
    given = bool(site.given.points)
    center = _given_point(site, circles) if given else _common_center(site, circles)
    place = _place(site, "point", tuple(circles), center, given=given)
    return Ground(
        site.over,
        given=given,
        places=(place,),
        centers=dict.fromkeys(site.parts, center),
        circles={part: site.circle(part, moving=True) for part in circles},
    )


def _circles(site: Site) -> dict[int, Circle]:
    """The circle of every part that turned enough to show one."""
    return {part: site.circle(part) for part in site.parts if site.turned(part) >= SHORTEST_ARC}


def _middle(circle: Circle) -> tuple[float, float]:
    return float(np.median(circle.north)), float(np.median(circle.east))


def _given_point(site: Site, circles: dict[int, Circle]) -> Floats:
    """The given point nearest to the circles; the paths themselves are off by the receiver's error."""
    middles = np.array([_middle(circle) for circle in circles.values()])
    points = np.array([site.over.plane(point) for point in site.given.points])
    away = [np.hypot(*(middles - point).T).sum() for point in points]
    return np.tile(points[int(np.argmin(away))], (site.flown.count, 1))


def _common_center(site: Site, circles: dict[int, Circle]) -> Floats:
    """The common center in every draw, moved by what the pilot's unsteadiness leaves unknown of it.

    An error of the radius that comes once a turn cannot be told from another center. It is taken to be as
    large as all the others together, which can be seen: half of it the same in all turns (a wind misjudged),
    half anew in each. A center that the wind carries along may have begun, or ended, where the point is.
    """
    found = concentric([site.path(*site.held(part)) for part in circles])
    turns = max(sum(site.turned(part) for part in circles) / (2.0 * np.pi), 1.0)
    steady = found.spread * np.sqrt(1.0 + 1.0 / turns)
    moving = [site.circle(part, moving=True) for part in circles]
    carried = np.hypot(sum(each.moved_north for each in moving), sum(each.moved_east for each in moving))
    sd = np.hypot(steady, carried / np.sqrt(12.0))
    unknown = site.rng.normal(size=(site.flown.count, 2)) * sd[:, None]
    return np.asarray(np.stack((found.north, found.east), axis=1) + unknown)


def _place(
    site: Site,
    what: GroundWhat,
    parts: tuple[int, ...],
    center: Floats,
    *,
    given: bool,
    height: Floats | None = None,
) -> GroundPlace:
    """The place as the draws have it, and their spread."""
    north, east = (float(value) for value in center.mean(axis=0))
    latitude, longitude = site.over.earth(north, east)
    spread = float(center.std(axis=0).max())
    return GroundPlace(
        what=what,
        parts=tuple(part + 1 for part in parts),
        latitude=latitude,
        longitude=longitude,
        sd=0.0 if given else spread,
        given=given,
        elevation=None if height is None else float(height.mean()),
        elevation_sd=None if height is None else float(height.std()),
    )


@dataclass(frozen=True)
class _Pylon:
    parts: tuple[int, ...]
    place: Floats
    given: bool


def pylons_ground(site: Site) -> Ground:
    """A pylon for each turn: turns to one side about nearly the same place share theirs."""
    circles = _circles(site)
    if not circles:
        return Ground(site.over, given=False, missing="less than a third of a circle was flown")
    seen = {part: _seen(site, part) for part in circles}
    pylons = [_pylon(site, group, circles, seen) for group in _groups(site, circles)]
    return Ground(
        site.over,
        given=all(pylon.given for pylon in pylons),
        places=tuple(
            _place(site, "pylon", each.parts, each.place[:, :2], given=each.given, height=-each.place[:, 2])
            for each in pylons
        ),
        centers={part: each.place[:, :2] for each in pylons for part in each.parts},
        heights={part: -each.place[:, 2] for each in pylons for part in each.parts},
        circles=circles,
    )


def _groups(site: Site, circles: dict[int, Circle]) -> list[tuple[int, ...]]:
    """Parts that go round the same pylon: to the same side, about nearly the same middle."""
    groups: list[list[int]] = []
    for part, circle in circles.items():
        for group in groups:
            near = np.subtract(_middle(circle), _middle(circles[group[0]]))
            if site.flown.signs[group[0]] == site.flown.signs[part] and np.hypot(*near) < SAME_PYLON:
                group.append(part)
                break
        else:
            groups.append([part])
    return [tuple(group) for group in groups]


def _seen(site: Site, part: int) -> Seen:
    """The held turn of a part, as its estimate looks at it."""
    flown, (begin, end) = site.flown, site.held(part)
    seconds = (end - begin) * flown.interval
    count = max(12, int(np.nanmedian(seconds) / SIGHT_STEP))

    def taken(name: str) -> Floats:
        return spaced(flown.values[name], begin, end, count)

    north, east = site.path(begin, end, count)
    places = np.stack((north, east, -taken("geometric_altitude")), axis=-1)
    attitude = axes(
        heading=taken("heading_true"), pitch=taken("pitch"), bank=taken("bank"), side=flown.signs[part]
    )
    return Seen(places, attitude, seconds)


def _pylon(site: Site, group: tuple[int, ...], circles: dict[int, Circle], seen: dict[int, Seen]) -> _Pylon:
    """The pylon of the turns of ``group`` in every draw, with what their unsteadiness leaves unknown."""
    first = circles[group[0]]
    middle = np.array(_middle(first))
    points = [site.over.plane(point) for point in site.given.points]
    belief = _believed(site, group, middle)
    given = bool(points)
    if given:
        nearest = min(points, key=lambda point: float(np.hypot(*(middle - point))))
        belief = Belief((*nearest, belief.down), (ON_THE_CHART, ON_THE_CHART, belief.down_sd))
    start = np.column_stack((first.north, first.east, np.full(site.flown.count, belief.down)))
    found, root = stillest_place([seen[part] for part in group], start, belief)
    return _Pylon(group, found + site.rng.normal(size=found.shape) @ root.T, given)


def _believed(site: Site, group: tuple[int, ...], middle: Floats) -> Belief:
    """The height of the ground as given, as the terrain has it, or the pivotal height below the path."""
    known = site.elevation(float(middle[0]), float(middle[1]))
    if known is not None:
        return Belief.of_height(-known[0], known[1])
    values = site.flown.values
    below = []
    for part in group:
        begin, end = site.held(part)
        speed = spaced(values["true_airspeed"], begin, end, 12).mean()
        height = spaced(values["geometric_altitude"], begin, end, 12).mean()
        below.append(speed**2 / STANDARD_GRAVITY - height)
    return Belief.of_height(float(np.mean(below)), HEIGHT_UNKNOWN)
