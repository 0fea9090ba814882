"""Corrections as data: what a person changes of the automatic result, each with who, when and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from chalkwing.find.corrections.moments import Moment
from chalkwing.find.occurrence import Direction, FlownBy

WITHIN = 15.0
"""Seconds by which a maneuver's start may have moved since a correction named it. Twice what nine starts in
ten are off without attitude recorded; less than half of the shortest maneuver that may follow another."""


@dataclass(frozen=True)
class Address:
    """Which maneuver is meant: of ``kind``, begun ``at`` that moment, give or take ``within`` [s].

    Without a kind the maneuver that holds the moment is meant, else the one that begins nearest.
    """

    at: Moment
    kind: str | None = None
    within: float = WITHIN

    def __str__(self) -> str:
        return f"{(self.kind or 'maneuver').replace('_', ' ')} at {self.at}"


@dataclass(frozen=True)
class Add:
    """A maneuver that was not found."""

    kind: str
    start: Moment
    end: Moment
    direction: Direction | None = None


@dataclass(frozen=True)
class Drop:
    """A maneuver that was found and is none."""

    which: Address


@dataclass(frozen=True)
class Rename:
    """A maneuver that was taken for another kind."""

    which: Address
    to: str


@dataclass(frozen=True)
class Trim:
    """Another start or end."""

    which: Address
    start: Moment | None = None
    end: Moment | None = None


@dataclass(frozen=True)
class Label:
    """Who flew a maneuver."""

    which: Address
    flown_by: FlownBy


@dataclass(frozen=True)
class Asked:
    """What was assigned [SI; magnetic heading and bank in rad]; None where nothing was."""

    altitude: float | None = None
    airspeed: float | None = None
    heading: float | None = None
    bank: float | None = None

    def over(self, other: Asked) -> Asked:
        """This laid over ``other``: what is None here is taken from there."""
        mine = {name: value for name, value in vars(self).items() if value is not None}
        return replace(other, **mine)


NOTHING = Asked()
"""Nothing was assigned."""


@dataclass(frozen=True)
class Assign:
    """What was assigned for one maneuver, or for all where none is named."""

    which: Address | None
    asked: Asked


Place = tuple[float, float]
"""Latitude and longitude [rad]."""


@dataclass(frozen=True)
class Ground:
    """What on the ground a maneuver was flown by [rad, m]: pylons or a point, a line, a field's corners."""

    which: Address
    points: tuple[Place, ...] = ()
    line: tuple[Place, Place] | None = None
    corners: tuple[Place, ...] = ()
    elevation: float | None = None
    touchdown_beyond: float | None = None


@dataclass(frozen=True)
class Mark:
    """A word written down in flight, with its time from the card."""

    at: Moment
    text: str


@dataclass(frozen=True)
class Stretch:
    """Whose lesson a stretch of the recording was, and who flew in it; open ends reach to the recording's."""

    start: Moment | None = None
    end: Moment | None = None
    student: str | None = None
    instructor: str | None = None
    flown_by: FlownBy | None = None


What = Add | Drop | Rename | Trim | Label | Assign | Ground | Mark | Stretch


@dataclass(frozen=True)
class Correction:
    """One change, and who made it, when, and why."""

    what: What
    by: str
    when: datetime | None = None
    why: str | None = None


@dataclass(frozen=True)
class Corrections:
    """All corrections of one lesson, in the order in which they were made; later ones see earlier ones.

    ``recording`` is the sha256 of the recording they were made for: their seconds count from its first row.
    ``zone`` is where their clock times are kept unless they say; UTC where it is None.
    """

    entries: tuple[Correction, ...] = ()
    recording: str | None = None
    zone: str | None = None

    def __len__(self) -> int:
        return len(self.entries)

    def and_then(self, *further: Correction) -> Corrections:
        """With further corrections after these."""
        return replace(self, entries=(*self.entries, *further))

    def undone(self) -> Corrections:
        """Without the last correction; the same where there is none."""
        return replace(self, entries=self.entries[:-1])
