"""What a worker process does for a ground lesson: solve, fly the error, draw; it stays warm between asks."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from chalkwing.errors import OutsideModel
from chalkwing.web.work import Tell

if TYPE_CHECKING:
    from chalkwing.briefing import Briefed, Briefing
    from chalkwing.briefing.ground_lesson import ErrorShown, Step
    from chalkwing.web.ground_lesson_asked import Asked
    from chalkwing.web.ground_lesson_pictures import LessonPictures

_HELD = 32
"""Plans kept: what was asked for lately is there at once, and an error is flown from a plan that is there."""


@dataclass(frozen=True)
class LessonOrder:
    """A plan to teach; ``error`` is one to be flown, its id and the number of its way."""

    asked: Asked
    error: tuple[str, int] | None
    narrow: bool


@dataclass(frozen=True)
class LessonPlan:
    """Everything that changes on the page of a ground lesson as its sliders move.

    ``effects`` says what came of the error shown; ``unflown`` why one that was asked for is not drawn;
    ``beyond`` what is to be said of a stall, which the model can plan up to and not through.
    """

    briefing: Briefing
    steps: tuple[Step, ...]
    shown: ErrorShown | None
    effects: tuple[str, ...]
    unflown: str | None
    beyond: tuple[str, ...]
    pictures: LessonPictures | None


def plan_lesson(order: LessonOrder, *, tell: Tell) -> LessonPlan:
    """Solve what is asked for, and draw it; raises the solver's refusal."""
    from chalkwing.briefing.ground_lesson import effects_said, steps
    from chalkwing.maneuvers import definitions
    from chalkwing.web.ground_lesson_pictures import lesson_pictures

    briefed = _briefed(order.asked)
    defined = definitions().get(order.asked.kind)
    taught = steps(briefed, defined)
    shown, unflown = _shown(briefed, order)
    ends = taught[-1].point.title if taught else "end"
    return LessonPlan(
        briefing=briefed.briefing,
        steps=taught,
        shown=shown,
        effects=tuple(effects_said(shown, ends)) if shown is not None else (),
        unflown=unflown,
        beyond=briefed.reference.notes if "stall" in order.asked.kind else (),
        pictures=lesson_pictures(briefed, shown, narrow=order.narrow),
    )


def _shown(briefed: Briefed, order: LessonOrder) -> tuple[ErrorShown | None, str | None]:
    from chalkwing.briefing.ground_lesson import show_error
    from chalkwing.maneuvers import definition

    if order.error is None:
        return None, None
    try:
        return show_error(briefed, definition(order.asked.kind), *order.error), None
    except OutsideModel as error:
        return None, str(error)


def whole_briefing(asked: Asked, *, tell: Tell) -> str:
    """The machine-readable briefing, as the command line gives it."""
    return _whole(asked).to_json()


def lesson_card(asked: Asked, paper: str, *, tell: Tell) -> bytes:
    """The kneeboard card of the plan."""
    from chalkwing.paper.card import card_pdf

    return card_pdf([_whole(asked)], paper=paper)


def warmed_planner(asked: Asked, *, tell: Tell) -> None:
    """Load and compile what the first plan would otherwise wait for."""
    plan_lesson(LessonOrder(asked, None, narrow=False), tell=tell)


def _whole(asked: Asked) -> Briefing:
    from chalkwing.briefing import brief

    return brief(asked.kind, **asked.arguments())


_plans: OrderedDict[Any, Briefed] = OrderedDict()


def _briefed(asked: Asked) -> Briefed:
    """The plan without what-if, from memory if it was asked for lately."""
    from chalkwing.briefing import briefed

    key = (asked.kind, asked.airplane, asked.side, tuple(sorted(asked.values.items())))
    if key not in _plans:
        _plans[key] = briefed(asked.kind, what_if=False, **asked.arguments())
    _plans.move_to_end(key)
    while len(_plans) > _HELD:
        _plans.popitem(last=False)
    return _plans[key]
