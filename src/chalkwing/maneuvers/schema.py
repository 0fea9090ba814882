"""What a maneuver is: the frozen classes into which a definition file is read.

Values inside are SI and radians; the files speak pilot units. See
``docs/decisions/0003-maneuvers-as-data.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from chalkwing.maneuvers.vocabulary import (
    Against,
    Change,
    Directions,
    During,
    Each,
    Engines,
    Event,
    Functional,
    GroundKind,
    Outside,
    Progress,
    Quantity,
    Repeats,
    Side,
    SolverFamily,
    Trending,
)


@dataclass(frozen=True)
class Mark:
    """A place in a part: where ``progress`` is reached (radians of turn, or seconds) or an event falls."""

    progress: float | None = None
    event: Event | None = None


@dataclass(frozen=True)
class Turns:
    """The parts of a maneuver: how many turns, through what angle [rad], and how their directions follow.

    ``count`` is the least; a series may go on to ``most``. ``angle`` is what a part typically turns,
    ``angle_range`` what it may. Parts that are ``unbroken`` are the revolutions of one turn.
    """

    count: int
    angle: float
    directions: Directions
    most: int = 0
    angle_range: tuple[float, float] | None = None
    unbroken: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "most", max(self.most, self.count))

    @property
    def is_series(self) -> bool:
        """Whether how many parts there are is left to whoever flies them."""
        return self.most > self.count or self.unbroken

    def sign(self, part: int) -> int:
        """+1 where part ``part`` (counted from 0) turns the way the first does, -1 where it turns back."""
        return -1 if self.directions == "alternating" and part % 2 else 1


@dataclass(frozen=True)
class Duration:
    """How long something takes [s]: shortest and longest believable, and typical."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True)
class Trend:
    """How a quantity goes over a leg; ``slope`` is the least rate [SI/s] showing it (most, if steady)."""

    quantity: Quantity
    goes: Trending
    slope: float


@dataclass(frozen=True)
class Range:
    """Where a quantity lies throughout a leg [SI]; an infinite end is open."""

    quantity: Quantity
    low: float
    high: float


@dataclass(frozen=True)
class Advice:
    """A sentence of technique as it is taught, and who says so."""

    text: str
    source: str


@dataclass(frozen=True)
class Leg:
    """One stretch of each part, from the end of the leg before it to ``until``."""

    name: str
    title: str
    until: Mark
    duration: Duration
    trends: tuple[Trend, ...]
    ranges: tuple[Range, ...]
    means: tuple[Range, ...] = ()
    """Where a quantity's mean over the leg lies: narrower than ``ranges``; one gust does not decide it."""
    ends: tuple[Range, ...] = ()
    """Where a quantity lies when the leg ends."""
    outside: Outside = "no"
    """Whether it lies before or after the maneuver: it tells what is flown there, and belongs to no part."""
    needed: bool = False
    """Of a leg after the maneuver: where it is not flown, the maneuver was not finished."""
    technique: tuple[Advice, ...] = ()
    """How it is flown, for teaching."""


@dataclass(frozen=True)
class Expectation:
    """What a source says of a quantity at a point: about a value [SI], or a word. A fact, never a limit."""

    quantity: Quantity
    source: str
    about: float | None = None
    word: str | None = None


@dataclass(frozen=True)
class Point:
    """A named place in each part, what is expected there, and what the solver finds there."""

    name: str
    title: str
    where: Mark
    expected: tuple[Expectation, ...]
    solved: tuple[Quantity, ...]


@dataclass(frozen=True)
class Window:
    """From one point to another, by name; or the ``before`` seconds [s] that end at ``last`` (where that is
    empty, at the first point); or the ``lasting`` seconds from ``first``."""

    first: str
    last: str
    before: float | None = None
    lasting: float | None = None


@dataclass(frozen=True)
class LimitKey:
    """Where a standard keeps the limit: a tolerance [low, high], or one absolute figure used one-sidedly."""

    tolerance: str | None = None
    at_least: str | None = None
    at_most: str | None = None

    @property
    def name(self) -> str:
        """The key itself, whichever way the limit is used."""
        return self.tolerance or self.at_least or self.at_most or ""


@dataclass(frozen=True)
class Measure:
    """One thing computed of each flight of the maneuver: an element where a limit may exist, else a fact.

    ``functional`` of ``quantity`` at ``point`` or over ``window``, ``against`` what it is held, for ``each``
    part, the whole, or whatever ``EACH`` says. ``still`` [SI/s] is the rate below which a quantity counts as
    not changing (dwell); ``expected`` the trend a reversal is counted against; ``remark`` is said when the
    size of the value passes ``remark_beyond`` [SI]. ``during`` says in which stretches of a spell a held
    measure is taken; ``engines`` for which airplanes it is meant.
    """

    id: str
    title: str
    quantity: Quantity
    functional: Functional
    each: Each
    against: Against
    point: str | None
    window: Window
    side: Side
    unit: str
    target: str | None = None
    still: float = 0.0
    expected: Trending = "falling"
    magnitude: bool = False
    limit: LimitKey | None = None
    remark: str | None = None
    remark_beyond: float = math.inf
    during: During = "any"
    engines: Engines = "any"


@dataclass(frozen=True)
class Alike:
    """What is not meant as a maneuver and cannot be told from it by anything recorded: ``what`` in words, and
    how often it comes in an hour of any flying.
    """

    what: str
    per_hour: float


@dataclass(frozen=True)
class Finder:
    """What the finder needs beyond legs and points.

    ``complete_share`` of each part's angle must be turned for it to count as complete; a maneuver between
    ``shortest`` and ``longest`` [s] must not be missed; ``excludes`` names kinds that
    cannot be the same stretch. One that goes by time begins at the event ``begins``;
    one of turns may begin where the throttle was closed before them, and end where the descent after them
    ``ends``. ``pause`` is how long the wings are level between two parts; a series is complete from
    ``complete_parts`` parts. What is flown because another maneuver follows is found by that one, beginning
    ``leads_within`` [s] of its end. ``alike`` is what else is flown just so.
    """

    repeats: Repeats
    excludes: tuple[str, ...]
    complete_share: float
    shortest: float
    longest: float
    begun_share: float = 0.4
    in_one_turn: int = 1
    begins: Event = "turn_starts"
    ends: Event = "turn_stops"
    pause: Duration | None = None
    complete_parts: int = 1
    leads_within: float = 0.0
    alike: Alike | None = None


@dataclass(frozen=True)
class FlownError:
    """One way of making a common error that a point mass can fly: what it changes of the plan, ``by`` what.

    ``by`` is SI; ``title`` says it as an instructor would. Sizes are common practice, no source.
    """

    title: str
    change: Change
    by: float


@dataclass(frozen=True)
class CommonError:
    """A published common error in our words: how the data shows it (or that it cannot), and what helps.

    ``flown`` is empty for what a point mass cannot show: a stall, a slip or skid, a look not taken.
    """

    id: str
    title: str
    shows: str
    correction: str
    observable: bool
    measures: tuple[str, ...]
    flown: tuple[FlownError, ...] = ()


@dataclass(frozen=True)
class Definition:
    """One maneuver, complete enough for solver, finder, judge, card and page."""

    kind: str
    title: str
    summary: str
    progress: Progress
    turns: Turns
    legs: tuple[Leg, ...]
    points: tuple[Point, ...]
    elements: tuple[Measure, ...]
    facts: tuple[Measure, ...]
    finder: Finder
    solver: SolverFamily
    errors: tuple[CommonError, ...]
    source: str
    ground: GroundKind = "none"
    whole: tuple[Range, ...] = ()
    """Where a quantity of the whole stretch lies: what a leg cannot say. Serves the finder; no limit. A range
    with an open end can only speak against: what lies within it is nothing special."""
    leading_facts: tuple[str, ...] = ()
    """Ids of the facts that are told before all others, in this order."""

    def point(self, name: str) -> Point:
        """The point called ``name``; a KeyError cannot happen for names that the definition itself uses."""
        return next(point for point in self.points if point.name == name)

    def measure(self, id: str) -> Measure | None:  # noqa: A002 - the contract calls it id
        """The element or fact with this id, or None."""
        return next((measure for measure in self.measures if measure.id == id), None)

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Elements, then facts."""
        return self.elements + self.facts
