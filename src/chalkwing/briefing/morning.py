"""A morning's cards from one file: several students, airplanes and maneuvers, TOML or CSV."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from chalkwing.airplane import AirplaneSheet, load_sheet
from chalkwing.briefing.day import read_day
from chalkwing.briefing.planning import brief, briefable
from chalkwing.briefing.report import Briefing, Lesson
from chalkwing.briefing.school import School
from chalkwing.conditions import Conditions
from chalkwing.errors import ChalkwingError, Fault, FaultyPlan
from chalkwing.maneuvers.fields import Fields
from chalkwing.toml_files import read_toml
from chalkwing.units import DEGREE, FOOT, KNOT, POUND

SCHEMA = 1
_TEXTS = ("student", "instructor", "registration", "date", "remark")
_NUMBERS: Mapping[str, tuple[str, float]] = {
    "mass_lb": ("mass", POUND),
    "mass_kg": ("mass", 1.0),
    "line_deg_magnetic": ("line", DEGREE),
    "entry_altitude_ft": ("entry_altitude", FOOT),
    "floor_ft_agl": ("floor", FOOT),
    "max_bank_deg": ("maximum_bank", DEGREE),
    "nose_up_deg": ("nose_up", DEGREE),
    "entry_speed_kcas": ("entry_speed", KNOT),
}
"""Keys of a lesson that are numbers, what :func:`brief` calls them, and their SI value."""
COLUMNS = (*_TEXTS, "airplane", "maneuvers", "side", "solo", *_NUMBERS)


@dataclass(frozen=True)
class Planned:
    """One lesson: its cards are its maneuvers, all with the same arguments for :func:`brief`."""

    where: str
    maneuvers: tuple[str, ...]
    arguments: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Morning:
    """The lessons of a file, and the day where the file tells it."""

    lessons: tuple[Planned, ...]
    day: Conditions | None = None


def read_morning(path: Path) -> Morning:
    """The lessons in a file.

    A TOML file has ``schema`` = 1, a list ``[[lesson]]`` and perhaps a table ``[day]`` with the keys of a
    conditions file; a CSV file has one lesson a row under a heading row. Keys of a lesson: ``student``,
    ``instructor``, ``registration``, ``date``, ``remark``, ``airplane``, ``maneuvers`` (in CSV separated by
    spaces), ``side``, ``solo``, ``mass_lb`` or ``mass_kg``, ``line_deg_magnetic``, ``entry_altitude_ft``,
    ``floor_ft_agl``, ``max_bank_deg``, ``nose_up_deg``, ``entry_speed_kcas``.

    Raises
    ------
    FaultyPlan
        Listing every fault with its place in the file.
    """
    if path.suffix.lower() == ".csv":
        return _from_rows(_rows(path), where=path.name, folder=path.parent)
    return morning_from(read_toml(path, FaultyPlan), where=path.name, folder=path.parent)


def brief_morning(
    morning: Morning, *, day: Conditions | None = None, school: School | None = None, **shared: Any
) -> tuple[Briefing, ...]:
    """All cards of a morning, lesson by lesson; ``day`` and ``school`` hold for all of them.

    Raises
    ------
    FaultyPlan
        Listing every lesson that cannot be flown so, with the reason.
    """
    made: list[Briefing] = []
    faults: list[Fault] = []
    for lesson in morning.lessons:
        for kind in lesson.maneuvers:
            try:
                conditions = day if day is not None else morning.day
                made.append(brief(kind, conditions=conditions, school=school, **shared, **lesson.arguments))
            except ChalkwingError as error:
                faults.append(Fault(lesson.where, f"{kind}: {error}"))
    if faults:
        raise FaultyPlan(where="morning", faults=faults, next_step="No card was made.")
    return tuple(made)


def morning_from(tables: object, *, where: str, folder: Path = Path()) -> Morning:
    """The lessons in the tables of a TOML file; airplane sheets that are files lie relative to ``folder``."""
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    if fields.whole("schema") != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}")
    day = None
    if fields.has("day"):
        table = fields.table("day")
        day = read_day(table)
        table.close()
    lessons = fields.each("lesson", lambda table: _lesson(table, folder), required=True)
    fields.close()
    return _checked(Morning(lessons, day), faults, where)


def _from_rows(rows: Sequence[tuple[int, Mapping[str, Any]]], *, where: str, folder: Path) -> Morning:
    faults: list[Fault] = []
    lessons = []
    for line, row in rows:
        fields = Fields(row, path=f"line {line}", faults=faults)
        lessons.append(_lesson(fields, folder))
        fields.close()
    return _checked(Morning(tuple(lessons)), faults, where)


def _checked(morning: Morning, faults: list[Fault], where: str) -> Morning:
    if not morning.lessons and not faults:
        faults.append(Fault("file", "holds no lesson"))
    if faults:
        raise FaultyPlan(where=where, faults=faults)
    return morning


def _lesson(fields: Fields, folder: Path) -> Planned:
    """One lesson; names are checked here, so that all misspelled ones are told at once."""
    place = fields.path
    lesson = Lesson(**{name: fields.text(name) if fields.has(name) else "" for name in _TEXTS})
    airplane = _airplane(fields, folder)
    maneuvers = fields.texts("maneuvers", required=True)
    for kind in maneuvers:
        if kind not in briefable():
            fields.fault("maneuvers", f"{kind!r} is not one of {', '.join(briefable())}")
    arguments: dict[str, Any] = {
        "airplane": airplane,
        "lesson": lesson,
        "direction": fields.choice("side", ("left", "right"), default="right"),
        "solo": fields.flag("solo", default=False),
    }
    for key, (name, unit) in _NUMBERS.items():
        if fields.has(key):
            if name in arguments:
                fields.fault(key, f"repeats the {name}; give it once")
            arguments[name] = fields.number(key) * unit
    return Planned(place, maneuvers, arguments)


def _airplane(fields: Fields, folder: Path) -> AirplaneSheet | None:
    name = fields.text("airplane")
    if not name:
        return None
    try:
        return load_sheet(folder / name if name.endswith(".toml") else name)
    except ChalkwingError as error:
        fields.fault("airplane", str(error))
        return None


# --- CSV ----------------------------------------------------------------------------------------------------


def _rows(path: Path) -> list[tuple[int, dict[str, Any]]]:
    """Rows of a CSV file as a lesson's keys and values, with their line; an empty cell is an absent key."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file, skipinitialspace=True, restkey="", restval="")
            return [(reader.line_num, _cells(row)) for row in reader if any(value for value in row.values())]
    except OSError as error:
        said = f"cannot be read: {error.strerror}"
    except UnicodeDecodeError as error:
        said = f"is not UTF-8 text (byte {error.start})"
    except csv.Error as error:
        said = f"is not CSV: {error}"
    raise FaultyPlan(where=path.name, faults=[Fault("file", said)])


def _cells(row: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, cell in row.items():
        text = cell.strip() if isinstance(cell, str) else cell
        if text:
            found[key.strip()] = _typed(key.strip(), text)
    return found


def _typed(key: str, text: Any) -> Any:
    """A cell as TOML would have it; what does not fit is left as text, for the reader of keys to refuse."""
    if key == "maneuvers":
        return text.replace(";", " ").split()
    if key == "solo":
        return {"yes": True, "true": True, "no": False, "false": False}.get(text.lower(), text)
    if key in _NUMBERS:
        try:
            return float(text)
        except ValueError:
            return text
    return text
