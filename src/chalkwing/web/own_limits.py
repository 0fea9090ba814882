"""Limits of the school's own, handed in with a recording: the same files that the command line takes.

A file is a whole standard (``--standard FILE``) or the school's own limits to lie over one (``--overlay``);
which it is, its content says. A file that was handed in once can be chosen again.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chalkwing.book import ledger
from chalkwing.errors import ChalkwingError, FaultyDefinition, RefusedRequest
from chalkwing.maneuvers import Standard, definitions, standards
from chalkwing.maneuvers.standards import overlay_from, standard_from
from chalkwing.toml_files import parse_toml
from chalkwing.web.shelf import shown_name, write_whole

LONGEST_FILE = 60_000
"""Letters of a file; a write may have 64 KiB in all."""
_AS_PUBLISHED = ""


@dataclass(frozen=True)
class OwnLimits:
    """A file of the school's own: whether it lies ``over`` a published standard or stands for itself.

    ``name`` is the print that it is kept under; ``title`` what it calls itself.
    """

    name: str
    title: str
    over: bool
    path: Path


class LimitsKept:
    """The folder in which such files lie."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def every(self) -> list[OwnLimits]:
        """All that were handed in and still hold, by title."""
        found = []
        for path in sorted(self._folder.glob("*.toml")):
            try:
                found.append(self._read(path.read_text(encoding="utf-8"), where=path.name, path=path))
            except ChalkwingError:
                continue  # written for definitions that are there no more
        return sorted(found, key=lambda each: each.title)

    def keep(self, text: str, *, where: str) -> OwnLimits:
        """Keep a file that has no fault; refuses one with all its faults."""
        path = self._folder / f"{ledger.digest(text)[:16]}.toml"
        found = self._read(text, where=where, path=path)
        if not path.is_file():
            self._folder.mkdir(exist_ok=True, mode=0o700)
            write_whole(path, text)
        return found

    def chosen(self, name: str) -> OwnLimits:
        """One that was handed in before."""
        found = {each.name: each for each in self.every()}
        if name not in found:
            raise RefusedRequest("no limits of the school's own are kept under that name.", where="limits")
        return found[name]

    def _read(self, text: str, *, where: str, path: Path) -> OwnLimits:
        tables = parse_toml(text, FaultyDefinition, where=where)
        if "school" in tables:
            overlay_from(tables, _any_standard(), definitions().values(), where=where)
            return OwnLimits(path.stem, f"{tables['school']}, {tables['edition']}", True, path)
        found = standard_from(tables, where=where)
        return OwnLimits(path.stem, said(found), False, path)


def said(standard: Standard) -> str:
    """A standard with the document and edition that it stands in.

    >>> said(standards()["private"])
    'Private pilot, airplane (FAA-S-ACS-6C, effective 31 May 2024)'
    """
    return f"{standard.title} ({standard.document}, {standard.edition})"


def _any_standard() -> Standard:
    return next(iter(standards().values()))


def held_to(kept: LimitsKept, plain: dict[str, Any]) -> dict[str, str | None]:
    """``standard`` and ``overlay`` of a lesson, from what a form sent.

    ``standard`` names a published one; ``limits`` is the name of a file handed in before, or a new one as
    ``{"name", "text"}``; a whole standard of the school's own takes the published one's place.
    """
    standard, limits = plain.get("standard"), plain.get("limits") or _AS_PUBLISHED
    if not isinstance(standard, str) or standard not in standards():
        raise RefusedRequest("no standard has that name.", where="standard")
    if limits == _AS_PUBLISHED:
        return {"standard": standard, "overlay": None}
    own = kept.chosen(limits) if isinstance(limits, str) else _handed_in(kept, limits)
    if own.over:
        return {"standard": standard, "overlay": str(own.path)}
    return {"standard": str(own.path), "overlay": None}


def _handed_in(kept: LimitsKept, limits: Any) -> OwnLimits:
    if not isinstance(limits, dict) or not isinstance(limits.get("text"), str):
        raise RefusedRequest("a file of limits is sent with its text.", where="limits")
    name = shown_name(str(limits.get("name", "")))
    if len(limits["text"]) > LONGEST_FILE:
        raise RefusedRequest(f"it is longer than {LONGEST_FILE} letters.", where=name, status=413)
    return kept.keep(limits["text"], where=name)
