"""What every reader offers: it recognizes its form by content, and turns bytes into a Recording."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from chalkwing.recordings.recording import Recording

HEAD_SIZE = 65536
"""How much of a file a reader is shown to recognize it by [bytes]."""


class Reader(Protocol):
    """One form of recording. Readers hold no state and never look at a file's name."""

    name: str

    def recognizes(self, head: bytes) -> float:
        """How surely these first bytes (at most ``HEAD_SIZE``) are of this form: 0 (not) to 1 (certain)."""
        ...

    def read(self, data: bytes, *, source: str, column_map: Mapping[str, object] | None = None) -> Recording:
        """The whole file as a Recording.

        ``source`` names the file in messages. ``column_map`` is the user's own word on what the file holds,
        as read from TOML; each reader uses the keys it knows.

        Raises
        ------
        UnreadableRecording
            Nothing usable can be read.
        UndecidedRecording
            Readable, but without what every use needs (times, for instance).
        """
        ...
