"""A sheet file read into an `AirplaneSheet`, with all its faults reported at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

from chalkwing.airplane.assembling import assemble
from chalkwing.airplane.checks import check_sense
from chalkwing.airplane.quantities import FIGURES, KEYS, ROWS, WORDS
from chalkwing.airplane.reading import Reader
from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.errors import FaultySheet, UnknownName
from chalkwing.toml_files import read_toml

SCHEMA = 1
_SHEETS = Path(__file__).parent / "sheets"
_PLAIN_KEYS = ("schema", "name", "title", "generic", "engines", "source", "notes", "indicated_to_calibrated")
_NEXT = "The keys a sheet may hold are listed in docs/airplane_sheets.md."


def sheet_names() -> tuple[str, ...]:
    """The names of the sheets that come with chalkwing; all are generic, none is a type."""
    return tuple(sorted(path.stem for path in _SHEETS.glob("*.toml")))


def load_sheet(path_or_name: str | Path) -> AirplaneSheet:
    """The airplane sheet in a TOML file, or one of :func:`sheet_names`.

    Parameters
    ----------
    path_or_name : str or Path
        A path, or text with a slash or ending in ``.toml``, is a file; anything else is a name.

    Raises
    ------
    UnknownName
        No sheet has that name.
    FaultySheet
        The file cannot be read, or has faults; all of them are listed with their keys.

    >>> load_sheet("four-seat-160").engines
    1
    """
    text = str(path_or_name)
    if isinstance(path_or_name, Path) or text.endswith(".toml") or "/" in text or "\\" in text:
        return read_sheet(Path(path_or_name))
    if text not in sheet_names():
        raise UnknownName(kind="airplane sheet", name=text, known=sheet_names())
    return read_sheet(_SHEETS / f"{text}.toml")


def read_sheet(path: Path) -> AirplaneSheet:
    """The airplane sheet in the file at ``path``; raises FaultySheet."""
    return sheet_from(read_toml(path, FaultySheet), name=path.stem, where=path.name)


def sheet_from(tables: Mapping[str, object], *, name: str, where: str) -> AirplaneSheet:
    """The airplane sheet in the tables of a file.

    ``name`` stands in where the tables give none; ``where`` names the file in a refusal (FaultySheet).
    """
    reader = Reader()
    reader.keys(tables, (*_PLAIN_KEYS, *WORDS, *KEYS, *(kind.name for kind in ROWS)))
    if tables.get("schema") != SCHEMA:
        reader.fault("schema", f"must be {SCHEMA}")
    reader.source = reader.text(tables, "source")
    # The correction first: numbers given as indicated airspeeds go through it.
    reader.correction = reader.airspeed_table(tables.get("indicated_to_calibrated"))
    values = reader.numbers(tables, FIGURES)
    rows = {kind.name: reader.rows(tables, kind) for kind in ROWS}
    title = reader.text(tables, "title", required=True)
    called = reader.text(tables, "name") or name
    words = {
        key: reader.word(tables, key, choices, required=key == "propeller") for key, choices in WORDS.items()
    }
    generic, engines, notes = _generic(tables, reader), _engines(tables, reader), _notes(tables, reader)
    check_sense(reader, values, rows, words)
    if reader.faults:
        raise FaultySheet(where=where, faults=reader.faults, next_step=_NEXT)
    return assemble(
        values,
        rows,
        words,
        name=called,
        title=title,
        generic=generic,
        engines=engines,
        notes=notes,
        correction=reader.correction,
        sources=reader.sources,
    )


def _generic(tables: Mapping[str, object], reader: Reader) -> bool:
    value = tables.get("generic", False)
    if not isinstance(value, bool):
        reader.fault("generic", "must be true or false")
    return value is True


def _engines(tables: Mapping[str, object], reader: Reader) -> int:
    value = tables.get("engines", 1)
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 4:
        reader.fault("engines", f"must be a whole number from 1 to 4, not {value!r}")
        return 1
    return value


def _notes(tables: Mapping[str, object], reader: Reader) -> tuple[str, ...]:
    value = tables.get("notes", [])
    if not isinstance(value, list) or not all(isinstance(note, str) for note in value):
        reader.fault("notes", "must be a list of texts")
        return ()
    return tuple(cast("Sequence[str]", value))
