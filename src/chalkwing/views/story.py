"""The story of a flight on one strip: altitude against time, maneuvers, phases, whose part, and marks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing import words
from chalkwing.debriefs import StretchReport
from chalkwing.trunk import Debriefed
from chalkwing.units import FOOT, Floats

_EVERY_S = 2.0
"""Finer steps cannot be seen on a strip."""


@dataclass(frozen=True)
class Span:
    """One maneuver on the strip [s from the earliest row]; numbered from 1."""

    number: int
    title: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Passage:
    """A phase of a flight, or whose part a stretch was [s from the earliest row]."""

    said: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Noted:
    """A mark made in flight; ``maneuver`` is the number of the one that it falls in or lies next to."""

    t_s: float
    text: str
    by: str
    maneuver: int | None
    inside: bool
    off_s: float

    @property
    def said(self) -> str:
        """What was marked, by whom and where."""
        if self.maneuver is None:
            where = ""
        elif self.inside:
            where = f", in {self.maneuver}"
        else:
            where = f", {words.lasting(self.off_s)} from {self.maneuver}"
        return f"{self.text} ({self.by}{where})"


@dataclass(frozen=True)
class Story:
    """Altitude [ft] of each flight over time [s], and what lies along it.

    ``start_utc`` is the clock at 0 s.
    """

    flights: tuple[tuple[Floats, Floats], ...]
    spans: tuple[Span, ...]
    start_utc: str | None
    phases: tuple[Passage, ...] = ()
    people: tuple[Passage, ...] = ()
    marks: tuple[Noted, ...] = ()

    def clock(self, seconds: float) -> str:
        """The time of day, to the minute where the recording has one."""
        said = self.clock_s(seconds)
        return said[:5] if self.start_utc else said

    def clock_s(self, seconds: float) -> str:
        """The time of day to the second."""
        return words.clock(self.start_utc, seconds)

    @property
    def people_said(self) -> list[str]:
        """Whose each stretch was."""
        return [
            f"{self.clock(each.start_s)} to {self.clock(each.end_s)}: {each.said}" for each in self.people
        ]

    def said_in(self, maneuver: int) -> list[str]:
        """What was marked in flight in a maneuver or next to it."""
        return [
            f"Marked in flight at {self.clock_s(each.t_s)}: {each.text} ({each.by}"
            f"{'' if each.inside else f', {words.lasting(each.off_s)} off'})"
            for each in self.marks
            if each.maneuver == maneuver
        ]


def story_of(found: Debriefed) -> Story:
    """The strip of a lesson."""
    starts = [each.start_utc for each in found.debrief.recordings if each.start_utc and each.start_s == 0.0]
    return Story(
        flights=tuple(
            _thinned(flight.motion.time + flight.shift, flight.motion["altitude"] / FOOT)
            for flight in found.flights
        ),
        spans=tuple(
            Span(k, each.title, each.start_s, each.end_s)
            for k, each in enumerate(found.debrief.maneuvers, start=1)
        ),
        start_utc=starts[0] if starts else None,
        phases=tuple(
            Passage(each.kind.replace("_", "-"), each.start_s, each.end_s) for each in found.debrief.phases
        ),
        people=tuple(Passage(_whose(each), each.start_s, each.end_s) for each in found.debrief.stretches),
        marks=tuple(
            Noted(each.t_s, each.text, each.by, each.maneuver, each.inside, each.off_s)
            for each in found.debrief.marks
        ),
    )


def _whose(stretch: StretchReport) -> str:
    """Whose lesson a stretch was, and who flew in it, as a person said."""
    flown = {"student": "the student flew", "instructor": "the instructor flew", "shared": "both flew"}
    parts = [stretch.student, f"with {stretch.instructor}" if stretch.instructor else None]
    parts.append(flown.get(stretch.flown_by or ""))
    return ", ".join(part for part in parts if part)


def _thinned(time: Floats, altitude: Floats) -> tuple[Floats, Floats]:
    step = max(1, round(_EVERY_S / float(np.median(np.diff(time)))))
    return time[::step], altitude[::step]
