"""Whether the parts of a definition agree with each other: what no part can tell by itself."""

from __future__ import annotations

from collections.abc import Sequence

from chalkwing.errors import Fault
from chalkwing.maneuvers.schema import Definition, Measure, Point
from chalkwing.maneuvers.vocabulary import BORDERS, EVENTS


def check_parts(definition: Definition, faults: list[Fault]) -> None:
    """Note every name that refers to nothing or stands twice, and every part that does not fit the rest."""
    if definition.finder.complete_parts > definition.turns.most:
        faults.append(Fault("finder.complete_parts", f"must be at most turns.count, {definition.turns.most}"))
    _check_names(definition, faults)
    _check_points(definition.points, faults)
    if definition.progress == "time":
        _check_spell(definition, faults)
    elif definition.legs[-1].until.event != "turn_stops":
        path = f"leg[{len(definition.legs) - 1}].until"
        faults.append(Fault(path, 'the last leg must end at "turn_stops"'))


def _check_names(definition: Definition, faults: list[Fault]) -> None:
    points = [point.name for point in definition.points]
    ids = [measure.id for measure in definition.measures]
    legs = [leg.name for leg in definition.legs]
    for what, names in (("point", points), ("element or fact", ids), ("leg", legs)):
        twice = sorted({name for name in names if names.count(name) > 1})
        faults.extend(Fault(what, f"{name!r} is defined twice") for name in twice)
    for group, measures in (("element", definition.elements), ("fact", definition.facts)):
        for index, measure in enumerate(measures):
            _check_measure(measure, f"{group}[{index}]", points, definition, faults)
    for index, error in enumerate(definition.errors):
        faults.extend(
            Fault(f"error[{index}].measures", f"no element or fact is called {id_!r}")
            for id_ in error.measures
            if id_ not in ids
        )
    facts = [measure.id for measure in definition.facts]
    faults.extend(
        Fault("leading_facts", f"no fact is called {id_!r}")
        for id_ in definition.leading_facts
        if id_ not in facts
    )


def _check_points(points: Sequence[Point], faults: list[Fault]) -> None:
    """A point that is called like an event lies there, and the points span the turn."""
    for index, point in enumerate(points):
        if point.name in EVENTS and point.where.event != point.name:
            faults.append(
                Fault(f"point[{index}].name", f"{point.name!r} is an event and cannot lie elsewhere")
            )
    if points[0].where.event != "turn_starts" or points[-1].where.event != "turn_stops":
        faults.append(Fault("point", 'the first must have where = "turn_starts", the last "turn_stops"'))


def _check_spell(definition: Definition, faults: list[Fault]) -> None:
    """A maneuver that goes by time: one part, whose legs end where the finder can see it."""
    if definition.turns.count != 1:
        faults.append(Fault("turns.count", "a maneuver that goes by time has one part"))
    order = ["before", "no", "after"]
    outside = [order.index(leg.outside) for leg in definition.legs]
    if outside != sorted(outside) or outside.count(1) == 0 or max(outside.count(0), outside.count(2)) > 1:
        said = "at most one leg before the maneuver, one or more of its own, at most one after it"
        faults.append(Fault("leg", said))
    for index, leg in enumerate(definition.legs):
        if leg.needed and leg.outside != "after":
            faults.append(Fault(f"leg[{index}].needed", "only of a leg after the maneuver"))
        if leg.until.event not in BORDERS:
            words = ", ".join(BORDERS)
            said = f"a leg of a maneuver that goes by time ends at one of {words}"
            faults.append(Fault(f"leg[{index}].until", said))


def _check_measure(
    measure: Measure, path: str, points: list[str], definition: Definition, faults: list[Fault]
) -> None:
    named = {"point": measure.point, "from": measure.window.first, "to": measure.window.last}
    for key, name in named.items():
        if name and name not in points and name not in EVENTS:
            faults.append(Fault(f"{path}.{key}", f"no point is called {name!r}"))
    if measure.quantity.needs == "ground" and definition.ground == "none":
        faults.append(Fault(f"{path}.quantity", "needs a ground_reference, and this maneuver has none"))
    if measure.during != "any" and (measure.functional != "worst" or definition.progress != "time"):
        faults.append(Fault(f"{path}.during", "is for the functional worst, in a maneuver that goes by time"))
    if measure.against == "assigned" and definition.progress != "time":
        faults.append(Fault(f"{path}.against", "'assigned' is for maneuvers that go by time"))
    if measure.functional == "where" and measure.each == "whole":
        faults.append(
            Fault(f"{path}.each", "where counts from the start of a part: it cannot be of the whole")
        )
    if measure.each == "left_minus_right" and definition.turns.directions != "alternating":
        faults.append(Fault(f"{path}.each", 'left_minus_right needs turns that are "alternating"'))
