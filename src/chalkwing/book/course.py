"""A course outline as data: its lessons, what each asks for, the limits at each stage, the school's marks.

Lesson three is not judged to the limits of the check ride: a lesson may carry limits of its own, worded as
a school's overlay is (`chalkwing.maneuvers.standards`); the document that such a limit names is the course.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.tables import CourseText
from chalkwing.errors import BookTrouble, Fault, FaultyPlan
from chalkwing.maneuvers import Definition, Standard, definitions
from chalkwing.maneuvers.fields import Fields
from chalkwing.maneuvers.standards import overlay_from
from chalkwing.toml_files import parse_toml

SCHEMA = 1
PLAIN = Path(__file__).parent / "courses" / "plain.toml"


@dataclass(frozen=True)
class Step:
    """One step of the school's scale, what it means, and whether it says that the standard was met."""

    word: str
    means: str
    standard: bool = False


@dataclass(frozen=True)
class Scale:
    """The words by which instructors mark, from least to most."""

    name: str
    steps: tuple[Step, ...]

    def place(self, word: str) -> int:
        """How many steps lie below ``word``; refuses a word that is not one of them."""
        words = [step.word for step in self.steps]
        if word not in words:
            raise BookTrouble(
                f"{word!r} is no step of the scale {self.name!r}.",
                next_step=f"Its steps: {', '.join(words)}.",
            )
        return words.index(word)

    @property
    def standard_place(self) -> int:
        """The lowest step that says the standard was met: one that the school named, else the highest."""
        return next((place for place, step in enumerate(self.steps) if step.standard), len(self.steps) - 1)


@dataclass(frozen=True)
class Wanted:
    """A maneuver that a lesson asks for, and how many attempts of the student's own."""

    kind: str
    attempts: int


@dataclass(frozen=True)
class Unit:
    """One lesson of the course. ``limits`` are the tables of an overlay: the limits at this stage."""

    name: str
    title: str
    wanted: tuple[Wanted, ...]
    limits: tuple[Mapping[str, object], ...]


@dataclass(frozen=True)
class Rules:
    """What the school decided: marks before verdicts, who sees the chance, and how long what is kept."""

    blind_first: bool = False
    students_see_chance: bool = False
    record_years: float = 3.0
    recording_days: float = 365.0


@dataclass(frozen=True)
class Course:
    """The outline, with the words of its file to prove it by."""

    name: str
    scale: Scale
    rules: Rules
    units: tuple[Unit, ...]
    text: str
    common_scale: Scale | None = None
    """A scale for maneuvers seen in recordings, where the school's own speaks of who helped."""

    @cached_property
    def print(self) -> str:
        """The print of the file: it changes when the course does."""
        return ledger.digest(self.text)

    def unit(self, name: str) -> Unit:
        """The lesson called ``name``; an unknown one is refused with those that the course has."""
        for unit in self.units:
            if unit.name == name:
                return unit
        raise BookTrouble(
            f"the course {self.name!r} has no lesson {name!r}.",
            next_step=f"It has: {', '.join(unit.name for unit in self.units)}.",
        )

    def after(self, name: str) -> Unit | None:
        """The lesson that follows; None after the last."""
        place = self.units.index(self.unit(name))
        return self.units[place + 1] if place + 1 < len(self.units) else None

    def standard_at(self, name: str, standard: Standard) -> Standard:
        """``standard`` with the limits of the lesson called ``name`` laid over it."""
        unit = self.unit(name)
        if not unit.limits:
            return standard
        return overlay_from(self._overlay(unit), standard, definitions().values(), where=f"lesson {name}")

    def _overlay(self, unit: Unit) -> dict[str, object]:
        """The limits of a lesson as the tables of a school's overlay."""
        return {"schema": 1, "school": self.name, "edition": unit.title, "limit": list(unit.limits)}


def read_course(path: Path) -> Course:
    """The course in a TOML file; raises `FaultyPlan` with all faults of the file."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FaultyPlan(where=path.name, faults=[Fault("file", f"cannot be read: {error}")]) from None
    return course_from(text, where=path.name)


def course_from(text: str, *, where: str) -> Course:
    """The course in the words of a file."""
    tables = parse_toml(text, FaultyPlan, where=where)
    faults: list[Fault] = []
    fields = Fields(tables, path="", faults=faults)
    if fields.whole("schema") != SCHEMA:
        fields.fault("schema", f"must be {SCHEMA}")
    name = fields.text("course")
    scale = _scale(fields.table("scale"))
    common_scale = _scale(fields.table("common_scale")) if fields.has("common_scale") else None
    rules = _rules(fields.table("rules")) if fields.has("rules") else Rules()
    known = definitions()
    units = fields.each("lesson", lambda entry: _unit(entry, known), required=True)
    if len({unit.name for unit in units}) != len(units):
        fields.fault("lesson", "two lessons have the same name")
    fields.close()
    if faults:
        raise FaultyPlan(where=where, faults=faults)
    course = Course(name, scale, rules, units, text, common_scale)
    bare = Standard(name="", title="", document="", edition="", tasks={})
    for unit in course.units:
        course.standard_at(unit.name, bare)  # refuses what no overlay may hold, whatever it is laid over
    return course


def _scale(fields: Fields) -> Scale:
    scale = Scale(fields.text("name"), fields.each("steps", _step, required=True))
    if len(scale.steps) < 2:
        fields.fault("steps", "needs two or more")
    if len({step.word for step in scale.steps}) != len(scale.steps):
        fields.fault("steps", "two steps have the same word")
    fields.close()
    return scale


def _step(fields: Fields) -> Step:
    return Step(fields.text("word"), fields.text("means"), fields.flag("standard", default=False))


def _rules(fields: Fields) -> Rules:
    rules = Rules(
        blind_first=fields.flag("blind_first", default=False),
        students_see_chance=fields.flag("students_see_chance", default=False),
        record_years=fields.number("record_years", default=3.0, least=0.0),
        recording_days=fields.number("recording_days", default=365.0, least=0.0),
    )
    fields.close()
    return rules


def _unit(fields: Fields, known: Mapping[str, Definition]) -> Unit:
    def wanted(entry: Fields) -> Wanted:
        kind = entry.choice("kind", known)
        return Wanted(kind, entry.whole("attempts", default=1))

    name, title = fields.text("name"), fields.text("title")
    asked = fields.each("maneuver", wanted)
    limits = fields.take("limit") if fields.has("limit") else []
    if not isinstance(limits, list) or not all(isinstance(limit, Mapping) for limit in limits):
        fields.fault("limit", "must be a list of tables, written [[lesson.limit]]")
        limits = []
    return Unit(name, title, asked, tuple(limits))


def enter_course(session: Session, course: Course, *, who: str) -> None:
    """Put a course in force; the ones before it stay in the book."""
    row = CourseText(name=course.name, text=course.text)
    session.add(row)
    session.flush()
    content = {"name": course.name, "sha256": course.print}
    ledger.enter(session, who=who, act="course", subject=f"course {row.id}", content=content)


def course_in_force(session: Session) -> Course | None:
    """The course that the school entered last; None if it entered none."""
    row = session.scalars(select(CourseText).order_by(CourseText.id.desc()).limit(1)).first()
    return None if row is None else course_from(row.text, where=row.name)
