"""``chalkwing book``: the training record."""

from __future__ import annotations

from chalkwing.cli.book.group import book

__all__ = ["book"]
