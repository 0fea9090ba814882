"""What was measured, put into a page of the docs in the place of what was measured before."""

from __future__ import annotations

from pathlib import Path


def put(page: Path, told: str, *, begin: str, end: str) -> None:
    """Put ``told``, which begins and ends with two marks, into ``page``: over the old, else at its end."""
    text = page.read_text(encoding="utf-8")
    if begin in text:
        text = text[: text.index(begin)] + told + text[text.index(end) + len(end) :]
    else:
        text = text.rstrip("\n") + "\n\n" + told + "\n"
    page.write_text(text, encoding="utf-8")
