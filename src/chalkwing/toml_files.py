"""TOML files: their tables, or a refusal that says what is wrong and where."""

from __future__ import annotations

import tomllib
from pathlib import Path

from chalkwing.errors import Fault, FaultyFile


def read_toml(path: Path, refusal: type[FaultyFile]) -> dict[str, object]:
    """The tables of the file at ``path``; a ``refusal`` of one that cannot be read or is no TOML."""
    return parse_toml(read_text(path, refusal), refusal, where=path.name)


def read_text(path: Path, refusal: type[FaultyFile]) -> str:
    """The text of the file at ``path``; a ``refusal`` of one that cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        fault = Fault("file", f"cannot be read: {error.strerror}")
    except UnicodeDecodeError as error:
        fault = Fault("file", f"is not UTF-8 text (byte {error.start})")
    raise refusal(where=path.name, faults=[fault])


def parse_toml(text: str, refusal: type[FaultyFile], *, where: str) -> dict[str, object]:
    """The tables of a TOML text; ``where`` names its source in the ``refusal`` of what is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise refusal(where=where, faults=[Fault("file", f"is not TOML: {error}")]) from None
    except RecursionError:
        raise refusal(where=where, faults=[Fault("file", "is nested too deeply to be read")]) from None
