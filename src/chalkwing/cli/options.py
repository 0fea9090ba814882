"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])
_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


def split_names(_ctx: click.Context, _param: click.Parameter, value: str | None) -> tuple[str, ...]:
    """``a,b`` as ("a", "b")."""
    return tuple(name.strip() for name in value.split(",") if name.strip()) if value else ()


def known_zone(_ctx: click.Context, _param: click.Parameter, value: str | None) -> str | None:
    """The zone as given; refused before any file is read where it is none."""
    if value is None:
        return None
    from chalkwing.recordings.delimited.column_map import zone_rule

    if zone_rule(value) is None:
        raise click.BadParameter(f"{value!r} is no zone. Write UTC, +02:00 or a zone's name.")
    return value


def log_options(command: F) -> F:
    """``--columns`` and ``--zone``: how a log is read where it does not say it itself."""
    for decorate in (
        click.option(
            "--zone",
            callback=known_zone,
            metavar="ZONE",
            help="Where the file's local times are kept, if it does not say: +02:00 or a zone name.",
        ),
        click.option(
            "--columns",
            "column_map",
            type=_FILE,
            metavar="MAP.toml",
            help="Your own word on what the columns hold; overrides what is recognized.",
        ),
    ):
        command = decorate(command)
    return command


def recording_options(command: F) -> F:
    """FILES and what says how to read them."""
    for decorate in (
        log_options,
        click.option(
            "--ignore",
            callback=split_names,
            metavar="CHANNEL,...",
            help="Recorded channels to withhold, such as bank,pitch.",
        ),
        click.option(
            "--airplane",
            metavar="SHEET",
            help="Airplane sheet: a TOML file, or the name of a built-in one.",
        ),
        click.argument("files", nargs=-1, required=True, type=_FILE, metavar="FILE..."),
    ):
        command = decorate(command)
    return command


def overwrite_option(command: F) -> F:
    """``--overwrite``, the same on every command that writes a file."""
    return click.option("--overwrite", is_flag=True, help="Replace the output file if it exists.")(command)


def format_option(command: F) -> F:
    """``--format``, the same on every command that prints a page."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(["text", "json"]),
        default="text",
        show_default=True,
        help="A page to read, or JSON for machines.",
    )(command)


def standard_options(command: F) -> F:
    """Which standard is held against the flying, and a school's own values."""
    for decorate in (
        click.option(
            "--overlay",
            type=_FILE,
            metavar="SCHOOL.toml",
            help="A school's own limits, laid over the standard.",
        ),
        click.option(
            "--standard",
            default="commercial",
            show_default=True,
            metavar="NAME",
            help="commercial or private, or a TOML file in the form of those.",
        ),
    ):
        command = decorate(command)
    return command


def holding_definitions(
    _ctx: click.Context, _param: click.Parameter, value: tuple[Path, ...]
) -> tuple[Path, ...]:
    """The folders as given; one that holds no definition is a mistyped one."""
    for folder in value:
        if not any(folder.glob("*.toml")):
            raise click.BadParameter(f"{folder} holds no definition file (.toml).")
    return value


def definitions_option(command: F) -> F:
    """``--definitions``: a school's own maneuvers."""
    return click.option(
        "--definitions",
        "folders",
        multiple=True,
        callback=holding_definitions,
        type=click.Path(exists=True, file_okay=False, path_type=Path),
        metavar="FOLDER",
        help="Maneuvers of your own: a folder of definition files; repeatable.",
    )(command)
