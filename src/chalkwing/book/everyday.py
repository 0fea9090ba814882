"""Marks of every day beside what was measured of the same maneuvers, instructor by instructor.

They are marks of different students, in different lessons, by the limits of their stages: they show where to
talk, and no leniency. Only a common set shows that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.stats import beta
from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from chalkwing.book.common.differing import whole_verdict
from chalkwing.book.course import PLAIN, Scale, course_from, read_course
from chalkwing.book.lessons import NEAR
from chalkwing.book.tables import CourseText, Judging, Maneuver, Mark, Person
from chalkwing.errors import BookTrouble

LEAST = 8
"""Of fewer marks no share is told."""
LIMITS = (
    "These are marks of different students, at different stages, and the measured elements are held to the "
    "limits of the lesson that they were flown in. An instructor with better students, or with harder "
    "lessons, looks otherwise than another who judges just alike: it shows no leniency. It shows which marks "
    "to talk over."
)


@dataclass(frozen=True)
class Share:
    """How many of how many, with the 90 % interval of the share; None where there are too few."""

    count: int
    of: int
    low: float | None
    high: float | None

    @classmethod
    def counted(cls, count: int, of: int) -> Share:
        """The interval is Jeffreys's: the share's posterior from a belief of half a mark each way."""
        if of < LEAST:
            return cls(count, of, None, None)
        low, high = beta.ppf([0.05, 0.95], count + 0.5, of - count + 0.5)
        return cls(count, of, float(low) if count else 0.0, float(high) if count < of else 1.0)

    @property
    def said(self) -> str:
        """In words."""
        if self.of == 0:
            return "no such mark"
        if self.low is None or self.high is None:
            return f"too few to say: {self.count} of {self.of}"
        return f"{self.count} of {self.of} (90 % interval {100 * self.low:.0f} to {100 * self.high:.0f} %)"


@dataclass(frozen=True)
class Everyday:
    """An instructor's marks for wholes, or all instructors' together (``instructor`` None).

    ``missed``: of the maneuvers marked "meets the standard" or better, those that held an element not met.
    ``below``: of the maneuvers with every measured element met, those marked below it. ``blind`` marks were
    given before the verdict was seen.
    """

    instructor: str | None
    marks: int
    blind: int
    missed: Share
    below: Share


@dataclass(frozen=True)
class _Pair:
    instructor: str
    verdict: str
    meets: bool
    blind: bool


def refuse_names(reader: Person | None, *, names: bool) -> None:
    """Refuse all names to somebody who is no chief."""
    if names and (reader is None or not reader.chief):
        raise BookTrouble(
            "only a chief reads names.", next_step="Everybody reads the own marks beside those of all."
        )


def everyday(session: Session, *, only: Person | None = None, names: bool = False) -> list[Everyday]:
    """All instructors' marks together first; then those of ``only``, or with ``names`` everybody's."""
    pairs = _pairs(session)
    chosen = [
        name
        for name in sorted({pair.instructor for pair in pairs})
        if names or (only is not None and only.name == name)
    ]
    each = [_counted(name, [pair for pair in pairs if pair.instructor == name]) for name in chosen]
    return [_counted(None, pairs), *each]


def _counted(name: str | None, pairs: Sequence[_Pair]) -> Everyday:
    meets = [pair for pair in pairs if pair.meets]
    met = [pair for pair in pairs if pair.verdict == "met"]
    return Everyday(
        instructor=name,
        marks=len(pairs),
        blind=sum(pair.blind for pair in pairs),
        missed=Share.counted(sum(pair.verdict == "not_met" for pair in meets), len(meets)),
        below=Share.counted(sum(not pair.meets for pair in met), len(met)),
    )


def _pairs(session: Session) -> list[_Pair]:
    """The last mark of each instructor for each maneuver of the judgings in force that a student flew."""
    places = _standard_places(session)
    flown = defaultdict(list)
    chosen = (
        select(Judging.lesson_id, Maneuver)
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .where(Judging.in_force, Maneuver.flown_by != "instructor")
        .where(Judging.lesson_id.in_(select(Mark.lesson_id).where(Mark.element.is_(None))))
        .options(selectinload(Maneuver.elements))
    )
    for lesson, maneuver in session.execute(chosen):
        flown[lesson, maneuver.kind].append(maneuver)
    last: dict[tuple[int, int], _Pair] = {}
    marks = select(Mark).where(Mark.element.is_(None)).options(selectinload(Mark.instructor))
    for mark in session.scalars(marks.order_by(Mark.id)):
        near = [each for each in flown[mark.lesson_id, mark.kind] if abs(each.start_s - mark.start_s) <= NEAR]
        place = places.get((mark.scale, mark.step))
        if place is None or not near or not near[0].elements:
            continue
        last[mark.instructor_id, near[0].id] = _Pair(
            mark.instructor.name, whole_verdict(near[0].elements), place, mark.blind
        )
    return list(last.values())


def _standard_places(session: Session) -> dict[tuple[str, str], bool]:
    """Whether a word of a scale says that the standard was met, for every scale that the school ever had."""
    texts = session.scalars(select(CourseText).order_by(CourseText.id))
    scales = [read_course(PLAIN).scale, *(course_from(each.text, where=each.name).scale for each in texts)]
    return {(scale.name, word): meets for scale in scales for word, meets in _words(scale)}


def _words(scale: Scale) -> list[tuple[str, bool]]:
    return [(step.word, place >= scale.standard_place) for place, step in enumerate(scale.steps)]
