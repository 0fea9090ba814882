"""Marking a common set: everybody in an order of their own, each maneuver once, and what was given stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.columns import now
from chalkwing.book.common.making import scale_of
from chalkwing.book.common.proving import MARKED, SUBJECT
from chalkwing.book.common.tables import WHOLE, CommonManeuver, CommonMark, CommonSet
from chalkwing.book.tables import Person
from chalkwing.errors import BookTrouble


@dataclass(frozen=True)
class Asked:
    """One element that may be marked of its own: its name and its title, no limit and no value."""

    name: str
    title: str


def order_of(found: CommonSet, instructor: Person) -> list[CommonManeuver]:
    """The maneuvers of a set in the order in which this instructor is shown them: always the same one."""
    mixed = np.random.default_rng([found.seed, instructor.id]).permutation(len(found.maneuvers))
    return [found.maneuvers[k] for k in mixed]


def asked_of(shown: CommonManeuver) -> list[Asked]:
    """The elements of a maneuver that may be marked, those of several parts once."""
    titles = {each.name: each.title for each in reversed(shown.flown.elements)}
    return [Asked(name, titles[name]) for name in dict.fromkeys(each.name for each in shown.flown.elements)]


def marks_by(session: Session, found: CommonSet, instructor: Person) -> dict[int, dict[str, str]]:
    """What an instructor has given: by the maneuver's number in the set, steps by element ("" the whole)."""
    rows = session.execute(
        select(CommonManeuver.place, CommonMark.element, CommonMark.step)
        .join(CommonMark, CommonMark.maneuver_id == CommonManeuver.id)
        .where(CommonManeuver.set_id == found.id, CommonMark.instructor_id == instructor.id)
    )
    given: dict[int, dict[str, str]] = {}
    for place, element, step in rows:
        given.setdefault(place, {})[element] = step
    return given


def has_finished(session: Session, found: CommonSet, instructor: Person) -> bool:
    """Whether an instructor has marked every maneuver of the set as a whole."""
    return len(marks_by(session, found, instructor)) == len(found.maneuvers)


def mark(
    session: Session,
    found: CommonSet,
    place: int,
    *,
    instructor: Person,
    step: str,
    elements: Mapping[str, str] | None = None,
) -> None:
    """Keep an instructor's mark for the maneuver with this number in the set, and for elements of it.

    ``step`` is for the maneuver as a whole, ``elements`` gives steps by their names, in words of the set's
    scale.

    Raises
    ------
    BookTrouble
        The set is closed, the maneuver is marked already, or a word or element is not known.
    """
    given = dict(elements or {})
    _refuse_closed(found)
    shown = next((each for each in found.maneuvers if each.place == place), None)
    if shown is None:
        raise BookTrouble(f"the set has maneuvers 1 to {len(found.maneuvers)}, not {place}.")
    if place in marks_by(session, found, instructor):
        raise BookTrouble(
            f"{instructor.name} has marked this maneuver.",
            next_step="A mark of a common set stays as it was given.",
        )
    scale = scale_of(found)
    for word in (step, *given.values()):
        scale.place(word)
    known = [each.name for each in asked_of(shown)]
    for element in given:
        if element not in known:
            raise BookTrouble(
                f"it has no element {element!r}.", next_step=f"Its elements: {', '.join(known)}."
            )
    for element, word in {WHOLE: step, **given}.items():
        shown.marks.append(CommonMark(instructor=instructor, element=element, step=word))
    session.flush()
    ledger.enter(
        session,
        who=instructor.name,
        act=MARKED,
        subject=f"{SUBJECT}{found.id}",
        content={"maneuver": place, "instructor": instructor.id, "step": step, "elements": given},
    )


def close(session: Session, found: CommonSet, *, who: str) -> None:
    """Close a set: no more marks, and everybody may see what was measured."""
    _refuse_closed(found)
    found.closed, found.closed_by = now(), who
    ledger.enter(session, who=who, act="common set closed", subject=f"common set {found.id}", content={})


def _refuse_closed(found: CommonSet) -> None:
    if found.closed is not None:
        raise BookTrouble(
            f"it was closed on {found.closed:%Y-%m-%d}.",
            where=f"common set {found.id}",
            next_step="Make another set.",
        )
