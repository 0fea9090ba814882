"""The commands: read input, call, print."""

from __future__ import annotations

from chalkwing.cli.group import main

__all__ = ["main"]
