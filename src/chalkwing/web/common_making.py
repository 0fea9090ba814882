"""Common sets being made: recordings are read in another process while the page tells how far it is."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from chalkwing.book import Book
from chalkwing.book.common.choosing import Candidate
from chalkwing.book.common.making import make
from chalkwing.book.common.shown import Order, shown_of
from chalkwing.errors import ChalkwingError, RefusedRequest, UnfinishedWork

Run = Callable[..., Any]
"""Carries out a task in a process that is kept for such work."""


@dataclass(frozen=True)
class Making:
    """How far a set is; ``number`` once it is made, ``left`` what was left out, ``refusal`` if it failed."""

    name: str
    what: str = "beginning"
    fraction: float = 0.0
    number: int | None = None
    left: tuple[str, ...] = ()
    refusal: ChalkwingError | None = None

    @property
    def under_way(self) -> bool:
        """Whether it is still being made."""
        return self.number is None and self.refusal is None


class SetMaker:
    """Makes one set at a time; a server that stops in the middle has entered nothing."""

    def __init__(self, book: Book, run: Run, submit: Callable[..., Any]) -> None:
        self._book, self._run, self._submit = book, run, submit
        self._lock = threading.Lock()
        self._state: Making | None = None

    @property
    def state(self) -> Making | None:
        """The set that is being made, or the last one."""
        with self._lock:
            return self._state

    def begin(self, chosen: Sequence[Candidate], *, name: str, who: str, seed: int) -> None:
        """Begin to make a set; refused while another one is under way."""
        with self._lock:
            if self._state is not None and self._state.under_way:
                raise RefusedRequest(
                    f"another set is being made: {self._state.name}.",
                    status=409,
                    next_step="Wait until it is done.",
                )
            self._state = Making(name)
        self._submit(self._make, tuple(chosen), name, who, seed)

    def _make(self, chosen: Sequence[Candidate], name: str, who: str, seed: int) -> None:
        try:
            made = make(
                self._book, chosen, name=name, who=who, seed=seed, draw=self._draw, progress=self._tell
            )
            self._set(number=made.number, left=made.left, what="done", fraction=1.0)
        except ChalkwingError as error:
            self._set(refusal=error)
        except Exception as error:  # noqa: BLE001 - nobody waits for this thread: the page must hear of it
            self._set(refusal=UnfinishedWork(f"the set could not be made ({type(error).__name__})."))

    def _draw(self, order: Order, progress: Callable[[str, float], None]) -> list[bytes | None]:
        drawn: list[bytes | None] = self._run(shown_of, order, tell=progress)
        return drawn

    def _tell(self, what: str, fraction: float) -> None:
        self._set(what=what, fraction=fraction)

    def _set(self, **said: Any) -> None:
        with self._lock:
            assert self._state is not None
            self._state = replace(self._state, **said)
