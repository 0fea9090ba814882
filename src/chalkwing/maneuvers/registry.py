"""Where definitions and standards are found by name: those that come with chalkwing, and a school's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from types import MappingProxyType

from chalkwing.errors import Fault, FaultyDefinition, UnknownName
from chalkwing.maneuvers.reading import read_definition
from chalkwing.maneuvers.schema import Definition
from chalkwing.maneuvers.standards import Standard, overlay, read_standard

_HOME = Path(__file__).parent


@cache
def _builtin() -> Mapping[str, Definition]:
    read = [read_definition(path) for path in sorted((_HOME / "definitions").glob("*.toml"))]
    return MappingProxyType({definition.kind: definition for definition in read})


@cache
def _standards() -> Mapping[str, Standard]:
    read = [read_standard(path) for path in sorted((_HOME / "standards").glob("*.toml"))]
    return MappingProxyType({standard.name: standard for standard in read})


def definitions(folders: Sequence[Path] = ()) -> Mapping[str, Definition]:
    """Every definition by kind: those that come with chalkwing, then the ``*.toml`` of the given folders.

    Raises `FaultyDefinition` for a faulty file, and for a kind that is already defined: a school's file must
    not change the meaning of a known name in silence.
    """
    found = dict(_builtin())
    for path in (path for folder in folders for path in _definition_files(folder)):
        definition = read_definition(path)
        if definition.kind in found:
            fault = Fault("kind", f"{definition.kind!r} is already defined; give this maneuver another name")
            raise FaultyDefinition(where=path.name, faults=[fault])
        found[definition.kind] = definition
    return MappingProxyType(found)


def _definition_files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        fault = Fault("folder", "does not exist or is not a folder")
        raise FaultyDefinition(where=folder.name, faults=[fault])
    return sorted(folder.glob("*.toml"))


def definition(kind: str, folders: Sequence[Path] = ()) -> Definition:
    """The definition of maneuver ``kind``; `UnknownName` lists the known kinds.

    >>> definition("chandelle").turns.count
    1
    """
    known = definitions(folders)
    if kind not in known:
        raise UnknownName(kind="maneuver", name=kind, known=known)
    return known[kind]


def standards() -> Mapping[str, Standard]:
    """Every published standard that comes with chalkwing, by name."""
    return _standards()


def standard(
    given: Standard | Path | str, *, school: Path | None = None, folders: Sequence[Path] = ()
) -> Standard:
    """The standard ``given``, with the overlay file of a ``school`` laid over it where there is one.

    Parameters
    ----------
    given
        A published standard's name, a TOML file in the form of those, or a standard itself.
    school, folders
        A school's overlay file, and folders of further definitions that it may set limits for.

    Raises
    ------
    UnknownName
        No published standard has that name; those that exist are listed.
    FaultyDefinition
        A file cannot be used; every fault is listed.

    >>> standard("commercial").document
    'FAA-S-ACS-7B'
    """
    published = given if isinstance(given, Standard) else _published(given)
    return published if school is None else overlay(published, school, definitions(folders).values())


def _published(given: Path | str) -> Standard:
    name = str(given)
    if name.endswith(".toml"):
        return read_standard(Path(given))
    known = standards()
    if name not in known:
        raise UnknownName(kind="standard", name=name, known=known)
    return known[name]
