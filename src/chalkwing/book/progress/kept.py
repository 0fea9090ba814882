"""Tries and fits that are kept: students of one school ask for the same ones until somebody tries again.

A fit depends on the tries alone and its draws are seeded, so one that is kept says the same as one made anew.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.progress import model
from chalkwing.book.progress.attempts import Attempts, Ints, attempts_of_school, who_tried_last
from chalkwing.book.tables import LedgerLine
from chalkwing.units import Floats

POOL = 24
"""Students, those who tried a maneuver last, with whom a student is pooled."""
_APART = ("noted", "marked", "signed", "enrolled", "desk: note")
"""Acts that leave attempts as they were; after any other they are read again."""
_FITS = 256
"""Fits that are kept, each of 1,000 draws for at most a few dozen students: half a megabyte."""


def last_change(session: Session) -> str:
    """The seal of the newest line of the ledger that may have changed who flew what, and how."""
    chosen = select(LedgerLine.seal).where(LedgerLine.act.not_in(_APART))
    return session.scalars(chosen.order_by(LedgerLine.number.desc()).limit(1)).first() or ledger.BEGINNING


def pool_of(last: Sequence[int], student: int) -> frozenset[int]:
    """Whom a student is held against, of those who tried a kind, the last one first: the first `POOL`.

    They say all there is to say of a school's level; one of hundreds of students long gone would only make
    everybody wait, and the school may have taught otherwise then.
    """
    return frozenset((*last[:POOL], student))


@dataclass(frozen=True)
class _School:
    """A book's tries as of a seal: who tried each kind last, and the tries of all who are in a pool."""

    seal: str
    last: Mapping[str, Sequence[int]]
    tried: Mapping[str, Attempts]

    @classmethod
    def read(cls, session: Session, seal: str) -> _School:
        last = who_tried_last(session)
        pools = {student for each in last.values() for student in each[:POOL]}
        return cls(seal, last, attempts_of_school(session, pools))

    def tries(self, session: Session, student: int) -> dict[str, Attempts]:
        alone = {kind for kind, each in self.last.items() if student in each[POOL:]}
        own = attempts_of_school(session, [student]) if alone else {}
        found = {}
        for kind, last in self.last.items():
            if student in last:
                held = self.tried[kind].of_all(pool_of(last, student))
                found[kind] = held.and_those(own[kind]) if student not in held.student else held
        return found


@dataclass
class Kept:
    """The tries of a book as of its last seal, and fits by the tries they came from. Threads share it."""

    _fits: OrderedDict[bytes, model.Practice] = field(default_factory=OrderedDict)
    _school: _School | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def tries(self, session: Session, student: int) -> dict[str, Attempts]:
        """For every kind that a student tried, the own tries and those of whom the student is pooled with.

        Read again once the ledger tells of a change that may touch them.
        """
        seal = last_change(session)
        with self._lock:
            if self._school is None or self._school.seal != seal:
                self._school = _School.read(session, seal)
            school = self._school
        return school.tries(session, student)

    def fit(self, student: Ints, number: Ints, success: Floats) -> model.Practice:
        """As `chalkwing.book.progress.model.fit`; one at a time, so that two who wait share one."""
        key = hashlib.sha256()
        for each in (student, number, success):
            key.update(np.ascontiguousarray(each).tobytes())
        name = key.digest()
        with self._lock:
            if name not in self._fits:
                self._fits[name] = model.fit(student, number, success)
            self._fits.move_to_end(name)
            while len(self._fits) > _FITS:
                self._fits.popitem(last=False)
            return self._fits[name]
