"""The debrief as a page in a terminal."""

from __future__ import annotations

from chalkwing.cli.text.page import print_debrief

__all__ = ["print_debrief"]
