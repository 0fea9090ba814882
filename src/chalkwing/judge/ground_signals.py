"""Quantities over the ground, in every draw: what definitions call ``radius``, ``sight_ahead`` and so on.

A signal is (draws, times), a fitted figure (draws,). The words are those of ``maneuvers.vocabulary``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from chalkwing.dynamics.rules_of_thumb import pivotal_altitude_rule
from chalkwing.judge.flown import Flown
from chalkwing.judge.ground import Ground
from chalkwing.judge.ground_reference import GroundPlace
from chalkwing.judge.over_ground import nearest_passage, spaced
from chalkwing.judge.sight import Sight, axes, sight
from chalkwing.units import DEGREE, KNOT, STANDARD_GRAVITY, Floats, wrap_angle

FAINT = 3.0 * KNOT
"""A wind weaker than this [m/s] has no up and down that anyone could fly by (our own)."""
CROSSING_REACH = 15.0
"""Seconds about the end of a turn in which the line is crossed."""
MARGIN = 3.0
"""Seconds beyond a part for which its sight line is worked out."""

NO_TOUCHDOWN = (
    "rows once a second leave a touchdown unknown to about 50 ft either way: give the spot that was seen"
)

Signal = Callable[[Flown, Ground, int], Floats]


def _radius(flown: Flown, ground: Ground, part: int) -> Floats:
    center = ground.centers[part]
    return np.hypot(ground.over.north - center[:, :1], ground.over.east - center[:, 1:])


def _circle_bank(flown: Flown, ground: Ground, part: int) -> Floats:
    """Level, on the circle of the part: tan(bank) = GS² / (g R cos(drift)); see ``reference.ground_path``."""
    speed, drift = flown.values["ground_speed"], flown.signal("wind_correction", part)
    radius = ground.circles[part].radius[:, None]
    return np.arctan(speed**2 / (STANDARD_GRAVITY * radius * np.maximum(np.cos(drift), 0.3)))


def _line_distance(flown: Flown, ground: Ground, part: int) -> Floats:
    return ground.outward[part] * ground.lines[part].right_of(ground.over.north, ground.over.east)


def _off_line(flown: Flown, ground: Ground, part: int) -> Floats:
    track = flown.values["track"] + ground.over.turned
    return np.asarray(wrap_angle(track - ground.lines[part].direction[:, None]))


def _crossing_angle(flown: Flown, ground: Ground, part: int) -> Floats:
    """From the line, as it runs the way of the series, to the track: 90° where the crossing is square."""
    square = 0.5 * np.pi
    return np.asarray(wrap_angle(flown.signs[part] * _off_line(flown, ground, part) - square) + square)


def _seen(flown: Flown, ground: Ground, part: int) -> tuple[slice, Sight]:
    """The pylon's bearing in the airplane while the part lasts, and of which times."""
    points, around = flown.points[part], MARGIN / flown.interval
    last = flown.values["bank"].shape[1]
    first = max(int(np.nanmin(points["turn_starts"]) - around), 0)
    times = slice(first, min(int(np.nanmax(points["turn_stops"]) + around) + 1, last))
    attitude = axes(
        heading=flown.values["heading_true"][:, times],
        pitch=flown.values["pitch"][:, times],
        bank=flown.values["bank"][:, times],
        side=flown.signs[part],
    )
    center = ground.centers[part]
    line = np.stack(
        (
            center[:, :1] - ground.over.north[:, times],
            center[:, 1:] - ground.over.east[:, times],
            flown.values["geometric_altitude"][:, times] - ground.heights[part][:, None],
        ),
        axis=-1,
    )
    return times, sight(attitude, line)


def _sighted(name: str) -> Signal:
    def signal(flown: Flown, ground: Ground, part: int) -> Floats:
        times, seen = _seen(flown, ground, part)
        out = np.full(flown.values["bank"].shape, np.nan)
        out[:, times] = getattr(seen, name)
        return out

    return signal


def _above_pylon(flown: Flown, ground: Ground, part: int) -> Floats:
    return np.asarray(flown.values["geometric_altitude"] - ground.heights[part][:, None])


def _pivotal(flown: Flown, ground: Ground, part: int) -> Floats:
    """V (V + tailwind along the heading) / g, exact; see ``dynamics.turning.pivotal_altitude``."""
    speed = flown.values["true_airspeed"]
    return np.asarray(speed * (speed + flown.signal("tailwind", part)) / STANDARD_GRAVITY)


def _over_pivotal(flown: Flown, ground: Ground, part: int) -> Floats:
    return _above_pylon(flown, ground, part) - _pivotal(flown, ground, part)


def _rule(flown: Flown, ground: Ground, part: int) -> Floats:
    return np.asarray(pivotal_altitude_rule(flown.values["ground_speed"]))


SIGNALS: Mapping[str, tuple[Signal, str]] = {
    "radius": (_radius, "centers"),
    "circle_bank": (_circle_bank, "circles"),
    "line_distance": (_line_distance, "lines"),
    "track_off_line": (_off_line, "lines"),
    "crossing_angle": (_crossing_angle, "lines"),
    "sight_line": (_sighted("off"), "heights"),
    "sight_ahead": (_sighted("ahead"), "heights"),
    "sight_above": (_sighted("above"), "heights"),
    "height_above_pylon": (_above_pylon, "heights"),
    "pivotal_height": (_pivotal, "heights"),
    "pivotal_rule": (_rule, "heights"),
    "height_over_pivotal": (_over_pivotal, "heights"),
}
"""Each signal, and which table of the Ground must know the part for it to exist."""


def _drifted(flown: Flown, ground: Ground, part: int) -> tuple[Floats, Floats, Floats, Floats]:
    """How far the part's center moved down the wind and to the right of it while the turn was held [m], the
    wind's speed [m/s] and the seconds; ``nan`` where the wind is too weak to have a direction."""
    circle, points = ground.circles[part], flown.points[part]
    begin, end = points["rolled_in"], points["rollout_starts"]
    north, east = (
        spaced(flown.values[name], begin, end, 16).mean(axis=1) for name in ("wind_north", "wind_east")
    )
    speed = np.hypot(north, east)
    felt = np.where(np.mean(speed) >= FAINT, speed, np.nan)
    down = (circle.moved_north * north + circle.moved_east * east) / felt
    right = (circle.moved_east * north - circle.moved_north * east) / felt
    return down, right, felt, (end - begin) * flown.interval


def _per_turn(flown: Flown, part: int) -> Floats:
    """By what to multiply a move while the turn was held to have that of a whole revolution."""
    points = flown.points[part]
    heading = spaced(flown.values["heading_true"], points["rolled_in"], points["rollout_starts"], 2)
    return np.asarray(2.0 * np.pi / np.abs(heading[:, 1] - heading[:, 0]))


def _center_drift(flown: Flown, ground: Ground, part: int) -> Floats:
    return np.asarray(_drifted(flown, ground, part)[0] * _per_turn(flown, part))


def _center_drift_across(flown: Flown, ground: Ground, part: int) -> Floats:
    return np.asarray(_drifted(flown, ground, part)[1] * _per_turn(flown, part))


def _wind_corrected(flown: Flown, ground: Ground, part: int) -> Floats:
    down, _, wind, seconds = _drifted(flown, ground, part)
    return np.asarray(1.0 - down / (wind * seconds))


def _circle_radius(flown: Flown, ground: Ground, part: int) -> Floats:
    return ground.circles[part].radius


def _touchdown(flown: Flown, ground: Ground, part: int) -> Floats:
    return np.full(flown.count, np.nan if ground.touchdown_beyond is None else ground.touchdown_beyond)


FITTED: Mapping[str, tuple[Signal, str]] = {
    "circle_radius": (_circle_radius, "circles"),
    "center_drift": (_center_drift, "circles"),
    "center_drift_across": (_center_drift_across, "circles"),
    "wind_corrected": (_wind_corrected, "circles"),
    "touchdown_beyond_point": (_touchdown, "lines"),
}
"""Each fitted figure, and which table of the Ground must know the part."""

_WINDY = ("center_drift", "center_drift_across", "wind_corrected", "pivotal_height", "height_over_pivotal")


@dataclass(frozen=True)
class Grounded:
    """A Ground with the quantities that follow from it: an `OnGround` of the judge."""

    ground: Ground

    @property
    def places(self) -> tuple[GroundPlace, ...]:
        """What was found or given."""
        return self.ground.places

    @property
    def given(self) -> bool:
        """Whether a user gave it."""
        return self.ground.given

    def fewer(self, count: int) -> Grounded:
        """The same with only the first ``count`` draws."""
        return Grounded(self.ground.fewer(count))

    def lacks(self, flown: Flown, name: str, part: int) -> str | None:
        """Why the quantity does not exist for this part of this flight; None where it does."""
        if name == "touchdown_beyond_point":
            return NO_TOUCHDOWN if self.ground.touchdown_beyond is None else None
        if self.ground.missing is not None:
            return self.ground.missing
        if name in _WINDY and "wind_north" not in flown.values:
            return "the wind is not known from this recording"
        table = (SIGNALS.get(name) or FITTED[name])[1]
        if part not in getattr(self.ground, table):
            return "this part shows no place on the ground to count from"
        return None

    def signal(self, flown: Flown, name: str, part: int) -> Floats:
        """The quantity's signal for a part; `lacks` must not."""
        return SIGNALS[name][0](flown, self.ground, part)

    def fitted(self, flown: Flown, name: str, part: int) -> Floats:
        """The fitted figure of a part; `lacks` must not."""
        return FITTED[name][0](flown, self.ground, part)


def wind_events(flown: Flown, part: int) -> dict[str, Floats]:
    """Where the held turn of a part goes straight down and straight up the wind, nearest to its middle."""
    points = flown.points[part]
    begin, end = points["rolled_in"], points["rollout_starts"]
    nowhere = np.full(flown.count, np.nan)
    if not {"wind_north", "wind_east", "track"} <= set(flown.values):
        return {"downwind": nowhere, "upwind": nowhere}
    north, east = flown.values["wind_north"], flown.values["wind_east"]
    if float(np.mean(np.hypot(north, east))) < FAINT:
        return {"downwind": nowhere, "upwind": nowhere}
    off = np.ascontiguousarray(wrap_angle(flown.values["track"] - np.arctan2(east, north)))
    middle, jump = 0.5 * (begin + end), 90.0 * DEGREE
    return {
        "downwind": nearest_passage(off, middle, begin, end, jump),
        "upwind": nearest_passage(np.ascontiguousarray(wrap_angle(off - np.pi)), middle, begin, end, jump),
    }


def crossing(flown: Flown, part: int) -> Floats:
    """Where the path crosses the line about the end of a part's turn; ``nan`` where it does not."""
    stop = flown.points[part]["turn_stops"]
    if flown.ground is None or flown.ground.lacks(flown, "line_distance", part):
        return np.full(flown.count, np.nan)
    reach = CROSSING_REACH / flown.interval
    # A line to the right of which one half lies has the next one on its left: the distance passes zero.
    distance = np.ascontiguousarray(flown.signal("line_distance", part))
    return nearest_passage(distance, stop, stop - reach, stop + reach, np.inf)
