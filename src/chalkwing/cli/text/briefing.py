"""A briefing on a page of the terminal: first what is flown by, then what is expected, then what may be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing.briefing import Briefing, words
from chalkwing.words import number

INDENT = 3


def print_briefing(console: Console, briefing: Briefing) -> None:
    """Print the page of one maneuver."""
    console.print(Text(", ".join(filter(None, (briefing.title, words.turns(briefing)))), style="bold"))
    people = [briefing.lesson.student, briefing.lesson.instructor, briefing.lesson.date]
    if any(people):
        console.print(_under(", ".join(part for part in people if part)))
    _entry(console, "Airplane", _airplane(briefing))
    _entry(console, "Day", _day(briefing))
    _entry(console, "Entry", _begin(briefing))
    _entry(console, "Floor", _floor(briefing))
    _entry(console, "Asked", words.sentence(words.settings(briefing)) + ".")
    # Before the numbers: who flies by the first lines alone must have read it.
    _entry(console, "Mind", "\n".join(each.text for each in briefing.cautions))
    _print_headings(console, briefing)
    _print_points(console, briefing)
    _print_pairs(console, "Numbers", [(row.title, words.fact(row)) for row in briefing.facts])
    _print_pairs(console, "Margins", [(row.title, words.fact(row)) for row in briefing.margins])
    _print_what_if(console, briefing)
    held = [(row.title, words.band(row)) for row in briefing.limits]
    _print_pairs(console, f"Held against: {briefing.standard_title}", held)
    _entry(console, "Before", "\n".join(briefing.school.checklist))
    _entry(console, "Clear", "\n".join(briefing.school.clearing))
    _entry(console, "Call", "\n".join(briefing.school.calls))
    _entry(console, "Notes", "\n".join(_notes(briefing)))
    console.print(Text(briefing.caution, style="italic"))
    console.print()


def _notes(briefing: Briefing) -> list[str]:
    return [*briefing.notes, *briefing.conditions.notes, f"Texts: {briefing.school.school}."]


def _airplane(briefing: Briefing) -> str:
    name = f"{briefing.lesson.registration}, " if briefing.lesson.registration else ""
    return f"{name}{briefing.airplane_title}, {number(briefing.mass_lb)} lb ({number(briefing.mass_kg)} kg)."


def _day(briefing: Briefing) -> str:
    line = words.day_line(briefing)
    return f"{line[0].upper()}{line[1:]}."


def _begin(briefing: Briefing) -> str:
    entry = briefing.entry
    above = number(entry.height_above_terrain_ft)
    parts = [
        f"{number(entry.airspeed_kt)} {words.speed_unit(briefing)}",
        f"{number(entry.altitude_ft)} ft ({above} ft above terrain)",
    ]
    if entry.throttle_percent is not None:
        idle = entry.throttle_percent < 1.0
        parts.append("power idle" if idle else f"throttle {number(entry.throttle_percent)} %")
    if entry.heading_deg_magnetic is not None:
        parts.append(f"heading {words.heading(entry.heading_deg_magnetic)} magnetic")
    return ", ".join(parts) + "."


def _floor(briefing: Briefing) -> str:
    value, why = words.floor(briefing)
    return f"{value}: {why}."


def _print_headings(console: Console, briefing: Briefing) -> None:
    rows = [row for row in briefing.headings if len(row.headings_deg_magnetic) > 2]
    if not rows:
        return
    console.print(Text("Reference headings, magnetic"))
    names = list(dict.fromkeys(name for row in rows for name in row.headings_deg_magnetic))
    table = _table(["", *(_point(name) for name in names)])
    for row in rows:
        cells = (words.heading(row.headings_deg_magnetic.get(name)) for name in names)
        table.add_row(row.direction, *cells)
    console.print(_under(table))


def _point(name: str) -> str:
    return {"entry": "entry", "end": "roll out"}.get(name, f"{name}°")


def _print_points(console: Console, briefing: Briefing) -> None:
    if not briefing.points:
        return
    alike = words.parts_alike(briefing)
    console.print(Text("What to expect" + (", each half the same" if alike else "")))
    table = _table(["", "time", "bank", "nose", words.speed_unit(briefing), "alt", "load", "over stall"])
    for point in briefing.points:
        if alike and point.part != briefing.points[0].part:
            continue
        table.add_row(
            words.point_name(briefing, point),
            f"{number(point.t_s)} s",
            f"{number(point.bank_into_turn_deg)}°",
            f"{number(point.pitch_from_level_deg, signed=True)}°",
            number(point.airspeed_kt),
            f"{number(point.altitude_change_ft, signed=True)} ft",
            f"{number(point.load_factor_g, 2)} g",
            f"{number(point.margin_over_accelerated_stall_kt)} kt",
        )
    console.print(_under(table))
    console.print(_under("Nose: pitch from level flight. Over stall: at the load carried there."))


def _print_what_if(console: Console, briefing: Briefing) -> None:
    if not briefing.what_if:
        return
    console.print(Text("What if, against this plan"))
    names = list(dict.fromkeys(name for row in briefing.what_if for name in row.effects))
    table = _table(["", *(words.effect_title(name) for name in names)])
    for row in briefing.what_if:
        table.add_row(row.change, *(words.effect(row.effects.get(name), name) for name in names))
    console.print(_under(table))
    console.print(_under(f"{words.EFFECTS_NOTE} {briefing.what_if_note}"))


def _print_pairs(console: Console, title: str, rows: Sequence[tuple[str, str]]) -> None:
    if not rows:
        return
    console.print(Text(title))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    for name, value in rows:
        table.add_row(words.sentence(name), value)
    console.print(_under(table))


def _table(names: Iterable[str]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), header_style="")
    for k, name in enumerate(names):
        table.add_column(name, justify="left" if k == 0 else "right", overflow="fold")
    return table


def _entry(console: Console, title: str, said: str) -> None:
    if said:
        console.print(Text(title))
        console.print(_under(said))


def _under(thing: Table | str) -> Padding:
    return Padding(Text(thing) if isinstance(thing, str) else thing, (0, 0, 0, INDENT))
