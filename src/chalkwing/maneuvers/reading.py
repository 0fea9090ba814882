"""A definition file read into a `Definition`, with all its faults reported at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import get_args

from chalkwing.errors import Fault, FaultyDefinition
from chalkwing.maneuvers.checking import check_parts
from chalkwing.maneuvers.fields import Fields
from chalkwing.maneuvers.schema import (
    Advice,
    Alike,
    CommonError,
    Definition,
    Duration,
    Expectation,
    Finder,
    FlownError,
    Leg,
    LimitKey,
    Mark,
    Measure,
    Point,
    Range,
    Trend,
    Turns,
    Window,
)
from chalkwing.maneuvers.vocabulary import (
    AFTER_TURNS,
    AGAINST,
    BEFORE_TURNS,
    BORDERS,
    CHANGES,
    DURING,
    EACH,
    EVENTS,
    FUNCTIONALS,
    QUANTITIES,
    UNITS,
    WHOLE,
    Against,
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
from chalkwing.toml_files import read_toml
from chalkwing.units import DEGREE

SCHEMA = 1
_UNIT_OF = {"where": "deg", "dwell": "s", "duration": "s", "regained": "s", "seen": "seen", "count": "count"}


def read_definition(path: Path) -> Definition:
    """The maneuver defined in the file at ``path``.

    Raises
    ------
    FaultyDefinition
        Listing every fault, each with its path in the file, such as ``leg[2].until``.
    """
    return definition_from(read_toml(path, FaultyDefinition), where=path.name)


def definition_from(tables: object, *, where: str) -> Definition:
    """The maneuver in the tables of a definition file; ``where`` names the file in a refusal."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    definition = _definition(fields)
    fields.close()
    if not faults:
        check_parts(definition, faults)
    if faults:
        raise FaultyDefinition(
            where=where,
            faults=faults,
            next_step="The words a definition may use are listed in chalkwing.maneuvers.vocabulary.",
        )
    return definition


def _definition(fields: Fields) -> Definition:
    schema = fields.whole("schema")
    if schema != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}, not {schema}")
    progress: Progress = fields.choice("progress", get_args(Progress))
    return Definition(
        kind=_kind(fields),
        title=fields.text("title"),
        summary=fields.text("summary"),
        source=fields.text("source"),
        progress=progress,
        turns=_one_part(fields) if progress == "time" else _turns(fields.table("turns")),
        legs=fields.each("leg", lambda leg: _leg(leg, progress), required=True),
        points=fields.each("point", lambda point: _point(point, progress), required=True),
        elements=fields.each("element", lambda measure: _measure(measure, element=True)),
        facts=fields.each("fact", lambda measure: _measure(measure, element=False)),
        finder=_finder(fields.table("finder"), progress),
        solver=fields.choice("solver", get_args(SolverFamily)),
        errors=fields.each("error", _common_error),
        ground=_ground(fields),
        whole=fields.each("whole", partial(_range, known=WHOLE)),
        leading_facts=fields.texts("leading_facts"),
    )


def _ground(fields: Fields) -> GroundKind:
    return fields.choice("ground_reference", get_args(GroundKind), default="none")


def _kind(fields: Fields) -> str:
    kind = fields.text("kind")
    if kind and not (kind.isidentifier() and kind == kind.lower()):
        fields.fault("kind", f"must be lower-case words joined by _, not {kind!r}")
    return kind


def _one_part(fields: Fields) -> Turns:
    """What goes by time has one part, and does not need to say so."""
    return _turns(fields.table("turns")) if fields.has("turns") else Turns(1, 360 * DEGREE, "same")


def _turns(fields: Fields) -> Turns:
    count, most = _least_and_most(fields)
    angle = fields.number("angle_deg", least=1.0)
    angles = fields.numbers("angle_range_deg", 2) if fields.has("angle_range_deg") else None
    if angles is not None and not 0.0 < angles[0] <= angle <= angles[1]:
        fields.fault("angle_range_deg", "must hold angle_deg, and begin above 0")
    turns = Turns(
        count=count,
        angle=angle * DEGREE,
        directions=fields.choice("directions", get_args(Directions), default="same"),
        most=most,
        angle_range=None if angles is None else (angles[0] * DEGREE, angles[1] * DEGREE),
        unbroken=fields.flag("unbroken", default=False),
    )
    if turns.unbroken and turns.directions != "same":
        fields.fault("unbroken", 'the revolutions of one turn have directions = "same"')
    fields.close()
    return turns


def _least_and_most(fields: Fields) -> tuple[int, int]:
    """How many parts: one number, or a list of the least and the most."""
    if not fields.has_list("count"):
        count = fields.whole("count")
        return count, count
    least, most = fields.numbers("count", 2)
    if least < 1 or least != int(least) or most != int(most):
        fields.fault("count", f"must be whole numbers from 1, not {least:g} and {most:g}")
    return max(int(least), 1), int(most)


def _mark(fields: Fields, key: str, progress: Progress) -> Mark:
    """A number of degrees turned (or seconds), or the name of an event."""
    value = fields.take(key)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return Mark(progress=float(value) * (DEGREE if progress == "heading_change" else 1.0))
    for event in EVENTS:
        if value == event:
            return Mark(event=event)
    said = "is missing" if value is None else f"{value!r} is neither a number nor one of {', '.join(EVENTS)}"
    fields.fault(key, said)
    return Mark(progress=0.0)


def _quantity(fields: Fields, key: str = "quantity") -> Quantity:
    return QUANTITIES[fields.choice(key, QUANTITIES)]


def _leg(fields: Fields, progress: Progress) -> Leg:
    outside: Outside = fields.choice("outside", get_args(Outside), default="no")
    return Leg(
        name=fields.text("name"),
        title=fields.text("title"),
        until=_mark(fields, "until", progress),
        duration=Duration(*fields.numbers("duration_s", 3)),
        trends=fields.each("trend", _trend),
        ranges=fields.each("range", _range),
        means=fields.each("mean", _range),
        ends=fields.each("end", _range),
        outside=outside,
        needed=fields.flag("needed", default=False),
        technique=fields.each("technique", _advice),
    )


def _advice(fields: Fields) -> Advice:
    return Advice(fields.text("say"), fields.text("source"))


def _trend(fields: Fields) -> Trend:
    quantity = _quantity(fields)
    goes: Trending = fields.choice("goes", get_args(Trending))
    key = "at_most_per_s" if goes == "steady" else "at_least_per_s"
    return Trend(quantity, goes, fields.number(key, least=0.0) * quantity.scale)


def _range(fields: Fields, known: Mapping[str, Quantity] = QUANTITIES) -> Range:
    quantity = known[fields.choice("quantity", known)]
    low = fields.number("low") * quantity.scale if fields.has("low") else -math.inf
    high = fields.number("high") * quantity.scale if fields.has("high") else math.inf
    if not (math.isfinite(low) or math.isfinite(high)):
        fields.fault(None, "needs low, high or both")
    if low > high:
        fields.fault("low", "must not lie above high")
    return Range(quantity, low, high)


def _point(fields: Fields, progress: Progress) -> Point:
    return Point(
        name=fields.text("name"),
        title=fields.text("title"),
        where=_mark(fields, "where", progress),
        expected=fields.each("expect", _expectation),
        solved=tuple(_known_quantities(fields, "solved")),
    )


def _known_quantities(fields: Fields, key: str) -> list[Quantity]:
    found = []
    for index, name in enumerate(fields.texts(key)):
        if name in QUANTITIES:
            found.append(QUANTITIES[name])
        else:
            fields.unknown(f"{key}[{index}]", name, QUANTITIES)
    return found


def _expectation(fields: Fields) -> Expectation:
    quantity = _quantity(fields)
    about = fields.number("about") * quantity.scale if fields.has("about") else None
    word = fields.text("is") if fields.has("is") else None
    if (about is None) == (word is None):
        fields.fault(None, "needs either about (a number) or is (words)")
    return Expectation(quantity, fields.text("source"), about=about, word=word)


def _measure(fields: Fields, *, element: bool) -> Measure:
    quantity = _quantity(fields)
    functional = fields.choice("functional", FUNCTIONALS)
    point = fields.text("point") if functional == "at" else None
    against: Against = fields.choice("against", AGAINST, default="none")
    expected: Trending = "falling"
    if functional == "reversal":
        expected = fields.choice("expected", get_args(Trending))
    still = fields.number("still_below_per_s", least=0.0) if functional == "dwell" else 0.0
    unit = _unit(fields, functional, quantity)
    remark = fields.text("remark") if fields.has("remark") else None
    each: Each = fields.choice("each", EACH, default="part")
    during: During = fields.choice("during", DURING, default="any")
    engines: Engines = fields.choice("engines", get_args(Engines), default="any")
    side: Side = "highest"
    if functional in ("extremum", "where"):
        side = fields.choice("side", get_args(Side))
    return Measure(
        id=fields.text("id"),
        title=fields.text("title"),
        quantity=quantity,
        functional=functional,
        each=each,
        against=against,
        point=point,
        window=_window(fields) if functional != "at" else Window("", ""),
        side=side,
        unit=unit,
        target=fields.text("target") if against == "target" else None,
        still=still * quantity.scale,
        expected=expected,
        magnitude=fields.flag("magnitude", default=False),
        limit=_limit_key(fields) if element else None,
        during=during,
        engines=engines,
        remark=remark,
        remark_beyond=fields.number("remark_beyond") * UNITS[unit] if remark else math.inf,
    )


def _unit(fields: Fields, functional: Functional, quantity: Quantity) -> str:
    """The pilot unit of a measure: that of its quantity, unless the functional makes it another thing."""
    if functional != "rate":
        return _UNIT_OF.get(functional, quantity.unit)
    unit = f"{quantity.unit}_per_s"
    if unit not in UNITS:
        fields.fault("functional", f"there is no rate of {quantity.key}")
        return quantity.unit
    return unit


def _window(fields: Fields) -> Window:
    """``from`` and ``to`` name points; ``before_s`` is the time that ends at ``to``, else at the first point;
    ``for_s`` the time that begins at ``from``. Empty: all."""
    first = fields.text("from") if fields.has("from") else ""
    last = fields.text("to") if fields.has("to") else ""
    before = fields.number("before_s", least=0.5) if fields.has("before_s") else None
    if before is not None and first:
        fields.fault("before_s", "cannot stand beside from")
    lasting = fields.number("for_s", least=0.5) if fields.has("for_s") else None
    if lasting is not None and (last or before is not None):
        fields.fault("for_s", "cannot stand beside to or before_s")
    return Window(first, last, before, lasting)


def _limit_key(fields: Fields) -> LimitKey:
    keys = {key: fields.text(key) for key in ("tolerance", "at_least", "at_most") if fields.has(key)}
    if len(keys) != 1:
        fields.fault(None, "an element needs exactly one of tolerance, at_least, at_most: the standard's key")
    return LimitKey(**keys)


def _alike(fields: Fields) -> Alike:
    alike = Alike(what=fields.text("what"), per_hour=fields.number("per_hour", least=0.0))
    if alike.per_hour == 0.0:
        fields.fault("per_hour", "must be more than 0: what never comes need not be told apart")
    fields.close()
    return alike


def _finder(fields: Fields, progress: Progress) -> Finder:
    begins: Event = "turn_starts"
    ends: Event = "turn_stops"
    if progress == "time":
        begins = fields.choice("begins", BORDERS)
    elif progress == "heading_change":
        begins = fields.choice("begins", BEFORE_TURNS, default=begins)
        ends = fields.choice("ends", AFTER_TURNS, default=ends)
    finder = Finder(
        repeats=fields.choice("repeats", get_args(Repeats)),
        excludes=fields.texts("excludes"),
        complete_share=fields.number(
            "complete_share", least=0.0, default=1.0 if progress == "time" else None
        ),
        shortest=fields.number("shortest_s", least=1.0),
        longest=fields.number("longest_s", least=1.0),
        begun_share=fields.number("begun_share", default=0.4, least=0.1),
        in_one_turn=fields.whole("in_one_turn", default=1),
        begins=begins,
        ends=ends,
        pause=Duration(*fields.numbers("pause_s", 3)) if fields.has("pause_s") else None,
        complete_parts=fields.whole("complete_parts", default=1),
        leads_within=fields.number("leads_within_s", default=0.0, least=0.0),
        alike=_alike(fields.table("alike")) if fields.has("alike") else None,
    )
    if finder.begun_share > 1.0:
        fields.fault("begun_share", f"must be at most 1, not {finder.begun_share:g}")
    if finder.complete_share > 1.0:
        fields.fault("complete_share", f"must be at most 1, not {finder.complete_share:g}")
    if finder.longest < finder.shortest:
        fields.fault("longest_s", "must not be shorter than shortest_s")
    fields.close()
    return finder


def _common_error(fields: Fields) -> CommonError:
    return CommonError(
        id=fields.text("id"),
        title=fields.text("title"),
        shows=fields.text("shows"),
        correction=fields.text("correction"),
        observable=fields.flag("observable", default=True),
        measures=fields.texts("measures"),
        flown=fields.each("flown", _flown_error),
    )


def _flown_error(fields: Fields) -> FlownError:
    change, unit = CHANGES[fields.choice("change", CHANGES)]
    return FlownError(title=fields.text("title"), change=change, by=fields.number("by") * unit)
