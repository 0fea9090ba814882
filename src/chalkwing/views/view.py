"""One maneuver as pictures, tables and the page's script take it: made once, in pilot units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chalkwing.debriefs import ManeuverReport
from chalkwing.units import Floats
from chalkwing.views.ground import GroundMark
from chalkwing.views.traces import Against, Trace


@dataclass(frozen=True)
class LimitMark:
    """A published limit where it applies: on ``quantity``, at a heading change [deg] and a time [s].

    ``low`` and ``high`` are on the scale of the picture (None: open), ``said`` is the limit as published.
    For ``quantity`` "heading_change_deg" the limit lies along the heading axis itself.
    """

    element: str
    quantity: str
    half: int | None
    heading_change_deg: float
    time_s: float
    low: float | None
    high: float | None
    said: str


@dataclass(frozen=True)
class WindThen:
    """The wind during the maneuver: where it came from, true [deg], and its speed [kt]."""

    from_deg_true: float
    speed_kt: float


@dataclass(frozen=True)
class StretchMark:
    """A stretch that was flown "level", "straight" or "turning", in seconds from the maneuver's start."""

    during: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class NotedMark:
    """A mark made in flight: its words, when [s from the maneuver's start], and where in the turn [deg]."""

    words: str
    time_s: float
    heading_change_deg: float


@dataclass(frozen=True)
class ManeuverView:
    """What was flown, what was planned, and where limits apply.

    ``flown`` has one trace a part, ``planned`` too where there is a Reference. Times count from ``start_s``
    (seconds from the earliest row of the recordings). ``span_deg`` is what one part should turn through;
    ``level_pitch_deg`` the attitude of level flight at entry, from which pitch is drawn: a point's
    ``pitch_deg`` less it. ``whole`` are the places [ft] of all that was flown, between the
    parts too. ``speed_name`` is KIAS or KCAS; ``plan_speed_name`` the same of the plan.
    """

    report: ManeuverReport
    against: Against
    span_deg: float
    start_s: float
    flown: tuple[Trace, ...]
    planned: tuple[Trace, ...]
    limits: tuple[LimitMark, ...]
    directions: tuple[str, ...]
    speed_name: str
    plan_speed_name: str | None
    altitude_name: str
    level_pitch_deg: float
    entry: Mapping[str, float]
    wind: WindThen
    whole: Mapping[str, Floats]
    ground: tuple[GroundMark, ...] = ()
    stretches: tuple[StretchMark, ...] = ()
    noted: tuple[NotedMark, ...] = ()

    @property
    def traces(self) -> tuple[Trace, ...]:
        """The plan first, so that what was flown is drawn over it."""
        return self.planned + self.flown

    @property
    def quantities(self) -> tuple[str, ...]:
        """The names that every flown part has."""
        return tuple(self.flown[0].values)

    def shows(self, quantity: str) -> bool:
        """Whether that quantity is known of what was flown."""
        return quantity in self.flown[0].values
