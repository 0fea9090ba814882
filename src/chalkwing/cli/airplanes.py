"""``chalkwing airplanes``: the airplane sheets, one of them in full, or a school's own checked."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from chalkwing.cli.options import format_option
from chalkwing.cli.refusal import Refused

if TYPE_CHECKING:
    from chalkwing.airplane.report import SheetReport


@click.command(short_help="Airplane sheets: list, show, check.")
@click.argument("name", required=False, metavar="[SHEET]")
@click.option(
    "--check",
    "checked",
    type=click.Path(dir_okay=False, path_type=Path),
    metavar="FILE",
    help="Check a sheet of your own: every fault at once, each with its key.",
)
@format_option
def airplanes(name: str | None, checked: Path | None, form: str) -> None:
    """List the airplane sheets, or show SHEET: a built-in one's name or a TOML file.

    A sheet holds what a flight manual prints; drag, thrust and lift are fitted to it. Shown are the fit with
    its doubts, each handbook number beside the model's, what was assumed, and the sources.

    \b
    Examples: chalkwing airplanes
              chalkwing airplanes four-seat-160
              chalkwing airplanes --check ours.toml
    """
    if name is not None and checked is not None:
        raise Refused("give either a SHEET to show or --check FILE, not both.")
    if checked is not None:
        _check(checked, form)
    elif name is not None:
        _show(name, form)
    else:
        _list(form)


def _list(form: str) -> None:
    from chalkwing.airplane import load_sheet, sheet_names
    from chalkwing.airplane.report import report

    reports = [report(load_sheet(name)) for name in sheet_names()]
    if form == "json":
        _emit([_summary(each) for each in reports])
        return
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text.airplane import print_list

    print_list(page_console(), reports)


def _show(name: str, form: str) -> None:
    from chalkwing.airplane import load_sheet
    from chalkwing.airplane.report import report

    told = report(load_sheet(name))
    if form == "json":
        _emit(_plain(told))
        return
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text.airplane import print_sheet

    print_sheet(page_console(), told)


def _check(path: Path, form: str) -> None:
    from chalkwing.airplane import load_sheet
    from chalkwing.airplane.report import report
    from chalkwing.errors import FaultySheet

    try:
        told = report(load_sheet(path))
    except FaultySheet as error:
        if form != "json":
            raise
        faults = [{"path": fault.path, "message": fault.message} for fault in error.faults]
        _emit({"file": path.name, "faults": faults, "cautions": [], "assumed": []})
        raise Refused(f"{path.name}: {len(faults)} fault{'' if len(faults) == 1 else 's'}.") from error
    if form == "json":
        cautions, assumed = list(told.cautions), list(told.assumed)
        _emit({"file": path.name, "faults": [], "cautions": cautions, "assumed": assumed})
        return
    from chalkwing.cli.console import page_console
    from chalkwing.cli.text.airplane import print_check

    print_check(page_console(), told, path.name)


def _summary(told: SheetReport) -> dict[str, object]:
    numbers = {number.key: number.value for number in told.numbers}
    kept = ("power_hp", "maximum_mass_lb", "stall_speed_kcas", "maneuvering_speed_kcas")
    return {
        "name": told.name,
        "title": told.title,
        "generic": told.generic,
        "category": told.category,
        "engines": told.engines,
        "propeller": told.propeller,
        **{key: numbers[key] for key in kept},
    }


def _plain(told: SheetReport) -> object:
    from dataclasses import asdict

    return {"schema": 1, **asdict(told)}


def _emit(data: object) -> None:
    click.echo(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))
