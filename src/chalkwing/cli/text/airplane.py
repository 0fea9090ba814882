"""Airplane sheets in a terminal: the list, one sheet in full, and the outcome of a check."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing.airplane.report import TITLES, GivenNumber, ModelNumber, SheetReport, lowered
from chalkwing.words import DOUBT_SAID, SURE, listed, number

_INDENT = 3
_WIDE = 76
"""From this many columns there is room for what was believed before, and for where a number stands."""
_PROPELLERS = {"fixed_pitch": "fixed-pitch propeller", "constant_speed": "constant-speed propeller"}
_UNITS = {
    "lb": ("lb", 0),
    "ft2": ("ft²", 2),
    "ft": ("ft", 1),
    "hp": ("hp", 0),
    "rpm": ("rpm", 0),
    "in": ("in", 0),
    "kcas": ("KCAS", 0),
    "gal": ("gal", 1),
    "kt": ("kt", 0),
    "ft_per_min": ("ft/min", 0),
    "ratio": ("to 1", 1),
    "deg": ("°", 1),
    "per_rad": ("/rad", 2),
    "": ("", 3),
}
_NAMES = {
    "mass": "mass of the figures",
    "utility_mass": "maximum mass in the utility category",
    "power": "rated power",
    "limit_load_positive": "limit load factor, positive",
    "limit_load_negative": "limit load factor, negative",
    "limit_load_flaps": "limit load factor, flaps out",
    "stall_speed": "stall speed, clean (VS)",
    "stall_speed_landing": "stall speed, landing (VS0)",
    "stall_warning_speed": "stall warning from",
    "maneuvering_speed": "maneuvering speed (VA or VO)",
    "flaps_extended_speed": "flaps extended (VFE)",
    "gear_operating_speed": "gear operating (VLO)",
    "gear_extended_speed": "gear extended (VLE)",
    "normal_operating_speed": "normal operating (VNO)",
    "never_exceed_speed": "never exceed (VNE)",
}


def print_list(console: Console, reports: Sequence[SheetReport]) -> None:
    """The built-in sheets, one line each."""
    table = _table("Sheet", "Airplane")
    for told in reports:
        table.add_row(told.name, f"{told.title}; {told.category} category")
    console.print(table)
    console.print()
    console.print(
        Text(
            "All are generic: round figures by common practice, of no type. Write your own airplane's from "
            "its flight manual (docs/airplane_sheets.md says how) and check it with --check."
        )
    )
    console.print(Text(reports[0].caution, style="italic"))


def print_sheet(console: Console, told: SheetReport) -> None:
    """One sheet in full."""
    console.print(Text(told.title, style="bold"))
    engines = "one engine" if told.engines == 1 else f"{told.engines} engines"
    console.print(
        _under(
            f"{told.name}. {told.category.replace('_', ' ').capitalize()} category, {engines}, "
            f"{_PROPELLERS[told.propeller]}, {told.engine.replace('_', ' ')}."
            f"{' Generic, of no type.' if told.generic else ''} Cards show speeds in {told.airspeed_shown}."
        )
    )
    _section(console, "Worth a second look", [_under(each) for each in told.cautions])
    _section(console, "Given by the sheet", [_under(_given_table(told.numbers))])
    _section(console, "Speeds at mass, KCAS", [_under(_speed_table(told))])
    _section(console, "Handbook beside model", [_under(_handbook_table(told, wide=console.width >= _WIDE))])
    model = _model_table(told.model, wide=console.width >= _WIDE)
    _section(console, "The model", [_under(model), _under(DOUBT_SAID)])
    _section(console, "What is not known well", [_under(each) for each in _doubts(told)])
    _section(console, "Notes", [_under(each) for each in told.notes])
    _section(console, "Sources", [_under(each) for each in told.sources])
    console.print()
    console.print(Text(told.caution, style="italic"))


def print_check(console: Console, told: SheetReport, file: str) -> None:
    """What a check found of a sheet that has no fault."""
    console.print(Text(f"{file}: no fault found. {told.title}.", style="bold"))
    _section(console, "Worth a second look", [_under(each) for each in told.cautions])
    _section(console, "What is not known well", [_under(each) for each in _doubts(told)])
    console.print()
    console.print(
        Text("No fault found does not mean right: compare each number with the flight manual's page.")
    )
    console.print(Text(told.caution, style="italic"))


def _section(console: Console, title: str, content: Sequence[RenderableType]) -> None:
    if content:
        console.print()
        console.print(Text(title, style="bold"))
        for each in content:
            console.print(each)


def _under(said: str | Table) -> Padding:
    return Padding(Text(said) if isinstance(said, str) else said, (0, 0, 0, _INDENT), expand=False)


def _table(*headings: str, numeric: Sequence[str] = ()) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    for heading in headings:
        right = heading in numeric
        table.add_column(heading, justify="right" if right else "left", no_wrap=right)
    return table


def _given_table(numbers: Sequence[GivenNumber]) -> Table:
    table = _table("", "Value", "", numeric=("Value",))
    for each in numbers:
        name, unit = _split(each.key)
        suffix, decimals = _UNITS[unit]
        digits = 2 if name.startswith("limit_load") else decimals
        table.add_row(
            _NAMES.get(name, name.replace("_", " ")),
            f"{number(each.value, digits)} {'g' if name.startswith('limit_load') else suffix}".rstrip(),
            "assumed" if each.assumed else "",
        )
    return table


def _split(key: str) -> tuple[str, str]:
    """``stall_speed_kcas`` as ("stall_speed", "kcas"); a key without a unit has an empty one."""
    name, _, unit = key.rpartition("_")
    return (name, unit) if unit in _UNITS and unit else (key, "")


def _speed_table(told: SheetReport) -> Table:
    masses = [f"{number(row.mass_lb, 0)} lb" for row in told.speeds]
    table = _table("", *masses, numeric=masses)
    lines: list[tuple[str, list[float | None]]] = [
        ("stall, clean", [row.stall_kcas for row in told.speeds]),
        ("stall, landing", [row.stall_landing_kcas for row in told.speeds]),
        ("stall warning from", [row.stall_warning_kcas for row in told.speeds]),
        ("best glide", [row.best_glide_kcas for row in told.speeds]),
        ("maneuvering speed", [row.maneuvering_kcas for row in told.speeds]),
    ]
    for name, values in lines:
        if all(value is not None for value in values):
            table.add_row(name, *(number(value, 0) for value in values if value is not None))
    return table


def _handbook_table(told: SheetReport, *, wide: bool) -> Table:
    headings = ("Number", "Book", "Model", "Off by", "In sd", *(("Where",) if wide else ()))
    table = _table(*headings, numeric=("Book", "Model", "Off by", "In sd"))
    for each in told.handbook:
        suffix, decimals = _UNITS[each.unit]
        row = [
            f"{each.what}, {suffix}",
            number(each.handbook, decimals),
            number(each.model, decimals),
            number(
                each.model - each.handbook, max(decimals, 0 if each.unit == "ft_per_min" else 1), signed=True
            ),
            number(each.standardized, 1, signed=True),
        ]
        table.add_row(*row, *((each.path,) if wide else ()))
    return table


def _model_table(numbers: Sequence[ModelNumber], *, wide: bool) -> Table:
    headings = ("Number", "Value", "±", *(("Believed before",) if wide else ()), "")
    table = _table(*headings, numeric=("Value", "±", "Believed before"))
    for each in numbers:
        suffix, decimals = _UNITS[each.unit]
        before = ""
        if each.believed is not None and each.believed_sd is not None:
            before = f"{number(each.believed, decimals)} ±{number(SURE * each.believed_sd, decimals)}"
        origin = "poorly known" if each.poorly_determined and each.origin == "fitted" else each.origin
        table.add_row(
            f"{each.title}{f', {suffix}' if suffix else ''}",
            number(each.value, decimals),
            number(SURE * each.sd, decimals) if each.sd else "",
            *((before,) if wide else ()),
            origin,
        )
    return table


def _doubts(told: SheetReport) -> list[str]:
    """Each doubt as a sentence."""
    said = []
    poorly = [
        lowered(each.title) for each in told.model if each.poorly_determined and each.origin == "fitted"
    ]
    if poorly:
        said.append(f"Little better known than before the handbook was opened: {listed(poorly)}.")
    if told.known_together:
        said.append(f"Known better in combination than each: {listed(list(told.known_together))}.")
    if told.assumed:
        names = [lowered(TITLES[each]) if each in TITLES else each.replace("_", " ") for each in told.assumed]
        said.append(f"Assumed by common practice, since nothing in the sheet tells: {listed(names)}.")
    return said
