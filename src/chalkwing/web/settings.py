"""What the server may take in, and how much of the machine its work may use."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path

import platformdirs

from chalkwing.book.accounts.entry import Rules
from chalkwing.book.place import ENVIRONMENT

MEGABYTE = 1 << 20
GIGABYTE = 1 << 30


def usual_folder() -> Path:
    """Where lessons are kept unless another folder is named."""
    return platformdirs.user_data_path("chalkwing") / "desk"


def usual_book() -> str | Path:
    """The book that is used unless another is named: as for `chalkwing book`."""
    return os.environ.get(ENVIRONMENT) or platformdirs.user_data_path("chalkwing") / "book"


@dataclass(frozen=True)
class School:
    """A server with accounts. ``address`` is how browsers reach it, where that is not this machine itself."""

    address: str | None = None
    rules: Rules = field(default_factory=Rules)

    @property
    def secure(self) -> bool:
        """Whether browsers come by TLS: cookies are then never sent without it."""
        return self.address is not None and self.address.startswith("https://")

    @property
    def cookie(self) -> str:
        """The name of the cookie; with the prefix no other host can set it, which asks for TLS."""
        return "__Host-chalkwing-sign-in" if self.secure else "chalkwing-sign-in"


@dataclass(frozen=True)
class Settings:
    """Bounds of the server: sizes in bytes, times in seconds. ``hosts`` are names it may be called by."""

    folder: Path = field(default_factory=usual_folder)
    book: str | Path | None = None
    """The book that lessons are entered into: a folder or a PostgreSQL address; else one in ``folder``."""
    book_files: Path | None = None
    """Where the recordings of a book on PostgreSQL lie."""
    school: School | None = None
    """Accounts are asked for; else whoever can reach the server sees and changes everything."""
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "[::1]")
    file_bytes: int = 256 * MEGABYTE
    files: int = 16
    kept_bytes: int = 20 * GIGABYTE
    cache_bytes: int = 5 * GIGABYTE
    write_bytes: int = 64 * 1024
    work_seconds: float = 300.0
    plan_seconds: float = 120.0
    work_bytes: int = 6 * GIGABYTE
    """Address space of a process that reads or judges; compiled code and thread stacks count in it."""

    @property
    def book_place(self) -> str | Path:
        """Where the book is kept."""
        return self.folder / "book" if self.book is None else self.book
