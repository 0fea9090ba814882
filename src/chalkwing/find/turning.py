"""A definition whose progress is heading change held against the turns of a flight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chalkwing.find.borders import FOLLOWS
from chalkwing.find.candidates import Candidates, lay_candidates
from chalkwing.find.edges import Edge, passage, roll_in, roll_out
from chalkwing.find.evidence import span_odds
from chalkwing.find.explained import Explained, Flight
from chalkwing.find.extent import BEGIN_SD, END_SD, Extent, extent
from chalkwing.find.legs import lay_legs
from chalkwing.find.occurrence import Border, Direction, Occurrence, Part
from chalkwing.find.signals import Signals
from chalkwing.find.spans import Spans, lay_spans
from chalkwing.find.surroundings import amid_a_chain, edges_in_lulls
from chalkwing.find.whole import Course, whole_odds
from chalkwing.maneuvers.schema import Definition
from chalkwing.motion.motion import Motion


def explain_turns(definition: Definition, flight: Flight) -> Explained:
    """Every sequence of turns that may be the definition's parts, with its log odds."""
    seen, tuning = flight.seen, flight.tuning
    spans = lay_spans(definition, flight.bridged, seen)
    legs = lay_legs(definition, spans, seen)
    worth = span_odds(definition, spans, legs, seen, tuning)
    candidates = lay_candidates(definition, spans, worth, tuning)
    turned = seen.index(candidates.start), seen.index(candidates.end)
    reach = extent(definition, *turned, flight.motion, seen, tuning)
    course = Course(candidates, spans, reach.first, reach.last, seen, flight.ground)
    evidence = candidates.worth + whole_odds(definition, course, tuning) + reach.odds
    if definition.turns.unbroken:
        evidence += tuning.failure * edges_in_lulls(candidates, spans, flight.turns)
    return Explained(
        definition=definition,
        first=reach.first,
        last=reach.last,
        weights=evidence - tuning.rarity - tuning.abandoned * candidates.broken,
        turns=candidates.count,
        broken=candidates.broken,
        amid=amid_a_chain(definition, spans, worth, tuning)[candidates.spans[:, 0]],
        occurrence=lambda row: _reaching(
            _occurrence(definition, spans, candidates, row, flight), reach, row, seen
        ),
    )


def _occurrence(
    definition: Definition, spans: Spans, candidates: Candidates, row: int, flight: Flight
) -> Occurrence:
    """The candidate as an Occurrence, its edges found to a fraction of the grid."""
    parts: list[Part] = []
    for span in candidates.spans[row][candidates.begun[row]]:
        start, end = _edges(int(span), spans, flight)
        parts.append(Part(_side(int(spans.side[span])), start.time, end.time, start.sd, end.sd))
    return Occurrence(
        kind=definition.kind,
        direction=parts[0].direction,
        start=parts[0].start,
        end=parts[-1].end,
        start_sd=parts[0].start_sd,
        end_sd=parts[-1].end_sd,
        probability=0.0,
        status="broken_off" if candidates.broken[row] else "complete",
        parts=tuple(parts),
    )


def _reaching(turns: Occurrence, reach: Extent, row: int, seen: Signals) -> Occurrence:
    """The occurrence with what lies before its first turn and after its last; its parts stay the turns."""
    begin, end = float(seen.time[reach.first[row]]), float(seen.time[reach.last[row]])
    found = turns
    if reach.begins_before and begin < turns.start:
        begin = max(begin - FOLLOWS, float(seen.time[0]))
        border = Border("throttle_closed", begin, BEGIN_SD)
        found = replace(found, start=begin, start_sd=BEGIN_SD, borders=(*found.borders, border))
    if reach.ends_after and end > turns.end:
        border = Border("ends", end, END_SD)
        found = replace(found, end=end, end_sd=END_SD, borders=(*found.borders, border))
    return found


def _side(sign: int) -> Direction:
    return "right" if sign > 0 else "left"


def _edges(span: int, spans: Spans, flight: Flight) -> tuple[Edge, Edge]:
    """Where a span begins and ends, by what its edges are: a roll-in, a passage, or the middle of a turn."""
    motion, seen, turns = flight.motion, flight.seen, flight.turns
    bank_sd = motion.sds["bank"]
    first, last, side = int(spans.first[span]), int(spans.last[span]), int(spans.side[span])
    start, end = float(spans.start[span]), float(spans.end[span])
    before = float(turns.end[first - 1]) if first > 0 else motion.start
    after = float(turns.start[last + 1]) if last + 1 < len(turns) else motion.end
    if not spans.opens[span]:
        opening = _revolution_edge(motion, start)
    elif start <= before and first > 0:
        opening = passage(seen, bank_sd, near=start)
    else:
        opening = roll_in(seen, bank_sd, near=start, side=side, earliest=before, tuning=flight.tuning)
    if not spans.closes[span]:
        closing = _revolution_edge(motion, end)
    elif end >= after and last + 1 < len(turns):
        closing = passage(seen, bank_sd, near=end)
    else:
        closing = roll_out(seen, bank_sd, near=end, side=side, latest=after, tuning=flight.tuning)
    return opening, closing


def _revolution_edge(motion: Motion, time: float) -> Edge:
    """An edge in the middle of a turn is where the heading comes round: its sd over the rate of turn."""
    rate = abs(motion.at("turn_rate", time))
    return Edge(time, float(np.hypot(motion.sd_at("heading_true", time) / max(rate, 1e-3), 0.1)))
