"""Changing a lesson's record: who flew, marks, notes, and judging it anew. Every change is told in the
ledger.

What was signed is not changed in place: a change after a sign-off needs a reason and makes a new version,
while the signed document stays as it was (`chalkwing.book.sealing`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.course import Scale
from chalkwing.book.judgings import Basis, Document, began, lasted, log_of, rows_of
from chalkwing.book.tables import Judging, Lesson, Maneuver, Mark, Note, Person
from chalkwing.errors import BookTrouble

FlownBy = Literal["student", "instructor", "shared", "unknown"]
NEAR = 5.0
"""Seconds within which a start names a maneuver: judging anew may move an edge."""


def lesson(session: Session, number: int) -> Lesson:
    """The lesson with this number."""
    found = session.get(Lesson, number)
    if found is None:
        newest = session.scalars(select(Lesson.id).order_by(Lesson.id.desc()).limit(1)).first()
        raise BookTrouble(
            f"there is no lesson {number}.",
            next_step=f"The newest is lesson {newest}." if newest else "The book has no lesson yet.",
        )
    return found


def in_force(found: Lesson) -> Judging:
    """The judging that holds: the newest."""
    return next(each for each in reversed(found.judgings) if each.in_force)


def maneuver(found: Lesson, place: int) -> Maneuver:
    """The maneuver with this number in the lesson, counted from 1 as the debrief counts."""
    flown = in_force(found).maneuvers
    if not 1 <= place <= len(flown):
        count = "no maneuver" if not flown else f"maneuvers 1 to {len(flown)}"
        raise BookTrouble(
            f"there is no maneuver {place}.", where=f"lesson {found.id}", next_step=f"It has {count}."
        )
    return flown[place - 1]


def signed(found: Lesson) -> bool:
    """Whether the lesson, as it now stands, is signed."""
    return any(each.version == found.version for each in found.sign_offs)


def allow(found: Lesson, why: str | None) -> None:
    """Refuse a change of a signed record for which no reason is given; asked before anything is changed."""
    if signed(found) and not (why and why.strip()):
        raise BookTrouble(
            f"version {found.version} is signed.",
            where=f"lesson {found.id}",
            next_step="Say why it is changed (--why): that makes a new version; the signed one is kept.",
        )


def change(
    session: Session, found: Lesson, *, who: str, act: str, content: Mapping[str, Any], why: str | None
) -> None:
    """Tell the ledger of a change that was allowed, and begin a new version where the last was signed."""
    found.version += signed(found)
    told = {**content, "why": why, "version": found.version}
    ledger.enter(session, who=who, act=act, subject=f"lesson {found.id}", content=told)


def label(
    session: Session,
    found: Lesson,
    places: Sequence[int],
    flown_by: FlownBy,
    *,
    who: str,
    why: str | None = None,
) -> None:
    """Say who flew some maneuvers: only the student's own enter the student's progress."""
    allow(found, why)
    flown = [maneuver(found, place) for place in places]
    for each in flown:
        each.flown_by = flown_by
    content = {"maneuvers": list(places), "flown_by": flown_by}
    change(session, found, who=who, act="labeled", content=content, why=why)


def note(
    session: Session,
    found: Lesson,
    text: str,
    *,
    who: str,
    moment: float | None = None,
    why: str | None = None,
) -> Note:
    """Add words to a lesson, or to a ``moment`` [s] of it.

    Raises
    ------
    BookTrouble
        There are no words, or the recording does not reach the moment: a signature would seal it so.
    """
    if not text.strip():
        raise BookTrouble(
            "a note without words.", where=f"lesson {found.id}", next_step="Write what it says."
        )
    if moment is not None and not 0.0 <= moment <= found.duration_s:
        raise BookTrouble(
            f"minute {moment / 60.0:g} lies outside the recording.",
            where=f"lesson {found.id}",
            next_step=f"It lasts {found.duration_s / 60.0:.1f} minutes.",
        )
    allow(found, why)
    written = Note(lesson_id=found.id, text=text, who=who, moment_s=moment)
    found.notes.append(written)
    change(session, found, who=who, act="noted", content={"text": text, "moment_s": moment}, why=why)
    return written


def mark(
    session: Session,
    found: Lesson,
    place: int,
    *,
    instructor: Person,
    scale: Scale,
    step: str,
    element: str | None = None,
    blind: bool = False,
    why: str | None = None,
) -> Mark:
    """An instructor's mark for a maneuver, or for one element of it, in a word of the school's own scale."""
    allow(found, why)
    scale.place(step)
    flown = maneuver(found, place)
    given = Mark(
        lesson_id=found.id,
        instructor=instructor,
        kind=flown.kind,
        start_s=flown.start_s,
        element=element,
        scale=scale.name,
        step=step,
        blind=blind,
    )
    found.marks.append(given)
    content = {"maneuver": place, "element": element, "scale": scale.name, "step": step, "blind": blind}
    change(session, found, who=instructor.name, act="marked", content=content, why=why)
    return given


def judge_anew(
    session: Session, found: Lesson, document: Document, *, basis: Basis, who: str, why: str | None
) -> Judging:
    """Enter a new judging and put it in force; the old one stays beside it.

    Who flew is carried over from the maneuver of the same kind that began at about the same time.
    """
    allow(found, why)
    before = in_force(found)
    judging = put_in_force(session, found, document, basis=basis)
    content = {
        "judging": judging.id,
        "instead_of": before.id,
        "standard": judging.standard_title,
        **basis.log.told,
    }
    change(session, found, who=who, act="judged anew", content=content, why=why)
    return judging


def put_in_force(session: Session, found: Lesson, document: Document, *, basis: Basis) -> Judging:
    """The rows of a new judging, in force from now on; whoever calls tells the ledger.

    Where the new one does not say who flew, it is carried over from the same maneuver of the old one. Where
    the logs were read otherwise, the lesson was flown when they now say.
    """
    before = in_force(found)
    judging = rows_of(document, lesson_id=found.id, basis=basis, airplane=found.airplane)
    for each in judging.maneuvers:
        if each.flown_by == "unknown":
            each.flown_by = next(
                (old.flown_by for old in before.maneuvers if same_maneuver(old, each)), each.flown_by
            )
    if basis.log != log_of(before):
        found.flown, found.duration_s = began(document), lasted(document)
    before.in_force = False
    found.judgings.append(judging)
    session.flush()
    return judging


def same_maneuver(one: Maneuver, other: Maneuver) -> bool:
    """Whether two judgings speak of the same maneuver."""
    return one.kind == other.kind and abs(one.start_s - other.start_s) <= NEAR
