"""The console that pages are printed on."""

from __future__ import annotations

import io
import sys

from rich.console import Console

WIDEST = 96
"""Lines longer than this are hard to read, however wide the terminal."""


def page_console() -> Console:
    """Standard output, for people: no guessing at what is a number or an emoji.

    A terminal that cannot show a mark gets a question mark in its place; the words beside it say the same.
    """
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")
    console = Console(highlight=False, emoji=False, markup=False)
    console.width = min(console.width, WIDEST)
    return console
