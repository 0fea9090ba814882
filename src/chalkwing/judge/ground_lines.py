"""What is crossed or flown along: the line of S-turns, the sides of a field, a runway."""

from __future__ import annotations

import numpy as np

from chalkwing.judge.circles import StraightLine, line_through
from chalkwing.judge.ground import SHORTEST_ARC, SHORTEST_LEG, Ground, Site
from chalkwing.judge.ground_reference import GroundPlace, GroundWhat
from chalkwing.units import DEGREE, Floats

CROSSING_ERROR = 40.0
"""How far from its line a pilot passes level, before any crossing was seen [m] (our own)."""
CROSSINGS_BEFORE = 2.0
"""That belief counts as much as so many crossings."""
LEANING = 1.7
"""How much more the crossings turn the line than if each missed by itself: who misjudges the wind misses by
more from one to the next (our own, simulated flights)."""
LEG_ERROR = 3.0 * DEGREE
"""How far a leg lies from the direction of its side, before any was seen (our own)."""
LEGS_BEFORE = 2.0
"""That belief counts as much as so many legs."""
LEG_SAMPLES = 24
QUARTER = 90.0 * DEGREE
FINAL = 20.0
"""Seconds after the last turn that show the runway's line."""
SIDE_ERROR = 40.0
"""How far from the distance that was meant one leg along a side is flown [m] (our own, simulated flights)."""
LINED_UP, POINTED = 15.0, 5.0 * DEGREE
"""How far off the runway's line, and across it, an approach is flown just after its last turn (our own, from
simulated flights)."""


def line_ground(site: Site) -> Ground:
    """The line that S-turns cross: given, or through the places where the wings passed level."""
    circles = {part: site.circle(part) for part in site.parts if site.turned(part) >= SHORTEST_ARC}
    if site.given.line is not None:
        line, given = _given_line(site), True
    elif len(site.parts) >= 2:
        line, given = _line_of_crossings(site), False
    else:
        return Ground(site.over, given=False, circles=circles, missing="one turn alone shows no line")
    ends = site.crossings()
    line = _along(line, ends[0], ends[-1])
    return Ground(
        site.over,
        given=given,
        places=(line_place(site, "line", site.parts, line, ends, given=given),),
        centers={part: np.stack((each.north, each.east), axis=1) for part, each in circles.items()},
        circles=circles,
        lines=dict.fromkeys(site.parts, line),
        outward={part: _side_flown(site, part, line) for part in site.parts},
    )


def _given_line(site: Site) -> StraightLine:
    assert site.given.line is not None  # asked before
    ends = np.array([site.over.plane(place) for place in site.given.line])
    direction = float(np.arctan2(ends[1, 1] - ends[0, 1], ends[1, 0] - ends[0, 0]))
    return _fixed(site, ends.mean(axis=0), direction)


def _fixed(site: Site, middle: Floats, direction: float) -> StraightLine:
    """The same line in every draw."""
    alike = np.ones(site.flown.count)
    return StraightLine(float(middle[0]) * alike, float(middle[1]) * alike, direction * alike)


def _line_of_crossings(site: Site) -> StraightLine:
    """The line nearest to the crossings, moved and turned by what their scatter leaves unknown of it."""
    ends = site.crossings()
    north, east = np.stack([n for n, _ in ends], axis=1), np.stack([e for _, e in ends], axis=1)
    line = line_through(north, east)
    off = line.right_of(north, east)
    crossings = off.shape[1]
    scatter = np.sum(off**2, axis=1) + CROSSINGS_BEFORE * CROSSING_ERROR**2
    sd = np.sqrt(scatter / (crossings - 2 + CROSSINGS_BEFORE))
    along = (north - line.north[:, None]) * np.cos(line.direction)[:, None]
    along = along + (east - line.east[:, None]) * np.sin(line.direction)[:, None]
    aside = site.rng.normal(size=len(sd)) * sd / np.sqrt(crossings)
    turned = site.rng.normal(size=len(sd)) * LEANING * sd / np.sqrt(np.sum(along**2, axis=1))
    return StraightLine(
        line.north - aside * np.sin(line.direction),
        line.east + aside * np.cos(line.direction),
        line.direction + turned,
    )


def _along(line: StraightLine, first: tuple[Floats, Floats], last: tuple[Floats, Floats]) -> StraightLine:
    """The line pointing the way in which the crossings follow each other."""
    north, east = last[0] - first[0], last[1] - first[1]
    backward = north * np.cos(line.direction) + east * np.sin(line.direction) < 0.0
    return StraightLine(line.north, line.east, np.where(backward, line.direction + np.pi, line.direction))


def _side_flown(site: Site, part: int, line: StraightLine) -> float:
    """+1 where the held turn of ``part`` lies to the right of the line."""
    return 1.0 if np.median(line.right_of(*site.path(*site.held(part)))) >= 0.0 else -1.0


def line_place(
    site: Site,
    what: GroundWhat,
    parts: range | tuple[int, ...],
    line: StraightLine,
    ends: list[tuple[Floats, Floats]],
    *,
    given: bool,
) -> GroundPlace:
    """The line as a place on it with a direction and a length that covers ``ends``."""
    direction = float(np.median(line.direction))
    north, east = float(np.mean(line.north)), float(np.mean(line.east))
    along = [
        float(np.mean(n) - north) * np.cos(direction) + float(np.mean(e) - east) * np.sin(direction)
        for n, e in ends
    ]
    first, last = min(along), max(along)
    begin = site.over.earth(north + first * np.cos(direction), east + first * np.sin(direction))
    across = (line.east - east) * np.cos(direction) - (line.north - north) * np.sin(direction)
    return GroundPlace(
        what=what,
        parts=tuple(part + 1 for part in parts),
        latitude=begin[0],
        longitude=begin[1],
        sd=0.0 if given else float(across.std()),
        given=given,
        azimuth=direction % (2.0 * np.pi),
        azimuth_sd=0.0 if given else float(line.direction.std()),
        length=last - first,
    )


def field_ground(site: Site) -> Ground:
    """The rectangle flown along: given by its corners, or from the straight legs between the turns."""
    legs = {part: site.leg(part) for part in site.parts}
    flown = {part: leg for part, leg in legs.items() if leg is not None}
    if not flown:
        return Ground(site.over, given=False, missing="no straight leg between two turns")
    paths = {part: site.path(*leg, LEG_SAMPLES) for part, leg in flown.items()}
    fitted = {part: line_through(*path) for part, path in paths.items()}
    given = len(site.given.corners) >= 3
    sides = _given_sides(site, fitted) if given else _flown_sides(site, fitted, paths)
    groups: dict[int, list[int]] = {}
    for part, (_, number) in sides.items():
        groups.setdefault(number, []).append(part)
    places = tuple(
        line_place(
            site,
            "side",
            tuple(parts),
            sides[parts[0]][0],
            [(paths[part][0][:, k], paths[part][1][:, k]) for part in parts for k in (0, -1)],
            given=given,
        )
        for parts in groups.values()
    )
    return Ground(
        site.over,
        given=given,
        places=places,
        lines={part: line for part, (line, _) in sides.items()},
        # The field lies on the side of the turns; away from it counts as positive.
        outward={part: -float(site.flown.signs[part]) for part in sides},
    )


def _flown_sides(
    site: Site, fitted: dict[int, StraightLine], paths: dict[int, tuple[Floats, Floats]]
) -> dict[int, tuple[StraightLine, int]]:
    """A rectangle from the legs: one orientation for all, each side through the middle of its laps' legs.

    The orientation is turned by what the scatter of the legs' directions leaves unknown of it, and each side
    moved by what is not known of the distance that was meant.
    """
    lengths = {part: np.hypot(n[:, -1] - n[:, 0], e[:, -1] - e[:, 0]) for part, (n, e) in paths.items()}
    fourfold = sum(lengths[part] * np.exp(4j * line.direction) for part, line in fitted.items())
    orientation = np.angle(fourfold) / 4.0
    quarters = {part: np.round((line.direction - orientation) / QUARTER) for part, line in fitted.items()}
    off = np.stack([line.direction - orientation - quarters[part] * QUARTER for part, line in fitted.items()])
    scatter = np.sum(off**2, axis=0) + LEGS_BEFORE * LEG_ERROR**2
    sd = np.sqrt(scatter / (len(off) - 1 + LEGS_BEFORE) / len(off))
    orientation = orientation + site.rng.normal(size=len(sd)) * sd
    numbers = {part: int(np.median(turns)) % 4 for part, turns in quarters.items()}
    meant: dict[int, tuple[Floats, Floats]] = {}
    for number in sorted(set(numbers.values())):
        laps = [fitted[each] for each in fitted if numbers[each] == number]
        off = site.rng.normal(size=(2, site.flown.count)) * SIDE_ERROR / np.sqrt(len(laps))
        north, east = (
            np.mean([each.north for each in laps], axis=0),
            np.mean([each.east for each in laps], axis=0),
        )
        meant[number] = north + off[0], east + off[1]
    return {
        part: (StraightLine(*meant[numbers[part]], orientation + quarters[part] * QUARTER), numbers[part])
        for part in fitted
    }


def _given_sides(site: Site, fitted: dict[int, StraightLine]) -> dict[int, tuple[StraightLine, int]]:
    """For each leg the given side that runs its way (within 45°) and lies nearest."""
    corners = np.array([site.over.plane(place) for place in site.given.corners])
    ends = np.roll(corners, -1, axis=0)
    sides = {}
    for part, leg in fitted.items():
        flown_along = float(np.median(leg.direction))
        best, least = None, np.inf
        for number, (first, last) in enumerate(zip(corners, ends, strict=True)):
            direction = float(np.arctan2(last[1] - first[1], last[0] - first[0]))
            away = (direction - flown_along + np.pi / 2.0) % np.pi - np.pi / 2.0
            direction = flown_along + away
            line = _fixed(site, 0.5 * (first + last), direction)
            apart = abs(float(np.median(line.right_of(leg.north, leg.east))))
            if abs(away) < QUARTER / 2.0 and apart < least:
                best, least = (line, number), apart
        if best is not None:
            sides[part] = best
    return sides


def runway_ground(site: Site) -> Ground:
    """The line flown along after the last turn: given, or the path of the final approach."""
    last = len(site.flown.signs) - 1
    begin = site.flown.points[last]["turn_stops"]
    end = np.minimum(begin + FINAL / site.flown.interval, site.over.north.shape[1] - 1.0)
    missing = None
    if site.given.line is not None:
        line, given = _given_line(site), True
        track = line_through(*site.path(begin, end, LEG_SAMPLES))
        line = StraightLine(line.north, line.east, _turned_to(line.direction, track.direction))
    elif float(np.nanmedian(end - begin)) * site.flown.interval >= SHORTEST_LEG:
        line, given = _approached(site, line_through(*site.path(begin, end, LEG_SAMPLES))), False
    else:
        missing = "no final approach after the turn was recorded"
        return Ground(site.over, given=False, missing=missing, touchdown_beyond=site.given.touchdown_beyond)
    north, east = site.path(begin, end, LEG_SAMPLES)
    ends = [(north[:, 0], east[:, 0]), (north[:, -1], east[:, -1])]
    return Ground(
        site.over,
        given=given,
        places=(line_place(site, "runway", site.parts, line, ends, given=given),),
        lines=dict.fromkeys(site.parts, line),
        # A left-hand pattern lies to the left of its runway.
        outward=dict.fromkeys(site.parts, float(site.flown.signs[last])),
        touchdown_beyond=site.given.touchdown_beyond,
    )


def _approached(site: Site, path: StraightLine) -> StraightLine:
    """The runway's line as the first seconds of the final approach show it: the rest is still to come."""
    aside, turned = site.rng.normal(size=(2, site.flown.count))
    return StraightLine(
        path.north - LINED_UP * aside * np.sin(path.direction),
        path.east + LINED_UP * aside * np.cos(path.direction),
        path.direction + POINTED * turned,
    )


def _turned_to(direction: Floats, track: Floats) -> Floats:
    """The direction or its reverse, whichever the track follows."""
    return np.where(np.cos(direction - track) < 0.0, direction + np.pi, direction)
