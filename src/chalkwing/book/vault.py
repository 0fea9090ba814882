"""Recorded files beside the database, each under the digest of what is in it."""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from chalkwing.errors import BookTrouble

_CHUNK = 1 << 20
UNFINISHED = ".part"


@dataclass(frozen=True)
class Kept:
    """A file as it was taken in: digest and size [bytes] of its content, and where it lies."""

    sha256: str
    size: int
    path: Path


class Vault:
    """The recordings of a book. A file is either there, whole, under its digest, or it is not there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "recordings"

    def path(self, sha256: str) -> Path:
        """Where the file with this digest lies, or would."""
        return self.folder / sha256[:2] / sha256

    def holds(self, sha256: str) -> bool:
        """Whether its bytes are here."""
        return self.path(sha256).is_file()

    def take(self, source: Path) -> Kept:
        """Copy a file in; the same content a second time is the file already there.

        The copy is written under another name, forced to the disk and only then given its own, so that a
        power cut leaves a whole file or none.
        """
        digest, size = digest_of(source)
        goal = self.path(digest)
        if not goal.is_file():
            goal.parent.mkdir(parents=True, exist_ok=True)
            self._copy(source, goal, digest)
        return Kept(digest, size, goal)

    def _copy(self, source: Path, goal: Path, digest: str) -> None:
        handle, name = tempfile.mkstemp(suffix=UNFINISHED, dir=goal.parent)
        part = Path(name)
        seen = hashlib.sha256()
        try:
            with source.open("rb") as read, os.fdopen(handle, "wb") as write:
                for chunk in iter(lambda: read.read(_CHUNK), b""):
                    seen.update(chunk)
                    write.write(chunk)
                write.flush()
                os.fsync(write.fileno())
            if seen.hexdigest() != digest:
                raise BookTrouble(
                    "the file changed while it was being copied.",
                    where=source.name,
                    next_step="Wait until it is whole, and add it again.",
                )
            part.replace(goal)
            _force(goal.parent)
        except OSError as error:
            raise BookTrouble(
                f"its copy could not be written ({(error.strerror or 'no reason given').lower()}).",
                where=source.name,
                next_step="Nothing was entered. Make room, and add it again.",
            ) from error
        finally:
            part.unlink(missing_ok=True)

    def erase(self, sha256: str) -> None:
        """Remove the bytes; the record of what was judged stays in the database."""
        self.path(sha256).unlink(missing_ok=True)

    def sound(self, sha256: str) -> bool:
        """Whether the file is here and still what its name says."""
        path = self.path(sha256)
        return path.is_file() and digest_of(path)[0] == sha256

    def leftovers(self) -> Iterator[Path]:
        """Copies that were never finished: what a killed process leaves."""
        yield from self.folder.glob(f"*/*{UNFINISHED}")

    def everything(self) -> Iterator[str]:
        """The digest of every whole file."""
        for path in self.folder.glob("*/*"):
            if path.suffix != UNFINISHED:
                yield path.name


def digest_of(path: Path) -> tuple[str, int]:
    """SHA-256 in hexadecimal, and size [bytes], of a file."""
    seen = hashlib.sha256()
    size = 0
    with path.open("rb") as file:
        for chunk in iter(lambda: file.read(_CHUNK), b""):
            seen.update(chunk)
            size += len(chunk)
    return seen.hexdigest(), size


def _force(folder: Path) -> None:
    """Force a folder's names to the disk, where the system lets one open a folder."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
