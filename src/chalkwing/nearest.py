"""The names nearest to one that is not known."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches


def did_you_mean(name: str, known: Iterable[str], *, most: int = 3) -> str:
    """The question after the nearest of ``known``, ``most`` of them; empty where none is near.

    >>> did_you_mean("radios", ["radius", "bank"])
    'did you mean radius?'
    """
    near = get_close_matches(name, list(known), n=most, cutoff=0.6)
    return f"did you mean {' or '.join(near)}?" if near else ""
