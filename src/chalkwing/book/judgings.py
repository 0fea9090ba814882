"""Judging a lesson's recordings, and what of it the tables hold."""

from __future__ import annotations

import json
import tempfile
import zlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chalkwing import __version__
from chalkwing.book.ledger import digest
from chalkwing.book.log_settings import AS_WRITTEN, LogSettings
from chalkwing.book.tables import Airplane, Element, Judging, Maneuver
from chalkwing.maneuvers import Standard, definitions, standard

if TYPE_CHECKING:
    from chalkwing.book.course import Course

Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction done."""

Document = Mapping[str, Any]
"""A debrief as its JSON says it: the contract of docs/quantities.md."""


@dataclass(frozen=True)
class Settings:
    """What a school judges by: a standard's name or file, its own limits over it, its own maneuvers."""

    standard: str = "commercial"
    overlay: Path | None = None
    definition_folders: tuple[Path, ...] = ()

    def basis(
        self, unit: str | None = None, course: Course | None = None, *, log: LogSettings | None = None
    ) -> Basis:
        """What a lesson is judged by: the limits at its stage of the course, else the standard's own.

        ``log`` says how its files are read where they do not say it themselves.
        """
        held_to = standard(self.standard, school=self.overlay, folders=self.definition_folders)
        if course is not None and unit is not None:
            held_to = course.standard_at(unit, held_to)
        return Basis(held_to, self.definition_folders, log or AS_WRITTEN)


@dataclass(frozen=True)
class Basis:
    """What one lesson is judged by, every file of it read."""

    standard: Standard
    definition_folders: tuple[Path, ...] = ()
    log: LogSettings = AS_WRITTEN

    @cached_property
    def standard_print(self) -> str:
        """The print of the limits: it changes when any of them does."""
        return _print(self.standard)

    @cached_property
    def definitions_print(self) -> str:
        """The print of all definitions used: it changes when any of them does."""
        return _print(sorted(definitions(self.definition_folders).items()))


def judged(
    paths: Sequence[Path],
    *,
    basis: Basis,
    sheet: Airplane | None,
    corrections: Sequence[Mapping[str, Any]] = (),
    progress: Progress | None = None,
) -> Document:
    """The debrief of a lesson's files, as its JSON, with a person's corrections (their tables) laid over.

    Refusals as `chalkwing.debrief`.
    """
    from chalkwing.find.corrections import corrections_from
    from chalkwing.trunk import debrief

    tables = {"schema": 1, "correction": [dict(each) for each in corrections]}

    with tempfile.TemporaryDirectory(prefix="chalkwing-") as folder:
        found = debrief(
            *paths,
            airplane=_sheet_of(sheet, Path(folder)),
            column_map=basis.log.map_in(Path(folder)),
            zone=basis.log.zone,
            standard=basis.standard,
            definition_folders=basis.definition_folders,
            corrections=corrections_from(tables, where="the corrections of this record"),
            reference=False,  # a plan is no part of the record, and takes longer than all the rest
            progress=progress,
        )
    document: Document = json.loads(found.to_json(indent=None))
    return document


def _sheet_of(airplane: Airplane | None, folder: Path) -> Path | str | None:
    """What the trunk takes for an airplane: a built-in sheet's name, or the school's own sheet as a file."""
    if airplane is None or airplane.sheet_text is None:
        return airplane.sheet if airplane else None
    path = folder / f"{airplane.sheet or 'sheet'}.toml"
    path.write_text(airplane.sheet_text, encoding="utf-8")
    return path


def rows_of(
    document: Document,
    *,
    lesson_id: int,
    basis: Basis,
    airplane: Airplane | None,
    flown_by: str = "unknown",
) -> Judging:
    """The judging with its maneuvers and elements; ``flown_by`` is for every maneuver that does not say."""
    return Judging(
        lesson_id=lesson_id,
        code=__version__,
        standard=document["standard"],
        standard_title=document["standard_title"],
        standard_print=basis.standard_print,
        definitions_print=basis.definitions_print,
        sheet_print=_print(airplane.sheet_text or airplane.sheet) if airplane else None,
        column_map=basis.log.column_map,
        zone=basis.log.zone,
        document=packed(document),
        maneuvers=[
            _maneuver(each, place, flown_by) for place, each in enumerate(document["maneuvers"], start=1)
        ],
    )


def _maneuver(found: Mapping[str, Any], place: int, flown_by: str) -> Maneuver:
    said = found["flown_by"]
    return Maneuver(
        place=place,
        kind=found["kind"],
        title=found["title"],
        direction=found["direction"],
        start_s=found["start_s"],
        end_s=found["end_s"],
        status=found["status"],
        probability=found["probability"],
        flown_by=flown_by if said == "unknown" else said,
        elements=[_element(each) for each in found["elements"] if each["verdict"] is not None],
    )


def _element(found: Mapping[str, Any]) -> Element:
    low, high = found["limit"] or (None, None)
    return Element(
        name=found["id"],
        title=found["title"],
        part=found["half"],
        unit=found["unit"],
        value=found["value"],
        sd=found["sd"],
        low=low,
        high=high,
        probability_met=found["probability_met"],
        verdict=found["verdict"],
        document=found["document"],
        edition=found["edition"],
        task=found["task"],
    )


def log_of(judging: Judging) -> LogSettings:
    """How the logs were read that a judging came from."""
    return LogSettings(judging.column_map, judging.zone)


def began(document: Document) -> datetime | None:
    """When the earliest recording begins; None where none says."""
    starts = [each["start_utc"] for each in document["recordings"] if each["start_utc"]]
    return min((datetime.fromisoformat(start) for start in starts), default=None)


def lasted(document: Document) -> float:
    """How long the recordings last together [s]."""
    return float(max(each["start_s"] + each["duration_s"] for each in document["recordings"]))


def packed(document: Document) -> bytes:
    """The document as the table keeps it: a tenth of its length."""
    return zlib.compress(json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode(), 6)


def unpacked(judging: Judging) -> Document:
    """The debrief that a judging came from."""
    document: Document = json.loads(zlib.decompress(judging.document))
    return document


def _print(thing: object) -> str:
    # Definitions and standards are frozen dataclasses of texts and numbers: their repr says all there is.
    return digest(repr(thing))
