"""What the judge hands over: points, elements and facts of one occurrence, with their uncertainty.

Points are SI and radians, as everything inside. An `ElementResult` is in the pilot unit it names, because a
published limit is written in that unit and both are read together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from chalkwing.judge.ground_reference import GroundPlace
from chalkwing.judge.stall_speed import BreakSpeed
from chalkwing.maneuvers.standards import Band
from chalkwing.maneuvers.vocabulary import During
from chalkwing.motion.motion import Origin

Verdict = Literal["met", "not_met", "cannot_tell"]


@dataclass(frozen=True)
class Assigned:
    """What was asked of the student [SI]: ``altitude`` [m], ``airspeed`` [m/s], magnetic ``heading`` and
    ``bank`` (magnitude) [rad]. Where None, the entry value (for bank the standard's target) stands in.
    """

    altitude: float | None = None
    airspeed: float | None = None
    heading: float | None = None
    bank: float | None = None


@dataclass(frozen=True)
class Value:
    """A value with its sd [SI], whether it was measured, and of which kind (indicated, altimeter, …)."""

    value: float
    sd: float
    origin: Origin
    kind: str | None = None


@dataclass(frozen=True)
class PointResult:
    """What was flown at one named point of one half, counted from 1 [SI, radians; time s].

    ``heading_change`` counts in the direction of turn from where the half began.
    """

    half: int
    name: str
    title: str
    time: Value
    heading_change: Value
    bank_into_turn: Value
    pitch: Value
    airspeed: Value
    altitude: Value


@dataclass(frozen=True)
class Excursions:
    """How a held limit was left, medians over the draws: ``worst`` signed in the element's unit; seconds."""

    worst: float
    count: int
    outside: float
    longest: float


@dataclass(frozen=True)
class ElementResult:
    """One element, or one fact (``limit`` and ``verdict`` None), of one half or of the whole (``half`` None).

    ``value`` and ``sd`` are in ``unit``. Of a deviation that is held, ``value`` is the worst, and ``between``
    the smallest and the largest, one of which it is: an airplane that rolls 3° either way has no worse side.
    ``note`` says what stood in for an assigned value; ``reason`` says in words why the verdict is what it is,
    or why there is no value.
    """

    id: str
    title: str
    half: int | None
    unit: str
    value: float | None
    sd: float | None
    origin: Origin | None
    limit: Band | None = None
    between: tuple[float, float] | None = None
    excursions: Excursions | None = None
    probability_met: float | None = None
    verdict: Verdict | None = None
    reason: str | None = None
    document: str | None = None
    edition: str | None = None
    task: str | None = None
    note: str | None = None


@dataclass(frozen=True)
class StretchFlown:
    """A stretch over which limits were held: ``during`` "level", "straight" or "turning", from when to when.

    ``start`` and ``end`` [s] on the motion's clock.
    """

    during: During
    start: float
    end: float


@dataclass(frozen=True)
class Judgement:
    """One occurrence judged: where it was flown through, its elements, then its facts.

    ``places`` on the ground it was judged by; ``break_speed`` is a stall's, from which the day's is pooled,
    and ``slow_speed`` the slowest that slow flight bore. ``stretches`` are those that a spell was cut into.
    """

    kind: str
    standard: str
    points: tuple[PointResult, ...]
    elements: tuple[ElementResult, ...]
    facts: tuple[ElementResult, ...]
    places: tuple[GroundPlace, ...] = ()
    break_speed: BreakSpeed | None = None
    slow_speed: BreakSpeed | None = None
    stretches: tuple[StretchFlown, ...] = ()

    def element(self, id: str, half: int | None = None) -> ElementResult:  # noqa: A002 - the contract's word
        """The element or fact called ``id`` (of ``half`` where it has one); KeyError if there is none."""
        for result in self.elements + self.facts:
            if result.id == id and result.half == half:
                return result
        raise KeyError((id, half))
