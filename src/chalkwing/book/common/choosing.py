"""Which maneuvers of the book make a common set: picked one by one, or a number of some kinds by themselves.

By themselves they are spread from clean to far off, within each kind evenly, so that the whole scale comes to
be used: a set of nothing but good ones shows no agreement, however well the instructors judge alike.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from chalkwing.book.book import Book
from chalkwing.book.tables import Judging, Lesson, LessonRecording, Maneuver
from chalkwing.errors import BookTrouble

MOST = 60
"""Maneuvers of one set: more nobody marks with care."""
TAKES = (
    "A set takes whole maneuvers of which it is known who flew them, with something judged, "
    "whose recordings are kept."
)


@dataclass(frozen=True)
class Candidate:
    """A maneuver that could be in a set. ``missed`` counts its elements not met, half those undecided."""

    maneuver_id: int
    lesson: int
    number: int
    kind: str
    title: str
    start_s: float
    elements: int
    missed: float
    closest: float
    """The smallest chance that one of its elements was met."""


def candidates(book: Book, session: Session) -> list[Candidate]:
    """Whole maneuvers of students and instructors with something judged, whose recordings are kept."""
    kept = _lessons_kept(book, session)
    rows = session.execute(
        select(Lesson.id, Maneuver)
        .join(Judging, Judging.lesson_id == Lesson.id)
        .join(Maneuver, Maneuver.judging_id == Judging.id)
        .where(
            Judging.in_force,
            Maneuver.status == "complete",
            Maneuver.flown_by.in_(("student", "instructor")),
        )
        .options(selectinload(Maneuver.elements))
        .order_by(Lesson.id, Maneuver.place)
    )
    return [_candidate(lesson, flown) for lesson, flown in rows if lesson in kept and flown.elements]


def _lessons_kept(book: Book, session: Session) -> set[int]:
    """Lessons all of whose recordings are still here."""
    found: dict[int, list[str]] = defaultdict(list)
    for lesson, sha256 in session.execute(select(LessonRecording.lesson_id, LessonRecording.sha256)):
        found[lesson].append(sha256)
    return {lesson for lesson, digests in found.items() if all(map(book.vault.holds, digests))}


def _candidate(lesson: int, flown: Maneuver) -> Candidate:
    verdicts = [each.verdict for each in flown.elements]
    chances = [each.probability_met for each in flown.elements if each.probability_met is not None]
    return Candidate(
        maneuver_id=flown.id,
        lesson=lesson,
        number=flown.place,
        kind=flown.kind,
        title=flown.title,
        start_s=flown.start_s,
        elements=len(verdicts),
        missed=verdicts.count("not_met") + 0.5 * verdicts.count("cannot_tell"),
        closest=min(chances, default=0.5),
    )


def spread(
    found: Sequence[Candidate], *, count: int, kinds: Collection[str] = (), seed: int
) -> list[Candidate]:
    """``count`` of the maneuvers of ``kinds`` (all, where none is named), spread from clean to far off.

    The kinds share the number as evenly as they can; within a kind the maneuvers are put in order of how much
    was missed and taken at even steps. The same seed gives the same set.
    """
    rng = np.random.default_rng(seed)
    by_kind: dict[str, list[Candidate]] = defaultdict(list)
    for each in found:
        if not kinds or each.kind in kinds:
            by_kind[each.kind].append(each)
    _refuse_few(by_kind, count, kinds)
    chosen: list[Candidate] = []
    for kind, share in _shares({kind: len(each) for kind, each in by_kind.items()}, count).items():
        # Alike ones come in any order, so that no lesson is preferred.
        mixed = [by_kind[kind][k] for k in rng.permutation(len(by_kind[kind]))]
        ordered = sorted(mixed, key=lambda each: (each.missed, -each.closest))
        chosen += [ordered[k] for k in _even_steps(len(ordered), share)]
    return chosen


def _refuse_few(by_kind: dict[str, list[Candidate]], count: int, kinds: Collection[str]) -> None:
    there = sum(len(each) for each in by_kind.values())
    if not 1 <= count <= MOST:
        raise BookTrouble(f"a set has 1 to {MOST} maneuvers, not {count}.")
    if there < count:
        of_kinds = f" of {', '.join(kind.replace('_', ' ') for kind in kinds)}" if kinds else ""
        raise BookTrouble(
            f"the book has only {there} maneuvers{of_kinds} that can be in a set, and {count} are asked for.",
            next_step=f"Ask for fewer, or for more kinds. {TAKES}",
        )


def _shares(there: dict[str, int], count: int) -> dict[str, int]:
    """How many of each kind: one at a time to the kind that has the fewest so far and has more."""
    shares = dict.fromkeys(sorted(there), 0)
    for _ in range(count):
        kind = min((k for k in shares if shares[k] < there[k]), key=lambda k: shares[k])
        shares[kind] += 1
    return {kind: share for kind, share in shares.items() if share}


def _even_steps(length: int, count: int) -> list[int]:
    """``count`` different places among ``length``, the first and the last among them where there is a choice.

    >>> _even_steps(10, 4), _even_steps(3, 3), _even_steps(5, 1)
    ([0, 3, 6, 9], [0, 1, 2], [2])
    """
    if count == 1:
        return [length // 2]
    return [round(k * (length - 1) / (count - 1)) for k in range(count)]


def picked(found: Sequence[Candidate], picks: Sequence[tuple[int, int]]) -> list[Candidate]:
    """The maneuvers picked one by one: each a lesson's number and the maneuver's in it."""
    known = {(each.lesson, each.number): each for each in found}
    for lesson, number in picks:
        if (lesson, number) not in known:
            raise BookTrouble(
                f"maneuver {number} of lesson {lesson} cannot be in a set.",
                next_step=TAKES,
            )
    chosen = [known[pick] for pick in dict.fromkeys(picks)]
    if not 1 <= len(chosen) <= MOST:
        raise BookTrouble(f"a set has 1 to {MOST} maneuvers, not {len(chosen)}.")
    return chosen
