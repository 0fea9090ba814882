"""The chance on the next try in a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from chalkwing.book.progress.chance import NEXT, UNSEEN, Chance, ElementChance
from chalkwing.debriefs import CAUTION

_INDENT = 3


def print_chances(console: Console, student: str, told: Sequence[Chance]) -> None:
    """Each kind's chance with its doubt, and what limits it."""
    console.print(Text(f"{student}: chance on the next try", style="bold"))
    if not told:
        console.print(
            Padding(Text("No complete try of the student's own is in the book yet."), (0, 0, 0, _INDENT))
        )
    for each in told:
        console.print(Text(f"{each.title}: {_said(each)}"))
        for line in _lines(each):
            console.print(Padding(Text(line), (0, 0, 0, _INDENT)))
    console.print(Text(f"{UNSEEN} {CAUTION}"))


def _said(each: Chance) -> str:
    if each.chance is None or each.low is None or each.high is None:
        return f"{each.reason}."
    return f"{_percent(each.chance)} (90 % interval {_percent(each.low)} to {_percent(each.high)})."


def _lines(each: Chance) -> list[str]:
    lines = [f"{each.met} of {each.tries} tries so far met every element measured."]
    if each.of_next:
        half = sum(each.of_next[NEXT // 2 + 1 :])
        lines.append(f"Of the next {NEXT} tries {NEXT // 2 + 1} or more do: {_percent(half)}.")
    return lines + [line for element in each.limiting for line in _element(element)]


def _element(element: ElementChance) -> list[str]:
    said = (
        f"{element.title}: {_percent(element.chance)} ({_percent(element.low)} to {_percent(element.high)})."
    )
    return [said, *(f"  {words}" for words in element.help)]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
