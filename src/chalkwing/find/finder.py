"""Where in a Motion each maneuver begins, turns and ends: the whole flight explained at once.

    turns --spans--> candidates of every definition --evidence--> log odds --schedule--> occurrences

Nothing here knows a maneuver by name; all comes from the definitions. The reasons for this shape are in
``docs/decisions/0005-finding-by-scheduling.md``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.find.explained import Explained, Flight
from chalkwing.find.ground import over_ground
from chalkwing.find.links import before_a_gap, links_among
from chalkwing.find.occurrence import Occurrence
from chalkwing.find.outing import Outing, outing
from chalkwing.find.scales import own_scale
from chalkwing.find.schedule import best_together, probabilities
from chalkwing.find.signals import signals
from chalkwing.find.spans import bridge_turns
from chalkwing.find.spells import explain_spells
from chalkwing.find.tuning import DEFAULT, Tuning
from chalkwing.find.turning import explain_turns
from chalkwing.find.turns import Ints, find_turns
from chalkwing.find.weighed import Weighed, weigh
from chalkwing.maneuvers.schema import Definition
from chalkwing.maneuvers.vocabulary import Progress
from chalkwing.motion.motion import Motion
from chalkwing.units import Floats

_SAME = 0.5
"""Overlap (intersection over union) from which two candidates of a kind are the same maneuver."""

_RARE = 0.34
"""Share of a flight without a recorded row near by from which it is not searched: rows 5 s apart or more tell
no maneuver from another."""

_TOLD = 0.4
"""Probability from which a maneuver is told: what is less probable misleads oftener than it helps."""


_WAYS: dict[Progress, Callable[[Definition, Flight], Explained]] = {
    "heading_change": explain_turns,
    "time": explain_spells,
}
"""How a definition is held against a flight, by its progress."""


def can_find(definition: Definition) -> bool:
    """Whether `find` knows how to lay out this definition's progress."""
    return definition.progress in _WAYS


def find(
    motion: Motion, definitions: Iterable[Definition], *, tuning: Tuning = DEFAULT
) -> tuple[Occurrence, ...]:
    """Every maneuver of the flight that one of the definitions explains better than ordinary flying.

    Parameters
    ----------
    motion : Motion
        The whole flight.
    definitions : iterable of Definition
        The maneuvers to look for. Where a longer one explains a stretch better than several short ones, the
        longer wins, so hand in all that may have been flown.
    tuning : Tuning
        The finder's own few numbers; for studies only.

    Returns
    -------
    occurrences : tuple of Occurrence
        In order of time; neighbors share three seconds at most. ``probability`` is that of this kind at this
        place among all ways to explain the flight, two in five at least; ``status`` is ``broken_off`` where
        the first legs were flown and the rest was given up. A flight without turns, or with rows too rare to
        tell (5 s apart), gives an empty tuple.

    Raises
    ------
    OutsideModel
        A definition whose progress is not heading change (see `can_find`).
    """
    return find_together((motion,), definitions, tuning=tuning)[0]


def find_together(
    motions: Iterable[Motion], definitions: Iterable[Definition], *, tuning: Tuning = DEFAULT
) -> tuple[tuple[Occurrence, ...], ...]:
    """The same for all flights of one recording: what one holds says what kind of flying the others are.

    Returns
    -------
    occurrences : tuple of tuple of Occurrence
        For each of ``motions``, in their order.

    Raises
    ------
    OutsideModel
        A definition whose progress is not known (see `can_find`).
    """
    known = tuple(definitions)
    for definition in known:
        if not can_find(definition):
            raise OutsideModel(
                f"maneuvers whose progress is {definition.progress} cannot be found in a flight yet.",
                where=definition.kind,
                next_step="Leave it out, or mark it by hand in a correction.",
            )
    flights = tuple(motions)
    weighed = [_weighed(motion, known, tuning) if _tells(motion, known) else None for motion in flights]
    hours = sum(motion.end - motion.start for motion in flights) / 3600.0
    kind_of_flying = outing([_clearest(one) for one in weighed if one is not None], hours, tuning)
    return tuple(() if one is None else _chosen(one, kind_of_flying) for one in weighed)


def _tells(motion: Motion, known: Sequence[Definition]) -> bool:
    return bool(known) and float(np.mean(motion.in_gap)) <= _RARE


def flight_seen(motion: Motion, definitions: Iterable[Definition], *, tuning: Tuning = DEFAULT) -> Flight:
    """The flight as ``definitions`` are held against it."""
    scale = own_scale(motion)
    seen = signals(motion, _named(definitions), scale)
    turns = find_turns(seen.time, seen.bank, seen.flying, tuning)
    bridged = bridge_turns(turns, seen, tuning)
    return Flight(motion, seen, turns, bridged, over_ground(motion, seen.flying, scale.ground), tuning)


def explain(definition: Definition, flight: Flight) -> Explained | None:
    """Every stretch that ``definition`` may explain; None where its progress cannot be laid out yet."""
    way = _WAYS.get(definition.progress)
    return None if way is None else way(definition, flight)


def _named(definitions: Iterable[Definition]) -> frozenset[str]:
    """The quantities that the definitions' legs speak of."""
    legs = [leg for definition in definitions for leg in definition.legs]
    ranged = {said.quantity.name for leg in legs for said in (*leg.ranges, *leg.means, *leg.ends)}
    return frozenset(ranged | {said.quantity.name for leg in legs for said in leg.trends})


def _weighed(motion: Motion, known: Sequence[Definition], tuning: Tuning) -> Weighed:
    """Every candidate of every definition, with its log odds."""
    flight = flight_seen(motion, known, tuning=tuning)
    return weigh(flight, [_WAYS[definition.progress](definition, flight) for definition in known])


def _clearest(weighed: Weighed) -> tuple[Ints, Floats, Floats]:
    """Kinds and log odds of the best candidates that do not overlap, and those of what looks like each. What
    is less than even says nothing of the flight: a glider's turns are a little like many maneuvers."""
    meant = np.where(weighed.ordinary, -np.inf, weighed.weights)
    weights = np.where(weighed.leads, -np.inf, weighed.left(meant))
    best = best_together(weighed.first, weighed.last, weights)
    return weighed.kind[best], weighed.weights[best], weighed.beside[best]


def _chosen(weighed: Weighed, flying: Outing) -> tuple[Occurrence, ...]:
    """The best explanation of the flight by candidates of all definitions together."""
    first, last, kind, flight = weighed.first, weighed.last, weighed.kind, weighed.flight
    weights = weighed.left(weighed.shifted(flying.shift)) + before_a_gap(weighed, flying)
    links = links_among(weighed, weights)
    share = probabilities(first, last, weights, links)
    found: list[Occurrence] = []
    for index in best_together(first, last, weights, links):
        if weighed.ordinary[index]:
            continue
        same = (kind == kind[index]) & ~weighed.ordinary & (_overlap(first, last, int(index)) >= _SAME)
        probability = float(min(np.sum(share[same]), 1.0))
        if probability < _TOLD:
            continue
        one = weighed.explained[kind[index]]
        occurrence = one.occurrence(int(weighed.row[index]))
        if occurrence.status == "complete" and not _long_enough(occurrence, one.definition):
            continue
        follows = (
            bool(found)
            and found[-1].kind == occurrence.kind
            and occurrence.start - found[-1].end < flight.tuning.bridge
        )
        chained = follows and one.definition.finder.repeats == "chain"
        found.append(replace(occurrence, probability=probability, chained=chained))
    return tuple(found)


def _long_enough(found: Occurrence, definition: Definition) -> bool:
    """Whether it lasted as its definition asks between its edges as they were found in the end."""
    return found.end - found.start >= definition.finder.shortest


def _overlap(first: Ints, last: Ints, index: int) -> Floats:
    """Intersection over union of every stretch with that of ``index``."""
    common = np.minimum(last, last[index]) - np.maximum(first, first[index])
    union = np.maximum(last, last[index]) - np.minimum(first, first[index])
    return np.asarray(np.maximum(common, 0) / np.maximum(union, 1))
