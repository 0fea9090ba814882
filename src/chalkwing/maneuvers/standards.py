"""Published standards, and a school's overlay on them: the only places from which a limit may come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from chalkwing.errors import Fault, FaultyDefinition
from chalkwing.maneuvers.fields import Fields
from chalkwing.maneuvers.schema import Definition, LimitKey, Measure
from chalkwing.toml_files import read_toml

SCHEMA = 1
Band = tuple[float | None, float | None]


@dataclass(frozen=True)
class Limit:
    """A band [low, high] in the measure's own unit, None where open, and the document it stands in."""

    low: float | None
    high: float | None
    document: str
    edition: str
    task: str | None

    @property
    def band(self) -> Band:
        """(low, high)."""
        return (self.low, self.high)


@dataclass(frozen=True)
class HeldRules:
    """When leaving a held limit counts as not meeting it (common practice, no source).

    ``sustained`` [s]: one excursion longer than this; ``repeated``: this many; ``gross``: beyond this
    multiple of the limit. An excursion still open when the window ends counts always. A school sets its own.
    """

    sustained: float = 5.0
    repeated: int = 3
    gross: float = 1.5


@dataclass(frozen=True)
class Task:
    """What one document publishes for one maneuver. ``documents`` names another source for single keys."""

    maneuver: str
    task: str
    tolerance: Mapping[str, tuple[float, float]]
    limits: Mapping[str, float]
    documents: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Standard:
    """A standard by name: document, edition and tasks, held-limit rules, and a school's own limits."""

    name: str
    title: str
    document: str
    edition: str
    tasks: Mapping[str, Task]
    held: HeldRules = HeldRules()
    held_source: str = "common practice, no source"
    own: Mapping[tuple[str, str], Limit] = field(default_factory=dict)

    def task(self, kind: str) -> Task | None:
        """What is published for maneuver ``kind``, or None."""
        return self.tasks.get(kind)

    def figure(self, kind: str, key: str) -> float | None:
        """A published absolute figure, such as ``bank_target_deg`` of a steep turn, or None."""
        task = self.task(kind)
        return task.limits.get(key) if task else None

    def limit(self, kind: str, measure: Measure) -> Limit | None:
        """The limit of ``measure``: the school's own where it set one, else the published one, else None."""
        own = self.own.get((kind, measure.id))
        return own if own is not None else self._published(kind, measure)

    def _published(self, kind: str, measure: Measure) -> Limit | None:
        task, key = self.task(kind), measure.limit
        if task is None or key is None:
            return None
        if key.tolerance is not None:
            low, high = task.tolerance.get(key.tolerance, (None, None))
        else:
            low = task.limits.get(key.at_least) if key.at_least else None
            high = task.limits.get(key.at_most) if key.at_most else None
        return None if low is None and high is None else self._limit(task, key, low, high)

    def _limit(self, task: Task, key: LimitKey, low: float | None, high: float | None) -> Limit:
        other = task.documents.get(key.name)
        if other is not None:
            return Limit(low, high, other, "", None)
        return Limit(low, high, self.document, self.edition, task.task)


def read_standard(path: Path) -> Standard:
    """The standard in the file at ``path``; refuses a faulty file with all its faults."""
    return standard_from(read_toml(path, FaultyDefinition), where=path.name)


def standard_from(tables: object, *, where: str) -> Standard:
    """The standard in the tables of a file; ``where`` names the file in a refusal."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    _check_schema(fields)
    tasks = fields.each("task", _task, required=True)
    standard = Standard(
        name=fields.text("name"),
        title=fields.text("title"),
        document=fields.text("document"),
        edition=fields.text("edition"),
        tasks={task.maneuver: task for task in tasks},
    )
    fields.close()
    if len(standard.tasks) != len(tasks):
        fields.fault("task", "a maneuver appears twice")
    if faults:
        raise FaultyDefinition(where=where, faults=faults)
    return standard


def _check_schema(fields: Fields) -> None:
    schema = fields.whole("schema")
    if schema != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}, not {schema}")


def _task(fields: Fields) -> Task:
    tolerance, limits = fields.table("tolerance"), fields.table("limits")
    bands = {key: tolerance.numbers(key, 2) for key in tolerance.names()}
    return Task(
        maneuver=fields.text("maneuver"),
        task=fields.text("task"),
        tolerance={key: (band[0], band[1]) for key, band in bands.items()},
        limits={key: limits.number(key) for key in limits.names()},
        documents=_documents(fields),
    )


def _documents(fields: Fields) -> dict[str, str]:
    if not fields.has("documents"):
        return {}
    documents = fields.table("documents")
    return {key: documents.text(key) for key in documents.names()}


def overlay(standard: Standard, path: Path, definitions: Iterable[Definition]) -> Standard:
    """``standard`` with a school's own limits and held-limit rules laid over it.

    A school may tighten or loosen a published limit or set one on a fact; its document is then the school's
    name. Raises `FaultyDefinition` with all faults: unknown maneuvers, elements, keys and impossible bands.
    """
    return overlay_from(read_toml(path, FaultyDefinition), standard, definitions, where=path.name)


def overlay_from(
    tables: object, standard: Standard, definitions: Iterable[Definition], *, where: str
) -> Standard:
    """As `overlay`, from the tables of a file."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    known = {definition.kind: definition for definition in definitions}
    _check_schema(fields)
    school, edition = fields.text("school"), fields.text("edition")
    limits = fields.each("limit", lambda entry: _own_limit(entry, known, school, edition))
    if len(dict(limits)) != len(limits):
        fields.fault("limit", "the same element of a maneuver appears twice")
    held = _held(fields, standard.held)
    fields.close()
    if faults:
        raise FaultyDefinition(where=where, faults=faults)
    return replace(
        standard,
        title=f"{standard.title}, as {school} sets it",
        held=held,
        held_source=school if held != standard.held else standard.held_source,
        own={**standard.own, **dict(limits)},
    )


def _own_limit(
    fields: Fields, known: Mapping[str, Definition], school: str, edition: str
) -> tuple[tuple[str, str], Limit]:
    maneuver, element = fields.text("maneuver"), fields.text("element")
    if maneuver and maneuver not in known:
        fields.unknown("maneuver", maneuver, sorted(known))
    elif element and maneuver and known[maneuver].measure(element) is None:
        ids = ", ".join(measure.id for measure in known[maneuver].measures)
        fields.fault("element", f"{maneuver} has no element or fact {element!r}; it has {ids}")
    low, high = _band(fields)
    task = fields.text("task") if fields.has("task") else None
    return (maneuver, element), Limit(low, high, school, edition, task)


def _band(fields: Fields) -> Band:
    if fields.has("between"):
        low, high = fields.numbers("between", 2)
        if fields.has("at_least") or fields.has("at_most"):
            fields.fault("between", "cannot stand beside at_least or at_most")
        if low == high:
            fields.fault("between", "leaves no room: both ends are the same")
        return low, high
    least = fields.number("at_least") if fields.has("at_least") else None
    most = fields.number("at_most") if fields.has("at_most") else None
    if least is None and most is None:
        fields.fault(None, "needs between, at_least or at_most")
    if least is not None and most is not None and least >= most:
        fields.fault("at_least", "must lie below at_most")
    return least, most


def _held(fields: Fields, usual: HeldRules) -> HeldRules:
    if not fields.has("held"):
        return usual
    table = fields.table("held")
    held = HeldRules(
        sustained=table.number("sustained_s", default=usual.sustained, least=0.0),
        repeated=table.whole("repeated", default=usual.repeated),
        gross=table.number("gross_factor", default=usual.gross, least=1.0),
    )
    table.close()
    return held
