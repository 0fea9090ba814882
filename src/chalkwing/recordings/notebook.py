"""Collects what a reader could not use, so that a thousand bad lines make one note and not a thousand."""

from __future__ import annotations

from chalkwing.recordings.recording import Note

SHOWN = 5


class Notebook:
    """Faults gathered by kind; each kind becomes a few notes with line numbers and one with the count."""

    def __init__(self) -> None:
        self._faults: dict[str, list[int | None]] = {}
        self._notes: list[Note] = []

    def fault(self, kind: str, line: int | None = None) -> None:
        """One more fault of a kind; ``kind`` is a sentence about a single line."""
        self._faults.setdefault(kind, []).append(line)

    def say(self, message: str, *, line: int | None = None, channel: str | None = None) -> None:
        """A note of its own."""
        self._notes.append(Note(message, line=line, channel=channel))

    def notes(self) -> tuple[Note, ...]:
        """Everything noted, faults first."""
        noted: list[Note] = []
        for kind, lines in self._faults.items():
            noted += [Note(kind, line=line) for line in lines[:SHOWN]]
            if len(lines) > SHOWN:
                noted.append(Note(f"{len(lines) - SHOWN} more lines: {kind}"))
        return (*noted, *self._notes)
