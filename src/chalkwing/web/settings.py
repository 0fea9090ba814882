"""What the server may take in, and how much of the machine its work may use."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import platformdirs

MEGABYTE = 1 << 20
GIGABYTE = 1 << 30


def usual_folder() -> Path:
    """Where lessons are kept unless another folder is named."""
    return platformdirs.user_data_path("chalkwing") / "desk"


@dataclass(frozen=True)
class Settings:
    """Bounds of the server: sizes in bytes, times in seconds. ``hosts`` are names it may be called by."""

    folder: Path = field(default_factory=usual_folder)
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
