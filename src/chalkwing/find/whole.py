"""What is said of a maneuver as a whole: height lost, kept over the ground, come back to where it began.

Each quantity of `WHOLE` is computed for every candidate, with an sd that includes what a pilot's unsteadiness
adds; what cannot be known is ``nan`` and says nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from chalkwing.find.candidates import Candidates
from chalkwing.find.gains import holds, told, told_direction
from chalkwing.find.glide import WINDOW, evenness, steadiness
from chalkwing.find.ground import OverGround, slope_on, summed
from chalkwing.find.plane import (
    arcs,
    lowest_and_highest,
    off_line,
    off_parallelogram,
    off_same_center,
    revolved,
)
from chalkwing.find.signals import Signals
from chalkwing.find.spans import Spans
from chalkwing.find.tuning import Tuning
from chalkwing.find.turns import Ints
from chalkwing.maneuvers.schema import Definition
from chalkwing.units import DEGREE, FOOT, Floats

Told = tuple[Floats, Floats]
"""Value and sd of each candidate."""

_ROUND = 2.0 * np.pi
_PLACE_ERROR = 8.0
"""Doubt about how far two places of a track lie apart [m]."""
_UNSTEADY = 0.15
"""Of a circle's radius: how far its center strays by unsteady bank alone, each time round."""
_NEARLY_ROUND = 0.2
"""Of a turn: what may be missing from the last round, and is then added on as an arc."""
_HEIGHT_ERROR = 60.0 * FOOT
"""How far from his altitude a pilot strays without meaning it."""
_UNEVEN_AT_MOST = 0.3
"""The most that this doubts how even a glide is: one that climbs halfway is none, however little it loses."""
_OTHER_GROUND = 100.0 * FOOT
"""How far the ground under a maneuver lies above or below the one taken off from."""
_ENTRY_ERROR = 15.0 * DEGREE
"""How far off the heading that was meant a maneuver is entered."""
_EVEN_SD = 0.07
"""How far an idling glide seems uneven by gusts and by the turn."""


@dataclass(frozen=True)
class _Usual:
    """How a quantity of a whole stretch behaves when nothing is meant: usual value and spread (logistic)."""

    usual: float
    spread: float
    family: str


_USUAL: dict[str, _Usual] = {
    "wind_corrected": _Usual(0.0, 0.12, "ground"),
    "center_spread": _Usual(1.8, 0.5, "ground"),
    "line_spread": _Usual(0.6, 0.25, "line"),
    "rectangle_misfit": _Usual(0.8, 0.35, "ground"),
    "follows_pivotal": _Usual(0.0, 0.25, "pivotal"),
    "glide_angle": _Usual(3.5 * DEGREE, 1.2 * DEGREE, "energy"),
    "glide_evenness": _Usual(0.68, 0.08, "evenness"),
    "engine_over_idle": _Usual(1.8, 0.15, "engine"),
    "engine_evenness": _Usual(0.8, 0.05, "engine"),
    "lowest_above_own_ground": _Usual(2300.0 * FOOT, 900.0 * FOOT, "height"),
    "highest_above_own_ground": _Usual(2300.0 * FOOT, 900.0 * FOOT, "height"),
    "turned": _Usual(75.0 * DEGREE, 40.0 * DEGREE, "turned"),
    "height_off_pivotal": _Usual(1300.0 * FOOT, 900.0 * FOOT, "height"),
}
"""Common practice, no source; set before any flight was looked at."""

_LOWEST_OVER_GROUND = 400.0 * FOOT
"""How far a recording's low edge may lie above the ground if no takeoff or landing shows (our own)."""

_ABOVE_LOWEST = 700.0 * FOOT
"""Height over a flight's lowest point that its ground alone, hills included, does not make (our own)."""

_DIRECTIONS = frozenset({"entry_off_downwind"})
"""Quantities that in ordinary flying take any direction alike; each is a family of its own."""


@dataclass(frozen=True)
class Course:
    """The candidates of a definition over the ground: all that a quantity of the whole is computed from."""

    candidates: Candidates
    spans: Spans
    first: Ints
    last: Ints
    seen: Signals
    ground: OverGround

    @property
    def turned(self) -> Floats:
        """All turns together, whichever way [rad]."""
        return np.asarray(
            np.where(self.candidates.begun, self.spans.turned[self.candidates.spans], 0.0).sum(axis=1)
        )


_ROUND_THE_PATTERN = 2
"""Turns before a base leg: crosswind and downwind."""


def turns_to_entry(definition: Definition) -> int:
    """How many turns lead to its beginning anyway: round the pattern to a runway, one along a field or a
    line, one to the wind."""
    if definition.ground == "runway":
        return _ROUND_THE_PATTERN
    said = {one.quantity.name for one in definition.whole}
    return 0 if definition.ground not in ("field", "line") and said.isdisjoint(_DIRECTIONS) else 1


def whole_odds(definition: Definition, course: Course, tuning: Tuning) -> Floats:
    """Log odds of what the definition says of the whole, shape (candidates,).

    What legs say as well (the climb) can only fail here, and so can a range with an open end. Of one family
    the strongest gain counts, and the worst failure.
    """
    nothing = np.zeros(len(course.candidates))
    best: dict[str, Floats] = defaultdict(lambda: nothing)
    worst: dict[str, Floats] = defaultdict(lambda: nothing)
    for said in definition.whole:
        value, sd = _QUANTITIES[said.quantity.name](course)
        usual = _USUAL.get(said.quantity.name)
        if said.quantity.name in _DIRECTIONS:
            family, worth = said.quantity.name, told_direction(value, sd, said.low, said.high)
        elif usual is None or not np.isfinite(said.high - said.low):
            family = "climb" if usual is None else usual.family
            worth = holds(value, sd, said.low, said.high, tuning)
        else:
            family = usual.family
            worth = told(value, sd, said.low, said.high, usual.usual, usual.spread)
            if family == "height" and not np.isfinite(course.ground.own_ground):
                worth = np.minimum(worth, 0.0)  # a height over ground so roughly known only speaks against
        best[family] = np.maximum(best[family], worth)
        worst[family] = np.minimum(worst[family], worth)
    return np.asarray(sum(best.values(), nothing) + sum(worst.values(), nothing))


# The quantities of `WHOLE` -------------------------------------------------------------------------------


def _turned(course: Course) -> Told:
    return course.turned, np.full(len(course.first), 0.05)


def _altitude_change(course: Course) -> Told:
    altitude = course.ground.altitude
    return altitude[course.last] - altitude[course.first], _strayed(course)


def _altitude_change_per_turn(course: Course) -> Told:
    change, sd = _altitude_change(course)
    rounds = np.maximum(course.turned / _ROUND, 0.1)
    return change / rounds, sd / rounds


def _altitude_swing(course: Course) -> Told:
    ends = lowest_and_highest(course.first, course.last, course.ground.altitude)
    return np.asarray(ends[:, 1] - ends[:, 0]), _strayed(course)


def _strayed(course: Course) -> Floats:
    return np.full(len(course.first), _HEIGHT_ERROR)


def _lowest(course: Course) -> Told:
    ends = lowest_and_highest(course.first, course.last, course.ground.altitude)
    return _above_ground(course, ends[:, 0])


def _highest(course: Course) -> Told:
    ends = lowest_and_highest(course.first, course.last, course.ground.altitude)
    return _above_ground(course, ends[:, 1])


def _above_ground(course: Course, altitude: Floats) -> Told:
    """The height above the flight's own ground; if it shows none, above the edge it climbed from, roughly."""
    ground = course.ground
    if np.isfinite(ground.own_ground):
        return np.asarray(altitude - ground.own_ground), _strayed(course)
    return np.asarray(altitude - ground.lowest_edge), np.hypot(_strayed(course), _LOWEST_OVER_GROUND)


def _end(course: Course) -> Told:
    ground = course.ground
    ends = ground.altitude[course.last]
    if np.isfinite(ground.own_ground):
        return np.asarray(ends - ground.own_ground), _strayed(course)
    # A flight that shows no ground was nowhere below it: what ends far above its lowest point is no landing.
    over_lowest = ends - np.min(ground.altitude)
    return np.where(over_lowest > _ABOVE_LOWEST, over_lowest, np.nan), _strayed(course)


def _glide_angle(course: Course) -> Told:
    ground = course.ground
    run = np.maximum(ground.air_run[course.last] - ground.air_run[course.first], 1.0)
    lost = ground.energy[course.first] - ground.energy[course.last]
    return np.arctan(lost / run), np.asarray(_HEIGHT_ERROR / run)


def _glide_evenness(course: Course) -> Told:
    ground = course.ground
    even = evenness(ground.energy, ground.air_run, course.first, course.last, course.seen.interval)
    # Where the engine's own speed is recorded, an uneven glide tells of flaps and speed, not of power.
    told_by_engine = np.isfinite(ground.engine[course.first])
    # The less is lost in a window, the more of it the doubt about height and speed can make.
    lost = np.maximum(ground.energy[course.first] - ground.energy[course.last], 1.0)
    seconds = course.seen.time[course.last] - course.seen.time[course.first]
    doubt = _HEIGHT_ERROR / (lost * np.minimum(WINDOW / np.maximum(seconds, WINDOW), 1.0))
    return np.where(told_by_engine, np.nan, even), np.hypot(_EVEN_SD, np.minimum(doubt, _UNEVEN_AT_MOST))


def _engine_over_idle(course: Course) -> Told:
    engine = course.ground.engine
    pairs = zip(course.first, course.last + 1, strict=True)
    middle = np.array([np.median(engine[first:last]) for first, last in pairs])
    return middle, np.full(len(middle), 0.05)


def _engine_evenness(course: Course) -> Told:
    even = steadiness(course.ground.engine, course.first, course.last, course.seen.interval)
    return even, np.full(len(even), 0.02)


def _arcs(course: Course) -> Floats:
    found: Floats = arcs(*_grid(course), course.ground.north, course.ground.east)
    return found


def _grid(course: Course) -> tuple[Ints, Ints]:
    return course.seen.index(course.spans.start), course.seen.index(course.spans.end)


def _center_spread(course: Course) -> Told:
    spread = off_same_center(course.candidates.spans, course.spans.side, _arcs(course))
    return spread, np.full(len(spread), _UNSTEADY)


def _line_spread(course: Course) -> Told:
    ground = course.ground
    spread = off_line(course.candidates.spans, *_grid(course), ground.north, ground.east, _arcs(course))
    return spread, np.full(len(spread), _UNSTEADY)


def _rectangle_misfit(course: Course) -> Told:
    ground = course.ground
    misfit = off_parallelogram(course.candidates.spans, *_grid(course), ground.north, ground.east)
    return misfit, np.full(len(misfit), _UNSTEADY)


def _follows_pivotal(course: Course) -> Told:
    ground = course.ground
    if not ground.known:
        return np.full(len(course.first), np.nan), np.ones(len(course.first))
    slope, spread = slope_on(ground.altitude, ground.pivotal, course.first, course.last)
    return slope, _HEIGHT_ERROR / spread


def _height_off_pivotal(course: Course) -> Told:
    sums = summed(course.ground.altitude - course.ground.pivotal_height)
    count = course.last + 1 - course.first
    off, doubt = _above_ground(course, (sums[course.last + 1] - sums[course.first]) / count)
    return off, np.hypot(doubt, _OTHER_GROUND)


def _entry_off_downwind(course: Course) -> Told:
    ground = course.ground
    north, east = ground.wind_north[course.first], ground.wind_east[course.first]
    off = course.seen.heading[course.first] - np.arctan2(east, north)
    doubt = ground.wind_sd[course.first] / np.maximum(np.hypot(north, east), 0.1)
    return np.asarray((off + np.pi) % _ROUND - np.pi), np.hypot(doubt, _ENTRY_ERROR)


def _wind_corrected(course: Course) -> Told:
    """The share of the wind that did not carry the airplane along between two places a whole number of turns
    of the heading apart: there a circle held in the air has gone with it, one held over the ground has not.
    """
    ground, seen = course.ground, course.seen
    if not ground.known:
        return np.full(len(course.first), np.nan), np.ones(len(course.first))
    rounds = np.maximum(np.floor(course.turned / _ROUND + _NEARLY_ROUND), 1.0)
    moved = revolved(course.first, course.last, rounds, seen.heading, ground.north, ground.east)
    seconds = moved[:, 2] * seen.interval
    middle = (course.first + course.last) // 2
    north, east = ground.wind_north[middle], ground.wind_east[middle]
    speed = np.maximum(np.hypot(north, east), 0.1)
    run = speed * np.maximum(seconds, 1.0)
    along = (moved[:, 0] * north + moved[:, 1] * east) / speed
    carried = along / run
    strayed = np.hypot(_PLACE_ERROR, _UNSTEADY * moved[:, 3] * np.sqrt(rounds))
    sd = np.hypot(strayed / run, carried * ground.wind_sd[middle] / speed)
    return 1.0 - carried, np.asarray(np.where(np.isfinite(sd), sd, 1.0))


_QUANTITIES: dict[str, Callable[[Course], Told]] = {
    "turned": _turned,
    "altitude_change": _altitude_change,
    "altitude_change_per_turn": _altitude_change_per_turn,
    "altitude_swing": _altitude_swing,
    "glide_angle": _glide_angle,
    "glide_evenness": _glide_evenness,
    "engine_over_idle": _engine_over_idle,
    "engine_evenness": _engine_evenness,
    "lowest_above_own_ground": _lowest,
    "highest_above_own_ground": _highest,
    "end_above_own_ground": _end,
    "wind_corrected": _wind_corrected,
    "center_spread": _center_spread,
    "line_spread": _line_spread,
    "rectangle_misfit": _rectangle_misfit,
    "follows_pivotal": _follows_pivotal,
    "height_off_pivotal": _height_off_pivotal,
    "entry_off_downwind": _entry_off_downwind,
}
