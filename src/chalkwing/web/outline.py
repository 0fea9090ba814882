"""A lesson as its page shows it: words and times for each maneuver, wind, notes and changes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from chalkwing import words
from chalkwing.debriefs import Debrief, FoundReport, ManeuverReport
from chalkwing.maneuvers import definitions
from chalkwing.views.story import Story
from chalkwing.views.table import table_of
from chalkwing.web.giving import assigned_said, given_form, given_said, ground_said
from chalkwing.web.journal import CORRECTIONS, NOTE, OVERRIDE, UNDO, Entry, belongs

FLOWN_BY = (
    ("student", "the student", "s"),
    ("instructor", "the instructor", "i"),
    ("shared", "both", "b"),
    ("unknown", "not said", "u"),
)
"""Who may have flown a maneuver: value, words, and the key that says so."""


@dataclass(frozen=True)
class Line:
    """One maneuver of the list; ``at_s`` is its middle, by which changes name it.

    ``told`` is its sentence after the title, ``tally`` each verdict with how often it was given, in words.
    ``given`` says what was assigned and given for it, ``form`` is what the form of that begins with.
    """

    number: int
    report: ManeuverReport
    clock: str
    lasted: str
    told: str
    tally: tuple[tuple[str, str], ...]
    found_as: str
    overridden: int
    notes: tuple[Mapping[str, Any], ...]
    given: tuple[str, ...]
    form: Mapping[str, Any]

    @property
    def at_s(self) -> float:
        """The middle of it."""
        return round(0.5 * (self.report.start_s + self.report.end_s), 1)


@dataclass(frozen=True)
class Change:
    """One line of the journal in words."""

    id: int
    said: str
    by: str
    when: str
    why: str | None
    stands: bool
    undoes: bool


@dataclass(frozen=True)
class Outline:
    """Everything of a lesson's page that is not a picture."""

    day: str
    wind: tuple[str, ...]
    lines: tuple[Line, ...]
    dropped: tuple[str, ...]
    remarks: tuple[str, ...]
    changes: tuple[Change, ...]


def outline(debrief: Debrief, story: Story, entries: Sequence[Entry]) -> Outline:
    """A lesson with the journal laid beside it."""
    start = story.start_utc
    standing = [each.table for each in entries if each.stands]
    return Outline(
        day=_day(debrief, start),
        wind=tuple(_wind(debrief, story)),
        lines=tuple(
            _line(debrief, number, start, standing) for number in range(1, len(debrief.maneuvers) + 1)
        ),
        dropped=tuple(_found(each.found, start) for each in debrief.dropped),
        remarks=tuple(dict.fromkeys(_remarks(debrief))),
        changes=tuple(_change(each, start) for each in reversed(entries)),
    )


def _day(debrief: Debrief, start: str | None) -> str:
    lasted = words.lasting(max(each.start_s + each.duration_s for each in debrief.recordings))
    if start is None:
        return f"{lasted}, no time of day recorded"
    return f"{start[:10]}, {words.clock(start, 0.0)} UTC, {lasted}"


def _wind(debrief: Debrief, story: Story) -> list[str]:
    return [
        f"{story.clock(row.start_s)} to {story.clock(row.end_s)}, about "
        f"{words.number(round(row.altitude_ft, -2), 0)} ft: {words.wind_from(row)} at {words.wind_speed(row)}"
        for row in debrief.wind
    ]


def _line(debrief: Debrief, number: int, start: str | None, standing: Sequence[Mapping[str, Any]]) -> Line:
    report = debrief.maneuvers[number - 1]
    return Line(
        number=number,
        report=report,
        clock=words.clock(start, report.start_s),
        lasted=words.lasting(report.end_s - report.start_s),
        told=table_of(report).sentence.removeprefix(report.title),
        tally=_tally(report),
        found_as=_found(report.found, start) if report.found else "",
        overridden=len(overrides_of(report, standing)),
        notes=tuple(notes_of(debrief, number, standing, start)),
        given=tuple(given_said(report)),
        form=given_form(report),
    )


def _found(found: FoundReport, start: str | None) -> str:
    """What was found by itself, in words."""
    first, last = words.clock(start, found.start_s), words.clock(start, found.end_s)
    return f"{found.title}, {first} to {last}"


def _tally(report: ManeuverReport) -> tuple[tuple[str, str], ...]:
    verdicts = [each.verdict for each in report.elements if each.verdict is not None]
    return tuple(
        (each, f"{verdicts.count(each)} {word}") for each, word in words.WORDS.items() if each in verdicts
    )


def of_maneuver(report: ManeuverReport, standing: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The notes and overrides that were made on a maneuver."""
    return [
        each
        for each in standing
        if each["act"] in (NOTE, OVERRIDE)
        and belongs(each, kind=report.kind, start_s=report.start_s, end_s=report.end_s)
    ]


def overrides_of(
    report: ManeuverReport, standing: Sequence[Mapping[str, Any]]
) -> dict[tuple[str, int | None], Mapping[str, Any]]:
    """The verdicts that an instructor set, by element and half; of several on one the last."""
    return {
        (each["element"], each.get("half")): each
        for each in of_maneuver(report, standing)
        if each["act"] == OVERRIDE
    }


def notes_of(
    debrief: Debrief, number: int, standing: Sequence[Mapping[str, Any]], start: str | None
) -> list[Mapping[str, Any]]:
    """The notes on a maneuver or a moment in it, and the marks made in flight that belong to it; by time."""
    mine = of_maneuver(debrief.maneuvers[number - 1], standing)
    notes = [_note(each, start) for each in mine if each["act"] == NOTE]
    marks = [
        _note({"at_s": each.t_s, "text": each.text, "by": f"{each.by}, marked in flight"}, start)
        for each in debrief.marks
        if each.maneuver == number
    ]
    return sorted([*notes, *marks], key=lambda each: float(each["at_s"]))


def _note(table: Mapping[str, Any], start: str | None) -> Mapping[str, Any]:
    return {
        "at_s": table["at_s"],
        "clock": words.clock(start, table["at_s"]),
        "text": table["text"],
        "by": table["by"],
    }


def _remarks(debrief: Debrief) -> list[str]:
    found = [note for recording in debrief.recordings for note in recording.notes]
    found += [note for flight in debrief.flights for note in flight.notes]
    return [*found, *debrief.notes]


# --- The journal in words -----------------------------------------------------------------------------------


def _change(entry: Entry, start: str | None) -> Change:
    table = entry.table
    return Change(
        entry.id,
        words.sentence(_said(table, start)),
        str(table["by"]),
        str(table["when"]).replace("T", " ").replace("Z", " UTC"),
        table.get("why"),
        entry.stands,
        entry.act == UNDO,
    )


def _said(table: Mapping[str, Any], start: str | None) -> str:
    act = table["act"]
    if act == UNDO:
        return f"undid change {table['undoes']}"
    if act == NOTE:
        return f"noted at {words.clock(start, table['at_s'])}: {table['text']}"
    if act == OVERRIDE:
        half = f", {words.half_name(table['half'])}" if _halved(table) else ""
        element = str(table["element"]).replace("_", " ")
        return f"{_which(table, start)}: {element}{half} is {words.WORDS[table['verdict']]}"
    return _corrected(act, table, start) if act in CORRECTIONS else str(act)


def _halved(table: Mapping[str, Any]) -> bool:
    """Whether a maneuver of this kind has more than one part, so that the part must be said."""
    known = definitions().get(str(table.get("kind")))
    return bool(table.get("half")) and (known is None or known.turns.count > 1)


def _corrected(act: str, table: Mapping[str, Any], start: str | None) -> str:
    which = _which(table, start)
    match act:
        case "add":
            first, last = _moment(table, "start", start), _moment(table, "end", start)
            return f"added a {_kind(table['kind'])} from {first} to {last}"
        case "drop":
            return f"took {which} away"
        case "rename":
            return f"{which} is a {_kind(table['to'])}"
        case "trim":
            ends = {"starts": _moment(table, "start", start), "ends": _moment(table, "end", start)}
            return f"{which} {words.listed([f'{name} at {at}' for name, at in ends.items() if at])}"
        case "label":
            flown = {value: said for value, said, _ in FLOWN_BY}
            return f"{which} was flown by {flown.get(table['flown_by'], table['flown_by'])}"
        case "stretch":
            first = _moment(table, "start", start) or "the beginning"
            last = _moment(table, "end", start) or "the end"
            people = [
                table.get("student"),
                f"with {table['instructor']}" if table.get("instructor") else None,
            ]
            named = ", ".join(each for each in people if each)
            return f"from {first} to {last}: {named or 'who flew'}"
        case "assign":
            everything = "at" not in table and "at_s" not in table
            return f"assigned for {'all' if everything else which}: {assigned_said(table)}"
        case "ground":
            return f"{which} was flown by {ground_said(table)}"
        case "mark":
            return f"marked at {_moment(table, 'at', start)}: {table.get('text', '')}"
        case _:
            return f"{act}: {which}"


def _which(table: Mapping[str, Any], start: str | None) -> str:
    return f"the {_kind(str(table.get('kind', 'maneuver')))} at {_moment(table, 'at', start)}"


def _kind(kind: str) -> str:
    return kind.replace("_", " ")


def _moment(table: Mapping[str, Any], key: str, start: str | None) -> str:
    if f"{key}_s" in table:
        return words.clock(start, float(table[f"{key}_s"]))
    return str(table.get(key, ""))
