"""Lessons on disk: recordings under the digest of their content, and a small file for each lesson.

A name that came with a file is shown, never used as a path.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
import tempfile
import time
from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from chalkwing.book.log_settings import LogSettings
from chalkwing.book.vault import Vault
from chalkwing.errors import RefusedRequest

_ID = re.compile(r"[0-9a-f]{16}")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_LONGEST_NAME = 120
_DAY = 86400.0


@dataclass(frozen=True)
class StoredFile:
    """A recording: the digest it lies under, the name it came with, and its size [bytes]."""

    sha256: str
    name: str
    size: int


@dataclass(frozen=True)
class Lesson:
    """Recordings that belong together, and what they are held against."""

    id: str
    created: str
    files: tuple[StoredFile, ...]
    airplane: str | None
    standard: str
    zone: str | None = None
    unit: str | None = None
    course: str | None = None
    """The course outline, to the letter, by whose limits for the lesson ``unit`` it is judged."""
    by: int | None = None
    """The person of the book who handed it in; None where nobody had to sign in."""
    overlay: str | None = None
    """Where the school's own limits lie that are laid over the standard."""
    column_map: str | None = None
    """A person's word on what the columns of its logs hold, as TOML, to the letter."""

    @property
    def log(self) -> LogSettings:
        """How its recordings are read where they do not say it themselves."""
        return LogSettings(self.column_map, self.zone)

    @property
    def sheet(self) -> str | None:
        """What its airplane's sheet is called; a sheet of the school's own lies in a file."""
        return "a sheet of the school's" if (self.airplane or "").endswith(".toml") else self.airplane

    @property
    def held_to(self) -> str:
        """What it is held against, in few words; files of the school's own have long names."""
        standard = "a standard of the school's" if self.standard.endswith(".toml") else self.standard
        return f"{standard}, with limits of the school's" if self.overlay else standard


class Shelf:
    """The folder that holds every lesson; their recordings lie in the vault of the book."""

    def __init__(self, folder: Path, vault: Vault) -> None:
        self.folder = folder
        self.vault = vault
        self._lessons = folder / "lessons"
        self._lessons.mkdir(parents=True, exist_ok=True, mode=0o700)

    def put(
        self,
        files: Sequence[StoredFile],
        *,
        airplane: str | None,
        standard: str,
        zone: str | None = None,
        unit: str | None = None,
        course: str | None = None,
        by: int | None = None,
        overlay: str | None = None,
        column_map: str | None = None,
    ) -> Lesson:
        """A new lesson of recordings that are already kept."""
        for file in files:
            if not _DIGEST.fullmatch(file.sha256) or not self.vault.holds(file.sha256):
                raise RefusedRequest(
                    "this recording is not kept here.", where=file.name, next_step="Upload it again."
                )
        lesson = Lesson(
            id=secrets.token_hex(8),
            created=now(),
            files=tuple(files),
            airplane=airplane,
            standard=standard,
            zone=zone,
            unit=unit,
            course=course,
            by=by,
            overlay=overlay,
            column_map=column_map,
        )
        (self._lessons / lesson.id).mkdir(mode=0o700)
        return self.keep(lesson)

    def keep(self, lesson: Lesson) -> Lesson:
        """Keep a lesson as it now is."""
        path = self._lessons / lesson.id / "lesson.json"
        write_whole(path, json.dumps(asdict(lesson), ensure_ascii=False, indent=1))
        return lesson

    def lesson(self, lesson_id: str) -> Lesson:
        """A lesson by its id."""
        path = self._lessons / lesson_id / "lesson.json"
        if not _ID.fullmatch(lesson_id) or not path.is_file():
            raise RefusedRequest("there is no such lesson.", status=404, next_step="Go back to all lessons.")
        return _read(json.loads(path.read_text(encoding="utf-8")))

    def lessons(self) -> list[Lesson]:
        """All of them, the newest first."""
        found = [
            _read(json.loads(path.read_text(encoding="utf-8")))
            for path in self._lessons.glob("*/lesson.json")
        ]
        return sorted(found, key=lambda each: each.created, reverse=True)

    def journal_path(self, lesson: Lesson) -> Path:
        """Where the changes that people made to a lesson are kept."""
        return self._lessons / lesson.id / "journal.jsonl"

    def note_refusal(self, lesson: Lesson, told: Mapping[str, str | None] | None) -> None:
        """Keep why a lesson was refused (``what``, ``where``, ``next``); None where it is not.

        It outlives a restart, as the lesson does; of a lesson removed in the meantime nothing is kept.
        """
        path = self._refusal_path(lesson)
        if told is None:
            path.unlink(missing_ok=True)
            return
        with contextlib.suppress(FileNotFoundError):
            write_whole(path, json.dumps(told, ensure_ascii=False))

    def refusal(self, lesson: Lesson) -> dict[str, str | None] | None:
        """Why a lesson was refused; None where it was not, or is not worked on yet."""
        try:
            told: dict[str, str | None] = json.loads(self._refusal_path(lesson).read_text(encoding="utf-8"))
        except FileNotFoundError:
            return None
        return told

    def _refusal_path(self, lesson: Lesson) -> Path:
        return self._lessons / lesson.id / "refused.json"

    def recording_path(self, file: StoredFile) -> Path:
        """Where a recording lies."""
        return self.vault.path(file.sha256)

    def kept_bytes(self) -> int:
        """What all recordings take."""
        return sum(path.stat().st_size for path in self.vault.folder.glob("*/*") if path.is_file())

    def remove(self, lesson: Lesson, *, booked: Collection[str]) -> None:
        """Remove a lesson, and those of its recordings that no other lesson has and no record names.

        ``booked`` are the digests of the recordings in the book.
        """
        folder = self._lessons / lesson.id
        for path in sorted(folder.iterdir()):
            path.unlink()
        folder.rmdir()
        wanted = self._wanted() | set(booked)
        for file in lesson.files:
            if file.sha256 not in wanted:
                self.vault.erase(file.sha256)

    def sweep(self, *, booked: Collection[str]) -> None:
        """Erase what uploads left: recordings of no lesson and no record, and copies never finished.

        Only what is older than a day: whoever adds to the book takes the files in before the record is made.
        """
        wanted = self._wanted() | set(booked)
        yesterday = time.time() - _DAY
        for digest in list(self.vault.everything()):
            if digest not in wanted and self.vault.path(digest).stat().st_mtime < yesterday:
                self.vault.erase(digest)
        for path in list(self.vault.leftovers()):
            if path.stat().st_mtime < yesterday:
                path.unlink(missing_ok=True)

    def _wanted(self) -> set[str]:
        return {file.sha256 for lesson in self.lessons() for file in lesson.files}


def _read(plain: Mapping[str, Any]) -> Lesson:
    files = tuple(StoredFile(**each) for each in plain["files"])
    return Lesson(**{**plain, "files": files})


def shown_name(name: str) -> str:
    """A file's name as it is shown: its last part, without control characters, not too long.

    >>> shown_name("C:\\\\logs\\\\lesson.csv"), shown_name("../../etc/passwd"), shown_name("")
    ('lesson.csv', 'passwd', 'recording')
    """
    last = re.split(r"[/\\\\]", name)[-1]
    clean = "".join(letter for letter in last if letter.isprintable()).strip()
    return clean[:_LONGEST_NAME] or "recording"


def now() -> str:
    """The time, UTC, to the second."""
    return f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ}"


def write_whole(path: Path, text: str) -> None:
    """Write a text file whole or not at all."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
