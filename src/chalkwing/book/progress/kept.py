"""Fits that are kept: a page of a student asks for the same ones until somebody tries that maneuver again.

A fit depends on the tries alone and its draws are seeded, so one that is kept says the same as one made anew.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass, field

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.progress import model
from chalkwing.book.progress.attempts import Attempts, Ints, attempts_of_school
from chalkwing.book.tables import LedgerLine
from chalkwing.units import Floats

_APART = ("noted", "marked", "signed", "enrolled", "desk: note")
"""Acts that leave attempts as they were; after any other they are read again."""
_FITS = 256
"""Fits that are kept, each of 1,000 draws for at most a few dozen students: half a megabyte."""


def _last_change(session: Session) -> str:
    """The seal of the newest line of the ledger that may have changed who flew what, and how."""
    chosen = select(LedgerLine.seal).where(LedgerLine.act.not_in(_APART))
    return session.scalars(chosen.order_by(LedgerLine.number.desc()).limit(1)).first() or ledger.BEGINNING


@dataclass
class Kept:
    """The attempts of a book as of its last seal, and fits by the tries they came from. Threads share it."""

    _fits: OrderedDict[bytes, model.Practice] = field(default_factory=OrderedDict)
    _attempts: tuple[str, dict[str, Attempts]] | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def attempts(self, session: Session) -> dict[str, Attempts]:
        """Every kind's attempts; read again once the ledger tells of a change that may touch them."""
        seal = _last_change(session)
        with self._lock:
            if self._attempts is None or self._attempts[0] != seal:
                self._attempts = (seal, attempts_of_school(session))
            return self._attempts[1]

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
