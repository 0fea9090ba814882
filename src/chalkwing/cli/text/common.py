"""Common sets in a terminal: the list, and what one set tells."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from chalkwing.book.agreement import Leniency
from chalkwing.book.common import saying
from chalkwing.book.common.over_time import SetThen, change_said
from chalkwing.book.common.results import ManeuverResult, Result, SetLine
from chalkwing.book.everyday import LIMITS, Everyday
from chalkwing.book.readings import CANNOT, Compared, reading_said
from chalkwing.debriefs import CAUTION
from chalkwing.words import MARKS, number

_INDENT = 3
_ELEMENTS = 5
"""Elements told of, those first on which marks differ most."""


def print_sets(console: Console, lines: Sequence[SetLine], then: Sequence[SetThen]) -> None:
    """All sets, the newest first; below, what those told that the reader may read, the oldest first."""
    if not lines:
        console.print('The book has no common set yet. Make one: chalkwing book common make "NAME"')
        return
    table = _table("Set", "Name", "Made", "Maneuvers", "Finished", "State")
    for each in lines:
        state = f"closed {each.closed[:10]}" if each.closed else "open"
        finished = f"{each.finished} of {each.started}"
        table.add_row(str(each.number), each.name, each.made[:10], str(each.maneuvers), finished, state)
    console.print(table)
    for past in then:
        alpha = "" if past.alpha is None else f" Alpha {past.alpha:.2f}"
        interval = "" if past.low is None or past.high is None else f" ({past.low:.2f} to {past.high:.2f})"
        own = "" if past.own is None else f" Your own marks: {_interval(past.own)}."
        console.print(_under(f"{past.name}: {past.said}{alpha}{interval}{'.' if alpha else ''}{own}"))
    if then:
        console.print(_under(change_said(list(then))))


def print_result(console: Console, told: Result) -> None:
    """What a set tells: plain words first, then maneuver by maneuver, then what stands behind the words."""
    console.print(Text(f"{told.name}: what it tells", style="bold"))
    most = saying.most_different_said(told.most_different)
    console.print(Text(" ".join([told.agreement.said, *([most] if most else [])])))
    people = f"{told.instructors} instructor{'' if told.instructors == 1 else 's'}, {told.finished} finished"
    console.print(_under(f"{people}; {'closed ' + told.closed[:10] if told.closed else 'still open'}."))
    if told.own is not None:
        console.print(_under(f"Your own marks: {told.own.said} ({_interval(told.own)})."))
    for each in told.leniency:
        console.print(_under(f"{each.instructor}: {each.said} ({_interval(each)})."))
    _print_maneuvers(console, told)
    for element in told.elements[:_ELEMENTS]:
        console.print(_under(saying.element_said(element)))
    for said in saying.beside_said(told.beside, told.scale):
        console.print(_under(said))
    alpha = saying.alpha_said(told.agreement)
    if alpha is not None:
        console.print(_under(alpha))
        console.print(_under(saying.HOW_TO_READ))
    if told.knew:
        console.print(_under(f"{told.knew} of the marks were given by the instructor of the lesson."))
    console.print(Text(CAUTION, style="italic"))


def print_everyday(console: Console, told: Sequence[Everyday]) -> None:
    """Marks of every day beside what was measured."""
    if not any(each.marks for each in told):
        console.print("No maneuver is marked as a whole yet.")
        return
    for each in told:
        blind = f"{each.blind} before the verdict was seen"
        console.print(
            Text(f"{each.instructor or 'All instructors'}: {each.marks} marks, {blind}", style="bold")
        )
        console.print(_under(f"Marked as meeting the standard with an element not met: {each.missed.said}."))
        console.print(_under(f"Every measured element met, marked below it: {each.below.said}."))
    console.print(Text(LIMITS))
    console.print(Text(CAUTION, style="italic"))


def print_readings(console: Console, told: Sequence[Compared]) -> None:
    """Airplanes beside each other."""
    for each in told:
        console.print(Text(each.title, style="bold"))
        if each.reason is not None:
            console.print(_under(f"{each.reason}."))
        for one in each.airplanes:
            console.print(_under(reading_said(one, each.unit)))
    console.print(Text(CANNOT))
    console.print(Text(CAUTION, style="italic"))


def _interval(each: Leniency) -> str:
    above, low, high = (number(value, 1, signed=True) for value in (each.above, each.low, each.high))
    return f"{above} steps, 90 % interval {low} to {high}"


def _print_maneuvers(console: Console, told: Result) -> None:
    words = [step.word for step in told.scale.steps]
    console.print(_under("Marks: " + ", ".join(f"{k} {word}" for k, word in enumerate(words, start=1)) + "."))
    table = _table("Maneuver", *(str(k) for k in range(1, len(words) + 1)), "Apart", "Yours", "Measured")
    for each in told.maneuvers:
        table.add_row(
            f"{each.number} {each.title}",
            *(str(count) if count else "·" for count in each.counts),
            "·" if each.apart is None else str(each.apart),
            _own(each, words),
            MARKS[each.verdict],
        )
    console.print(table)
    console.print(_under("Measured: met ●, not met ○, cannot tell ◌."))


def _own(each: ManeuverResult, words: Sequence[str]) -> str:
    return "·" if each.own is None else str(words.index(each.own) + 1)


def _under(text: str) -> Padding:
    return Padding(Text(text), (0, 0, 0, _INDENT))


def _table(*columns: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="dim")
    for column in columns:
        table.add_column(column)
    return table
