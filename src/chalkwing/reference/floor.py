"""The lowest point of a plan, and the entry altitude that keeps it at or above a floor.

The floor stands above the highest terrain given. What is added to the maneuver's own loss is the altimeter's
error and, where a recovery may cost more than the plan shows (stalls), the height to allow for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.errors import OutsideModel
from chalkwing.reference.heights import height_at, indicated_at
from chalkwing.reference.reference import Reference
from chalkwing.units import ft_to_m, require_within

ALTIMETER_ERROR = ft_to_m(75.0)
"""Kept in hand for the altimeter [m]: what it may differ from a known elevation on the ground and still be
used; common practice after the instrument check, no source read."""

STANDARD = ft_to_m(1500.0)
HIGH = ft_to_m(3000.0)
_HIGH_KINDS = frozenset({"accelerated_stall"})
_HIGH_IN_A_TWIN = frozenset({"slow_flight", "power_off_stall", "power_on_stall", "accelerated_stall"})
_NO_FLOOR = frozenset(
    {"power_off_180", "eights_on_pylons", "turns_around_a_point", "s_turns", "rectangular_course"}
)
_TASKS = {
    "steep_spiral": "FAA-H-8083-3C ch. 10",
    "chandelle": "FAA-S-ACS-7B, CA.V.C",
    "lazy_eight": "FAA-S-ACS-7B, CA.V.D",
    "slow_flight": "FAA-S-ACS-7B, CA.VII.A",
    "power_off_stall": "FAA-S-ACS-7B, CA.VII.B",
    "power_on_stall": "FAA-S-ACS-7B, CA.VII.C",
    "accelerated_stall": "FAA-S-ACS-7B, CA.VII.D",
}


@dataclass(frozen=True)
class Floor:
    """A height above the highest terrain [m] and who asks it."""

    height: float
    source: str


@dataclass(frozen=True)
class Floors:
    """A school's floors, dual and solo; either may be left to the standard (None)."""

    dual: Floor | None = None
    solo: Floor | None = None

    def floor(self, kind: str, *, engines: int = 1, solo: bool = False) -> Floor | None:
        """The floor of one maneuver: the school's, or the standard's where that is higher; None if none."""
        published, own = standard_floor(kind, engines=engines), self.solo if solo else self.dual
        if published is None or own is None:
            return published
        return own if own.height >= published.height else published


def standard_floor(kind: str, *, engines: int = 1) -> Floor | None:
    """The published floor of a maneuver: 1,500 ft, 3,000 ft for accelerated stalls and for a twin's stalls.

    Where the task names none (steep turns, emergency descent) 1,500 ft stands as common practice. None for
    what is flown low or to a landing.
    """
    if kind in _NO_FLOOR:
        return None
    high = kind in _HIGH_KINDS or (engines > 1 and kind in _HIGH_IN_A_TWIN)
    return Floor(HIGH if high else STANDARD, _TASKS.get(kind, "common practice, no source"))


@dataclass(frozen=True)
class FloorPlan:
    """How a plan lies over its floor; all [m].

    ``lowest_altitude`` is on the altimeter, ``lowest_height`` above the highest terrain; the height to allow
    for a recovery is already taken off. ``room`` is what lies between that and the floor, the altimeter's
    error kept in hand; negative where the plan is too low. ``entry_altitude`` (on the altimeter) and
    ``entry_height`` (above the highest terrain) are the least that keep the floor.
    """

    floor: Floor
    terrain: float
    allowance: float
    altimeter_error: float
    lowest_altitude: float
    lowest_height: float
    room: float
    entry_altitude: float
    entry_height: float


def floor_plan(
    reference: Reference,
    floor: Floor,
    *,
    allowance: float | None = None,
    altimeter_error: float = ALTIMETER_ERROR,
) -> FloorPlan:
    """The lowest point and the entry altitude that keeps it at or above ``floor``.

    Parameters
    ----------
    reference : Reference
    floor : Floor
    allowance : float, optional
        Height to allow for a recovery [m], below the entry or the plan's lowest point, whichever way the
        plan says it; a stall's ``height_to_allow`` counts from where it stalls unless given.
    altimeter_error : float
        [m] kept in hand.

    Raises
    ------
    OutsideModel
        A floor or allowance that can only be in feet.

    Notes
    -----
    The loss is taken as it was planned at this entry altitude: a little higher air loses a little more, about
    3 % a thousand feet. Solve again at the altitude found where that matters.
    """
    require_within("floor", floor.height, 0.0, 5_000.0, "m", hint="Was it in feet?")
    require_within("altimeter error", altimeter_error, 0.0, 200.0, "m", hint="Was it in feet?")
    lowest, allowed = _lowest(reference, allowance)
    conditions, terrain = reference.conditions, reference.conditions.highest_terrain
    entry = height_at(conditions, reference.entry_altitude)
    height = entry + lowest - terrain
    needed = terrain + floor.height + altimeter_error - lowest
    return FloorPlan(
        floor=floor,
        terrain=terrain,
        allowance=allowed,
        altimeter_error=altimeter_error,
        lowest_altitude=indicated_at(conditions, entry + lowest),
        lowest_height=height,
        room=height - floor.height - altimeter_error,
        entry_altitude=indicated_at(conditions, needed),
        entry_height=needed - terrain,
    )


def _lowest(reference: Reference, allowance: float | None) -> tuple[float, float]:
    """(geometric height of the lowest point from the entry, the allowance in it)."""
    if len(reference.time) == 0:
        raise OutsideModel(f"the {reference.kind} has no path to find its lowest point on.")
    change = reference["height_change"]
    flown = float(np.min(change))
    if allowance is not None:
        require_within("allowance", allowance, 0.0, 2_000.0, "m", hint="Was it in feet?")
        return flown - allowance, allowance
    stalled = next((point for point in reference.points if point.name in ("stall", "recovering")), None)
    allowed = next((fact.value for fact in reference.facts if fact.name == "height_to_allow"), None)
    if stalled is None or allowed is None:
        return flown, 0.0
    below = float(np.interp(stalled.time, reference.time, change)) - allowed
    return (below, allowed) if below < flown else (flown, 0.0)
