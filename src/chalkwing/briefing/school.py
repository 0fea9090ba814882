"""A school's own texts, floors, airplanes and days, for card and technique notes: data in a TOML file.

One generic file of ours comes with it. ``docs/school_file.md`` explains every key.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from chalkwing.briefing.fleet import Fleet, read_fleet
from chalkwing.briefing.report import SchoolTexts
from chalkwing.errors import Fault, FaultyPlan
from chalkwing.maneuvers.fields import Fields
from chalkwing.toml_files import read_toml
from chalkwing.units import FOOT

SCHEMA = 1
_GENERIC = Path(__file__).parent / "school" / "generic.toml"


@dataclass(frozen=True)
class _Texts:
    """Lines for one maneuver; None where the default's stand in."""

    clearing: tuple[str, ...] | None
    calls: tuple[str, ...] | None
    checklist: tuple[str, ...] | None
    purpose: str | None = None
    entry: tuple[str, ...] | None = None


@dataclass(frozen=True)
class School:
    """The school's name, its floors above the highest terrain [m], and its texts by maneuver.

    ``floor_low`` holds for maneuvers flown low by their nature: ground reference and eights on pylons.
    """

    name: str
    floor_dual: float
    floor_solo: float
    floor_low: float
    default: SchoolTexts
    by_maneuver: Mapping[str, _Texts]
    entry: tuple[str, ...] = ()
    fleet: Fleet = field(default_factory=Fleet)

    def texts(self, kind: str) -> SchoolTexts:
        """The lines for one maneuver, the default's where it has none of its own."""
        own = self.by_maneuver.get(kind)
        if own is None:
            return self.default
        return SchoolTexts(
            school=self.name,
            clearing=self.default.clearing if own.clearing is None else own.clearing,
            calls=self.default.calls if own.calls is None else own.calls,
            checklist=self.default.checklist if own.checklist is None else own.checklist,
        )

    def purpose(self, kind: str) -> str | None:
        """Why the school teaches a maneuver, where it says so."""
        own = self.by_maneuver.get(kind)
        return own.purpose if own else None

    def entry_lines(self, kind: str) -> tuple[str, ...]:
        """How the school wants a maneuver begun."""
        own = self.by_maneuver.get(kind)
        return self.entry if own is None or own.entry is None else own.entry


@cache
def generic_school() -> School:
    """The texts that come with chalkwing."""
    return read_school(_GENERIC)


def read_school(path: Path) -> School:
    """The school in a TOML file; raises `FaultyPlan` with all faults of the file."""
    return school_from(read_toml(path, FaultyPlan), where=path.name, folder=path.parent)


def school_from(tables: object, *, where: str, folder: Path = Path()) -> School:
    """The school in the tables of a file; airplane sheets that are files lie relative to ``folder``."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    if fields.whole("schema") != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}")
    name = fields.text("school")
    floors = fields.table("floors")
    dual = floors.number("dual_ft_agl", least=0.0)
    solo = floors.number("solo_ft_agl", least=0.0)
    low = floors.number("low_ft_agl", least=0.0)
    floors.close()
    default = _texts(fields.table("default"))
    maneuvers = fields.table("maneuver") if fields.has("maneuver") else Fields({}, path="", faults=faults)
    by_maneuver = {kind: _texts(maneuvers.table(kind)) for kind in maneuvers.names()}
    fleet = read_fleet(fields, folder)
    fields.close()
    if faults:
        raise FaultyPlan(where=where, faults=faults)
    texts = SchoolTexts(name, default.clearing or (), default.calls or (), default.checklist or ())
    floors_of = dual * FOOT, solo * FOOT, low * FOOT
    return School(name, *floors_of, texts, by_maneuver, default.entry or (), fleet)


def _texts(fields: Fields) -> _Texts:
    def lines(key: str) -> tuple[str, ...] | None:
        return fields.texts(key) if fields.has(key) else None

    texts = _Texts(
        clearing=lines("clearing"),
        calls=lines("calls"),
        checklist=lines("checklist"),
        purpose=fields.text("purpose") if fields.has("purpose") else None,
        entry=lines("entry"),
    )
    fields.close()
    return texts
