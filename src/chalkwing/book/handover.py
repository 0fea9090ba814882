"""Half a page for whoever flies with the student next: where the course stands and what to fly first."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book.course import Course, Unit
from chalkwing.book.lessons import in_force
from chalkwing.book.tables import Lesson, Maneuver, Person

LATEST = 3
"""How many of the newest attempts of a maneuver tell what it is like now."""
MOST_MISSED = 4


@dataclass(frozen=True)
class Open:
    """What a lesson of the course asked for and is still open: it is carried over."""

    unit: str
    kind: str
    wanted: int
    flown: int
    within: int
    """Of the attempts flown, how many met every element that was measured."""


@dataclass(frozen=True)
class Missed:
    """An element missed most often in the newest attempts."""

    kind: str
    maneuver: str
    title: str
    missed: int
    attempts: int


@dataclass(frozen=True)
class Handover:
    """What the next instructor needs: names, where the course stands, what is open, what to watch."""

    student: str
    course: str
    last_lesson: int | None
    last_flown: str | None
    last_unit: str | None
    next_unit: str | None
    next_title: str | None
    good: tuple[str, ...]
    missed: tuple[Missed, ...]
    carried_over: tuple[Open, ...]
    notes: tuple[str, ...]


def handover(session: Session, student: Person, course: Course) -> Handover:
    """The handover of a student; only the student's own attempts count."""
    chosen = select(Lesson).where(Lesson.student_id == student.id).order_by(Lesson.flown, Lesson.id)
    flown = list(session.scalars(chosen))
    attempts = [
        (lesson, each)
        for lesson in flown
        for each in in_force(lesson).maneuvers
        if each.flown_by == "student"
    ]
    reached = _reached(course, flown)
    following = course.after(reached.name) if reached else course.units[0]
    last = flown[-1] if flown else None
    return Handover(
        student=student.name,
        course=course.name,
        last_lesson=last.id if last else None,
        last_flown=last.flown.isoformat() if last and last.flown else None,
        last_unit=reached.title if reached else None,
        next_unit=following.name if following else None,
        next_title=following.title if following else None,
        good=tuple(_good(attempts)),
        missed=tuple(_missed(attempts)),
        carried_over=tuple(_open(course, flown, reached)),
        notes=tuple(note.text for note in last.notes if note.undone is None) if last else (),
    )


def _reached(course: Course, flown: list[Lesson]) -> Unit | None:
    """The furthest lesson of the course that was flown."""
    done = {lesson.unit for lesson in flown}
    return next((unit for unit in reversed(course.units) if unit.name in done), None)


def _met_all(flown: Maneuver) -> bool:
    return bool(flown.elements) and all(element.verdict == "met" for element in flown.elements)


def _open(course: Course, flown: list[Lesson], reached: Unit | None) -> list[Open]:
    """Every maneuver asked for up to the lesson reached, and since then flown too seldom or never within."""
    if reached is None:
        return []
    still: dict[str, Open] = {}
    for unit in course.units[: course.units.index(reached) + 1]:
        since = _since(unit, flown)
        for wanted in unit.wanted:
            own = [each for each in since if each.kind == wanted.kind]
            within = sum(map(_met_all, own))
            still.pop(wanted.kind, None)
            if len(own) < wanted.attempts or within == 0:
                still[wanted.kind] = Open(unit.name, wanted.kind, wanted.attempts, len(own), within)
    return list(still.values())


def _since(unit: Unit, flown: list[Lesson]) -> list[Maneuver]:
    """The student's own complete maneuvers since the first lesson flown as ``unit``."""
    first = next((place for place, lesson in enumerate(flown) if lesson.unit == unit.name), len(flown))
    return [
        each
        for lesson in flown[first:]
        for each in in_force(lesson).maneuvers
        if each.flown_by == "student" and each.status == "complete"
    ]


def _newest(attempts: list[tuple[Lesson, Maneuver]]) -> dict[str, list[Maneuver]]:
    by_kind: dict[str, list[Maneuver]] = defaultdict(list)
    for _, each in attempts:
        by_kind[each.kind].append(each)
    return {kind: tried[-LATEST:] for kind, tried in by_kind.items()}


def _good(attempts: list[tuple[Lesson, Maneuver]]) -> list[str]:
    """Maneuvers whose newest attempt met all that was measured."""
    return [tried[-1].title for tried in _newest(attempts).values() if _met_all(tried[-1])]


def _missed(attempts: list[tuple[Lesson, Maneuver]]) -> list[Missed]:
    found: list[Missed] = []
    for kind, tried in _newest(attempts).items():
        titles = {element.name: element.title for each in tried for element in each.elements}
        missed = Counter(
            name
            for each in tried
            for name in {element.name for element in each.elements if element.verdict == "not_met"}
        )
        found += [
            Missed(kind, tried[-1].title, titles[name], count, len(tried)) for name, count in missed.items()
        ]
    return sorted(found, key=lambda each: (-each.missed / each.attempts, each.kind, each.title))[:MOST_MISSED]
