"""Why a measure of one part has no value, or has one that cannot be held against its limit: in words."""

from __future__ import annotations

import numpy as np

from chalkwing.judge.flown import GROUND_QUANTITIES
from chalkwing.judge.measures import Measuring
from chalkwing.judge.points import LEVELING_BANK
from chalkwing.maneuvers.schema import Measure
from chalkwing.maneuvers.vocabulary import During
from chalkwing.units import DEGREE, Floats

FAR_FROM_ENTRY = 45.0
"""A rollout so many degrees from the entry heading was meant for another one (our own)."""
_ABSENT = {
    "downwind": "never straight down the wind in the held turn, or too little wind to say",
    "upwind": "never straight into the wind in the held turn, or too little wind to say",
    "crossing": "the line was not crossed about the end of this turn",
    "throttle_closed": "the recording does not tell when the power came off",
    "next_turn_starts": "no turn followed",
}
"""Why a place that not every part has is not there, by its name."""
NOT_FLOWN: dict[During, str] = {
    "any": "this stretch was not flown",
    "level": "no level stretch to hold an altitude in",
    "straight": "no straight stretch: there was no heading to hold",
    "turning": "no turn: there was no bank to hold",
}
"""Why a limit for stretches of a kind does not hold where there is none of them."""
_LACKING = {
    "terrain": "no terrain given: height above ground is not known",
    "sheet": "no airplane sheet given: the stall speed is not known",
    "ball": "no lateral load recorded",
    "power": "no power recorded",
}
"""Why a quantity is not held, by what it needs."""


def not_held(measure: Measure) -> str:
    """Why the recording, the sheet or the ground does not give the quantity."""
    name = measure.quantity.name.replace("_", " ")
    return _LACKING.get(measure.quantity.needs or "", f"{name} is not known from this recording")


def unplaced(measuring: Measuring, measure: Measure, part: int | None) -> str | None:
    """Why a quantity that counts from the ground does not exist for this part; None where it does."""
    name, flown = measure.quantity.name, measuring.flown
    if name not in GROUND_QUANTITIES:
        return None
    if flown.ground is None:
        return "this recording has no positions"
    asked = {part or 0, max((part or 0) - 1, 0)} if measure.each == "step" else {part or 0}
    if part is None:
        asked = set(range(len(flown.signs)))
    lacking = [flown.ground.lacks(flown, name, each) for each in sorted(asked)]
    return next((reason for reason in lacking if reason is not None), None)


def never_reached(measuring: Measuring, measure: Measure) -> str:
    """Why most draws have no value, though the quantity is known."""
    if measure.each == "left_minus_right":
        return "needs one loop each way"
    if measuring.flown.occurrence.status == "broken_off":
        return "broken off before this point"
    for name in (measure.point, measure.window.first, measure.window.last):
        if name in _ABSENT:
            return _ABSENT[name]
    return "this point was not reached"


def unfit(measuring: Measuring, measure: Measure, part: int | None) -> str | None:
    """Why this part cannot be held against the limit at all, though it has a value."""
    flown, definition = measuring.flown, measuring.definition
    broken = flown.occurrence.status == "broken_off"
    if part is None:
        in_all = measure.functional in ("worst", "count") and definition.progress != "time"
        return f"broken off in turn {len(flown.signs)}" if broken and in_all else None
    angle = definition.turns.angle
    stop = flown.points[part]["turn_stops"]
    turned = float(np.nanmedian(flown.at("heading_change", part, stop)))
    if broken and turned < definition.finder.complete_share * angle:
        return f"broken off after {turned / DEGREE:.0f}° of {angle / DEGREE:.0f}°"
    at_end = measure.point and definition.point(measure.point).where.event == "turn_stops"
    level = abs(float(np.nanmedian(flown.at("bank_into_turn", part, stop))))
    if at_end and level > LEVELING_BANK:
        return "the turn went on here: there was no rollout to judge"
    return None


def unassigned_heading(measuring: Measuring, measure: Measure, values: Floats) -> str | None:
    """Why a rollout far from the entry heading cannot be judged: it may have been meant."""
    assigned = measuring.assigned.heading is not None
    if measure.each != "last" or measure.quantity.name != "heading" or assigned:
        return None
    if abs(float(np.nanmedian(values))) <= FAR_FROM_ENTRY:
        return None
    return "no rollout heading was assigned, and this is far from the entry heading"
