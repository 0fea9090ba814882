"""Making a common set: the recordings of the chosen maneuvers are read again, and the set entered whole.

Reading takes its time and changes nothing; the set comes into the book in one transaction at its end, so that
a set stopped while it was made is not there.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger, lessons
from chalkwing.book.book import Book
from chalkwing.book.common.choosing import Candidate
from chalkwing.book.common.shown import Order, shown_of
from chalkwing.book.common.tables import CommonManeuver, CommonSet
from chalkwing.book.course import PLAIN, Scale, Step, course_in_force, read_course
from chalkwing.book.following import standing_corrections
from chalkwing.book.judgings import Progress, log_of
from chalkwing.errors import BookTrouble, ChalkwingError

Drawer = Callable[[Order, Progress], list[bytes | None]]
"""Whatever works out what is shown: in this process, or in another."""


@dataclass(frozen=True)
class Made:
    """The set's number, how many maneuvers it has, and what was left out and why."""

    number: int
    maneuvers: int
    left: tuple[str, ...]


def make(
    book: Book,
    chosen: Sequence[Candidate],
    *,
    name: str,
    who: str,
    seed: int,
    draw: Drawer | None = None,
    progress: Progress | None = None,
) -> Made:
    """Make a set called ``name`` of the chosen maneuvers, in an order that ``seed`` mixes.

    Raises `BookTrouble` where none of the maneuvers could be shown.
    """
    name = " ".join(name.split())
    if not name:
        raise BookTrouble("a set needs a name.")
    tell = progress or (lambda _what, _done: None)
    shown: list[tuple[Candidate, bytes]] = []
    left: list[str] = []
    by_lesson = [
        (lesson, list(each))
        for lesson, each in groupby(sorted(chosen, key=lambda c: (c.lesson, c.number)), lambda c: c.lesson)
    ]
    for place, (lesson, wanted) in enumerate(by_lesson):
        try:
            drawn = (draw or _here)(
                order_of(book, lesson, wanted),
                lambda what, done, at=place: tell(  # type: ignore[misc]
                    f"reading recording {at + 1} of {len(by_lesson)}: {what}", (at + done) / len(by_lesson)
                ),
            )
        except ChalkwingError as error:
            left.append(f"lesson {lesson}: {error}")
            continue
        for each, told in zip(wanted, drawn, strict=True):
            if told is None:
                left.append(f"maneuver {each.number} of lesson {lesson}: it is not found there any more")
            else:
                shown.append((each, told))
    if not shown:
        raise BookTrouble(
            "no maneuver of it can be shown.", next_step="; ".join(left) or "Choose maneuvers of the book."
        )
    mixed = [shown[k] for k in np.random.default_rng(seed).permutation(len(shown))]
    return Made(_enter(book, mixed, name=name, who=who, seed=seed), len(shown), tuple(left))


def _here(order: Order, progress: Progress) -> list[bytes | None]:
    return shown_of(order, tell=progress)


def order_of(book: Book, number: int, wanted: Sequence[Candidate]) -> Order:
    """What has to be read and shown of one lesson."""
    with book.reading() as session:
        found = lessons.lesson(session, number)
        airplane = found.airplane
        return Order(
            lesson=number,
            files=tuple((book.vault.path(each.sha256), each.recording.name) for each in found.recordings),
            airplane=airplane.sheet if airplane else None,
            sheet_text=airplane.sheet_text if airplane else None,
            corrections=tuple(standing_corrections(found)),
            maneuvers=tuple((each.kind, each.start_s) for each in wanted),
            log=log_of(lessons.in_force(found)),
        )


def _enter(book: Book, mixed: Sequence[tuple[Candidate, bytes]], *, name: str, who: str, seed: int) -> int:
    with book.writing() as session:
        course = course_in_force(session) or read_course(PLAIN)
        chosen = course.common_scale or course.scale
        scale = json.dumps(asdict(chosen), ensure_ascii=False)
        made = CommonSet(name=name, scale=scale, seed=seed, made_by=who)
        made.maneuvers = [
            CommonManeuver(place=place, maneuver_id=each.maneuver_id, shown=shown)
            for place, (each, shown) in enumerate(mixed, start=1)
        ]
        session.add(made)
        session.flush()
        ledger.enter(
            session,
            who=who,
            act="common set made",
            subject=f"common set {made.id}",
            content={
                "name": name,
                "seed": seed,
                "scale": chosen.name,
                "maneuvers": [[each.lesson, each.number, each.kind] for each, _ in mixed],
            },
        )
        return made.id


def common_set(session: Session, number: int) -> CommonSet:
    """The set with this number."""
    found = session.get(CommonSet, number)
    if found is None:
        newest = session.scalars(select(CommonSet.id).order_by(CommonSet.id.desc()).limit(1)).first()
        raise BookTrouble(
            f"there is no common set {number}.",
            next_step=f"The newest is set {newest}." if newest else "The book has none yet: make one.",
        )
    return found


def scale_of(found: CommonSet) -> Scale:
    """The scale that a set is marked by: the school's for common sets, as it was when the set was made."""
    told = json.loads(found.scale)
    return Scale(told["name"], tuple(Step(**step) for step in told["steps"]))
