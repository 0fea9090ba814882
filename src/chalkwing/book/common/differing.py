"""On what the marks of a common set differ: maneuvers, elements, and what was measured."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from chalkwing.book.common.marking import asked_of
from chalkwing.book.common.tables import WHOLE, CommonSet
from chalkwing.book.course import Scale
from chalkwing.book.tables import Element
from chalkwing.debriefs import Verdict

LEAST_ELEMENT = 3
"""An element marked by two or more on fewer maneuvers is not told of."""


@dataclass(frozen=True)
class ElementAgreement:
    """One element over the maneuvers of a kind: how many were marked by two or more, and how they differed.

    ``difference`` is the mean difference of two instructors' marks, in steps.
    """

    element: str
    title: str
    maneuvers: int
    differed: int
    difference: float


@dataclass(frozen=True)
class Beside:
    """Marks beside what was measured, wholes only.

    Of ``of_missed`` marks for maneuvers with an element not met, ``said_standard`` said that the standard was
    met; of ``of_met`` marks for maneuvers with every element met, ``said_below`` said that it was not.
    """

    said_standard: int
    of_missed: int
    said_below: int
    of_met: int


def difference_of(places: Sequence[int]) -> float | None:
    """The mean difference of two of the marks, in steps; None with fewer than two.

    >>> difference_of([1, 1, 3])
    1.3333333333333333
    """
    pairs = list(combinations(places, 2))
    return sum(abs(one - other) for one, other in pairs) / len(pairs) if pairs else None


def element_agreements(found: CommonSet, scale: Scale) -> list[ElementAgreement]:
    """Each element of each kind over the maneuvers of a set, those first on which marks differ most."""
    differences: dict[tuple[str, str], list[float]] = defaultdict(list)
    titles: dict[tuple[str, str], str] = {}
    for shown in found.maneuvers:
        for asked in asked_of(shown):
            places = [scale.place(each.step) for each in shown.marks if each.element == asked.name]
            apart = difference_of(places)
            if apart is not None:
                key = (shown.flown.kind, asked.name)
                titles[key] = f"{shown.flown.title}: {asked.title[0].lower()}{asked.title[1:]}"
                differences[key].append(apart)
    told = [
        ElementAgreement(name, titles[kind, name], len(each), sum(d > 0 for d in each), sum(each) / len(each))
        for (kind, name), each in differences.items()
        if len(each) >= LEAST_ELEMENT
    ]
    return sorted(told, key=lambda each: (-each.difference, each.title))


def beside(found: CommonSet, scale: Scale, instructor: int | None) -> Beside:
    """Marks beside what was measured: those of one instructor by number in the book, or of all."""
    counted: Counter[tuple[str, bool]] = Counter()
    for shown in found.maneuvers:
        verdict = whole_verdict(shown.flown.elements)
        for each in shown.marks:
            if each.element == WHOLE and instructor in (None, each.instructor_id):
                counted[verdict, scale.place(each.step) >= scale.standard_place] += 1
    return Beside(
        said_standard=counted["not_met", True],
        of_missed=counted["not_met", True] + counted["not_met", False],
        said_below=counted["met", False],
        of_met=counted["met", True] + counted["met", False],
    )


def whole_verdict(elements: Sequence[Element]) -> Verdict:
    """The computed verdict of several: not met if one is not, else undecided if one is, else met."""
    verdicts = {each.verdict for each in elements}
    if "not_met" in verdicts:
        return "not_met"
    return "cannot_tell" if "cannot_tell" in verdicts else "met"
