"""Everything chalkwing may refuse, and how it says so.

ChalkwingError              what was wrong, where, and what to do next
├── UnreadableRecording     the file is not a recording that can be used
├── UndecidedRecording      readable, but it cannot bear what was asked (no position, too few rows)
├── FaultyFile              a file has faults, all listed at once:
│   ├── FaultyDefinition    a maneuver, standard or overlay
│   ├── FaultySheet         an airplane sheet
│   ├── FaultyColumnMap     a user's column map
│   ├── FaultyCorrections   corrections
│   └── FaultyPlan          conditions, school texts, a morning's lessons or a course
├── UnfitCorrection         a correction that fits nothing in this recording, or cannot stand beside another
├── UnreadableReport        a weather report that cannot be read as a METAR
├── UnfitAirplane           a maneuver that this airplane is not flown in
├── OutsideModel            the physics asked for has no solution, or lies outside the model
│   └── CannotBeFlown       one constraint stops the maneuver; says what would make it possible
├── BookTrouble             the training record cannot be read, written, or changed as asked
├── UnfinishedWork          work given to another process that failed or took too much time or memory
├── RefusedRequest          what a page or a script asked of the server and may not have
└── UnknownName             a name that is not in the registry; the known ones are listed
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


class ChalkwingError(Exception):
    """The base of every refusal: ``what`` was wrong, ``where`` it was, and what to do ``next``.

    The facts are attributes as well as words, so that a page or a test can use them.
    """

    def __init__(self, what: str, *, where: str | None = None, next_step: str | None = None) -> None:
        self.what = what
        self.where = where
        self.next_step = next_step
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head} {self.next_step}" if self.next_step else head


@dataclass(frozen=True)
class Fault:
    """One fault of a file: ``path`` is a line (``line 12``) or a key path (``elements[2].limit``)."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


class FaultyFile(ChalkwingError):
    """A file with one or more faults, all of which are reported together."""

    def __init__(self, *, where: str, faults: Sequence[Fault], next_step: str | None = None) -> None:
        self.faults = tuple(faults)
        count = "one fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        listed = "".join(f"\n  {fault}" for fault in self.faults)
        super().__init__(f"{count}:{listed}", where=where, next_step=f"\n{next_step}" if next_step else None)


class UnreadableRecording(ChalkwingError):
    """The file is empty, damaged beyond use, or in no form that any reader knows."""


class UndecidedRecording(ChalkwingError):
    """The file could be read, but what it holds cannot bear what was asked of it."""


class FaultyDefinition(FaultyFile):
    """A maneuver definition, standard or overlay does not follow its schema."""


class FaultySheet(FaultyFile):
    """An airplane sheet does not follow its schema or contradicts itself."""


class FaultyColumnMap(FaultyFile):
    """A user's column map does not follow its schema or names what the log does not have."""


class FaultyCorrections(FaultyFile):
    """A file of corrections, or one given on the command line, does not follow its schema."""


class UnfitCorrection(ChalkwingError):
    """A well-formed correction that does not fit: ``fault`` is a word.

    ``gone`` (no such maneuver any more), ``overlap`` (two maneuvers would share a stretch), ``outside`` (a
    time outside the flight), ``unknown`` (no such kind), ``empty`` (nothing there that could be laid out).
    """

    def __init__(
        self, what: str, *, fault: str, where: str | None = None, next_step: str | None = None
    ) -> None:
        self.fault = fault
        super().__init__(what, where=where, next_step=next_step)


class FaultyPlan(FaultyFile):
    """A file of conditions, school texts, a morning's lessons or a course does not follow its schema."""


class UnreadableReport(ChalkwingError):
    """A weather report that is not a METAR, or has groups that no METAR has."""


class UnfitAirplane(ChalkwingError):
    """A maneuver that is not flown in an airplane of this class."""


class OutsideModel(ChalkwingError):
    """The physics asked for has no solution, or lies outside the range the model holds for."""


class CannotBeFlown(OutsideModel):
    """A maneuver that cannot be flown as asked: which ``constraint`` stops it, and the ``remedies``.

    ``constraint`` is a word (``stall``, ``power``, ``time``, ``shape``); ``remedies`` maps a setting's name
    to the value [SI] that makes it possible, all else unchanged.
    """

    def __init__(
        self, what: str, *, constraint: str, remedies: Mapping[str, float], next_step: str | None = None
    ) -> None:
        self.constraint = constraint
        self.remedies = dict(remedies)
        super().__init__(what, next_step=next_step)


class BookTrouble(ChalkwingError):
    """The training record cannot be reached, or what was asked of it would break it."""


class UnfinishedWork(ChalkwingError):
    """A process that did not finish: it failed, or went over its time or its memory."""


class RefusedRequest(ChalkwingError):
    """A request that the server does not carry out; ``status`` is its HTTP status."""

    def __init__(
        self, what: str, *, status: int = 400, where: str | None = None, next_step: str | None = None
    ) -> None:
        self.status = status
        super().__init__(what, where=where, next_step=next_step)


class UnknownName(ChalkwingError):
    """A name that no registry holds."""

    def __init__(self, *, kind: str, name: str, known: Iterable[str]) -> None:
        self.name = name
        self.known = tuple(sorted(known))
        super().__init__(f"no {kind} is called {name!r}.", next_step=f"Known: {', '.join(self.known)}.")
