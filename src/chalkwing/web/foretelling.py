"""The chance on the next try, worked out in a process of its own: no page waits for it.

What was worked out last is kept in the desk's cache by student, with the seal of the ledger that it was
worked out from. A page shows what there is at once; where the ledger has gone on since, the chance is worked
out anew and the page, asking again, shows it then.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from chalkwing.book import Book, ledger, open_book, people
from chalkwing.book.columns import now
from chalkwing.book.progress.chance import Chance, ElementChance, chances
from chalkwing.book.progress.kept import Kept, last_change
from chalkwing.book.tables import LedgerLine, Lesson, Person
from chalkwing.errors import ChalkwingError
from chalkwing.files import whole_file
from chalkwing.web.cache import Cache, key_of

FILE = "chance.json"
_AHEAD = 5.0
"""Seconds after the start in which nothing is worked out that nobody has asked for."""
_AGAIN = 10.0
"""Seconds until what failed is tried again."""

Run = Callable[..., Any]
"""Carries out a task in a process that is kept for such work."""


@dataclass(frozen=True)
class Standing:
    """A student's chances as far as they are known.

    ``chances`` is None where they were never worked out; else they are as of ``computed`` (ISO, UTC).
    ``current`` tells that nothing that counts was changed since. ``refusal`` is why they cannot be told.
    """

    chances: tuple[Chance, ...] | None = None
    computed: str | None = None
    current: bool = False
    refusal: str | None = None

    @property
    def awaited(self) -> bool:
        """Whether they are being worked out."""
        return not self.current and self.refusal is None


class Foretelling:
    """Keeps chances by student and has them worked out anew: first of whom people look at, then ahead."""

    def __init__(self, book: Book, run: Run, kept: Cache, *, where: str | Path, files: Path | None) -> None:
        self._book, self._run, self._kept = book, run, kept
        self._place = where, files
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="chance")
        self._lock = threading.Lock()
        self._waiting: list[int] = []
        self._failed: dict[int, tuple[float, str]] = {}
        self._closed = threading.Event()

    def open(self) -> None:
        """Work chances of everybody in training out ahead, a little after the start."""
        threading.Thread(target=self._ahead, name="chance-ahead", daemon=True).start()

    def close(self) -> None:
        """Begin nothing new."""
        self._closed.set()
        with self._lock:
            self._waiting.clear()
        self._thread.shutdown(wait=False, cancel_futures=True)

    def of(self, session: Session, student: int) -> Standing:
        """What is known of a student's chances; what is out of date begins to be worked out."""
        found, seal = self._read(session, student)
        if found is None or not found.current:
            with self._lock:
                when, refusal = self._failed.get(student, (0.0, None))
            if refusal is not None and time.monotonic() - when < _AGAIN:
                return replace(found or Standing(), refusal=refusal)
            if seal != ledger.BEGINNING:
                self._ask(student)
            else:
                return Standing((), current=True)  # an empty book has no tries
        return found or Standing()

    def _read(self, session: Session, student: int) -> tuple[Standing | None, str]:
        seal = last_change(session)
        path = self._path(session, student)
        if not path.is_file():
            return None, seal
        told = json.loads(path.read_text(encoding="utf-8"))
        found = tuple(_chance(each) for each in told["chances"])
        return Standing(found, told["computed"], current=told["seal"] == seal), seal

    def _path(self, session: Session, student: int) -> Path:
        # Another book in the same place has other students under the same numbers.
        first = session.scalars(select(LedgerLine.seal).order_by(LedgerLine.number).limit(1)).first()
        return self._kept.place(key_of("chance", first, student)) / FILE

    def _ask(self, student: int, *, first: bool = True) -> None:
        with self._lock:
            if self._closed.is_set() or (student in self._waiting and not first):
                return
            if student in self._waiting:
                self._waiting.remove(student)
            else:
                self._thread.submit(self._next)
            self._waiting.insert(len(self._waiting) if first else 0, student)

    def _next(self) -> None:
        with self._lock:
            if not self._waiting:
                return
            student = self._waiting.pop()
        try:
            with self._book.reading() as session:
                found, _ = self._read(session, student)
                path = self._path(session, student)
            if found is None or not found.current:
                told = self._run(foretell, *self._place, student, tell=_nobody)
                path.parent.mkdir(parents=True, exist_ok=True)
                with whole_file(path) as temporary:
                    temporary.write_text(json.dumps(told, allow_nan=False), encoding="utf-8")
            refusal = None
        except ChalkwingError as error:
            refusal = error.what
        except Exception as error:  # noqa: BLE001 - nobody waits for this thread: the page must hear of it
            refusal = f"something went wrong inside chalkwing ({type(error).__name__})."
        with self._lock:
            self._failed.pop(student, None)
            if refusal is not None:
                self._failed[student] = time.monotonic(), refusal

    def _ahead(self) -> None:
        if self._closed.wait(_AHEAD):
            return
        with self._book.reading() as session:
            chosen = select(Person.id).join(Lesson, Lesson.student_id == Person.id)
            chosen = chosen.where(Person.left.is_(None)).group_by(Person.id)
            for student in session.scalars(chosen.order_by(func.max(Lesson.id).desc())):
                self._ask(student, first=False)


def foretell(
    where: str | Path, files: Path | None, student: int, *, tell: Callable[..., None]
) -> dict[str, Any]:
    """What a process does for a student: the chances, with the seal that they are as of."""
    book, kept = _opened(where, files)
    with book.reading() as session:
        seal = last_change(session)
        told = chances(session, people.by_number(session, student), kept=kept, progress=tell)
    return {"seal": seal, "computed": now().isoformat(), "chances": [asdict(each) for each in told]}


@cache
def _opened(where: str | Path, files: Path | None) -> tuple[Book, Kept]:
    """The book, and what was fitted of it: kept as long as the process lives."""
    return open_book(where, files=files), Kept()


def _chance(plain: dict[str, Any]) -> Chance:
    limiting = tuple(ElementChance(**{**each, "help": tuple(each["help"])}) for each in plain["limiting"])
    return Chance(**{**plain, "of_next": tuple(plain["of_next"]), "limiting": limiting})


def _nobody(what: str, done: float) -> None:
    """Progress that nobody watches."""
