"""The book in a terminal: lessons, one lesson, a student."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import cast

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing.book.course import Course, Unit
from chalkwing.book.handover import Handover, Open
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
        (
            "Recordings",
            "; ".join(report.recordings) + (f" ({report.logs_read})" if report.logs_read else ""),
        ),
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
    lessons = f"{len(report.lessons)} lesson{'' if len(report.lessons) == 1 else 's'}"
    console.print(
        # Not "lessons since": one flown earlier may be entered later.
        Padding(Text(f"{lessons}. In the book since {_day(report.enrolled)}."), (0, 0, 0, _INDENT))
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


def print_course(console: Console, course: Course) -> None:
    """The course: each lesson with what it asks for and the limits at its stage."""
    console.print(Text(course.name, style="bold"))
    for unit in course.units:
        console.print(Padding(Text(f"{unit.name}: {unit.title}"), (0, 0, 0, _INDENT)))
        for wanted in unit.wanted:
            times = "once" if wanted.attempts == 1 else f"{wanted.attempts} times"
            console.print(Padding(Text(f"{_spoken(wanted.kind)}, {times}"), (0, 0, 0, 2 * _INDENT)))
        if unit.limits:
            console.print(Padding(Text(f"limits at this stage: {_limits(unit)}"), (0, 0, 0, 2 * _INDENT)))
    steps = ", ".join(step.word for step in course.scale.steps)
    console.print(Padding(Text(f"Marks, from least to most: {steps}."), (0, 0, 0, _INDENT)))


def _limits(unit: Unit) -> str:
    return "; ".join(
        f"{_spoken(str(limit['maneuver']))} {str(limit['element']).replace('_', ' ')} {_bounds(limit)}"
        for limit in unit.limits
    )


def _bounds(limit: Mapping[str, object]) -> str:
    if "between" in limit:
        return " to ".join(str(bound) for bound in cast("Sequence[float]", limit["between"]))
    return " and ".join(
        f"{word.replace('_', ' ')} {limit[word]}" for word in ("at_least", "at_most") if word in limit
    )


def print_handover(console: Console, told: Handover) -> None:
    """The handover, half a page."""
    console.print(Text(f"{told.student}: handover", style="bold"))
    if told.last_lesson is None:
        lines = [f"No lesson of {told.course} yet. Begin with {told.next_title}."]
    else:
        last = f"Last flown: lesson {told.last_lesson}, {_day(told.last_flown)}"
        lines = [f"{last}{f', {told.last_unit}' if told.last_unit else ''}."]
        lines.append(
            f"Next: {told.next_title}." if told.next_title else f"{told.course} was flown to its end."
        )
        lines += [f"Good in the newest attempt: {', '.join(told.good).lower()}."] if told.good else []
        lines += [
            f"Watch: {each.maneuver.lower()}, {each.title.lower()}: "
            f"missed in {each.missed} of the last {each.attempts}."
            for each in told.missed
        ]
        lines += [_carried(each) for each in told.carried_over]
        lines += [f"Note: {note}" for note in told.notes]
    for line in lines:
        console.print(Padding(Text(line), (0, 0, 0, _INDENT)))
    console.print(Text(CAUTION))


def _carried(each: Open) -> str:
    done = f"flown {each.flown} of {each.wanted}"
    within = "" if each.within else ", none of them within all limits" if each.flown else ""
    return f"Carried over from {each.unit}: {_spoken(each.kind)}, {done}{within}."


def _spoken(kind: str) -> str:
    return kind.replace("_", " ")
