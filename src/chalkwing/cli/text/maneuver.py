"""One maneuver on the page: what was good, what missed, what nobody can tell, then the numbers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing import words
from chalkwing.debriefs import ElementReport, ManeuverReport, PointReport, Quantity, Verdict
from chalkwing.units import POUND

Truth = Mapping[tuple[str, int | None], float]
"""True values by element id and half, where they are known (the demo)."""
INDENT = 3
WIDE = 76
"""From this many columns there is room for margins, and for a recorded value beside each derived one."""


def print_maneuver(
    console: Console,
    maneuver: ManeuverReport,
    *,
    number: int,
    start_utc: str | None,
    kinds: tuple[str, str],
    truth: Truth | None = None,
    facts: bool = True,
    remarks: Sequence[str] = (),
) -> None:
    """Print one maneuver. ``kinds`` are what its airspeeds and altitudes are; see FlightReport.

    ``remarks`` are lines that follow its times: what a person changed, who flew, marks.
    """
    heading = Text(f"{number}  {maneuver.title}{_direction(maneuver)}", style="bold")
    console.print(heading)
    console.print(_indented(_when(maneuver, start_utc)))
    for remark in remarks:
        console.print(_indented(Text(remark)))
    judged = [element for element in maneuver.elements if element.verdict is not None]
    for line in _told(judged, maneuver.part_word):
        console.print(_indented(line))
    if judged:
        console.print()
        console.print(
            _indented(_element_table(judged, truth, part_word=maneuver.part_word, width=console.width))
        )
        console.print(_indented(Text(_sources(judged), style="dim")))
        for note in _notes(judged):
            console.print(_indented(Text(note, style="dim")))
    if maneuver.points:
        console.print()
        console.print(_indented(_point_table(maneuver.points, kinds, width=console.width)))
    if maneuver.reference is not None:
        console.print(_indented(Text(_plan_told(maneuver.reference), style="dim")))
    if facts:
        _print_facts(console, [each for each in maneuver.elements if each.verdict is None])
    console.print()


def _indented(thing: RenderableType) -> Padding:
    return Padding(thing, (0, 0, 0, INDENT), expand=False)


def _direction(maneuver: ManeuverReport) -> str:
    halves = max((element.half or 1 for element in maneuver.elements), default=1)
    if maneuver.direction == "none":
        return ""
    return f", first to the {maneuver.direction}" if halves > 1 else f", to the {maneuver.direction}"


def _when(maneuver: ManeuverReport, start_utc: str | None) -> Text:
    first, last = (words.clock(start_utc, each) for each in (maneuver.start_s, maneuver.end_s))
    lasted = words.lasting(maneuver.end_s - maneuver.start_s)
    status = "complete" if maneuver.status == "complete" else "broken off"
    seconds = f" (from {maneuver.start_s:.0f} s)" if start_utc else ""
    flyer = "both" if maneuver.flown_by == "shared" else f"the {maneuver.flown_by}"
    flown_by = "" if maneuver.flown_by == "unknown" else f" Flown by {flyer}."
    # A kind that a person gave has no probability: nothing doubts it.
    named = maneuver.corrected and (maneuver.found is None or maneuver.found.kind != maneuver.kind)
    sure = (
        "" if named else f" Probability {maneuver.probability:.2f} that it was {_a(maneuver.title.lower())}."
    )
    return Text(f"{first} to {last}{seconds}, {lasted}, {status}.{sure}{flown_by}")


def _a(title: str) -> str:
    """The title with its article; plural and mass words have none."""
    if title.endswith(("s", "flight")) or "turns" in title:
        return title
    return f"an {title}" if title[0] in "aeiou" else f"a {title}"


_OPENINGS: tuple[tuple[Verdict, str], ...] = (
    ("met", "Good"),
    ("not_met", "Missed"),
    ("cannot_tell", "Cannot tell"),
)


def _told(judged: Sequence[ElementReport], part_word: str) -> Iterator[Text]:
    """Good first, then missed, then undecided: each with its values."""
    for verdict, opening in _OPENINGS:
        these = [element for element in judged if element.verdict == verdict]
        if not these:
            continue
        if verdict == "met":
            said = f"{words.listed(list(_gathered(these)))}."
            yield _line(verdict, opening, said)
        else:
            for element in these:
                yield _line(verdict, opening, _one_said(element, part_word))


def _line(verdict: Verdict, opening: str, said: str) -> Text:
    text = Text(f"{words.MARKS[verdict]} {opening}: ", style="bold")
    text.append(said, style="not bold")
    return text


def _gathered(these: Sequence[ElementReport]) -> Iterator[str]:
    """Titles with values; the halves of one element together."""
    for title in dict.fromkeys(words.short_title(each) for each in these):
        values = [
            words.amount(each.value, each.unit, signed=_is_signed(each))
            for each in these
            if words.short_title(each) == title and each.value is not None
        ]
        yield f"{_lowered(title)} ({', '.join(values)})" if values else _lowered(title)


def _one_said(element: ElementReport, part_word: str) -> str:
    named = _halved(element) or part_word != "half"
    which = f" in the {words.half_name(element.half, part_word)}" if named and element.half else ""
    value = (
        f" {words.amount(element.value, element.unit, signed=_is_signed(element))}"
        if element.value is not None
        else ""
    )
    limit = f", limit {words.band(element.limit, element.unit)}" if element.limit else ""
    # That a value at a point lies outside its limit needs no second sentence.
    told = element.verdict == "not_met" and element.excursions is None
    reason = f". {words.sentence(element.reason)}" if element.reason and not told else "."
    return f"{_lowered(words.short_title(element))}{which}{value}{limit}{reason}"


def _halved(element: ElementReport) -> bool:
    return "180" in element.id


def _lowered(title: str) -> str:
    return title[:1].lower() + title[1:]


def _is_signed(element: ElementReport) -> bool:
    """Deviations carry their sign; absolute values, such as a height above ground, do not."""
    return element.limit is None or element.limit[0] is None or element.limit[0] <= 0


def _table(*columns: tuple[str, str]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, header_style="dim", show_edge=False)
    for title, justify in columns:
        table.add_column(title, justify="right" if justify == "right" else "left", overflow="fold")
    return table


def _element_table(
    judged: Sequence[ElementReport], truth: Truth | None, *, part_word: str, width: int
) -> Table:
    halved = max((each.half or 1 for each in judged), default=1) > 1
    columns = [("element", "left")]
    columns += [(part_word, "left")] if halved else []
    columns += [("truly", "right")] if truth is not None else []
    columns += [("flown", "right"), ("limit", "left")]
    columns += [("margin", "right")] if width >= WIDE else []
    table = _table(*columns, ("verdict", "left"))
    for column in table.columns[1:]:
        column.no_wrap = True
    for each in judged:
        inside = words.margin(each)
        half = [str(each.half) if each.half else "both" if part_word == "half" else "all"] if halved else []
        exact = [_truth_cell(each, truth)] if truth is not None else []
        value = (
            "no value"
            if each.value is None
            else words.with_doubt(each.value, each.sd, each.unit, signed=_is_signed(each))
        )
        table.add_row(
            words.table_title(each),
            *half,
            *exact,
            value,
            words.band(each.limit, each.unit) if each.limit else "",
            *(["" if inside is None else words.amount(inside, each.unit)] if width >= WIDE else []),
            _verdict_cell(each),
        )
    return table


_STANDS_IN = " stands in: "


def _notes(judged: Sequence[ElementReport]) -> Iterator[str]:
    """What stood in for assigned values, gathered in one sentence; any other note as it is."""
    notes = list(dict.fromkeys(each.note for each in judged if each.note))
    standing_in = [note.split(_STANDS_IN)[0] for note in notes if _STANDS_IN in note]
    if standing_in:
        yield f"Nothing was assigned, so these stand in: {words.listed(standing_in)}."
    yield from (words.sentence(note) for note in notes if _STANDS_IN not in note)


def _truth_cell(element: ElementReport, truth: Truth) -> str:
    value = truth.get((element.id, element.half), truth.get((element.id, None)))
    return "" if value is None else words.amount(value, element.unit, signed=True)


def _verdict_cell(element: ElementReport) -> Text:
    assert element.verdict is not None
    style = "bold" if element.verdict == "not_met" else ""
    return Text(f"{words.MARKS[element.verdict]} {words.WORDS[element.verdict]}", style=style)


def _sources(judged: Sequence[ElementReport]) -> str:
    """Where the limits come from: once where they share a source."""
    sources = Counter(
        ", ".join(part for part in (each.document, each.edition, each.task) if part)
        for each in judged
        if each.document
    )
    if len(sources) == 1:
        return f"Limits: {next(iter(sources))}."
    by_source: dict[str, list[str]] = {}
    for each in judged:
        source = ", ".join(part for part in (each.document, each.edition, each.task) if part)
        by_source.setdefault(source, []).append(_lowered(words.short_title(each)))
    said = (f"{source} ({words.listed(list(dict.fromkeys(these)))})" for source, these in by_source.items())
    return f"Limits: {'; '.join(said)}."


_POINT_NAMES = {"entry": "entry", "established": "bank set", "rollout": "roll-out"}


def _point_table(points: Sequence[PointReport], kinds: tuple[str, str], *, width: int) -> Table:
    speed = "KIAS" if kinds[0] == "indicated" else "KCAS"
    height = "ft" if kinds[1] == "altimeter" else "ft GPS"
    beside = width >= WIDE
    table = _table(
        ("point", "left"),
        ("at s", "right"),
        ("turned", "right"),
        ("bank°", "right"),
        ("pitch°", "right"),
        (speed, "right"),
        (height, "right"),
    )
    halved = max(point.half for point in points) > 1
    for point in points:
        if point.name == "entry" and point.half > 1:
            continue
        name = point.name if not point.name.isdigit() else f"{point.name}°"
        name = _POINT_NAMES.get(name, name.replace("_", " "))
        table.add_row(
            f"{point.half}: {name}" if halved else name,
            f"{point.t_s:.1f}",
            f"{words.number(point.heading_change_deg, 0)}°",
            _beside(point.bank_into_turn_deg, 1, beside),
            _beside(point.pitch_deg, 1, beside),
            _beside(point.airspeed_kt, 1, beside),
            _beside(point.altitude_ft, 0, beside),
        )
        if point.reference is not None:
            table.add_row(*_plan_row(point.reference, kinds[0]), style="dim")
    if any(quantity.recorded is not None for point in points for quantity in _shown(point)):
        table.caption = "In parentheses the nearest recorded row."
        table.caption_justify = "left"
    return table


def _plan_row(plan: Mapping[str, float | str], airspeed_kind: str) -> tuple[str, ...]:
    """The plan at a point; an airspeed of the other kind than the column's is marked."""

    def number(name: str, digits: int) -> str:
        return words.number(float(plan[name]), digits)

    other = (
        ""
        if plan["airspeed_kind"] == airspeed_kind
        else (" KCAS" if airspeed_kind == "indicated" else " KIAS")
    )
    return (
        "   plan",
        "",
        "",
        number("bank_into_turn_deg", 0),
        number("pitch_deg", 0),
        number("airspeed_kt", 0) + other,
        f"{float(plan['altitude_ft']):,.0f}",
    )


def _plan_told(plan: Mapping[str, str | float | None]) -> str:
    """For what the plan was solved, or why there is none."""
    mass = float(plan["mass_kg"] or 0.0)
    whose = f"{mass / POUND:,.0f} lb ({plan['mass_from']})"
    if plan["isa_deviation_c"] is None:
        return f"No plan beside it: {plan['note']}"
    warmth = f"air {float(plan['isa_deviation_c']):+.0f} °C from standard ({plan['temperature_from']})"
    note = f"; {plan['note']}" if plan["note"] else ""
    return f"Plan solved for {whose}, {warmth}{note}."


def _shown(point: PointReport) -> tuple[Quantity, ...]:
    return point.bank_into_turn_deg, point.pitch_deg, point.airspeed_kt, point.altitude_ft


def _beside(quantity: Quantity, decimals: int, beside: bool) -> str:
    """The value, with the nearest recorded one beside it, or below it where the page is narrow."""
    value = words.number(quantity.value, decimals)
    if quantity.recorded is None:
        return value
    return f"{value}{' ' if beside else chr(10)}({words.number(quantity.recorded, decimals)})"


def _print_facts(console: Console, facts: Sequence[ElementReport]) -> None:
    known = [each for each in facts if each.value is not None]
    if known:
        console.print()
        console.print(_indented(Text("Facts, for which nothing is published", style="dim")))
        console.print(_indented(_fact_table(known)))
    for note in dict.fromkeys(each.note for each in known if each.note and _STANDS_IN not in each.note):
        console.print(_indented(Text(words.sentence(note))))
    lacking = dict.fromkeys(_lowered(words.short_title(each)) for each in facts if each.value is None)
    reasons = dict.fromkeys(each.reason.rstrip(".") for each in facts if each.value is None and each.reason)
    if lacking:
        said = f"Without a value: {words.listed(list(lacking))}"
        said += f" ({'; '.join(reasons)})." if reasons else "."
        console.print(_indented(Text(said, style="dim")))


def _fact_table(known: Sequence[ElementReport]) -> Table:
    """One row a fact; its halves side by side, the values of a longer series without their doubt."""
    most = max((sum(each.id == other.id for other in known) for each in known), default=1)
    table = _table(("", "left"), ("", "right"), *([("", "right")] if most <= 2 else []))
    table.show_header = False
    rows: dict[str, list[ElementReport]] = {}
    for each in known:
        rows.setdefault(each.id, []).append(each)
    for these in rows.values():
        if len(these) > 2 or (most > 2 and len(these) > 1):
            cells = [", ".join(words.amount(each.value or 0.0, each.unit) for each in these)]
        else:
            cells = [words.with_doubt(each.value or 0.0, each.sd, each.unit) for each in these]
        table.add_row(these[0].title, *cells)
    return table
