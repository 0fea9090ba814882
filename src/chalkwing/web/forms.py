"""What forms of the book send: JSON whose fields are looked at one by one."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from chalkwing.errors import RefusedRequest

_LONGEST = 2000


def said_by(plain: Mapping[str, Any]) -> str:
    """Who does it: every change of the book is kept with a name."""
    return text(plain, "by", what="who you are", most=120)


def text(plain: Mapping[str, Any], key: str, *, what: str, most: int = _LONGEST) -> str:
    """A text that must be there; ``what`` says what it is."""
    found = optional(plain, key, most=most)
    if found is None:
        raise RefusedRequest(f"{what} is missing.", where=key, next_step="Fill it in.")
    return found


def optional(plain: Mapping[str, Any], key: str, *, most: int = _LONGEST) -> str | None:
    """A text, None where it was left empty."""
    value = plain.get(key)
    if value is None:
        return None
    if not isinstance(value, str) or len(value) > most:
        raise RefusedRequest(f"it must be a text of at most {most} letters.", where=key)
    return value.strip() or None


def chosen(plain: Mapping[str, Any], key: str, among: Collection[str], *, default: str | None = None) -> str:
    """One of a few words."""
    value = optional(plain, key) or default
    if value is None or value not in among:
        raise RefusedRequest(f"it must be one of: {', '.join(among)}.", where=key)
    return value


def several(plain: Mapping[str, Any], key: str, among: Collection[str]) -> list[str]:
    """Any number of a few words."""
    value = plain.get(key, [])
    values = [value] if isinstance(value, str) else value
    if not isinstance(values, list) or any(each not in among for each in values):
        raise RefusedRequest(f"each must be one of: {', '.join(among)}.", where=key)
    return values
