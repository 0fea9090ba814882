"""The book in a terminal: lessons, one lesson, a student."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing.book.reports import ElementLine, LessonLine, LessonReport, StudentReport, Tally
from chalkwing.debriefs import CAUTION
from chalkwing.words import MARKS, amount

_INDENT = 3
_SHOWN = 6
"""The newest attempts that a line of a student's table shows."""
_WIDE = 80


def print_lessons(console: Console, lines: Sequence[LessonLine]) -> None:
    """Lessons, newest first, one line each."""
    if not lines:
        console.print("The book has no lesson yet. Enter one: chalkwing book add FILE --student NAME")
        return
    wide = console.width >= _WIDE
    table = _table(
        "Lesson", "Flown", "Student", *(("Instructor", "Airplane") if wide else ()), "Elements", "Signed"
    )
    for line in lines:
        more = (line.instructor or "solo", line.airplane or "") if wide else ()
        table.add_row(
            str(line.lesson), _day(line.flown), line.student, *more, _counts(line.elements), _yes(line.signed)
        )
    console.print(table)
    console.print("Elements: met ●, not met ○, cannot tell ◌.")


def print_lesson(console: Console, report: LessonReport) -> None:
    """All that stands in one lesson's record."""
    line = report.line
    console.print(Text(f"Lesson {line.lesson}, version {report.version}", style="bold"))
    for name, value in (
        ("Flown", _day(line.flown)),
        ("Student", line.student),
        ("Instructor", line.instructor or "none: a solo flight"),
        ("Airplane", line.airplane or "not said"),
        ("Lesson of the course", line.unit or "not said"),
        ("Held against", report.standard),
        (
            "Judged",
            f"{_day(report.judged)}{f', {report.judgings} times in all' if report.judgings > 1 else ''}",
        ),
        ("Recordings", "; ".join(report.recordings)),
    ):
        console.print(Padding(Text(f"{name}: {value}"), (0, 0, 0, _INDENT)))
    table = _table("", "Maneuver", "At", "Flown by", "Elements")
    for each in report.maneuvers:
        title = each.title if each.status == "complete" else f"{each.title}, broken off"
        table.add_row(str(each.number), title, _clock(each.start_s), each.flown_by, _counts(each.elements))
    console.print(table)
    for note in report.notes:
        console.print(Padding(Text(f"Note: {note}"), (0, 0, 0, _INDENT)))
    for given in report.signatures:
        now = "" if given.version == report.version else "; changed since, as a new version"
        by = f"{given.instructor} ({given.certificate}), {_day(given.signed)}"
        console.print(Padding(Text(f"Version {given.version} signed by {by}{now}"), (0, 0, 0, _INDENT)))
    if not report.signatures:
        console.print(Padding(Text("Not signed."), (0, 0, 0, _INDENT)))
    console.print(Text(CAUTION))


def print_student(console: Console, report: StudentReport) -> None:
    """A student's lessons, and each element over the attempts."""
    console.print(Text(report.student, style="bold"))
    console.print(
        Padding(Text(f"{len(report.lessons)} lessons since {_day(report.enrolled)}."), (0, 0, 0, _INDENT))
    )
    if report.unlabeled:
        said = (
            f"Of {report.unlabeled} maneuvers nobody has said who flew: they are left out. "
            "Say it with chalkwing book label."
        )
        console.print(Padding(Text(said), (0, 0, 0, _INDENT)))
    table = _table("Maneuver", "Element", "Met", "Newest last")
    for element in report.elements:
        tried = len(element.verdicts)
        table.add_row(element.maneuver, element.title, f"{element.elements.met} of {tried}", _newest(element))
    if report.elements:
        console.print(table)
        console.print("● met, ○ not met, ◌ cannot tell. Only what the student flew counts.")
    console.print(Text(CAUTION))


def _newest(element: ElementLine) -> str:
    said = [
        f"{MARKS[verdict]} {'' if value is None else amount(value, element.unit, signed=True)}".strip()
        for value, verdict in zip(element.values, element.verdicts, strict=True)
    ]
    return "  ".join(said[-_SHOWN:])


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def _counts(tally: Tally) -> str:
    return f"{tally.met} ●  {tally.not_met} ○  {tally.cannot_tell} ◌"


def _day(instant: str | None) -> str:
    return instant[:10] if instant else "no date"


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60}:{int(seconds) % 60:02d}"


def _yes(said: bool) -> str:
    return "yes" if said else "no"
