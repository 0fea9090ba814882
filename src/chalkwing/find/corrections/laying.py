"""A maneuver laid where a person says it was: its parts from its definition, its edges from the flight.

Where the finder knows a stretch of that kind with edges within a few seconds of the times given, however
improbable it thought it, that stretch is taken: its edges are those of the flying. Else the parts are made of
the turns that lie between the times given.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chalkwing.errors import UnfitCorrection
from chalkwing.find.corrections.moments import Span
from chalkwing.find.explained import Flight
from chalkwing.find.finder import explain, flight_seen
from chalkwing.find.occurrence import Direction, Occurrence, Part
from chalkwing.find.turns import Turns
from chalkwing.maneuvers.schema import Definition
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

EASE = 6.0
"""Seconds by which an edge may be moved from the time given, to where the flying has it."""
GIVEN_SD = 1.5
"""Sd of an edge that was given by hand and stays so [s] (our own)."""
SHORTEST = 2.0
"""Nothing shorter is a maneuver [s]."""


def lay(
    motion: Motion,
    definition: Definition,
    *,
    start: Span,
    end: Span,
    direction: Direction | None = None,
    ease: tuple[float, float] = (EASE, EASE),
) -> Occurrence:
    """An Occurrence of ``definition`` from about ``start`` to about ``end`` [s of the motion].

    ``ease`` [s] is how far each edge may be moved beyond the time given, to where the flying has it.

    Raises
    ------
    UnfitCorrection
        The times lie outside the flight or leave nothing between them, or nothing is flown there that could
        be a part of this maneuver.
    """
    _refuse_outside(motion, definition, start, end)
    flight = flight_seen(motion, [definition])
    made = _known_stretch(definition, flight, start, end, direction, ease)
    if made is None:
        made = _by_hand(definition, flight, start.start, end.start, direction)
    return replace(made, probability=1.0, corrected=True)


def _refuse_outside(motion: Motion, definition: Definition, start: Span, end: Span) -> None:
    if end.start - start.start < SHORTEST:
        raise UnfitCorrection(
            f"{definition.title.lower()}: it would end before or as soon as it begins.",
            fault="empty",
            next_step="Give a start and a later end; seconds help: 14:09:04 to 14:09:38.",
        )
    if start.gap(motion.start, motion.end) > 0.0 or end.gap(motion.start, motion.end) > 0.0:
        raise UnfitCorrection(
            f"{definition.title.lower()}: its times do not lie in one flight.",
            fault="outside",
            next_step="The debrief says when each flight began and ended.",
        )


def _known_stretch(
    definition: Definition,
    flight: Flight,
    start: Span,
    end: Span,
    direction: Direction | None,
    ease: tuple[float, float],
) -> Occurrence | None:
    """The stretch known to the finder whose edges lie nearest the times given, if any lies near enough."""
    explained = explain(definition, flight)
    if explained is None or len(explained) == 0:
        return None
    first, last = flight.seen.time[explained.first], flight.seen.time[explained.last]
    early, late = _gaps(first, start), _gaps(last, end)
    near = np.flatnonzero((early <= ease[0]) & (late <= ease[1]))
    # Of equal edges the likelier first: the same stretch may be laid out whole or broken off.
    for row in near[np.lexsort((-explained.weights[near], (early + late)[near]))]:
        occurrence = explained.occurrence(int(row))
        near_start = start.gap(occurrence.start, occurrence.start) <= ease[0]
        near_end = end.gap(occurrence.end, occurrence.end) <= ease[1]
        if near_start and near_end and direction in (None, occurrence.direction):
            return occurrence
    return None


def _gaps(times: Floats, span: Span) -> Floats:
    return np.maximum(np.maximum(times - span.end, span.start - times), 0.0)


def _by_hand(
    definition: Definition, flight: Flight, start: float, end: float, direction: Direction | None
) -> Occurrence:
    start, end = max(start, flight.motion.start), min(end, flight.motion.end)
    if definition.progress == "heading_change":
        parts = _turning_parts(definition, flight, start, end)
    else:
        parts = [_part("none", start, end)]
    return Occurrence(
        kind=definition.kind,
        direction=direction or parts[0].direction,
        start=parts[0].start,
        end=parts[-1].end,
        start_sd=parts[0].start_sd,
        end_sd=parts[-1].end_sd,
        probability=1.0,
        status="complete" if _complete(definition, flight, parts) else "broken_off",
        parts=tuple(parts),
    )


def _part(direction: Direction, start: float, end: float) -> Part:
    return Part(direction, start, end, GIVEN_SD, GIVEN_SD)


def _turning_parts(definition: Definition, flight: Flight, start: float, end: float) -> list[Part]:
    """The turns between the times given as parts; the outer edges are those given, for a person said so."""
    runs = _runs(definition, flight.turns, start, end)
    if not runs:
        raise UnfitCorrection(
            f"{definition.title.lower()}: no turn is flown between the times given.",
            fault="empty",
            next_step="Check the times; a maneuver of turns cannot be laid where the wings stay level.",
        )
    runs[0] = (runs[0][0], start, runs[0][2])
    runs[-1] = (runs[-1][0], runs[-1][1], end)
    cut = [each for run in runs for each in _revolutions(definition, flight, run)]
    return [_part("right" if side > 0 else "left", begun, stopped) for side, begun, stopped in cut]


Run = tuple[int, float, float]
"""Side, start and end [s] of turning that goes one way."""


def _runs(definition: Definition, turns: Turns, start: float, end: float) -> list[Run]:
    """The runs of turning that lie mostly between the times; at most as many as the maneuver has parts."""
    runs: list[Run] = []
    for side, begun, stopped in zip(turns.side, turns.start, turns.end, strict=True):
        common = min(end, float(stopped)) - max(start, float(begun))
        if common < min(0.5 * float(stopped - begun), 0.5 * (end - start)) or common <= 0.0:
            continue
        if runs and runs[-1][0] == side and _is_one(definition, float(begun) - runs[-1][2]):
            runs[-1] = (runs[-1][0], runs[-1][1], float(stopped))
        else:
            runs.append((int(side), max(float(begun), start), min(float(stopped), end)))
    if definition.turns.directions == "same":
        ways = [run[0] for run in runs]
        runs = [run for run in runs if run[0] == max(set(ways), key=ways.count)]
    return runs[: definition.turns.most]


def _is_one(definition: Definition, pause: float) -> bool:
    """Whether two turns the same way are one part: where a part is one turn they are, after a short pause."""
    single = definition.turns.most == 1 or definition.turns.unbroken
    return single or definition.turns.directions == "alternating" or pause < SHORTEST


def _revolutions(definition: Definition, flight: Flight, run: Run) -> list[Run]:
    """A run cut where its heading comes round, where the parts are revolutions of one turn."""
    side, start, end = run
    if not definition.turns.unbroken:
        return [run]
    time, heading = flight.seen.time, flight.seen.heading
    inside = slice(flight.seen.point(start), flight.seen.point(end) + 1)
    turned = np.maximum.accumulate(side * (heading[inside] - heading[inside][0]))
    count = int(np.clip(round(float(turned[-1]) / definition.turns.angle), 1, definition.turns.most))
    marks = definition.turns.angle * np.arange(1, count)
    cuts = [start, *(float(each) for each in np.interp(marks, turned, time[inside])), end]
    return [(side, cuts[k], cuts[k + 1]) for k in range(count)]


def _complete(definition: Definition, flight: Flight, parts: list[Part]) -> bool:
    """Whether there are enough parts, and the last of them turned far enough."""
    if definition.progress != "heading_change":
        return True
    if len(parts) < max(definition.turns.count, definition.finder.complete_parts):
        return False
    turned = abs(
        flight.motion.at("heading_true", parts[-1].end) - flight.motion.at("heading_true", parts[-1].start)
    )
    return bool(turned >= definition.finder.complete_share * definition.turns.angle)
