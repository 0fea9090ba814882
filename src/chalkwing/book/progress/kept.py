"""Fits that are kept: a page of a student asks for the same ones until somebody tries that maneuver again.

A fit depends on the tries alone and its draws are seeded, so one that is kept says the same as one made anew.
"""

from __future__ import annotations

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass, field

import numpy as np
from sqlalchemy.orm import Session

from chalkwing.book import ledger
from chalkwing.book.progress import model
from chalkwing.book.progress.attempts import Attempts, Ints, attempts_of_school
from chalkwing.units import Floats

_FITS = 256
"""Fits that are kept, each of 1,000 draws for at most a few dozen students: half a megabyte."""


@dataclass
class Kept:
    """The attempts of a book as of its last seal, and fits by the tries they came from. Threads share it."""

    _fits: OrderedDict[bytes, model.Practice] = field(default_factory=OrderedDict)
    _attempts: tuple[str, dict[str, Attempts]] | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def attempts(self, session: Session) -> dict[str, Attempts]:
        """Every kind's attempts; read again once a line was added to the ledger, which every change does."""
        seal = ledger.last_seal(session)
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
