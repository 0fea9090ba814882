"""``chalkwing maneuvers``: the definitions, one of them explained, or a school's own checked."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from chalkwing.cli.files import refuse_unwritable
from chalkwing.cli.options import definitions_option, format_option, standard_options
from chalkwing.cli.refusal import Refused
from chalkwing.files import whole_file

if TYPE_CHECKING:
    from chalkwing.maneuvers import Definition, Standard


class Checked(NamedTuple):
    """One file: the kind it defines, if it can be read, and its faults as (path, message)."""

    file: str
    kind: str | None
    faults: list[tuple[str, str]]


@click.command(short_help="Maneuver definitions: list, explain, check.")
@click.argument("words", nargs=-1, metavar="[NAME | check FILE...]")
@standard_options
@definitions_option
@click.option(
    "--picture",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE.svg",
    help="Draw the maneuver named, with its points.",
)
@click.option("--overwrite", is_flag=True, help="Replace the picture if it exists.")
@format_option
def maneuvers(
    words: tuple[str, ...],
    standard: str,
    overlay: Path | None,
    folders: tuple[Path, ...],
    picture: Path | None,
    overwrite: bool,
    form: str,
) -> None:
    """List the maneuvers, explain the one called NAME, or check definition files of your own.

    Explained are its parts, legs and points, the elements with the limits of the standard and where they are
    published, and the common errors with what helps. Checking reports every fault of every file with its
    path in the file; exit code 2 if there is one.

    \b
    Examples: chalkwing maneuvers
              chalkwing maneuvers chandelle --standard private --picture chandelle.svg
              chalkwing maneuvers check ours.toml
    """
    if words[:1] == ("check",):
        _check(words[1:], form)
        return
    if len(words) > 1:
        raise Refused(f"one maneuver at a time, not {len(words)}; or: chalkwing maneuvers check FILE...")
    if picture is not None:
        if not words:
            raise Refused("--picture: name the maneuver to draw.")
        if picture.suffix.lower() != ".svg":
            raise Refused(f"--picture {picture}: it is an SVG; choose a name that ends in .svg.")
        refuse_unwritable(picture, overwrite=overwrite)
    from chalkwing.maneuvers import definition, definitions
    from chalkwing.maneuvers import standard as standard_for

    known = definitions(folders)
    held_to = standard_for(standard, school=overlay, folders=folders)
    if not words:
        _list(list(known.values()), held_to, form)
        return
    kind = re.sub(r"[\s-]+", "_", words[0].strip().lower())
    _explain(definition(kind, folders), held_to, form)
    if picture is not None:
        _draw(definition(kind, folders), picture)


def _list(known: Sequence[Definition], standard: Standard, form: str) -> None:
    from chalkwing.cli.text.definition import listing, print_list

    if form == "json":
        _emit([listing(each, standard) for each in known])
        return
    from chalkwing.cli.console import page_console

    print_list(page_console(), known, standard)


def _explain(definition: Definition, standard: Standard, form: str) -> None:
    from chalkwing.cli.text.definition import explained, print_definition

    if form == "json":
        _emit(explained(definition, standard))
        return
    from chalkwing.cli.console import page_console

    print_definition(page_console(), definition, standard)


def _draw(definition: Definition, path: Path) -> None:
    from chalkwing.drawing.definition_sketch import definition_sketch
    from chalkwing.drawing.palette import Style

    with whole_file(path) as temporary:
        temporary.write_text(definition_sketch(definition, style=Style()), encoding="utf-8")
    click.echo(f"{path}: drawn.", err=True)


def _check(names: Sequence[str], form: str) -> None:
    """Every fault of every file; all are read before anything is refused."""
    if not names:
        raise Refused("give the definition files to check: chalkwing maneuvers check FILE...")
    checked = [_checked(Path(name)) for name in names]
    _note_twice(checked)
    if form == "json":
        _emit([_plain(each) for each in checked])
    else:
        for line in _check_lines(checked):
            click.echo(line)
    faults = sum(len(each.faults) for each in checked)
    if faults:
        files = "one file" if len(names) == 1 else f"{len(names)} files"
        raise Refused(f"{faults} fault{'' if faults == 1 else 's'} in {files}.")


def _checked(path: Path) -> Checked:
    from chalkwing.errors import FaultyDefinition
    from chalkwing.maneuvers import definitions
    from chalkwing.maneuvers.reading import read_definition

    try:
        kind = read_definition(path).kind
    except FaultyDefinition as error:
        return Checked(str(path), None, [(fault.path, fault.message) for fault in error.faults])
    if kind in definitions():
        taken = f"{kind!r} comes with chalkwing; give this maneuver another name"
        return Checked(str(path), kind, [("kind", taken)])
    return Checked(str(path), kind, [])


def _note_twice(checked: Sequence[Checked]) -> None:
    """Two files that define one kind cannot be used together."""
    first: dict[str, str] = {}
    for each in checked:
        if each.kind in first:
            each.faults.append(("kind", f"{each.kind!r} is defined in {first[each.kind]} as well"))
        elif each.kind is not None:
            first[each.kind] = each.file


def _check_lines(checked: Sequence[Checked]) -> Iterator[str]:
    for each in checked:
        if not each.faults:
            yield f"{each.file}: {each.kind}, no fault."
        for path, message in each.faults:
            yield f"{each.file}: {path}: {message}"


def _plain(checked: Checked) -> dict[str, object]:
    faults = [{"path": path, "message": message} for path, message in checked.faults]
    return {"file": checked.file, "kind": checked.kind, "faults": faults}


def _emit(data: object) -> None:
    click.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))
