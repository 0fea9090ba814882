"""What a common set tells, in sentences: the same on the page, in the terminal and in the meeting pack."""

from __future__ import annotations

from collections.abc import Sequence

from chalkwing.book.agreement import Agreement
from chalkwing.book.common.differing import Beside, ElementAgreement
from chalkwing.book.common.results import ManeuverResult
from chalkwing.book.course import Scale
from chalkwing.words import listed

LEAST_BESIDE = 5
"""Of fewer marks no share is told."""
HOW_TO_READ = (
    "Alpha is 1 where all mark alike, 0 where marks agree no better than if they were dealt out by chance. "
    "Marks one step apart count less than marks three steps apart. Krippendorff asks for 0.8 and calls what "
    "is above 0.67 good for tentative conclusions only. It also falls when the maneuvers of a set are much "
    "alike: compare it between sets with care, and look at the maneuvers first."
)
"""The two bounds are those of [Krippendorff], from memory."""


def alpha_said(told: Agreement) -> str | None:
    """Alpha with its interval, or why there is none; None where the set says too little already."""
    if told.reason is not None:
        return None
    if told.alpha is None:
        return "All marks are the same step: no alpha can be told, for nothing could have differed."
    if told.low is None or told.high is None:
        return f"Krippendorff's alpha {told.alpha:.2f}; the marks are too much alike for an interval."
    interval = f"95 % interval {told.low:.2f} to {told.high:.2f}"
    return f"Krippendorff's alpha for ordered marks: {told.alpha:.2f} ({interval})."


def beside_said(told: Beside, scale: Scale) -> list[str]:
    """Marks beside what was measured: one sentence for each way of differing."""
    standard = scale.steps[scale.standard_place].word
    said = []
    if told.of_missed >= LEAST_BESIDE:
        said.append(
            f"Of {told.of_missed} marks for maneuvers with an element not met, {told.said_standard} said "
            f"“{standard}” or better."
        )
    if told.of_met >= LEAST_BESIDE:
        said.append(
            f"Of {told.of_met} marks for maneuvers with every measured element met, {told.said_below} said "
            f"less than “{standard}”."
        )
    return said or ["Too few marks beside a clear verdict to say."]


def most_different_said(differing: Sequence[ManeuverResult]) -> str | None:
    """The maneuvers whose marks lie furthest apart, by number; None where none differ."""
    if not differing:
        return None
    return f"Most on {listed([f'{each.number} ({each.title.lower()})' for each in differing[:3]])}."


def element_said(told: ElementAgreement) -> str:
    """How one element was marked."""
    steps = f"{told.difference:.1f} steps between two marks on average"
    return f"{told.title}: differed on {told.differed} of {told.maneuvers}, {steps}."


def counts_said(counts: Sequence[int], scale: Scale) -> str:
    """How often each step was given, in words; empty where none was.

    >>> from chalkwing.book.course import Step
    >>> counts_said([2, 0, 1], Scale("three", (Step("far", ""), Step("near", ""), Step("there", ""))))
    'far (2), there (1)'
    """
    return ", ".join(
        f"{step.word} ({count})" for step, count in zip(scale.steps, counts, strict=True) if count
    )


def questions(one: ManeuverResult, scale: Scale) -> list[str]:
    """What to talk over at the meeting about one maneuver whose marks differ."""
    places = [place for place, count in enumerate(one.counts) if count]
    low, high = scale.steps[places[0]].word, scale.steps[places[-1]].word
    asked = [f"What did those who said “{high}” see that outweighed what those who said “{low}” saw?"]
    standard = scale.steps[scale.standard_place].word
    above, below = sum(one.counts[scale.standard_place :]), sum(one.counts[: scale.standard_place])
    missed = [each.title for each in one.elements if each.verdict == "not_met"]
    if missed and above:
        names = listed([f"“{title}”" for title in missed])
        asked.append(
            f"{names} {'was' if len(missed) == 1 else 'were'} measured outside: may the whole still be "
            f"“{standard}”, as {above} said?"
        )
    if one.verdict == "met" and below:
        asked.append(
            f"Every element measured was met, and {below} said less than “{standard}”: for what, and is that "
            "in our standard?"
        )
    if one.verdict == "cannot_tell":
        asked.append(
            "The recording cannot tell every element: what would you have looked at in the airplane?"
        )
    differing = [each for each in one.elements if sum(count > 0 for count in each.counts) > 1]
    if differing:
        names = listed([f"“{each.title}”" for each in differing])
        asked.append(f"Marks differ on {names}: where, and when, do we read it?")
    return asked
