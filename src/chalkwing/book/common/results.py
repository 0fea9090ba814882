"""What a common set tells: how alike it was marked, maneuver by maneuver, and who may read what of it.

Nothing measured is told to an instructor who has not finished, unless the set is closed. An instructor reads
the own marks and the own leniency beside the spread of all without names; a chief reads names on request.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book.agreement import Agreement, Leniency, Sheet, agreement
from chalkwing.book.common.differing import (
    Beside,
    ElementAgreement,
    beside,
    difference_of,
    element_agreements,
    whole_verdict,
)
from chalkwing.book.common.making import scale_of
from chalkwing.book.common.marking import asked_of, has_finished, marks_by
from chalkwing.book.common.tables import WHOLE, CommonManeuver, CommonMark, CommonSet
from chalkwing.book.course import Scale
from chalkwing.book.tables import Judging, Lesson, Maneuver, Person
from chalkwing.debriefs import Verdict
from chalkwing.errors import BookTrouble

LEAST_NAMELESS = 4
"""With fewer instructors a spread without names would tell each who the others are."""


@dataclass(frozen=True)
class Reader:
    """Who reads a result: a person of the book, or nobody in particular; ``names`` asks for all names."""

    person: Person | None = None
    names: bool = False


@dataclass(frozen=True)
class Measured:
    """What was measured of one element in one part: value and limit in ``unit``, and the verdict."""

    part: int | None
    value: float | None
    unit: str
    limit: tuple[float | None, float | None]
    verdict: Verdict


@dataclass(frozen=True)
class ElementResult:
    """One element of a maneuver: its worst computed verdict, and how often each step was given."""

    element: str
    title: str
    verdict: Verdict
    measured: tuple[Measured, ...]
    counts: tuple[int, ...]
    own: str | None


@dataclass(frozen=True)
class ManeuverResult:
    """One maneuver of a set. ``number`` is its own in the set; ``counts`` how often each step was given.

    ``apart`` is how many steps the lowest and the highest mark lie apart, ``difference`` the mean difference
    of two instructors' marks; None with fewer than two marks. ``own`` is the reader's mark; ``by`` who gave
    what, where names are asked for.
    """

    number: int
    title: str
    direction: str
    counts: tuple[int, ...]
    apart: int | None
    difference: float | None
    own: str | None
    verdict: Verdict
    elements: tuple[ElementResult, ...]
    by: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Result:
    """All that a reader is told of a set. ``own`` is the reader's leniency; ``spread`` everybody's, no names.

    ``leniency`` has names, and is empty unless they were asked for by a chief.
    """

    number: int
    name: str
    made: str
    closed: str | None
    scale: Scale
    instructors: int
    finished: int
    agreement: Agreement
    maneuvers: tuple[ManeuverResult, ...]
    own: Leniency | None
    spread: tuple[float, ...]
    leniency: tuple[Leniency, ...]
    elements: tuple[ElementAgreement, ...]
    """Elements marked by two or more on enough maneuvers, those first on which marks differ most."""
    beside: Beside
    own_beside: Beside | None
    knew: int
    """How many of the marks were given by the instructor of the lesson, who may have known it."""

    @property
    def most_different(self) -> tuple[ManeuverResult, ...]:
        """Maneuvers whose marks differ, those first whose marks differ most."""
        differing = [each for each in self.maneuvers if each.difference]
        return tuple(sorted(differing, key=lambda each: (-(each.difference or 0.0), each.number)))


def result(session: Session, found: CommonSet, reader: Reader) -> Result:
    """What the set tells this reader.

    Raises
    ------
    BookTrouble
        The reader has not finished and the set is open, or asks for names and is no chief.
    """
    refuse_early(session, found, reader)
    scale = scale_of(found)
    everybody = raters(session, found)
    steps = given_steps(found, scale)
    told = agreement(sheet_of(found, everybody, steps, scale))
    names = {str(one.id): one.name for one in everybody}
    own = None if reader.person is None else str(reader.person.id)
    leniency = [replace(each, instructor=names[each.instructor]) for each in told.leniency]
    return Result(
        number=found.id,
        name=found.name,
        made=found.made.isoformat(),
        closed=found.closed.isoformat() if found.closed else None,
        scale=scale,
        instructors=len(everybody),
        finished=sum(has_finished(session, found, one) for one in everybody),
        agreement=replace(told, leniency=()),
        maneuvers=tuple(_maneuver(each, scale, reader) for each in found.maneuvers),
        own=next((b for a, b in zip(told.leniency, leniency, strict=True) if a.instructor == own), None),
        spread=_nameless(told.leniency),
        leniency=tuple(sorted(leniency, key=lambda each: each.instructor)) if reader.names else (),
        elements=tuple(element_agreements(found, scale)),
        beside=beside(found, scale, None),
        own_beside=None if reader.person is None else beside(found, scale, reader.person.id),
        knew=_knew(session, found),
    )


def _nameless(leniency: Sequence[Leniency]) -> tuple[float, ...]:
    """Everybody's leniency in order of size; nothing where so few would be named by it."""
    return tuple(sorted(each.above for each in leniency)) if len(leniency) >= LEAST_NAMELESS else ()


def refuse_early(session: Session, found: CommonSet, reader: Reader) -> None:
    """Refuse what would tell verdicts too early, or names to somebody who is no chief."""
    one = reader.person
    if reader.names and (one is None or not one.chief):
        raise BookTrouble(
            "only a chief reads names.",
            where=f"common set {found.id}",
            next_step="Everybody reads the own marks beside the spread of all.",
        )
    if found.closed is not None or (one is not None and one.chief and not one.instructor):
        return
    if one is None:
        raise BookTrouble(
            "it is still open: what was measured is told to those who have finished it.",
            where=f"common set {found.id}",
            next_step="Say who you are, or close the set.",
        )
    if not has_finished(session, found, one):
        rest = len(found.maneuvers) - len(marks_by(session, found, one))
        raise BookTrouble(
            f"{one.name} has {rest} of {len(found.maneuvers)} maneuvers to mark yet.",
            where=f"common set {found.id}",
            next_step="Mark them first; then it is told.",
        )


def raters(session: Session, found: CommonSet) -> list[Person]:
    """Everybody who has marked something of the set, by name."""
    chosen = (
        select(Person)
        .join(CommonMark, CommonMark.instructor_id == Person.id)
        .join(CommonManeuver, CommonManeuver.id == CommonMark.maneuver_id)
        .where(CommonManeuver.set_id == found.id)
        .distinct()
        .order_by(Person.name)
    )
    return list(session.scalars(chosen))


def given_steps(found: CommonSet, scale: Scale, element: str = WHOLE) -> dict[tuple[int, int], int]:
    """Steps counted from 0, by person and maneuver of the set, for wholes or for one element."""
    return {
        (given.instructor_id, each.place): scale.place(given.step)
        for each in found.maneuvers
        for given in each.marks
        if given.element == element
    }


def sheet_of(
    found: CommonSet, everybody: Sequence[Person], steps: dict[tuple[int, int], int], scale: Scale
) -> Sheet:
    """The marks as the statistics take them; instructors are called by their numbers in the book."""
    places = [each.place for each in found.maneuvers]
    marks = np.array([[steps.get((one.id, place), np.nan) for place in places] for one in everybody])
    return Sheet(
        tuple(str(one.id) for one in everybody),
        tuple(f"{each.place}, {each.flown.title.lower()}" for each in found.maneuvers),
        marks.reshape(len(everybody), len(places)).astype(float),
        steps=len(scale.steps),
    )


def _maneuver(shown: CommonManeuver, scale: Scale, reader: Reader) -> ManeuverResult:
    wholes = [each for each in shown.marks if each.element == WHOLE]
    places = [scale.place(each.step) for each in wholes]
    return ManeuverResult(
        number=shown.place,
        title=shown.flown.title,
        direction=shown.flown.direction,
        counts=_counts(places, scale),
        apart=max(places) - min(places) if len(places) > 1 else None,
        difference=difference_of(places),
        own=_own(wholes, reader),
        verdict=whole_verdict(shown.flown.elements),
        elements=tuple(_element(shown, each.name, each.title, scale, reader) for each in asked_of(shown)),
        by=tuple(sorted((each.instructor.name, each.step) for each in wholes)) if reader.names else (),
    )


def _element(shown: CommonManeuver, name: str, title: str, scale: Scale, reader: Reader) -> ElementResult:
    given = [each for each in shown.marks if each.element == name]
    measured = [each for each in shown.flown.elements if each.name == name]
    return ElementResult(
        element=name,
        title=title,
        verdict=whole_verdict(measured),
        measured=tuple(
            Measured(each.part, each.value, each.unit, (each.low, each.high), whole_verdict([each]))
            for each in measured
        ),
        counts=_counts([scale.place(each.step) for each in given], scale),
        own=_own(given, reader),
    )


def _counts(places: Sequence[int], scale: Scale) -> tuple[int, ...]:
    counted = Counter(places)
    return tuple(counted[place] for place in range(len(scale.steps)))


def _own(given: Sequence[CommonMark], reader: Reader) -> str | None:
    if reader.person is None:
        return None
    return next((each.step for each in given if each.instructor_id == reader.person.id), None)


def _knew(session: Session, found: CommonSet) -> int:
    rows = session.execute(
        select(CommonMark.id)
        .join(CommonManeuver, CommonManeuver.id == CommonMark.maneuver_id)
        .join(Maneuver, Maneuver.id == CommonManeuver.maneuver_id)
        .join(Judging, Judging.id == Maneuver.judging_id)
        .join(Lesson, Lesson.id == Judging.lesson_id)
        .where(
            CommonManeuver.set_id == found.id,
            CommonMark.element == WHOLE,
            Lesson.instructor_id == CommonMark.instructor_id,
        )
    )
    return len(rows.all())


# --- The list of sets ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SetLine:
    """One set in the list: how many instructors have started and finished it, no names."""

    number: int
    name: str
    made: str
    closed: str | None
    maneuvers: int
    started: int
    finished: int


def set_lines(session: Session) -> list[SetLine]:
    """All sets, the newest first."""
    lines = []
    for found in session.scalars(select(CommonSet).order_by(CommonSet.id.desc())):
        everybody = raters(session, found)
        lines.append(
            SetLine(
                number=found.id,
                name=found.name,
                made=found.made.isoformat(),
                closed=found.closed.isoformat() if found.closed else None,
                maneuvers=len(found.maneuvers),
                started=len(everybody),
                finished=sum(has_finished(session, found, one) for one in everybody),
            )
        )
    return lines
